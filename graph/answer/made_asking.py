"""A made part as somebody asks for it, in texts: which kind, between which parts, how long; with its price.

Readings are those of the facts; one typed here counts instead. With the units around it the length chains choose its
length or thickness, and the answer says out of which window; a length asked for is held against that window.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from graph.catalogue.model import SHIFTS, Catalogue, Measurement
from graph.catalogue.near import near_matches
from graph.derive.around import deriver_of, parts_around, with_derived
from graph.derive.deriver import Deriver
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.made import NO_WINDOW, MadeBetween, decided_by, design_between
from graph.derive.made_places import list_lengths
from graph.derive.made_prices import price_design, rates_lacking
from graph.derive.overlay import OverlayIndex
from graph.derive.plate_room import UnitsAround
from graph.derive.room import Room, joined, room_around, window_of
from graph.derive.signs import signs_of
from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS
from graph.fits.lengths import measured as measured_length
from graph.fits.lengths import read_nm
from graph.fits.model import NM_PER_UM, Dimension, FinishedSize, Verdict, show_nm
from graph.lookups.findings import COMPUTED, PairFinding
from graph.lookups.index import CatalogueIndex
from graph.made.as_json import made_as_json
from graph.made.bill import count_made
from graph.made.kinds import MADE_KINDS, kind_for_work
from graph.made.model import MadeKind, MadePart, MadeRefused, Reading
from graph.made.profile import check_whole
from graph.plates.bill import RATES, PlateCount
from graph.plates.model import PlateReason, ThicknessWindow

READ_HERE, TYPED_DATUM = "measured-on-these-parts", "as typed"
SPREAD = re.compile(r"\s*(?:\+/-|\+-|±)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeAsked:
    """The question. `a`, `b`: the parts that hold the kind's two positions, empty for a part that nobody has noted;
    `size`: along the axis as the chains count it, empty for what they leave; `readings`: by quantity, `28 mm +/- 0.01
    mm`; `gearbox`, `engine`: whose length chains count."""

    kind: str
    a: str = ""
    b: str = ""
    size: str = ""
    gearbox: str = ""
    engine: str = ""
    readings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MadeFound:
    """The answer: the part or its refusal, its price line by line, and lengths that serve other combinations."""

    found: MadePart | MadeRefused
    price: tuple[str, ...] = ()
    others: tuple[str, ...] = ()

    @property
    def design(self) -> MadePart:
        """The part, for a drawing. Raises InvalidInput with every reason, or all that is still to be measured."""
        if isinstance(self.found, MadeRefused):
            raise InvalidInput([Problem(one.path, one.text()) for one in self.found.reasons])
        check_whole(self.found)
        return self.found


def ask_made(index: CatalogueIndex, asked: MadeAsked) -> MadeFound:
    """Design what is asked. Raises InvalidInput, NotFound."""
    kind = get_made_kind(asked.kind)
    _check_holders(index, kind, asked)
    deriver = deriver_of(index)
    between = MadeBetween(kind, dict(zip(kind.between, (asked.a, asked.b), strict=True)))
    given = _given(index.catalogue, kind, asked.readings)
    decided = _decided(deriver, between, _typed(kind, asked, given)) if kind.decided else ()
    along = _along(index, between, asked)
    refused = tuple(one for one in (decided, along) if isinstance(one, PlateReason))
    if isinstance(decided, PlateReason) or isinstance(along, PlateReason):
        return MadeFound(MadeRefused(refused))
    size_nm, window, others = along
    undecided = decided.text if isinstance(decided, _Undecided) else ""
    found = design_between(
        deriver.measured, between, size_nm=size_nm, window=window, given=given, undecided=undecided,
        decided=() if isinstance(decided, _Undecided) else decided,
    )  # fmt: skip
    price = tuple(_price(deriver.index, found)) if isinstance(found, MadePart) else ()
    return MadeFound(found, price, others)


def get_made_kind(name: str) -> MadeKind:
    """The kind of that id. Raises NotFound naming all."""
    kind = MADE_KINDS.get(name)
    if kind is None:
        raise NotFound("kind of made part", name, tuple(MADE_KINDS))
    return kind


def _check_holders(index: CatalogueIndex, kind: MadeKind, asked: MadeAsked) -> None:
    """Raises NotFound for a part that is not there, InvalidInput for one that cannot hold its position."""
    problems = []
    for field_, part, position in zip(("a", "b"), (asked.a, asked.b), kind.between, strict=True):
        if not part:
            continue
        known, place = index.catalogue.parts.get(part), index.catalogue.position_kinds.get(position)
        if known is None:
            raise NotFound("part", part, near_matches(part, index.catalogue.parts))
        if place is not None and index.kinds_of(known.kind).isdisjoint(place.part_kinds):
            problems.append(Problem(field_, f"{known.label} cannot hold this place: {place.label}"))
    if problems:
        raise InvalidInput(problems)


def readings_taken(catalogue: Catalogue, kind: MadeKind) -> tuple[Reading, ...]:
    """The lengths that may be typed for a kind: those of its sizes, and of the check that decides some of them."""
    known = catalogue.quantities
    return tuple(one for one in _of_kind(kind) if one[1] in known and known[one[1]].dimension == "length")


def reading_names() -> frozenset[str]:
    """The quantities of all that may be typed for any kind."""
    return frozenset(quantity for kind in MADE_KINDS.values() for _, quantity in _of_kind(kind))


def _of_kind(kind: MadeKind) -> tuple[Reading, ...]:
    checked = JOINT_CHECKS[kind.closes[0]].needs if kind.decided else ()
    return tuple(dict.fromkeys((*kind.readings, *((kind.between[side], quantity) for side, quantity in checked))))


def _given(catalogue: Catalogue, kind: MadeKind, typed: Mapping[str, str]) -> dict[Reading, Dimension]:
    """The readings typed, as lengths. Raises InvalidInput for each that the kind does not take or that is no length."""
    known = {quantity: (position, quantity) for position, quantity in readings_taken(catalogue, kind)}
    problems: list[Problem] = []
    found: dict[Reading, Dimension] = {}
    for name, text in typed.items():
        if not text.strip():
            continue
        path = f"readings.{name}"
        if name not in known:
            problems.append(Problem(path, f"a {kind.label} takes {', '.join(known) or 'no readings'}, not {name!r}"))
            continue
        size, spread = _parted(text)
        if not spread:
            problems.append(Problem(path, f"say how far off it may be, as in 28 mm +/- 0.01 mm; found {text[:40]!r}"))
            continue
        try:
            found[known[name]] = measured_length(name, size, spread)
        except InvalidInput as fault:
            problems += [Problem(path, one.message) for one in fault.problems]
    if problems:
        raise InvalidInput(problems)
    return found


def _parted(text: str) -> tuple[str, str]:
    """A reading and how far it may be off, as typed."""
    size, *rest = SPREAD.split(text.strip(), maxsplit=1)
    return size, rest[0] if rest else ""


@dataclass(frozen=True, slots=True)
class _Undecided:
    """The check of the joint cannot decide yet: what to measure first."""

    text: str


def _typed(kind: MadeKind, asked: MadeAsked, given: Mapping[Reading, Dimension]) -> tuple[Measurement, ...]:
    """The readings typed, as if they had been noted of the two parts."""
    holders = dict(zip(kind.between, (asked.a, asked.b), strict=True))
    return tuple(
        Measurement(
            id=f"typed-{quantity}", quantity=quantity, of=holders[position], evidence=READ_HERE, datum=TYPED_DATUM,
            **dict(zip(("reading", "uncertainty"), _parted(asked.readings[quantity]), strict=True)),
        )
        for position, quantity in given
    )  # fmt: skip


def _decided(
    deriver: Deriver, between: MadeBetween, typed: tuple[Measurement, ...]
) -> tuple[FinishedSize, ...] | _Undecided | PlateReason:
    """The sizes that the check of the joint decides, what it lacks, or why there is nothing to decide."""
    kind, (first, second) = between.kind, between.ends
    if not first or not second:
        said = f"the sizes of a {kind.label} come from the check of two parts: name both"
        raise InvalidInput([Problem("a, b", said)])
    finding = deriver.pair_with(kind.closes[0], first, second, typed)
    result = finding.result
    if result is None or result.verdict is Verdict.UNKNOWN:
        return _Undecided(_wanted_first(deriver, between, finding))
    works = [work for choice in (*result.choices, result.work) for work in choice]
    works += [work for part in result.parts for choice in (*part.choices, part.work) for work in choice]
    for work in works:
        if kind_for_work(kind.closes[0], work.operation) is kind:
            return decided_by(kind, work)
    return PlateReason("joint", f"no {kind.label} is wanted here: {result.summary}", "")


def _wanted_first(deriver: Deriver, between: MadeBetween, finding: PairFinding) -> str:
    """What the check lacks; where nothing of the two is measured, all that it takes."""
    if finding.unknown is not None:
        return finding.unknown.text.removeprefix("unknown: measure ")
    needs = JOINT_CHECKS[between.kind.closes[0]].needs
    return " and ".join(deriver.measured.gap(between.ends[side], quantity).text for side, quantity in needs)


def _along(
    index: CatalogueIndex, between: MadeBetween, asked: MadeAsked
) -> tuple[int | None, ThicknessWindow, tuple[str, ...]] | PlateReason:
    """The size along the axis, its window, and the sizes that serve other combinations of parts; or why the size asked
    for suits none."""
    along = between.kind.along
    if along is None:
        return None, NO_WINDOW, ()
    said = _size_nm(asked.size)
    if not (asked.gearbox or asked.engine):
        return said, NO_WINDOW, ()
    room = _room(index, between, tuple(unit for unit in (asked.gearbox, asked.engine) if unit))
    signs = signs_of(index.catalogue, along.moves)
    if said is not None:
        held = _window_for(room, signs, said)
        return (said, held, ()) if isinstance(held, ThicknessWindow) else PlateReason(along.name, *held)
    found = list_lengths(_above_zero(between.kind, room.windows(signs)), along.tolerance_nm // NM_PER_UM)
    if not found:
        return None, window_of(room, signs), ()
    texts = ((along.counted.format(size=f"{um / 1000:.3f} mm"), window.text()) for window, um in found[1:])
    others = tuple(f"{size}, within {window}" for size, window in texts)
    return found[0][1] * NM_PER_UM, found[0][0], others


def _window_for(room: Room, signs: Mapping[str, int], size_nm: int) -> ThicknessWindow | tuple[str, str]:
    """The window of a choice of parts that has the size; else what is told: which there are, and what to do."""
    um = round(size_nm / NM_PER_UM)
    each = room.windows(signs)
    serving = [one for one in each if one.low_um is None or one.high_um is None or one.low_um <= one.high_um]
    open_ended = (one for one in serving if (one.low_um is None or one.high_um is None) and one.has(um))
    found = room.window_with(signs, um) or next(open_ended, None)
    hull = window_of(room, signs)
    if found is not None or not each or not hull.has(um):  # too many choices, nothing binds, or beyond them all
        return found or hull
    if not serving:
        return f"{show_nm(size_nm)} suits no choice of the parts around, nor does any other size", "move a limit"
    told = "; or ".join(one.text() for one in joined(serving))
    return f"{show_nm(size_nm)} suits no choice of the parts around, which leave {told}", "choose a size within"


def _above_zero(kind: MadeKind, windows: Iterable[ThicknessWindow]) -> Iterator[ThicknessWindow]:
    """Of what stands inside a joint, the windows in which some thickness is wanted."""
    return (one for one in windows if kind.place or (one.low_um is not None and one.low_um > 0))


def _room(index: CatalogueIndex, between: MadeBetween, units: tuple[str, ...]) -> Room:
    for unit in units:
        if unit not in index.catalogue.parts:
            raise NotFound("unit", unit, near_matches(unit, index.catalogue.parts))
    around = UnitsAround(units)
    over = with_derived(index, around)
    shifts = [edge for edge in over.derived.edges if edge.kind == SHIFTS] if isinstance(over, OverlayIndex) else []
    fixed = {position: part for position, part in between.holders.items() if part}
    kind = between.kind
    if kind.place:
        fixed[kind.place] = ""
    plates: dict[str, tuple[str, ...]] = {}
    for finding in over.derived.findings:
        if finding.made and JOINT_CHECKS[finding.joint].plates:
            plates[finding.joint] = (*plates.get(finding.joint, ()), *(part.id for part in finding.made))
    places = parts_around(index, around).positions
    return room_around(index, places, units, shifts, fixed, "" if kind.place else kind.closes[0], plates)


def _size_nm(text: str) -> int | None:
    return read_nm(text, "size") if text.strip() else None


def _price(index: CatalogueIndex, design: MadePart) -> Iterator[str]:
    """What making it costs by the shop's rates, or why nobody can say; the search weighs the same sums."""
    catalogue = index.catalogue
    priced = price_design(index, design)
    if priced is None:
        wanted = (PlateCount(design.kind.blank, Fraction(0), ""), *count_made(design)[0])
        lacks = tuple(dict.fromkeys(rates_lacking(catalogue, wanted)))
        yield f"no price from rates: the shop has none for {'; '.join(RATES[name] for name in lacks)}"
        yield from _flat(catalogue, design.kind)
        return
    yield from priced.lines
    told = f"together {priced.cost.cash_hundredths / HUNDREDTHS:.2f} {catalogue.currency}".rstrip()
    hours = f" and {priced.cost.hours_hundredths / HUNDREDTHS:.2f} h" if priced.cost.hours_hundredths else ""
    at_least = f"at least; not counted yet: {', '.join(priced.lacks)}" if priced.lacks else ""
    yield f"{told}{hours}; the visit to the machine shop is not in it" + (f" ({at_least})" if at_least else "")
    if priced.cost.days:
        yield f"ready in {float(priced.cost.days):g} days"
    if priced.cost.hours_hundredths is None:
        yield f"hours to fit it: not stated; state usual hours of {design.kind.label}"


def _flat(catalogue: Catalogue, kind: MadeKind) -> Iterator[str]:
    flat = catalogue.operation_prices.get(kind.operation)
    if flat is None:
        yield f"price of {kind.operation.replace('-', ' ')}: not stated"
        return
    hours = f", {flat.hours_hundredths / HUNDREDTHS:.2f} h" if flat.hours_hundredths else ""
    yield f"{flat.label}, whatever it is like: {flat.cash_hundredths / HUNDREDTHS:.2f}{hours}"


def made_found_as_json(answer: MadeFound) -> dict[str, Any]:
    """The whole answer as plain values."""
    return made_as_json(answer.found) | {"price": list(answer.price), "others": list(answer.others)}


def made_kinds_as_json() -> dict[str, Any]:
    """Every kind, what it closes and what it takes."""
    return {
        "kinds": [
            {
                "kind": kind.id, "label": kind.label, "part_kind": kind.part_kind, "closes": list(kind.closes),
                "between": list(kind.between), "material": kind.material,
                "takes": [{"size": take.name, "of": [quantity for _, quantity in take.of], "source": take.source}
                          for take in kind.takes],
                "decided_by_the_check": list(kind.decided), "along": kind.along.name if kind.along else None,
            }
            for kind in MADE_KINDS.values()
        ]
    }  # fmt: skip


def named_made(index: CatalogueIndex, part: str) -> MadeAsked | None:
    """What to ask for to see a part that was computed: from its id; None for a part that is not made so."""
    if not part.startswith(COMPUTED):
        return None
    known = index.catalogue.parts
    for kind in MADE_KINDS.values():
        stem = f"{COMPUTED}made-{kind.id}--" if kind.place else f"{COMPUTED}{kind.closes[0]}--"
        if not part.startswith(stem):
            continue
        *middle, _last = part[len(stem) :].split("--")
        for cut in range(1, len(middle)):
            for end in range(cut + 1, len(middle) + 1):
                first, second, rest = "--".join(middle[:cut]), "--".join(middle[cut:end]), middle[end:]
                if first in known and second in known and _is_kind(part, kind):
                    return MadeAsked(kind=kind.id, a=first, b=second, size=_size_text(rest))
    return None


def _is_kind(part: str, kind: MadeKind) -> bool:
    """An id of a sleeve ends with its kind of part; sized ones and those of a place end with `part`."""
    last = part.rsplit("--", 1)[1]
    return last == "part" if kind.along is not None else last == kind.part_kind


def _size_text(rest: list[str]) -> str:
    said = rest[0].removeprefix("sized-") if rest else ""
    if not re.fullmatch(r"m?\d+", said):
        return ""
    um = -int(said[1:]) if said.startswith("m") else int(said)
    return f"{um / 1000:.3f} mm"
