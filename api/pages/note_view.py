"""Notes and disputes in words: what a note states, who says so, and the two sides of a contradiction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import pyoxigraph as ox

from api.pages.part_view import VERBS, Other, other_of
from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.model import HAS_NONE, Catalogue, Part, StatedFault
from graph.catalogue.names import DEFINITION, LABEL, LAY, RDF, local_id
from graph.catalogue.terms import TaskKind, Term
from graph.errors import NotFound
from graph.ledger.disputes import Claim, ClaimDispute
from graph.ledger.identity import find_note_id
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.ledger.statements import triples_of
from graph.notes.form import ABOUT
from graph.workbook.plan import class_label, property_label

MOST_STATEMENTS = 60
_TYPE = RDF + "type"
_AS_WRITTEN = (LABEL, DEFINITION, LAY + "number", LAY + "reason")  # words and numbers, which name nothing
_PLACES = {name: place for place, name in enumerate((LABEL, LAY + "kind", LAY + "number", LAY + "partCondition"))}


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that a note states: `first verb second place`, or `text` where it is no edge."""

    first: Other | None
    verb: str
    second: Other | None
    place: str
    text: str


@dataclass(frozen=True, slots=True)
class NoteRow:
    """A note in a list: the line of the ledger, what it states in words, its evidence in words, its day."""

    entry: Entry
    said: tuple[Said, ...]
    evidence: str
    day: str


@dataclass(frozen=True, slots=True)
class ClaimView:
    """One side of a dispute with the note behind it. `note` is None where the note came without a line here."""

    claim: Claim
    says: str
    evidence: str
    note: Entry | None


@dataclass(frozen=True, slots=True)
class DisputeView:
    """A dispute: what it is about (`about_iris`: by its IRIs), and its sides, best evidence first."""

    about: tuple[Other, ...]
    about_iris: str
    settled: bool
    claims: tuple[ClaimView, ...]


def row_of(known: Catalogue, base: str, entry: Entry) -> NoteRow:
    """A line of the ledger in words."""
    level = known.evidence_levels.get(entry.evidence)
    day = (entry.made_at or entry.recorded_at)[:10]
    return NoteRow(entry, said_in(known, base, entry.statements), level.label if level else entry.evidence, day)


def said_in(known: Catalogue, base: str, statements: str) -> tuple[Said, ...]:
    """What the statements say, edges and measurements as sentences, the rest as it stands."""
    by_subject: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for triple in triples_of(statements) if statements else ():
        by_subject[str(triple.subject.value)][triple.predicate.value].append(_plain(triple.object, base))  # type: ignore[union-attr]
    found: list[Said] = []
    for subject, values in sorted(by_subject.items()):
        found += _said(known, base, subject, values)
    return tuple(found[:MOST_STATEMENTS])


def _plain(value: object, base: str) -> str:
    text = str(getattr(value, "value", value))
    return local_id(text, base) if isinstance(value, ox.NamedNode) else text


def _said(known: Catalogue, base: str, subject: str, values: dict[str, list[str]]) -> Iterable[Said]:
    def one(name: str) -> str:
        return (values.get(LAY + name) or [""])[0]

    classes = {EDGE_CLASSES.get(LAY + name) for name in values.get(_TYPE, ())} - {None}
    if classes:
        joint = known.joint_kinds.get(one("joint"))
        position = known.position_kinds.get(one("position"))
        place = f"at {joint.label}" if joint else f"as {position.label}" if position else ""
        details = [f"{amount} h" for amount in values.get(LAY + "hours", ())]
        details += [f"{amount} {known.currency}".strip() for amount in values.get(LAY + "cash", ())]
        details += [f"by {amount} mm" for amount in values.get(LAY + "shiftMm", ())]
        details += values.get(LAY + "reason", [])
        kind = min(str(name) for name in classes)
        if kind == HAS_NONE:
            yield Said(
                other_of(known, one("source")), VERBS[kind], other_of(known, one("position")), "", "; ".join(details)
            )
            return
        ends = other_of(known, one("source")), other_of(known, one("target"))
        yield Said(ends[0], VERBS[kind], ends[1], place, "; ".join(details))
    elif "Measurement" in values.get(_TYPE, ()):
        quantity = known.quantities.get(one("quantity"))
        text = f"{one('reading')}, from the {one('datum')}" if one("datum") else one("reading")
        label = quantity.label if quantity else one("quantity")
        yield Said(other_of(known, one("measuredOn")), f"{label}:", None, "", text)
    elif LAY + "madeFor" in values and _TYPE not in values:
        jobs = (known.assemblies[job].label if job in known.assemblies else job for job in values[LAY + "madeFor"])
        yield Said(other_of(known, local_id(subject, base)), "was made for:", None, "", ", ".join(sorted(jobs)))
    elif ABOUT in values:
        yield from (Said(other_of(known, part), "is what this is about", None, "", "") for part in values[ABOUT])
    elif not _is_list_node(values):
        yield from _in_the_trades_words(known, local_id(subject, base), values)


def _in_the_trades_words(known: Catalogue, subject: str, values: dict[str, list[str]]) -> Iterator[Said]:
    """What is stated of a thing, each property by the name of its column, each kind, place and part by its own name."""
    about = other_of(known, subject)
    if about.label == subject and values.get(LABEL):
        about = replace(about, label=values[LABEL][0])
    for predicate, objects in sorted(values.items(), key=lambda item: _PLACES.get(item[0], len(_PLACES))):
        if predicate == _TYPE:
            if LAY + "kind" not in values:
                yield Said(about, "is noted as:", None, "", ", ".join(class_label(LAY + one) for one in objects))
        elif predicate != LABEL or objects != [about.label]:
            told = ", ".join(objects if predicate in _AS_WRITTEN else (_called(known, one) for one in objects))
            yield Said(about, f"{property_label(predicate)}:", None, "", told[:500])


def _called(known: Catalogue, thing: str) -> str:
    """A kind, place, task, condition or part by its name; what is none of them as it stands."""
    tables: tuple[Mapping[str, Term | Part | TaskKind | StatedFault], ...] = (
        known.part_kinds,
        known.position_kinds,
        known.joint_kinds,
        known.chain_kinds,
        known.tasks,
        known.features,
        known.evidence_levels,
        known.part_conditions,
        known.quantities,
        known.assemblies,
        known.parts,
        known.faults,
    )
    return next((table[thing].label for table in tables if thing in table), thing)


def _is_list_node(values: dict[str, list[str]]) -> bool:
    return RDF + "first" in values


def list_dispute_views(notebook: Notebook, known: Catalogue) -> tuple[DisputeView, ...]:
    """Every dispute, open ones first, with the notes on both sides."""
    disputes = sorted(notebook.disputes(), key=lambda dispute: dispute.settled)  # stable: else in their own order
    return tuple(_dispute(notebook, known, dispute) for dispute in disputes)


def _dispute(notebook: Notebook, known: Catalogue, dispute: ClaimDispute) -> DisputeView:
    base = notebook.ledger.base
    about = tuple(_about(known, local_id(iri, base)) for iri in dispute.about)
    claims = tuple(_claim(notebook, known, claim) for claim in dispute.claims)
    return DisputeView(about, " ".join(dispute.about), dispute.settled, claims)


def _about(known: Catalogue, name: str) -> Other:
    if name in known.joint_kinds:
        return Other(name, known.joint_kinds[name].label, "")
    return other_of(known, name)


def _claim(notebook: Notebook, known: Catalogue, claim: Claim) -> ClaimView:
    level = known.evidence_levels.get(claim.evidence)
    note_id = find_note_id(claim.note)
    try:
        entry = notebook.ledger.get_note(note_id) if note_id else None
    except NotFound:
        entry = None
    return ClaimView(claim, VERBS.get(claim.says, claim.says), level.label if level else claim.evidence, entry)
