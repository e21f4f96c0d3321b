"""New holes in a part as somebody asks for them, in texts: which part is drilled, which it is to bolt to.

A face is a part whose face at the joint is measured, a published one (`sae:3`), or one given hole by hole. What is
measured of the part besides (the flywheel's bore) counts for its opening; what is typed counts instead. Where a face is
not measured nothing can be drawn, and the answer names each reading that is missing and those that there are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from graph.catalogue.near import near_matches
from graph.derive.around import deriver_of
from graph.derive.measured import Measured
from graph.derive.plate_prices import price_lines
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import read_nm
from graph.fits.model import NM_PER_UM, show_nm
from graph.fits.numbers import read_number
from graph.fits.pattern import Face
from graph.lookups.index import CatalogueIndex
from graph.plates.bill import BALANCE, HOLE, UNITS, PlateCount
from graph.plates.old_holes import check_edges
from graph.plates.redrill import Redrilled, RedrillRefused, RedrillWanted, design_redrill
from graph.plates.redrill_words import redrill_as_json
from graph.plates.rules import PlateRules
from graph.plates.standard_faces import housing_face, housing_of, is_standard

TURNING = ("flywheel-to-crank", "clutch-to-flywheel", "prop-flange")  # joints whose parts turn and may stand anyhow
OPENINGS = {"flywheel-to-crank": "flywheel-bore", "starter-to-housing": "starter-bore"}  # what may be read of it
PAD = "starter-to-housing"
PAD_READINGS = ("starter-bore", "starter-hole-spacing", "starter-side")


@dataclass(frozen=True, slots=True, kw_only=True)
class RedrillAsked:
    """The question. `drilled` gets the pattern of `kept`; `turn` in degrees, empty: chosen; `rim`, `opening`: diameters
    of the drilled part; `thread`: the screw of the kept face's holes that name none. Lengths carry their unit."""

    joint: str
    drilled: str | Face
    kept: str | Face
    turn: str = ""
    material: str = "steel"
    rim: str = ""
    opening: str = ""
    thread: str = ""


@dataclass(frozen=True, slots=True)
class RedrillFound:
    """The answer: the drilled part, its refusal, or None where a face is not measured: `lacks` then says what is to be
    measured, `known` what there is. `price`: line by line by the shop's rates."""

    found: Redrilled | RedrillRefused | None
    lacks: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    price: tuple[str, ...] = ()

    @property
    def design(self) -> Redrilled:
        """What is drawn. Raises InvalidInput with every reason, or all that is missing."""
        if self.found is None:
            raise InvalidInput([Problem("faces", f"nothing can be drawn before this is known: {one}")
                                for one in self.lacks])  # fmt: skip
        if isinstance(self.found, RedrillRefused):
            raise InvalidInput([Problem(one.path, one.text()) for one in self.found.reasons])
        return self.found


def ask_redrill(index: CatalogueIndex, asked: RedrillAsked) -> RedrillFound:
    """Work out what is asked. Raises InvalidInput, NotFound."""
    if asked.joint not in index.catalogue.joint_kinds:
        raise InvalidInput([Problem("joint", f"no kind of joint {asked.joint!r}")])
    if asked.drilled == asked.kept:
        raise InvalidInput([Problem("kept", "this is the part that is drilled itself: name the one it bolts to")])
    measured = deriver_of(index).measured
    rim_um, opening_um = _um(asked.rim, "rim"), _opening(measured, asked)
    check_edges(rim_um, opening_um)
    drilled, kept = (_face(index, measured, side, asked.joint) for side in (asked.drilled, asked.kept))
    if drilled is None or kept is None:
        return RedrillFound(None, tuple(_lacks(measured, asked)), tuple(_known(measured, asked)))
    wanted = RedrillWanted(
        drilled=drilled, kept=kept, rules=PlateRules(asked.material), turn_deg=_degrees(asked.turn),
        turns=asked.joint in TURNING, rim_um=rim_um, opening_um=opening_um,
        thread=asked.thread,
    )  # fmt: skip
    found = design_redrill(wanted)
    price = tuple(_price(index, found, asked.joint)) if isinstance(found, Redrilled) else ()
    return RedrillFound(found, price=price)


def redrill_found_as_json(answer: RedrillFound) -> dict[str, Any]:
    """The whole answer as plain values."""
    if answer.found is None:
        told: dict[str, Any] = {"verdict": "to measure", "reasons": [], "measure": list(answer.lacks), "design": None}
    else:
        told = redrill_as_json(answer.found)
    return told | {"known": list(answer.known), "price": list(answer.price)}


def _face(index: CatalogueIndex, measured: Measured, side: str | Face, joint: str) -> Face | None:
    if isinstance(side, Face):
        return side
    if is_standard(side):
        return housing_face(housing_of(side), engine=True)
    if side not in index.catalogue.parts:
        raise NotFound("part", side, near_matches(side, index.catalogue.parts))
    face = measured.face(side, joint)
    return None if face is None else replace(face, label=index.catalogue.parts[side].label)


def _opening(measured: Measured, asked: RedrillAsked) -> int | None:
    """As typed; else the widest that it may be by what is read of the part."""
    if asked.opening.strip():
        return _um(asked.opening, "opening")
    quantity = OPENINGS.get(asked.joint)
    if quantity is None or isinstance(asked.drilled, Face) or asked.drilled not in measured.index.catalogue.parts:
        return None
    read = measured.length(asked.drilled, quantity)
    return None if read is None else -(-read.high_nm // NM_PER_UM)


def _lacks(measured: Measured, asked: RedrillAsked) -> Iterator[str]:
    """Each reading without which nothing can be drawn."""
    for side in (asked.drilled, asked.kept):
        if isinstance(side, Face) or is_standard(side) or measured.face(side, asked.joint) is not None:
            continue
        label = measured.part(side).label
        about = "the axis of the starter's bore" if asked.joint == PAD else "its axis"
        yield f"places of the holes of {label} about {about}, seen from the gearbox; size and thread of each"
        if asked.joint == PAD and side == asked.drilled:
            yield f"distance from each hole's place to the nearest edge of the pad of {label}"
            yield f"depth of metal behind the pad of {label}, before and after it is milled"


def _known(measured: Measured, asked: RedrillAsked) -> Iterator[str]:
    """What there is of a starter's pad: spacing and bore, which without directions make no drawing."""
    for side in (asked.drilled, asked.kept) if asked.joint == PAD else ():
        if isinstance(side, Face) or is_standard(side):
            continue
        for quantity in PAD_READINGS:
            word, read = measured.word(side, quantity), measured.length(side, quantity)
            if read is not None:
                yield f"{measured.name(side, quantity)} {show_nm(read.nominal_nm)}"
            elif word is not None:
                yield f"{measured.name(side, quantity)}: {word.text}"


def _price(index: CatalogueIndex, found: Redrilled, joint: str) -> Iterator[str]:
    """What drilling comes to by the shop's rates; what has no rate is named, never counted as nothing."""
    if not found.new:
        return
    counts = [PlateCount(HOLE, Fraction(len(found.new)), UNITS[HOLE])]
    if joint in ("flywheel-to-crank", "clutch-to-flywheel"):
        counts.append(PlateCount(BALANCE, Fraction(1), UNITS[BALANCE]))
    listed = index.catalogue.operation_prices
    yield from (
        line.text() for line in price_lines(index.catalogue, [one for one in counts if one.operation in listed])
    )
    lacks = [one.unit for one in counts if one.operation not in listed]
    if lacks:
        yield f"no price: the shop has no rate for {', '.join(lacks)}"
    yield "setting it up and the visit to the machine shop are not in it"


def _um(text: str, path: str) -> int | None:
    if not text.strip():
        return None
    nm = read_nm(text, path)
    if nm <= 0:
        raise InvalidInput([Problem(path, f"expected a diameter above zero, found {text[:40]!r}")])
    return round(Fraction(nm, NM_PER_UM))


def _degrees(text: str) -> float | None:
    if not text.strip():
        return None
    number = read_number(text, "turn", "5")
    if number.rest not in ("", "deg", "degrees", "°") or not -180 <= number.value <= 180:
        raise InvalidInput([Problem("turn", f"expected -180 to 180 degrees, found {text[:40]!r}")])
    return float(number.value)
