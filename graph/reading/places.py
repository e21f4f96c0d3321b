"""The places of an assembly that nobody has filled: what is not known of each, decided here and nowhere else.

A unit holds a part at a place, holds none, or nothing is known. A place that must be filled and of which nothing is
known is taken to be filled as it left the factory, one that holds none needs a part, and one that may be filled is
taken to be empty: each is an assumption, and marked as one.
"""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass

from graph.catalogue.terms import Assembly, PositionKind
from graph.lookups.index import PlaceState
from graph.reading.model import ASSUMED_EMPTY, ASSUMED_THERE, NOT_ASKED, NOTHING_TO_DO, PART_NEEDED, LeftOut
from graph.reading.sieve import Sieve

NOT_STATED = (ASSUMED_THERE, ASSUMED_EMPTY)  # what is supposed to be there now: as found
NAMES = {ASSUMED_THERE: "not-known", ASSUMED_EMPTY: "none-known", PART_NEEDED: "needed"}


@dataclass(frozen=True, slots=True)
class Gap:
    """What is not known of a place. `how`: ASSUMED_THERE, ASSUMED_EMPTY or PART_NEEDED; `unit`: whose place it is."""

    position: PositionKind
    how: str
    unit: str

    @property
    def name(self) -> str:
        """The name that stands for the part."""
        return f"{self.position.id}-{NAMES[self.how]}"

    def text(self, unit_label: str) -> str:
        """What is supposed, for a mechanic."""
        what = self.position.label
        if self.how == PART_NEEDED:
            return f"{what} to suit: {unit_label} has none that can be used"
        if self.how == ASSUMED_EMPTY:
            return f"no {what} in {unit_label}, as far as is known"
        return f"{what} of {unit_label}, not known"


def gaps_in(sieve: Sieve, assembly: Assembly, refused: Container[str] = ()) -> dict[str, Gap]:
    """Per place of the assembly that no part is stated for, what is supposed of it; in order of ids.

    `refused`: places whose part is damaged or worn out, and cannot stay. Places of a unit that is not asked about are
    not asked for, and that is put on record.
    """
    found: dict[str, Gap] = {}
    kinds = sieve.index.catalogue.position_kinds
    for position in assembly.positions:
        must = position in assembly.must_have
        unit = sieve.question.unit_of(kinds[position].owner)
        if not unit:
            if must:
                _note_not_asked(sieve, kinds[position])
            continue
        state = sieve.index.place(unit, position).state
        has_none = state == PlaceState.HAS_NONE or position in refused
        if (state == PlaceState.HOLDS and not has_none) or (has_none and not must):
            continue
        how = PART_NEEDED if has_none else ASSUMED_THERE if must else ASSUMED_EMPTY
        found[position] = Gap(kinds[position], how, unit)
    return found


def passing_places(sieve: Sieve, assembly: Assembly) -> Iterable[str]:
    """The places that a unit has for another assembly that it was made for, and that this one has no use for."""
    known = sieve.index.catalogue.assemblies
    for unit in sieve.question.units:
        own = [known[one] for one in sieve.index.made_for(unit) if one in known]
        if own and assembly.id not in {one.id for one in own}:
            yield from sorted({place for one in own for place in one.positions}.difference(assembly.positions))


def idle_places(sieve: Sieve, assembly: Assembly, held: Container[str]) -> Iterable[str]:
    """The places that may be filled and have nothing to do here, put on record with what is missing for them.

    A release bearing works on a clutch cover: where it is stated that there is none, nobody renews the bearing for this
    job. `held`: places that a part is known for.
    """
    kinds = sieve.index.catalogue.position_kinds
    none = {place for place in assembly.positions if _has_none(sieve, assembly, place) and place not in held}
    found: list[str] = []
    while True:
        fresh = [
            place for place in assembly.may_have
            if place not in none and kinds[place].works_on and none.issuperset(kinds[place].works_on)
            and sieve.question.unit_of(kinds[place].owner)
        ]  # fmt: skip
        if not fresh:
            return found
        for place in fresh:
            missing = " or ".join(kinds[one].label for one in kinds[place].works_on)
            text = f"{kinds[place].label}: of no use in this job, there is no {missing} that it works on"
            sieve.leave_out(LeftOut(place, "position", place, NOTHING_TO_DO, text))
        found += fresh
        none.update(fresh)


def _has_none(sieve: Sieve, assembly: Assembly, place: str) -> bool:
    """Does the unit that has the place state that it holds none, and need it hold none?"""
    unit = sieve.question.unit_of(sieve.index.catalogue.position_kinds[place].owner)
    if not unit or place in assembly.must_have:
        return False
    return sieve.index.place(unit, place).state == PlaceState.HAS_NONE


def _note_not_asked(sieve: Sieve, kind: PositionKind) -> None:
    text = f"{kind.label}: belongs to the {kind.owner}, and the question names none; name it to have it judged"
    sieve.leave_out(LeftOut(kind.id, "position", kind.id, NOT_ASKED, text))
