"""A note as a person writes it in half a minute, turned into a draft with its statement: "A fits B at ... after ...".

Parts are named by id, number or words; words that fit several parts come back as a choice, of which none is chosen
beforehand. A joint that the two kinds of parts leave no doubt about is filled in. Everything wrong is told at once,
each fault at its field; what a statement of its kind has no place for is added to the note's words, so nothing is lost.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from itertools import islice

import pyoxigraph as ox

from graph.answer.find import FoundParts, find_parts
from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.kinds import can_hold, list_joints
from graph.catalogue.model import UNIT_KINDS, Catalogue, Part
from graph.catalogue.names import DCTERMS, KIND, LAY, RDF, XSD
from graph.catalogue.near import near_matches
from graph.errors import InvalidInput, Problem
from graph.fits.decimals import decimal_of
from graph.ledger.identity import note_iri
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft
from graph.ledger.statements import canonical
from graph.lookups.index import CatalogueIndex
from graph.notes.relations import ALONE, AT_A_JOINT, AT_A_PLACE, CONTAINED, MADE_FOR, NONE, OF_A_UNIT, RELATIONS, REMARK

MOST_CHOICES = 12
MOST_COMPARED = 2_000
LABELS = {
    "a": "Part", "relation": "What is known", "b": "Other part", "joint": "Where they meet", "work": "After what work",
    "text": "In your words", "hours": "Hours it took", "cash": "What it cost", "job": "Job",
    "evidence": "How it is known", "author": "Who says so", "reason": "Why it does not fit",
    "method": "How it was found out", "made_at": "When", "shareable": "May leave the shop",
    "place": "At which place", "assembly": "For which kind of job", "document": "Photo or paper",
    "again": "Stated already",
}  # fmt: skip
_FIELD_OF = {
    "source": "a", "target": "b", "joint": "joint", "hours": "hours", "cash": "cash", "reason": "reason",
    "operations": "work", "position": "place", "madeFor": "assembly", "evidence": "evidence", "text": "text",
}  # fmt: skip
ABOUT = DCTERMS + "subject"
_CLASS_OF = {kind: name for name, kind in EDGE_CLASSES.items()}
_TYPE = ox.NamedNode(RDF + "type")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteForm:
    """The fields as typed. `a`, `b`: parts by id or words; `work`: operations, one on a line; `shareable`: "yes".

    `a_chosen`: the part chosen for the words `a_for`. `draft`: the name under which the device keeps what is typed.
    `document`: a photo or paper that was kept already, by IRI. `again`: "yes" to say once more what is stated already.
    """

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
    a_for: str = ""
    a_chosen: str = ""
    b_for: str = ""
    b_chosen: str = ""
    draft: str = ""
    place: str = ""
    assembly: str = ""
    document: str = ""
    again: str = ""


FIELDS = tuple(field.name for field in fields(NoteForm))


@dataclass(frozen=True, slots=True)
class Choice:
    """A part or joint to choose where the words left a doubt."""

    id: str
    label: str


class FormInDoubt(InvalidInput):
    """The form is not complete; `choices`: by field, what the words may have meant."""

    def __init__(self, problems: list[Problem], choices: Mapping[str, tuple[Choice, ...]]):
        self.choices = dict(choices)
        super().__init__(problems)


@dataclass(frozen=True, slots=True)
class Read:
    """The form understood: its parts, its joint, its amounts as decimals by field, and its position kind."""

    a: Part | None
    b: Part | None
    joint: str
    amounts: Mapping[str, str] = field(default_factory=dict)
    place: str = ""


def form_of(values: Mapping[str, object]) -> NoteForm:
    """The form's fields from what was sent; what is no text is left out, line ends are made plain."""
    found = {name: value.replace("\r\n", "\n") for name in FIELDS if isinstance(value := values.get(name), str)}
    return NoteForm(**{name: value if name in ("text", "work") else value.strip() for name, value in found.items()})


def draft_of(
    form: NoteForm, index: CatalogueIndex, base: str, note_id: str, recorded_by: str, own: Collection[str] = (),
) -> Draft:  # fmt: skip
    """The draft that says what the form says. Raises Doubt with every fault and the choices it leaves.

    `own`: the joints, places and assemblies that the shop has named itself, whose IRIs are under its base.
    """
    read = understood(form, index)
    statements = canonical(_triples(form, read, base, note_iri(base, note_id), own)) if read.a or read.b else ""
    text = form.text.strip() or _sentence(form, read, index)
    return Draft(
        text="\n".join((text, *_besides(form, read, index))), statements=statements, author=form.author,
        evidence=form.evidence, method=form.method, job=form.job, made_at=form.made_at,
        shareable=form.shareable == "yes", recorded_by=recorded_by, document=form.document,
    )  # fmt: skip


def understood(form: NoteForm, index: CatalogueIndex) -> Read:
    """The parts and the joint that the form means. Raises Doubt with every fault."""
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    if form.relation not in RELATIONS:
        problems.append(Problem("relation", f"expected one of {', '.join(RELATIONS)}"))
    remark = form.relation == REMARK
    sides = (("a", form.a, form.a_for, form.a_chosen), ("b", form.b, form.b_for, form.b_chosen))
    a, b = (
        find_part(index, name, chosen_of(name, words, then, chosen, problems), problems, choices)
        if words or chosen or not (remark or (name == "b" and form.relation in ALONE))
        else None
        for name, words, then, chosen in sides
    )
    if a is not None and form.relation in OF_A_UNIT and not any(index.is_unit(a.id, what) for what in UNIT_KINDS):
        problems.append(Problem("a", f"{a.label} is no gearbox, engine or vehicle; name the unit, or its family"))
    amounts = {name: _amount(form, name, problems) for name in ("hours", "cash")}
    joint = _joint(form, index, a, b, problems, choices)
    place = _place(form, index, b, problems, choices)
    problems += _field_problems(form, index)
    if problems:
        raise FormInDoubt(problems, choices)
    return Read(a, b, joint, amounts, place)


def chosen_of(name: str, words: str, then: str, chosen: str, problems: list[Problem]) -> str:
    """What a field of a part says: what was chosen for its words, unless they have changed since."""
    if not chosen:
        return words
    if words not in ("", then, chosen):
        told = f"{words[:100]!r} was typed, and {chosen[:100]!r} chosen for other words; leave one of them"
        problems.append(Problem(name, told))
    return chosen


def _amount(form: NoteForm, name: str, problems: list[Problem]) -> str:
    try:
        return decimal_of(getattr(form, name), name)
    except InvalidInput as error:
        problems += error.problems
        return ""


def find_part(
    index: CatalogueIndex, name: str, typed: str, problems: list[Problem], choices: dict[str, tuple[Choice, ...]],
    kind: str = "",
) -> Part | None:  # fmt: skip
    """The part meant by an id or by words; None with a problem, and with choices where several are meant.

    `kind`: only parts of that kind can be meant by words; one named by its id is given back whatever it is.
    """
    sought = find_parts(index, typed, kind) if typed and typed not in index.catalogue.parts else None
    return choose_part(index, name, typed, sought, problems, choices, kind)


def choose_part(
    index: CatalogueIndex, name: str, typed: str, found: FoundParts | None, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]], kind: str = "",
) -> Part | None:  # fmt: skip
    """The part meant by an id, or by words that have `found` these; `kind`: the only one that was looked for."""
    if typed in index.catalogue.parts:
        return index.catalogue.parts[typed]
    if not typed or found is None:
        problems.append(Problem(name, "name a part, by its id or by words of its name"))
        return None
    if len(found.parts) == 1 and not found.read_as:
        return found.parts[0]
    named = () if found.read_as else _named_so(found.parts, typed)
    if len(named) == 1:
        return named[0]
    if not found.parts:
        what = index.catalogue.part_kinds[kind].label if kind else "part"
        problems.append(
            Problem(name, f"no {what} has the words {typed[:200]!r}; look under Parts, or add it as a new part")
        )
        return None
    choices[name] = tuple(Choice(part.id, part.label) for part in found.parts[:MOST_CHOICES])
    more = f", of {len(found.parts)}" if len(found.parts) > MOST_CHOICES else ""
    problems.append(Problem(name, f"which part is meant? Choose one{more}, or type more words"))
    return None


def _named_so(parts: Sequence[Part], typed: str) -> list[Part]:
    """The parts whose whole name or number was typed."""
    wanted = " ".join(typed.casefold().split())
    names = ((part, (part.label, part.number)) for part in islice(parts, MOST_COMPARED))
    return [part for part, own in names if any(wanted == " ".join(name.casefold().split()) for name in own if name)]


def _joint(
    form: NoteForm, index: CatalogueIndex, a: Part | None, b: Part | None, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> str:  # fmt: skip
    known = index.catalogue.joint_kinds
    if form.joint in known:
        return form.joint
    if form.joint:
        problems.append(Problem("joint", f"no joint is known by the name {form.joint[:100]!r}"))
        return ""
    if a is None or b is None or form.relation not in AT_A_JOINT:
        return ""
    possible = list_joints(index.catalogue, a.kind, b.kind)
    if len(possible) == 1:
        return possible[0]
    choices["joint"] = tuple(Choice(name, known[name].label) for name in possible)
    problems.append(Problem("joint", "at which joint? Choose one"))
    return ""


def _place(
    form: NoteForm, index: CatalogueIndex, b: Part | None, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> str:  # fmt: skip
    """The position kind meant; for a part that can stand in one place only, that one."""
    known = index.catalogue.position_kinds
    if form.place in known or (not form.place and form.relation not in AT_A_PLACE):
        return form.place
    if form.place:
        near = ", ".join(near_matches(form.place[:100], known))
        hint = f"; did you mean {near}?" if near else ""
        problems.append(Problem("place", f"no place is known by the name {form.place[:100]!r}{hint}"))
        return ""
    can = [name for name in sorted(known) if b is not None and can_hold(index.catalogue, b.kind, name)]
    if form.relation == CONTAINED and len(can) == 1:
        return can[0]
    choices["place"] = tuple(Choice(name, known[name].label) for name in can)
    problems.append(Problem("place", "at which place? Choose one"))
    return ""


def _field_problems(form: NoteForm, index: CatalogueIndex) -> Iterator[Problem]:
    if form.relation == "requires-machining" and not form.work.strip():
        yield Problem("work", "say what has to be machined, one operation on a line")
    if form.relation == "does-not-fit" and not (form.reason or form.text.strip()):
        yield Problem("reason", "say why they do not fit")
    jobs = index.catalogue.assemblies
    if form.assembly and form.assembly not in jobs:
        near = ", ".join(near_matches(form.assembly[:100], jobs))
        hint = f"; did you mean {near}?" if near else ""
        yield Problem("assembly", f"no kind of job is known by the name {form.assembly[:100]!r}{hint}")
    elif form.relation == MADE_FOR and not form.assembly:
        yield Problem("assembly", "say for which kind of job it was made")
    if form.relation == REMARK and not form.text.strip():
        yield Problem("text", "say what is known")
    if not form.author:
        yield Problem("author", "say who says so: initials or a role will do")
    if not form.evidence:
        yield Problem("evidence", "say how it is known")
    elif form.evidence not in index.catalogue.evidence_levels:
        levels = ", ".join(sorted(index.catalogue.evidence_levels))
        yield Problem("evidence", f"{form.evidence[:100]!r} is no way of knowing; expected one of {levels}")
    if form.shareable not in ("", "yes"):
        yield Problem("shareable", "tick it or leave it")


def _sentence(form: NoteForm, read: Read, index: CatalogueIndex) -> str:
    """What the fields say, where nobody wrote it out."""
    assert read.a is not None
    position = index.catalogue.position_kinds.get(read.place)
    if form.relation == NONE and position:
        return f"{read.a.label} has no part at this place: {position.label}."
    if form.relation == MADE_FOR:
        return f"{read.a.label} was made for: {index.catalogue.assemblies[form.assembly].label}."
    assert read.b is not None
    if form.relation == CONTAINED and position:
        return f"{read.a.label} has in it, as found: {read.b.label} ({position.label})."
    joint = index.catalogue.joint_kinds.get(read.joint) if form.relation in AT_A_JOINT else None
    place = f" at {joint.label}" if joint else ""
    work = "; ".join(_lines(form.work)) if form.relation == "requires-machining" else ""
    return f"{read.a.label} {RELATIONS[form.relation]} {read.b.label}{place}{f' ({work})' if work else ''}."


def _lines(work: str) -> list[str]:
    return [line.strip() for line in work.splitlines() if line.strip()]


def _besides(form: NoteForm, read: Read, index: CatalogueIndex) -> Iterator[str]:
    """What was filled in but has no place in a statement of this kind, as lines of the note's words."""
    joint = index.catalogue.joint_kinds.get(read.joint)
    if joint and form.relation not in AT_A_JOINT:
        yield f"{LABELS['joint']}: {joint.label}"
    if form.relation != "requires-machining" and (work := _lines(form.work)):
        yield f"{LABELS['work']}: {'; '.join(work)}"
    if form.relation in ALONE and read.b:
        yield f"{LABELS['b']}: {read.b.label}"
    position, job = index.catalogue.position_kinds.get(read.place), index.catalogue.assemblies.get(form.assembly)
    if position and form.relation not in AT_A_PLACE:
        yield f"{LABELS['place']}: {position.label}"
    if job and form.relation != MADE_FOR:
        yield f"{LABELS['assembly']}: {job.label}"
    if form.relation in (REMARK, *ALONE):
        yield from (f"{LABELS[name]}: {amount}" for name, amount in read.amounts.items() if amount)
    if form.reason and form.relation != "does-not-fit":
        yield f"Why: {form.reason}"


def _triples(form: NoteForm, read: Read, base: str, iri: str, own: Collection[str]) -> Iterator[ox.Triple]:
    edge = ox.NamedNode(f"{iri}/nodes/1")
    named = {"source": read.a, "target": read.b}
    ends = {name: ox.NamedNode(part.id if "://" in part.id else base + part.id) for name, part in named.items() if part}
    if form.relation == REMARK:
        yield from (ox.Triple(edge, ox.NamedNode(ABOUT), end) for end in ends.values())
        return
    if form.relation == MADE_FOR:
        job = ox.NamedNode(iri_of(form.assembly, base, own))
        yield ox.Triple(ends["source"], ox.NamedNode(LAY + "madeFor"), job)
        return
    if form.relation in ALONE:
        ends.pop("target", None)
    yield ox.Triple(edge, _TYPE, ox.NamedNode(_CLASS_OF[form.relation]))
    yield from (ox.Triple(edge, ox.NamedNode(LAY + name), end) for name, end in ends.items())
    if form.relation in AT_A_PLACE:
        yield ox.Triple(edge, ox.NamedNode(LAY + "position"), ox.NamedNode(iri_of(read.place, base, own)))
    if form.relation in ALONE:
        return
    if read.joint and form.relation in AT_A_JOINT:
        yield ox.Triple(edge, ox.NamedNode(LAY + "joint"), ox.NamedNode(iri_of(read.joint, base, own)))
    for name, amount in read.amounts.items():
        if amount:
            decimal = ox.Literal(amount, datatype=ox.NamedNode(XSD + "decimal"))
            yield ox.Triple(edge, ox.NamedNode(LAY + name), decimal)
    if form.relation == "does-not-fit":
        reason = ox.Literal(form.reason or form.text.strip())
        yield ox.Triple(edge, ox.NamedNode(LAY + "reason"), reason)
    if form.relation == "requires-machining":
        yield from _operations(edge, _lines(form.work), iri)


def iri_of(kind: str, base: str, own: Collection[str]) -> str:
    """The IRI of a kind of thing: under the shop's base if it is one of its `own`, else among the trade's kinds."""
    return kind if "://" in kind else (base if kind in own else KIND) + kind


def _operations(edge: ox.NamedNode, lines: list[str], iri: str) -> Iterator[ox.Triple]:
    if not lines:
        return
    nodes = [ox.NamedNode(f"{iri}/nodes/{number}") for number in range(2, len(lines) + 2)]
    yield ox.Triple(edge, ox.NamedNode(LAY + "operations"), nodes[0])
    for node, line, rest in zip(nodes, lines, [*nodes[1:], ox.NamedNode(RDF + "nil")], strict=True):
        yield ox.Triple(node, ox.NamedNode(RDF + "first"), ox.Literal(line))
        yield ox.Triple(node, ox.NamedNode(RDF + "rest"), rest)


def own_kinds(notebook: Notebook, known: Catalogue) -> set[str]:
    """The joints, places and assemblies that this shop has named itself."""
    house = notebook.kinds
    found = set(known.joint_kinds) - set(house.joint_kinds)
    found |= set(known.position_kinds) - set(house.position_kinds)
    return found | set(known.assemblies) - set(house.assemblies)


def at_fields(problems: tuple[Problem, ...], note_id: str) -> tuple[Problem, ...]:
    """Faults of the new note's statements, told at the field of the form that they come from."""
    told = []
    for problem in problems:
        field = _FIELD_OF.get(problem.path.rpartition("lay:")[2], "") if note_id in problem.path else problem.path
        told.append(Problem(field, problem.message))
    return tuple(dict.fromkeys(told))
