"""Made parts from the catalogue's readings: which readings a kind takes of which parts, and what is designed of them.

The records are in graph/made/kinds.py; here the positions they name are filled with parts, and the parts with what is
measured of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from graph.catalogue.model import SHIFTS
from graph.catalogue.terms import JointKind
from graph.derive.made_prices import PriceOf, WorkPrice, price_design
from graph.derive.measured import Measured
from graph.fits.model import NM_PER_MM, Amount, CheckResult, Dimension, FinishedSize, Line, Verdict, Work, Working
from graph.made.design import MadeWanted, design_made
from graph.made.kinds import GROUND_NM, kind_for_work
from graph.made.model import THICKNESS, MadeKind, MadePart, MadeRefused, Reading
from graph.plates.model import ThicknessWindow

NO_WINDOW = ThicknessWindow()


@dataclass(frozen=True, slots=True)
class MadeBetween:
    """A kind of made part and the parts that hold its two positions, by position."""

    kind: MadeKind
    holders: Mapping[str, str]

    @property
    def ends(self) -> tuple[str, str]:
        """The two parts, in the kind's order."""
        first, second = self.kind.between
        return self.holders[first], self.holders[second]


def readings_between(measured: Measured, between: MadeBetween) -> dict[Reading, Dimension | None]:
    """What is measured of all that the kind's sizes take; of a part that is not named (empty) nothing."""
    named = ((one, between.holders[one[0]]) for one in between.kind.readings)
    return {one: measured.length(part, one[1]) if part else None for one, part in named}


def labels_of(measured: Measured, between: MadeBetween) -> dict[str, str]:
    """Per position what the part there is called; of a part that is not named, what the place is called."""
    places = measured.catalogue.position_kinds
    return {
        position: measured.part(part).label if part else (places[position].label if position in places else position)
        for position, part in between.holders.items()
    }


def design_between(
    measured: Measured, between: MadeBetween, *, size_nm: int | None = None, window: ThicknessWindow = NO_WINDOW,
    decided: tuple[FinishedSize, ...] = (), given: Mapping[Reading, Dimension] | None = None, undecided: str = "",
) -> MadePart | MadeRefused:  # fmt: skip
    """The part as designed. `given`: readings that count instead of those of the facts; `undecided`: what the check of
    the joint lacks."""
    kind, catalogue = between.kind, measured.catalogue
    readings = readings_between(measured, between) | dict(given or {})
    labels = labels_of(measured, between)
    first, second = (labels[position] for position in kind.between)
    names = {
        one: f"{catalogue.quantities[one[1]].label if one[1] in catalogue.quantities else one[1]} of {labels[one[0]]}"
        for one in kind.readings
    }
    face = measured.face(between.ends[0], kind.face) if kind.face and between.ends[0] else None
    return design_made(measured.tables, MadeWanted(
        kind=kind, mates=(first, second), readings=readings, names=names, decided=decided, size_nm=size_nm,
        window=window, face=face, face_name=first, undecided=undecided, seat_um=_seat_um(measured, between),
    ))  # fmt: skip


def _seat_um(measured: Measured, between: MadeBetween) -> int | None:
    """Where the length chains have the seat; None where nobody has noted it."""
    along = between.kind.along
    part = between.holders[along.to_seat[0]] if along and along.to_seat else ""
    if along is None or not part:
        return None
    moved = (one for one in measured.index.side_effects(part) if one.kind == SHIFTS and one.target == along.seat_chain)
    return next((one.shift_um for one in moved), None)


def decided_by(kind: MadeKind, work: Work) -> tuple[FinishedSize, ...]:
    """The sizes that the joint's check decided: as it states them, a thickness as the amount of its work."""
    if work.sizes or THICKNESS not in kind.decided or work.amount is None:
        return work.sizes
    return (FinishedSize(THICKNESS, int(work.amount.value * NM_PER_MM), -GROUND_NM, GROUND_NM),)


def design_for_work(
    measured: Measured, joint: JointKind, parts: tuple[str, str], work: Work, *, size_nm: int | None = None,
    window: ThicknessWindow = NO_WINDOW,
) -> MadePart | MadeRefused | None:  # fmt: skip
    """What a piece of work at the joint makes; None where it makes nothing that is drawn."""
    kind = kind_for_work(joint.id, work.operation)
    if kind is None:
        return None
    between = MadeBetween(kind, dict(zip(joint.between, parts, strict=True)))
    return design_between(measured, between, size_nm=size_nm, window=window, decided=decided_by(kind, work))


def price_at(
    measured: Measured, joint: JointKind, parts: tuple[str, str], size_nm: int | None = None,
    window: ThicknessWindow = NO_WINDOW,
) -> PriceOf:  # fmt: skip
    """What work at the joint costs by the rates, where it makes a part that they can be counted for."""

    def price(work: Work) -> WorkPrice | None:
        if kind_for_work(joint.id, work.operation) is None:
            return None
        design = design_for_work(measured, joint, parts, work, size_nm=size_nm, window=window)
        return price_design(measured.index, design) if isinstance(design, MadePart) else None

    return price


def work_of(design: MadePart) -> Work:
    """Making it, as a piece of work: what the estimate and the job sheet say."""
    kind = design.kind
    sizes = ", ".join(one.text() for one in design.sizes)
    amount = Amount.of_nm(design.along.middle_nm) if design.along.known else None
    return Work(
        kind.operation, design.title, f"make a {kind.label} of {kind.material}: {sizes}", amount, remedy=kind.part_kind
    )


def result_of(design: MadePart, joint: str) -> CheckResult:
    """The design as a check's result, with a line for each size."""
    work = work_of(design)
    lines = tuple(
        Line(one.name, "reading and allowance", one.taken, one.text().removeprefix(f"{one.name} "), one.source)
        for one in design.sizes
    )
    known = not design.measure
    return CheckResult(
        joint=joint, verdict=Verdict.HOLDS_WITH_WORK, summary=work.text if known else f"{work.text} (not whole yet)",
        binding="made to measure", work=(work,), choices=((work,),), working=Working(lines),
        evidence_rank=design.evidence_rank, cautions=(*design.doubts, *design.kind.cautions),
    )  # fmt: skip
