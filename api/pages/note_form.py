"""A note as a person writes it in half a minute, turned into a draft with its statement: "A fits B at ... after ...".

Parts are named by id or by words; words that fit several parts come back as a choice. A joint that the two kinds of
parts leave no doubt about is filled in. Everything wrong is told at once, each fault at its field.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields

import pyoxigraph as ox

from graph.answer.find import find_parts
from graph.catalogue.build import EDGE_CLASSES
from graph.catalogue.model import Part
from graph.catalogue.names import KIND, LAY, RDF, XSD
from graph.errors import InvalidInput, Problem
from graph.ledger.identity import note_iri
from graph.ledger.record import Draft
from graph.ledger.statements import canonical
from graph.reading.index import CatalogueIndex

REMARK = "remark"
# What can be said, in the words of the form.
RELATIONS = {
    "fits": "fits, as it is",
    "requires-machining": "fits after machining",
    "does-not-fit": "does not fit",
    "replaces": "replaces",
    "needs": "needs",
    "excludes": "cannot go together with",
    REMARK: "no relation, only a remark",
}
AT_A_JOINT = ("fits", "requires-machining", "does-not-fit")
MOST_CHOICES = 12
_AMOUNT = re.compile(r"\d{1,9}(\.\d{1,2})?")
_CLASS_OF = {kind: name for name, kind in EDGE_CLASSES.items()}
_TYPE = ox.NamedNode(RDF + "type")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteForm:
    """The fields as typed. `a`, `b`: parts by id or words; `work`: operations, one on a line; `shareable`: "yes"."""

    a: str = ""
    relation: str = "fits"
    b: str = ""
    joint: str = ""
    work: str = ""
    reason: str = ""
    hours: str = ""
    cash: str = ""
    text: str = ""
    evidence: str = ""
    method: str = ""
    job: str = ""
    author: str = ""
    made_at: str = ""
    shareable: str = ""
    key: str = ""


FIELDS = tuple(field.name for field in fields(NoteForm))


@dataclass(frozen=True, slots=True)
class Choice:
    """A part or joint to choose where the words left a doubt."""

    id: str
    label: str


class Doubt(InvalidInput):
    """The form is not complete; `choices`: by field, what the words may have meant."""

    def __init__(self, problems: list[Problem], choices: Mapping[str, tuple[Choice, ...]]):
        self.choices = dict(choices)
        super().__init__(problems)


@dataclass(frozen=True, slots=True)
class Read:
    """The form understood: its parts, its joint and what it adds up to."""

    a: Part | None
    b: Part | None
    joint: str


def form_of(values: Mapping[str, object]) -> NoteForm:
    """The form's fields from what was sent; what is no text is left out, line ends are made plain."""
    found = {name: value.replace("\r\n", "\n") for name in FIELDS if isinstance(value := values.get(name), str)}
    return NoteForm(**{name: value if name in ("text", "work") else value.strip() for name, value in found.items()})


def draft_of(form: NoteForm, index: CatalogueIndex, base: str, note_id: str, recorded_by: str) -> Draft:
    """The draft that says what the form says. Raises Doubt with every fault and the choices it leaves."""
    read = understood(form, index)
    statements = canonical(_triples(form, read, base, note_iri(base, note_id))) if read.a else ""
    return Draft(
        text=form.text.strip() or _sentence(form, read, index), statements=statements, author=form.author,
        evidence=form.evidence, method=form.method, job=form.job, made_at=form.made_at,
        shareable=form.shareable == "yes", recorded_by=recorded_by,
    )  # fmt: skip


def understood(form: NoteForm, index: CatalogueIndex) -> Read:
    """The parts and the joint that the form means. Raises Doubt with every fault."""
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    if form.relation not in RELATIONS:
        problems.append(Problem("relation", f"expected one of {', '.join(RELATIONS)}"))
    remark = form.relation == REMARK
    a = find_part(index, "a", form.a, problems, choices) if not remark else None
    b = find_part(index, "b", form.b, problems, choices) if not remark else None
    joint = _joint(form, index, a, b, problems, choices) if form.relation in AT_A_JOINT else ""
    problems += _field_problems(form)
    if problems:
        raise Doubt(problems, choices)
    return Read(a, b, joint)


def list_joints(index: CatalogueIndex, a: Part, b: Part) -> tuple[str, ...]:
    """The joint kinds at which parts of these two kinds can meet, directly or with one of them standing between."""
    known = index.catalogue
    kinds = (index.kinds_of(a.kind), index.kinds_of(b.kind))

    def side(joint_id: str, which: int) -> set[str]:
        position = known.position_kinds.get(known.joint_kinds[joint_id].between[which])
        return set(position.part_kinds) if position else set()

    found = []
    for joint_id, joint in sorted(known.joint_kinds.items()):
        first, second, via = side(joint_id, 0), side(joint_id, 1), set(joint.via_kinds)
        pairs = ((first, second), (first, via), (via, second))
        if any((kinds[0] & x and kinds[1] & y) or (kinds[1] & x and kinds[0] & y) for x, y in pairs):
            found.append(joint_id)
    return tuple(found)


def find_part(
    index: CatalogueIndex, name: str, typed: str, problems: list[Problem], choices: dict[str, tuple[Choice, ...]]
) -> Part | None:
    """The part meant by an id or by words; None with a problem, and with choices where several are meant."""
    if typed in index.catalogue.parts:
        return index.catalogue.parts[typed]
    if not typed:
        problems.append(Problem(name, "name a part, by its id or by words of its name"))
        return None
    found = find_parts(index, typed)
    if len(found.parts) == 1 and not found.read_as:
        return found.parts[0]
    if not found.parts:
        problems.append(Problem(name, f"no part has the words {typed[:200]!r}; look under Parts, or add it first"))
        return None
    choices[name] = tuple(Choice(part.id, part.label) for part in found.parts[:MOST_CHOICES])
    more = f", of {len(found.parts)}" if len(found.parts) > MOST_CHOICES else ""
    problems.append(Problem(name, f"which part is meant? Choose one{more}, or type more words"))
    return None


def _joint(
    form: NoteForm, index: CatalogueIndex, a: Part | None, b: Part | None, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> str:  # fmt: skip
    known = index.catalogue.joint_kinds
    if form.joint in known:
        return form.joint
    if a is None or b is None:
        return ""
    possible = list_joints(index, a, b)
    if len(possible) == 1:
        return possible[0]
    choices["joint"] = tuple(Choice(name, known[name].label) for name in possible)
    problems.append(Problem("joint", "at which joint? Choose one"))
    return ""


def _field_problems(form: NoteForm) -> Iterator[Problem]:
    for name, text in (("hours", form.hours), ("cash", form.cash)):
        if text and not _AMOUNT.fullmatch(text):
            yield Problem(name, f"expected a number such as 3.5, with at most two decimals; found {text[:40]!r}")
    if form.relation == "requires-machining" and not form.work.strip():
        yield Problem("work", "say what has to be machined, one operation on a line")
    if form.relation == "does-not-fit" and not (form.reason or form.text.strip()):
        yield Problem("reason", "say why they do not fit")
    if form.relation == REMARK and not form.text.strip():
        yield Problem("text", "say what is known")
    if not form.author:
        yield Problem("author", "say who says so: initials or a role will do")
    if not form.evidence:
        yield Problem("evidence", "say how it is known")


def _sentence(form: NoteForm, read: Read, index: CatalogueIndex) -> str:
    """What the fields say, where nobody wrote it out."""
    assert read.a is not None
    assert read.b is not None
    joint = index.catalogue.joint_kinds.get(read.joint)
    place = f" at {joint.label}" if joint else ""
    work = "; ".join(line.strip() for line in form.work.splitlines() if line.strip())
    return f"{read.a.label} {RELATIONS[form.relation]} {read.b.label}{place}{f' ({work})' if work else ''}."


def _triples(form: NoteForm, read: Read, base: str, iri: str) -> Iterator[ox.Triple]:
    assert read.a is not None
    assert read.b is not None
    edge = ox.NamedNode(f"{iri}/nodes/1")
    yield ox.Triple(edge, _TYPE, ox.NamedNode(_CLASS_OF[form.relation]))
    for name, part in (("source", read.a), ("target", read.b)):
        whole = part.id if "://" in part.id else base + part.id
        yield ox.Triple(edge, ox.NamedNode(LAY + name), ox.NamedNode(whole))
    if read.joint:
        whole = read.joint if "://" in read.joint else KIND + read.joint
        yield ox.Triple(edge, ox.NamedNode(LAY + "joint"), ox.NamedNode(whole))
    for name, amount in (("hours", form.hours), ("cash", form.cash)):
        if amount:
            decimal = ox.Literal(amount, datatype=ox.NamedNode(XSD + "decimal"))
            yield ox.Triple(edge, ox.NamedNode(LAY + name), decimal)
    if form.relation == "does-not-fit":
        reason = ox.Literal(form.reason or form.text.strip())
        yield ox.Triple(edge, ox.NamedNode(LAY + "reason"), reason)
    lines = [line.strip() for line in form.work.splitlines() if line.strip()]
    if lines and form.relation == "requires-machining":
        nodes = [ox.NamedNode(f"{iri}/nodes/{number}") for number in range(2, len(lines) + 2)]
        yield ox.Triple(edge, ox.NamedNode(LAY + "operations"), nodes[0])
        for node, line, rest in zip(nodes, lines, [*nodes[1:], ox.NamedNode(RDF + "nil")], strict=True):
            yield ox.Triple(node, ox.NamedNode(RDF + "first"), ox.Literal(line))
            yield ox.Triple(node, ox.NamedNode(RDF + "rest"), rest)
