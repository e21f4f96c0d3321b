"""What is known of a part by measurement: settled lengths, counts, words and faces, and what is missing.

A variant without a reading of its own takes its family's. Several readings are settled: the surest counts, unless they
contradict each other; then nothing is known until somebody measures again. A part that is ordered by the designation
of a published bearing has that table's dimensions.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from graph.catalogue.measurements import WORD, evidence_rank, read_face, read_measurement
from graph.catalogue.model import Measurement, Part, Quantity
from graph.derive.findings import Gap
from graph.fits import measurement as fits
from graph.fits.model import Dimension
from graph.fits.pattern import Face
from graph.fits.seats import bearing_ring, bearing_width
from graph.fits.tables import Bearing, Tables
from graph.reading.index import CatalogueIndex

MOST_BEARINGS = 2_000  # looked at one by one
BEARING_KINDS = ("bearing", "input-bearing", "pilot-bearing")


@dataclass(frozen=True, slots=True)
class Word:
    """Something seen, with how surely."""

    text: str
    evidence_rank: int


class Measured:
    """The measurements of one catalogue, settled on first use."""

    def __init__(self, index: CatalogueIndex, tables: Tables):
        self.index, self.catalogue, self.tables = index, index.catalogue, tables
        self._facts: dict[tuple[str, str], list[Measurement]] = defaultdict(list)
        for fact in self.catalogue.measurements.values():
            self._facts[fact.of, fact.quantity].append(fact)
        self._faces = {(face.of, face.joint): face for face in self.catalogue.bolt_faces.values()}
        self._settled: dict[tuple[str, str], fits.Settled | None] = {}
        self._extra: dict[str, Part] = {}

    def part(self, part: str) -> Part:
        """The part, from the catalogue or made here."""
        return self._extra.get(part) or self.catalogue.parts[part]

    def add(self, part: Part) -> Part:
        """Take in a part that the catalogue does not have: a published bearing, a sleeve to be made."""
        return self._extra.setdefault(part.id, part)

    @cached_property
    def bearings(self) -> Mapping[str, Bearing]:
        """The published bearings by designation."""
        return {bearing.designation: bearing for bearing in self.tables.bearings}

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Every part, no family, that somebody has measured or that is a bearing of a published size."""
        owners = {of for of, _ in (*self._facts, *self._faces)}
        found = {part for owner in owners if owner in self.catalogue.parts for _, part in self.index.descent(owner)}
        bearings = (self.catalogue.parts[id_] for id_ in self._bearing_parts())
        found.update(part.id for part in bearings if self.bearing_of(part) and not part.abstract)
        return tuple(sorted(found))

    def _bearing_parts(self) -> Iterable[str]:
        """The parts of the kinds of bearings; of very many, those whose text has a published designation."""
        kinds = frozenset[str]().union(*map(self.index.kinds_under, BEARING_KINDS))
        found = self.index.listing.of_kinds(kinds)
        if len(found) <= MOST_BEARINGS:
            return found
        return self.index.listing.texts.find_ids([[name.casefold() for name in self.bearings]], kinds)

    def bearing_of(self, part: Part) -> Bearing | None:
        """The published bearing under whose designation the part is ordered."""
        if part.number not in self.bearings:
            return None
        kinds = self.index.kinds_of(part.kind)
        return self.bearings[part.number] if not kinds.isdisjoint(BEARING_KINDS) else None

    def facts(self, part: str, quantity: str) -> tuple[Measurement, ...]:
        """The readings of the part, or else of the nearest family that has any."""
        for owner in self.index.lineage(part):
            if (owner, quantity) in self._facts:
                return tuple(self._facts[owner, quantity])
        return ()

    def has_any(self, part: str, quantities: Iterable[str]) -> bool:
        """Has somebody begun to measure any of the quantities of the part?"""
        return any(self.facts(part, quantity) for quantity in quantities)

    def settled(self, part: str, quantity: str) -> fits.Settled | None:
        """The readings of a quantity that is no word, settled; None where there is none."""
        key = (part, quantity)
        if key not in self._settled:
            found = [read_measurement(self.catalogue, fact) for fact in self.facts(part, quantity)]
            self._settled[key] = fits.settle(_of_one_datum(found)) if found else None
        return self._settled[key]

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
        for owner in self.index.lineage(part):
            if (owner, joint) in self._faces:
                return read_face(self.catalogue, self._faces[owner, joint])
        return None

    def has_face(self, part: str, joint: str) -> bool:
        """Has somebody measured the part's bolt face at the joint kind?"""
        return any((owner, joint) in self._faces for owner in self.index.lineage(part))

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

    def gap(self, part: str, quantity: str) -> Gap:
        """What to measure, in a mechanic's words, with the readings that contradict each other where there are any."""
        known = self.catalogue.quantities.get(quantity)
        label = self.part(part).label
        if known is None:
            return Gap(part, quantity, f"{quantity} of {label}")
        return Gap(part, quantity, f"{known.label} of {label}", self._why(part, known))

    def _why(self, part: str, quantity: Quantity) -> str:
        facts = self.facts(part, quantity.id)
        if quantity.dimension == WORD:
            return "seen as " + " and as ".join(sorted({fact.reading for fact in facts})) if len(facts) > 1 else ""
        settled = self.settled(part, quantity.id)
        return "; ".join(dispute.text() for dispute in settled.disputes) if settled else ""

    def disputes(self, part: str) -> tuple[fits.Dispute, ...]:
        """Readings of the part that contradict each other."""
        mine = sorted({quantity for of, quantity in self._facts if of in self.index.lineage(part)})
        known = self.catalogue.quantities
        settled = [self.settled(part, one) for one in mine if one in known and known[one].dimension != WORD]
        return tuple(dispute for one in settled if one is not None for dispute in one.disputes)

    def name(self, part: str, quantity: str) -> str:
        """`input shaft's journal diameter`: what a line of working calls it."""
        kind = self.catalogue.part_kinds.get(self.part(part).kind)
        known = self.catalogue.quantities.get(quantity)
        return f"{kind.label if kind else part}'s {known.label if known else quantity}"


def bearing_length(tables: Tables, bearing: Bearing, quantity: str) -> Dimension | None:
    """A published bearing's dimension in class Normal; None for a quantity that bearings do not have."""
    if quantity == "bearing-bore":
        return bearing_ring(tables, bearing, "shaft")
    if quantity == "bearing-outside-diameter":
        return bearing_ring(tables, bearing, "housing")
    return bearing_width(tables, bearing) if quantity == "bearing-width" else None


def _of_one_datum(found: list[fits.Measurement]) -> list[fits.Measurement]:
    """Readings from different faces are not of one thing; those from the datum of the surest one count."""
    surest = min(found, key=lambda one: (one.evidence_rank, one.uncertainty.amount, one.id))
    return [one for one in found if one.datum == surest.datum]
