"""What is known of a part by measurement: settled lengths, counts, words and faces, and what is missing.

A variant without a reading of its own takes its family's. Several readings are settled: the surest counts, unless they
contradict each other; then nothing is known until somebody measures again. A part that is ordered by the designation
of a published bearing has that table's dimensions.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, TypeVar

from graph.catalogue.layered import Pieced
from graph.catalogue.measurements import WORD, evidence_rank, read_face, read_measurement
from graph.catalogue.model import BoltFace, Catalogue, Measurement, Part
from graph.catalogue.terms import Quantity
from graph.derive.remeasured import Key, Remeasured, read_remeasured
from graph.fits import measurement as fits
from graph.fits.model import Dimension
from graph.fits.pattern import Face
from graph.fits.seats import bearing_ring, bearing_width
from graph.fits.tables import Bearing, Tables
from graph.lookups.findings import MissingReading, gap_of
from graph.lookups.index import CatalogueIndex

MOST_BEARINGS = 2_000  # looked at one by one
MOST_TOLD = 5  # disputes of one quantity, in words
Thing = TypeVar("Thing")
BEARING_KINDS = ("bearing", "input-bearing", "pilot-bearing")


@dataclass(frozen=True, slots=True)
class Word:
    """Something seen, with how surely."""

    text: str
    evidence_rank: int


class Readings:
    """All readings of one quantity of one part or family, in order of their ids; checked and settled on first use.

    It never changes; what `changed` makes has the readings that stay checked already.
    """

    __slots__ = ("_checked", "_settled", "facts")

    def __init__(self, facts: Iterable[Measurement], checked: Mapping[str, fits.CheckedMeasurement] | None = None):
        self.facts = tuple(sorted(facts, key=lambda fact: fact.id))
        self._checked = checked or {}
        self._settled: fits.SettledReadings | None = None

    def changed(self, new: Mapping[str, Measurement], gone: Container[str]) -> Readings:
        """With new readings and without those gone, by id."""
        kept = [fact for fact in self.facts if fact.id not in gone and fact.id not in new]
        checked = {fact.id: self._checked[fact.id] for fact in kept if fact.id in self._checked}
        return Readings([*kept, *new.values()], checked)

    def settled(self, catalogue: Catalogue) -> fits.SettledReadings:
        """What they come to; for a quantity that is no word."""
        if self._settled is None:
            known = self._checked
            checked = {fact.id: known.get(fact.id) or read_measurement(catalogue, fact) for fact in self.facts}
            self._checked = checked
            self._settled = fits.settle(_of_one_datum(list(checked.values())))
        return self._settled


@dataclass(frozen=True, slots=True)
class MeasuredFacts:
    """What is measured in one catalogue: never changed, so that the next one shares what stays.

    `parts`: every part, no family, that somebody has measured or that is a bearing of a published size.
    """

    readings: Pieced[Key, Readings]
    faces: Pieced[Key, tuple[BoltFace, ...]]
    owners: Pieced[str, int]  # of how many keys it is the part or family
    parts: Pieced[str, None] = field(default_factory=Pieced)

    @classmethod
    def of(cls, catalogue: Catalogue) -> MeasuredFacts:
        """All of a catalogue, `parts` apart."""
        return cls(Pieced(), Pieced(), Pieced()).changed(read_remeasured(Catalogue(), catalogue))

    def changed(self, remeasured: Remeasured) -> MeasuredFacts:
        """With what was measured anew, and without what was taken back; the parts are as they were."""
        readings = {
            key: known.changed(*change) if (known := self.readings.get(key)) else Readings(change[0].values())
            for key, change in remeasured.readings.items()
        }
        faces = {
            key: tuple(sorted((*new.values(), *(one for one in self.faces.get(key, ()) if one.id not in {*gone, *new})),
                              key=lambda face: face.id))
            for key, (new, gone) in remeasured.faces.items()
        }  # fmt: skip
        owners: dict[str, int] = {}
        for key, there in ((*((key, bool(one.facts)) for key, one in readings.items()),
                            *((key, bool(found)) for key, found in faces.items()))):  # fmt: skip
            was = key in (self.readings if key in readings else self.faces)
            owners[key[0]] = owners.get(key[0], self.owners.get(key[0], 0)) + there - was
        return MeasuredFacts(
            _with(self.readings, {key: one if one.facts else None for key, one in readings.items()}),
            _with(self.faces, {key: found or None for key, found in faces.items()}),
            _with(self.owners, {owner: count or None for owner, count in owners.items()}),
            self.parts,
        )


def _with(table: Pieced[Any, Thing], changed: Mapping[Any, Thing | None]) -> Pieced[Any, Thing]:
    """The table with other things; without those that are None."""
    there = {key: thing for key, thing in changed.items() if thing is not None}
    return table.changed(there, [key for key in changed if key not in there])


class Measured:
    """What is known of the parts of one index by measurement. `made`: published bearings that became parts."""

    def __init__(self, index: CatalogueIndex, tables: Tables, stated: MeasuredFacts, made: dict[str, Part]):
        self.index, self.catalogue, self.tables, self.stated, self._extra = index, index.catalogue, tables, stated, made

    def with_readings(self, more: Remeasured) -> Measured:
        """The same with what is measured anew besides."""
        return Measured(self.index, self.tables, self.stated.changed(more), self._extra)

    def part(self, part: str) -> Part:
        """The part, from the catalogue or made here."""
        return self._extra.get(part) or self.catalogue.parts[part]

    def add(self, part: Part) -> Part:
        """Take in a part that the catalogue does not have: a published bearing."""
        return self._extra.setdefault(part.id, part)

    @cached_property
    def bearings(self) -> Mapping[str, Bearing]:
        """The published bearings by designation."""
        return {bearing.designation: bearing for bearing in self.tables.bearings}

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Every part, no family, that somebody has measured or that is a bearing of a published size."""
        return tuple(sorted(self.stated.parts))

    def list_counting(self) -> Iterator[str]:
        """The same, found in the catalogue; a part may come more than once."""
        for owner in self.stated.owners:
            if owner in self.catalogue.parts:
                yield from (part for _, part in self.index.descent(owner))
        yield from filter(self._is_published, self._bearing_parts())

    def counts(self, part: str) -> bool:
        """Is it a part that somebody has measured or a bearing of a published size?"""
        known = self.catalogue.parts.get(part)
        if known is None or known.abstract:
            return False
        measured = any(one in self.stated.owners for one in self.index.lineage(part) if one in self.catalogue.parts)
        return measured or self._is_published(part)

    def _is_published(self, part: str) -> bool:
        known = self.catalogue.parts[part]
        return not known.abstract and self.bearing_of(known) is not None

    def _bearing_parts(self) -> Iterable[str]:
        """The parts of the kinds of bearings; of very many, those whose text has a published designation."""
        kinds = frozenset[str]().union(*map(self.index.kinds_under, BEARING_KINDS))
        found = self.index.listing.of_kinds(kinds)
        if len(found) <= MOST_BEARINGS:
            return found
        return self.index.listing.find_ids([[name.casefold() for name in self.bearings]], kinds)

    def bearing_of(self, part: Part) -> Bearing | None:
        """The published bearing under whose designation the part is ordered."""
        if part.number not in self.bearings:
            return None
        kinds = self.index.kinds_of(part.kind)
        return self.bearings[part.number] if not kinds.isdisjoint(BEARING_KINDS) else None

    def readings(self, part: str, quantity: str) -> Readings | None:
        """The readings of the part, or else of the nearest family that has any."""
        known = self.stated.readings
        for owner in self.index.lineage(part):
            found: Readings | None = known.get((owner, quantity))
            if found is not None:
                return found
        return None

    def facts(self, part: str, quantity: str) -> tuple[Measurement, ...]:
        """The same, as they were written down."""
        found = self.readings(part, quantity)
        return found.facts if found else ()

    def has_any(self, part: str, quantities: Iterable[str]) -> bool:
        """Has somebody begun to measure any of the quantities of the part?"""
        return any(self.readings(part, quantity) for quantity in quantities)

    def settled(self, part: str, quantity: str) -> fits.SettledReadings | None:
        """The readings of a quantity that is no word, settled; None where there is none."""
        found = self.readings(part, quantity)
        return found.settled(self.catalogue) if found else None

    def length(self, part: str, quantity: str) -> Dimension | None:
        """The settled length, named in words; None where it is missing or in dispute."""
        tabled = self._tabled(part, quantity)
        if tabled is not None:
            return tabled
        settled = self.settled(part, quantity)
        if settled is None or settled.best is None:
            return None
        return replace(settled.best.dimension(), name=self.name(part, quantity), part=part)

    def _tabled(self, part: str, quantity: str) -> Dimension | None:
        bearing = self.bearing_of(self.part(part))
        return None if bearing is None or self.facts(part, quantity) else bearing_length(self.tables, bearing, quantity)

    def number(self, part: str, quantity: str) -> tuple[Fraction, int] | None:
        """A settled count, angle or torque in its base unit, with its evidence rank."""
        settled = self.settled(part, quantity)
        if settled is None or settled.best is None:
            return None
        return settled.best.reading.amount, settled.best.evidence_rank

    def word(self, part: str, quantity: str) -> Word | None:
        """What was seen; None where nobody looked or two saw different things."""
        facts = self.facts(part, quantity)
        if len({fact.reading for fact in facts}) != 1:
            return None
        return Word(facts[0].reading, min(evidence_rank(self.catalogue, fact.evidence) for fact in facts))

    def face(self, part: str, joint: str) -> Face | None:
        """The part's bolt face at the joint kind."""
        found = self._face_of(part, joint)
        return read_face(self.catalogue, found) if found else None

    def has_face(self, part: str, joint: str) -> bool:
        """Has somebody measured the part's bolt face at the joint kind?"""
        return self._face_of(part, joint) is not None

    def _face_of(self, part: str, joint: str) -> BoltFace | None:
        for owner in self.index.lineage(part):
            found: tuple[BoltFace, ...] = self.stated.faces.get((owner, joint), ())
            if found:
                return max(found, key=lambda face: (bool(face.note), face.id))  # a note counts, the newest of them
        return None

    def stated_of(self, owner: str) -> tuple[list[Measurement], list[BoltFace]]:
        """The measurements and bolt faces stated of exactly this part or family, by id."""
        readings = (self.stated.readings.get((owner, quantity)) for quantity in self.catalogue.quantities)
        facts = [fact for found in readings if found is not None for fact in found.facts]
        faces = [face for joint in self.catalogue.joint_kinds for face in self.stated.faces.get((owner, joint), ())]
        return sorted(facts, key=lambda fact: fact.id), sorted(faces, key=lambda face: face.id)

    def note_of(self, part: str, quantity: str) -> str:
        """The note behind the reading that counts."""
        facts = self.facts(part, quantity)
        if not facts:
            return ""
        return min(facts, key=lambda fact: (evidence_rank(self.catalogue, fact.evidence), fact.id)).note

    def known(self, part: str, quantity: str) -> bool:
        """Is there a settled value?"""
        known = self.catalogue.quantities.get(quantity)
        if known is None:
            return False
        if known.dimension == WORD:
            return self.word(part, quantity) is not None
        if known.dimension == "length":
            return self.length(part, quantity) is not None
        return self.number(part, quantity) is not None

    def gap(self, part: str, quantity: str) -> MissingReading:
        """What to measure, in a mechanic's words, with the readings that contradict each other where there are any."""
        known = self.catalogue.quantities.get(quantity)
        label = self.part(part).label
        if known is None:
            return gap_of(part, quantity, f"{quantity} of {label}")
        return gap_of(part, quantity, f"{known.label} of {label}", self._why(part, known))

    def _why(self, part: str, quantity: Quantity) -> str:
        facts = self.facts(part, quantity.id)
        if quantity.dimension == WORD:
            return "seen as " + " and as ".join(sorted({fact.reading for fact in facts})) if len(facts) > 1 else ""
        settled = self.settled(part, quantity.id)
        return told(settled.disputes) if settled else ""

    def disputes(self, part: str) -> tuple[fits.ReadingDispute, ...]:
        """Readings of the part that contradict each other."""
        mine = sorted(one.id for one in self.catalogue.quantities.values() if one.dimension != WORD)
        settled = [self.settled(part, one) for one in mine]
        return tuple(dispute for one in settled if one is not None for dispute in one.disputes)

    def name(self, part: str, quantity: str) -> str:
        """`input shaft's journal diameter`: what a line of working calls it."""
        kind = self.catalogue.part_kinds.get(self.part(part).kind)
        known = self.catalogue.quantities.get(quantity)
        return f"{kind.label if kind else part}'s {known.label if known else quantity}"


def told_each(disputes: Sequence[fits.ReadingDispute]) -> tuple[str, ...]:
    """The disputes of one quantity in words; of many the first, and how many more there are."""
    more = len(disputes) - MOST_TOLD
    texts = (dispute.text() for dispute in disputes[:MOST_TOLD])
    return (*texts, f"and {more} more such contradictions") if more > 0 else tuple(texts)


def told(disputes: Sequence[fits.ReadingDispute]) -> str:
    """The same as one text."""
    return "; ".join(told_each(disputes))


def bearing_length(tables: Tables, bearing: Bearing, quantity: str) -> Dimension | None:
    """A published bearing's dimension in class Normal; None for a quantity that bearings do not have."""
    if quantity == "bearing-bore":
        return bearing_ring(tables, bearing, "shaft")
    if quantity == "bearing-outside-diameter":
        return bearing_ring(tables, bearing, "housing")
    return bearing_width(tables, bearing) if quantity == "bearing-width" else None


def _of_one_datum(found: list[fits.CheckedMeasurement]) -> list[fits.CheckedMeasurement]:
    """Readings from different faces are not of one thing; those from the datum of the surest one count."""
    surest = min(found, key=lambda one: (one.evidence_rank, one.uncertainty.amount, one.id))
    return [one for one in found if one.datum == surest.datum]
