"""The measurements of a part as its page and the bench show them: as read, in mm and inch, and how they are known."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from graph.catalogue.measurements import WORD, read_face
from graph.catalogue.model import BoltFace, Measurement, Note
from graph.derive.around import deriver_of
from graph.derive.measured import Measured, told_each
from graph.errors import InvalidInput
from graph.fits.face_svg import face_svg, list_holes
from graph.fits.model import NM_PER_INCH, NM_PER_MM, fixed
from graph.fits.quantity import quantity_of
from graph.lookups.index import CatalogueIndex


def measured_of(index: CatalogueIndex) -> Measured:
    """The measurements of the index's catalogue."""
    return deriver_of(index).measured


@dataclass(frozen=True, slots=True)
class MeasuredView:
    """One measurement in words. `both`: mm and inch, empty for what is no length; `of`: the family it is stated of."""

    id: str
    quantity: str
    quantity_id: str
    reading: str
    both: str
    uncertainty: str
    datum: str
    tool: str
    subject: str
    evidence: str
    of: str
    note: str
    who: str
    when: str
    method: str


@dataclass(frozen=True, slots=True)
class FaceView:
    """A bolt face with its drawing and its holes in words. `fault`: why it cannot be drawn, else empty."""

    joint: str
    joint_id: str
    svg: Markup
    holes: tuple[str, ...]
    fault: str
    evidence: str


def both_lengths(nm: int | Fraction) -> str:
    """A length in mm and inch.

    >>> both_lengths(25_400_000)
    '25.400 mm (1.0000 in)'
    """
    return f"{fixed(Fraction(nm) / NM_PER_MM, 3)} mm ({fixed(Fraction(nm) / NM_PER_INCH, 4)} in)"


def list_readings(index: CatalogueIndex, part_id: str) -> tuple[MeasuredView, ...]:
    """Every measurement of the part and its families, by quantity, the part's own first."""
    found = [
        _reading(index, part_id, fact) for owner in index.lineage(part_id) for fact in owned(index, owner)[0]
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda reading: reading.quantity))


def list_faces(index: CatalogueIndex, part_id: str) -> tuple[FaceView, ...]:
    """The bolt faces of the part and its families, each drawn."""
    return tuple(_face(index, face) for owner in index.lineage(part_id) for face in owned(index, owner)[1])


def list_disputes(index: CatalogueIndex, part_id: str) -> tuple[str, ...]:
    """Readings of the part that contradict each other, in words."""
    measured, known = measured_of(index), index.catalogue.quantities
    facts = [fact for owner in index.lineage(part_id) for fact in owned(index, owner)[0]]
    quantities = sorted({fact.quantity for fact in facts if known[fact.quantity].dimension != WORD})
    settled = [measured.settled(part_id, quantity) for quantity in quantities]
    return tuple(text for one in settled if one for text in told_each(one.disputes))


def owned(index: CatalogueIndex, owner: str) -> tuple[list[Measurement], list[BoltFace]]:
    """The measurements and bolt faces stated of exactly this part or family, by id."""
    return measured_of(index).stated_of(owner)


def _reading(index: CatalogueIndex, part_id: str, fact: Measurement) -> MeasuredView:
    known = index.catalogue
    quantity, level = known.quantities.get(fact.quantity), known.evidence_levels.get(fact.evidence)
    note = known.notes.get(fact.note, Note("", "", ""))
    owner = known.parts.get(fact.of)
    return MeasuredView(
        id=fact.id, quantity=quantity.label if quantity else fact.quantity, quantity_id=fact.quantity,
        reading=fact.reading, both=_both(fact.reading) if quantity and quantity.dimension == "length" else "",
        uncertainty=fact.uncertainty, datum=fact.datum, tool=fact.tool, subject=fact.subject,
        evidence=level.label if level else fact.evidence, of="" if fact.of == part_id or not owner else owner.label,
        note=fact.note, who=note.author, when=note.made_on[:10], method=note.method,
    )  # fmt: skip


def _both(reading: str) -> str:
    try:
        return both_lengths(quantity_of(reading).nm)
    except InvalidInput:  # the loader has told of it already; the page still shows what was written
        return ""


def _face(index: CatalogueIndex, fact: BoltFace) -> FaceView:
    known = index.catalogue
    joint, level = known.joint_kinds.get(fact.joint), known.evidence_levels.get(fact.evidence)
    label, evidence = joint.label if joint else fact.joint, level.label if level else fact.evidence
    try:
        face = read_face(known, fact)
    except InvalidInput as error:
        return FaceView(label, fact.joint, Markup(), (), str(error), evidence)
    svg = Markup(face_svg(face, prefix=f"face-{fact.joint}-{fact.id}"))
    return FaceView(label, fact.joint, svg, list_holes(face), "", evidence)
