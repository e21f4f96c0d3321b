"""A plate as somebody asks for it, in texts: which faces, how thick, what opening; and which pattern a face is.

A face is a part whose face is measured, a published one (`sae:3`), or one given hole by hole. A thickness is one
(`15 mm`), a window (`14 mm to 15.5 mm`), `at least 14 mm`, `at most 20 mm`, or left open. With the units around it the
window of their length chains counts too, and what the plate moves is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from graph.answer.show import face_of
from graph.derive.around import deriver_of
from graph.derive.centring import TURNED, adaptor_centring
from graph.derive.made_prices import price_plate
from graph.derive.plate_prices import has_rates
from graph.derive.plate_room import moves_of, window_between
from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS
from graph.fits.lengths import read_nm
from graph.fits.model import NM_PER_UM
from graph.fits.numbers import read_number
from graph.fits.pattern import Face
from graph.fits.tables import load_tables
from graph.fits.threads import get_thread
from graph.lookups.index import CatalogueIndex
from graph.plates.as_json import plate_as_json
from graph.plates.bill import PLATE_RATES
from graph.plates.design import design_plate
from graph.plates.known import PatternLikeness, rank_patterns
from graph.plates.model import PlateDesign, PlateRefused, PlateWanted, ThicknessWindow, mm
from graph.plates.rules import PlateRules
from graph.plates.standard_faces import housing_face, housing_of, is_standard

ASKED = "the thickness asked for"
LARGEST_N = 1_000_000
FRAMES = ("tractor-split",)  # assemblies whose housings carry the machine (facts/kinds/assemblies.ttl)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateAsked:
    """The question. Texts may be empty where nothing is stated; lengths carry their unit."""

    a: str | Face
    b: str | Face
    joint: str = "engine-face"
    thickness: str = ""
    lean: str = ""
    material: str = "steel"
    opening: str = ""
    register: str = ""
    spigot: str = ""
    engine_thread: str = ""
    gearbox_thread: str = ""
    frame: bool = False
    force: str = ""
    pieces: int = 2
    gearbox: str = ""
    engine: str = ""


@dataclass(frozen=True, slots=True)
class PlateFound:
    """The answer: the design or its refusal, the faces' names, what such a plate moves, and its price line by line."""

    found: PlateDesign | PlateRefused
    names: tuple[str, str]
    moves: tuple[str, ...]
    price: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What stands over a drawing."""
        hub = self.found.wanted.hub if isinstance(self.found, PlateDesign) else False
        return f"{'Adaptor' if hub else 'Adapter plate'}, {self.names[0]} to {self.names[1]}"

    @property
    def design(self) -> PlateDesign:
        """The design, for a drawing. Raises InvalidInput with every reason where there is none."""
        if isinstance(self.found, PlateRefused):
            raise InvalidInput([Problem(one.path, one.text()) for one in self.found.reasons])
        return self.found


def ask_plate(index: CatalogueIndex, asked: PlateAsked) -> PlateFound:
    """Design what is asked. Raises InvalidInput, NotFound."""
    if asked.joint not in index.catalogue.joint_kinds:
        raise InvalidInput([Problem("joint", f"no kind of joint {asked.joint!r}")])
    _check_sides(index, asked)
    _check_screws(asked)
    engine, spigot = _face(index, asked.a, asked.joint, engine=True)
    gearbox, register = _face(index, asked.b, asked.joint, engine=False)
    typed = (_um(asked.register, "register"), _um(asked.spigot, "spigot"))
    unread: tuple[str, ...] = ()
    if asked.joint in TURNED:
        register, spigot, unread = _centring(index, asked, (engine.label, gearbox.label), typed)
    wanted = PlateWanted(
        engine=engine, gearbox=gearbox, window=_window(index, asked), rules=PlateRules(asked.material),
        lean_deg=_degrees(asked.lean), bore_um=_um(asked.opening, "opening"),
        register_um=typed[0] or register, spigot_um=typed[1] or spigot, hub=asked.joint in TURNED, unread=unread,
        engine_thread=asked.engine_thread, gearbox_thread=asked.gearbox_thread,
        frame=asked.frame or _carries(index, asked),
        force_n=_newtons(asked.force), pieces=asked.pieces,
    )  # fmt: skip
    found = design_plate(wanted)
    moves: tuple[str, ...] = ()
    if isinstance(found, PlateDesign) and asked.joint == "engine-face":
        moved = moves_of(index.catalogue, found.thickness_um)
        moves = tuple(f"{one.label} {'+' if one.um > 0 else ''}{mm(one.um)} mm" for one in moved)
    price = tuple(_price(index, found)) if isinstance(found, PlateDesign) else ()
    return PlateFound(found, (engine.label, gearbox.label), moves, price)


def _check_sides(index: CatalogueIndex, asked: PlateAsked) -> None:
    """Raises InvalidInput for units or faces that stand on each other's side: their plate would be its mirror image."""
    problems = []
    for unit, what in ((asked.gearbox, "gearbox"), (asked.engine, "engine")):
        if unit in index.catalogue.parts and not index.is_unit(unit, what):
            label = index.catalogue.parts[unit].label
            problems.append(Problem(what, f"{label} is no {what}; are gearbox and engine exchanged?"))
    first, second = index.catalogue.joint_kinds[asked.joint].between
    faces: tuple[tuple[str, str | Face, str, str], ...] = (("a", asked.a, first, second), ("b", asked.b, second, first))
    for side, part, own, other in faces:
        if isinstance(part, str) and _is_held(index, part, other) and not _is_held(index, part, own):
            label, named = index.catalogue.parts[part].label, index.catalogue.position_kinds[own].label
            said = f"{label} holds the other side of this joint; here stands the face of the {named}: exchange a and b"
            problems.append(Problem(side, said))
    if problems:
        raise InvalidInput(problems)


def _is_held(index: CatalogueIndex, part: str, place: str) -> bool:
    """Can a part of that kind hold the place?"""
    known, at = index.catalogue.parts.get(part), index.catalogue.position_kinds.get(place)
    return known is not None and at is not None and not index.kinds_of(known.kind).isdisjoint(at.part_kinds)


def _check_screws(asked: PlateAsked) -> None:
    """Raises InvalidInput for a screw that no table has, also where no hole needs to be told its screw."""
    problems = []
    for field, text in (("engine_thread", asked.engine_thread), ("gearbox_thread", asked.gearbox_thread)):
        try:
            if text.strip():
                get_thread(load_tables(), text)
        except NotFound as fault:
            problems.append(Problem(field, str(fault)))
        except InvalidInput as fault:
            problems += [Problem(field, one.message) for one in fault.problems]
    if problems:
        raise InvalidInput(problems)


def _price(index: CatalogueIndex, design: PlateDesign) -> Iterator[str]:
    """What it costs to make by the shop's rates, or why nobody can say; the search weighs the same sums."""
    catalogue = index.catalogue
    if not has_rates(catalogue):
        lacks = [label for name, label in PLATE_RATES.items() if name not in catalogue.operation_prices]
        yield f"no price from rates: the shop has none for {'; '.join(lacks)}"
        flat = catalogue.operation_prices.get("make-plate")
        if flat is not None:
            hours = f", {flat.hours_hundredths / HUNDREDTHS:.2f} h" if flat.hours_hundredths else ""
            yield f"{flat.label}, whatever it is like: {flat.cash_hundredths / HUNDREDTHS:.2f}{hours}"
        return
    priced = price_plate(index, design)
    yield from priced.lines
    cost = priced.cost
    told = f"together {cost.cash_hundredths / HUNDREDTHS:.2f} {catalogue.currency}".rstrip()
    hours = f" and {cost.hours_hundredths / HUNDREDTHS:.2f} h" if cost.hours_hundredths else ""
    at_least = f" (at least; without a price: {', '.join(priced.lacks)})" if priced.lacks else ""
    yield f"{told}{hours}; the visit to the machine shop is not in it{at_least}"
    if cost.hours_hundredths is None:
        yield "hours to fit it: not stated; state usual hours of adapter plates"


def plate_found_as_json(answer: PlateFound) -> dict[str, Any]:
    """The whole answer as plain values."""
    return plate_as_json(answer.found) | {"engine": answer.names[0], "gearbox": answer.names[1],
                                          "moves": list(answer.moves), "price": list(answer.price)}  # fmt: skip


def _carries(index: CatalogueIndex, asked: PlateAsked) -> bool:
    """Is one of the units made for an assembly whose housings are its frame?"""
    units = [unit for unit in (asked.gearbox, asked.engine) if unit in index.catalogue.parts]
    return any(one in index.made_for(unit) for unit in units for one in FRAMES)


def _face(index: CatalogueIndex, side: str | Face, joint: str, *, engine: bool) -> tuple[Face, int | None]:
    """The face, and the register that centres it where it is a published one."""
    if isinstance(side, Face):
        return side, None
    if is_standard(side):
        housing = housing_of(side)
        return housing_face(housing, engine=engine), housing.register_nm // NM_PER_UM
    return replace(face_of(index, side, joint), label=index.catalogue.parts[side].label), None


def _centring(
    index: CatalogueIndex, asked: PlateAsked, labels: tuple[str, str], typed: tuple[int | None, int | None]
) -> tuple[int | None, int | None, tuple[str, ...]]:
    """What centres an adaptor by what is read of both parts, and what is neither read nor typed."""
    ids = [side if isinstance(side, str) and not is_standard(side) else "" for side in (asked.a, asked.b)]
    read = adaptor_centring(deriver_of(index).measured, asked.joint, ids[0], ids[1], labels)
    names = [name for name, size in zip(("register", "spigot"), typed, strict=True) if size is None]
    return read.register_um, read.spigot_um, tuple(one for one in read.unread if one.split(" ")[0] in names)


def _window(index: CatalogueIndex, asked: PlateAsked) -> ThicknessWindow:
    window = read_window(asked.thickness)
    if not (asked.gearbox or asked.engine):
        return window
    if not isinstance(asked.a, str) or not isinstance(asked.b, str) or is_standard(asked.a) or is_standard(asked.b):
        said = "length chains are those of parts; name both faces by their parts"
        raise InvalidInput([Problem("gearbox, engine", said)])
    units = tuple(unit for unit in (asked.gearbox, asked.engine) if unit)
    chains = window_between(index, asked.joint, (asked.a, asked.b), units)
    return _narrower(window, chains)


def _narrower(one: ThicknessWindow, other: ThicknessWindow) -> ThicknessWindow:
    low, low_by = max(((um, by) for um, by in ((one.low_um, one.low_by), (other.low_um, other.low_by))
                       if um is not None), default=(None, ""))  # fmt: skip
    high, high_by = min(((um, by) for um, by in ((one.high_um, one.high_by), (other.high_um, other.high_by))
                         if um is not None), default=(None, ""))  # fmt: skip
    return ThicknessWindow(low, high, low_by, high_by)


def read_window(text: str) -> ThicknessWindow:
    """A thickness as written. Raises InvalidInput.

    >>> read_window("14 mm to 15.5 mm").text()
    '14.000 mm (the thickness asked for) to 15.500 mm (the thickness asked for)'
    """
    said = text.strip()
    if not said:
        return ThicknessWindow()
    if said.startswith("at least "):
        return ThicknessWindow(_um(said.removeprefix("at least "), "thickness"), None, ASKED, "")
    if said.startswith("at most "):
        return ThicknessWindow(None, _um(said.removeprefix("at most "), "thickness"), "", ASKED)
    low, _, high = said.partition(" to ")
    least, most = _um(low, "thickness"), _um(high or low, "thickness")
    return ThicknessWindow(least, most, ASKED, ASKED)


def _um(text: str, path: str) -> int | None:
    """A length above zero in whole micrometres, None for an empty text."""
    if not text.strip():
        return None
    nm = read_nm(text, path)
    if nm <= 0:
        raise InvalidInput([Problem(path, f"expected a length above zero, found {text!r}")])
    return round(Fraction(nm, NM_PER_UM))


def _degrees(text: str) -> float:
    if not text.strip():
        return 0.0
    number = read_number(text, "lean", "5")
    if number.rest not in ("", "deg", "degrees", "°") or not 0 <= number.value <= 180:
        raise InvalidInput([Problem("lean", f"expected 0 to 180 degrees either way, found {text[:40]!r}")])
    return float(number.value)


def _newtons(text: str) -> Fraction | None:
    if not text.strip():
        return None
    number = read_number(text, "force", "3000 N")
    scale = {"": 1, "N": 1, "kN": 1000}.get(number.rest)
    if scale is None or not 0 < number.value * scale <= LARGEST_N:
        raise InvalidInput([Problem("force", f"expected a force such as 3000 N or 3 kN, found {text[:40]!r}")])
    return number.value * scale


def rank_known(
    index: CatalogueIndex, face: Face, limit: int = 10, own: tuple[str, str] = ("", "")
) -> tuple[PatternLikeness, ...]:
    """A measured face against every pattern of the catalogue and the published housings, best first. `own`: the part
    and joint that the face is of, told as itself: that it is met tells nothing."""
    measured = deriver_of(index).measured
    known: dict[str, Face] = {}
    for fact in index.catalogue.bolt_faces.values():
        part = index.catalogue.parts.get(fact.of)
        found = measured.face(fact.of, fact.joint) if part is not None else None
        itself = " (this very face)" if (fact.of, fact.joint) == own else ""
        if part is not None and found is not None:
            known[f"{fact.of}/{fact.joint}"] = replace(found, label=f"{part.label}, {fact.joint}{itself}")
    for number in ("00", "0", "1/2", "1", "2", "3", "4", "5", "6"):
        known[f"sae:{number}"] = housing_face(housing_of(f"sae:{number}"), engine=True)
    return rank_patterns(face, known, limit)


def likeness_as_json(found: tuple[PatternLikeness, ...]) -> dict[str, Any]:
    """The ranking as plain values, misses in mm."""
    return {
        "patterns": [
            {
                "known": one.known, "label": one.label, "mirrored": one.mirrored, "turned_deg": one.turned_deg,
                "met": one.met, "measured_holes": one.of, "known_holes": one.known_holes, "certain": one.certain,
                "worst_mm": one.worst_nm / 1e6, "rms_mm": one.rms_nm / 1e6,
                "holes": [
                    {"measured": hole.measured or None, "known": hole.known or None,
                     "miss_mm": None if hole.miss_nm is None else hole.miss_nm / 1e6}
                    for hole in one.misses
                ],
            }
            for one in found
        ]
    }  # fmt: skip
