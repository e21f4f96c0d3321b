"""From measurements as written down to checked ones: exact lengths, counts and words, bolt faces, and their faults.

A reading is a text with its unit in the facts; here it becomes a `graph.fits` measurement, exactly and with the text
kept. What cannot be read is a problem of the facts, named by file and line like any other.
"""

from __future__ import annotations

from collections.abc import Iterator

from graph.catalogue.judged import JudgedFacts
from graph.catalogue.kinds import is_kind
from graph.catalogue.model import BoltFace, Catalogue, MeasuredHole, Measurement
from graph.catalogue.names import LAY
from graph.catalogue.terms import Quantity
from graph.errors import InvalidInput, Problem
from graph.fits import measurement as fits
from graph.fits.lengths import read_nm
from graph.fits.model import WORST_EVIDENCE
from graph.fits.pattern import Face, Hole

WORD = "word"
COUNT = "count"
_AS_PRINTED = {COUNT: "0 teeth", "ratio": "0.005 :1"}  # a ratio is printed to two decimals, common practice


def evidence_rank(catalogue: Catalogue, level: str) -> int:
    """The rank of an evidence level; the worst of all for one that is not known."""
    known = catalogue.evidence_levels.get(level)
    return known.rank if known else max(WORST_EVIDENCE, len(catalogue.evidence_levels))


def read_measurement(catalogue: Catalogue, fact: Measurement) -> fits.CheckedMeasurement:
    """The checked measurement of a fact that is no word. Raises InvalidInput naming every fault."""
    quantity = catalogue.quantities[fact.quantity]
    uncertainty = fact.uncertainty or _AS_PRINTED.get(quantity.dimension, "")
    return fits.measurement_of(
        id=fact.id, quantity=quantity.label, reading=fact.reading, of=fact.of, dimension=quantity.dimension,
        of_kind=fact.subject, uncertainty=uncertainty, form=quantity.form, datum=fact.datum, method=fact.tool,
        temperature=fact.temperature or fits.REFERENCE_TEMPERATURE,
        evidence_rank=evidence_rank(catalogue, fact.evidence), note=fact.note,
    )  # fmt: skip


def read_face(catalogue: Catalogue, fact: BoltFace) -> Face:
    """The checked bolt face of a fact. Raises InvalidInput naming every fault."""
    part = catalogue.parts.get(fact.of)
    return Face(
        id=fact.id, label=part.label if part else fact.of, holes=tuple(_hole(hole) for hole in fact.holes),
        axis=fact.datum, seen_from=fact.seen_from, uncertainty_nm=read_nm(fact.uncertainty, "uncertainty"),
        evidence_rank=evidence_rank(catalogue, fact.evidence),
    )  # fmt: skip


def _hole(hole: MeasuredHole) -> Hole:
    where = f"hole {hole.id}"
    return Hole(
        id=hole.id, x_nm=read_nm(hole.x, f"{where}.x"), y_nm=read_nm(hole.y, f"{where}.y"),
        diameter_nm=read_nm(hole.diameter, f"{where}.diameter"), use=hole.use, thread=hole.thread,
        edge_nm=read_nm(hole.edge_distance, f"{where}.edgeDistance") if hole.edge_distance else None,
    )  # fmt: skip


def list_measurement_problems(facts: JudgedFacts) -> Iterator[Problem]:
    """What cannot be read, is measured on the wrong kind of part, or stands twice in the price list."""
    for fact in facts.catalogue.measurements.values():
        quantity = facts.catalogue.quantities.get(fact.quantity)
        if quantity is not None:
            yield from _reading_problems(facts, fact, quantity)
            yield from _part_problems(facts, fact, quantity)
    for face in facts.catalogue.bolt_faces.values():
        try:
            read_face(facts.catalogue, face)
        except InvalidInput as error:
            for problem in error.problems:
                yield Problem(facts.place(face.id, "hole"), f"{problem.path}: {problem.message}")


def _reading_problems(facts: JudgedFacts, fact: Measurement, quantity: Quantity) -> Iterator[Problem]:
    if quantity.dimension == WORD:
        if fact.reading not in quantity.words:
            words = ", ".join(quantity.words)
            yield Problem(facts.place(fact.id, "reading"), f"expected one of {words}; found {fact.reading!r}")
        return
    try:
        read_measurement(facts.catalogue, fact)
    except InvalidInput as error:
        for problem in error.problems:
            prop = {"method": "tool", "of_kind": "subject"}.get(problem.path, problem.path)
            known = prop if LAY + prop in facts.terms else ""
            yield Problem(facts.place(fact.id, known), problem.message)


def _part_problems(facts: JudgedFacts, fact: Measurement, quantity: Quantity) -> Iterator[Problem]:
    part = facts.catalogue.parts.get(fact.of)
    if part is None or any(is_kind(facts.catalogue, part.kind, kind) for kind in quantity.part_kinds):
        return
    having = " or ".join(quantity.part_kinds)
    message = f"{quantity.id} is measured on {having}, not on {part.kind} ({part.id}); name another quantity or part"
    yield Problem(facts.place(fact.id, "measuredOn"), message)
