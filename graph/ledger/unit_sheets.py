"""What a unit's sheet says, place by place, as statements of one note; and how two writings of one sheet are merged.

A place says which part is there, or that there is none, who says so and how it is known: on the edge itself where that
differs from the note's author and evidence. Merged are three states: what both writers had read, and what each made of
it. What only one of them changed is taken over; what both changed to different things is a clash, told with both.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import pyoxigraph as ox

from graph.catalogue.names import KIND, LAY, RDF, TYPE
from graph.ledger.identity import note_iri
from graph.ledger.record import Entry
from graph.ledger.statements import canonical, triples_of

SHEET = "unit sheet"  # the method of a sheet's note, by which it is found again
MADE_FOR = LAY + "madeFor"  # the sheet's place for the kind of job, beside its position kinds
_STATEMENT = RDF + "Statement"
_CONDITION = ox.NamedNode(LAY + "partCondition")
_SAID_BY, _EVIDENCE = LAY + "saidBy", LAY + "evidence"
_PLACES = (LAY + "Contains", LAY + "HasNone")


@dataclass(frozen=True, slots=True)
class PlaceSaid:
    """What a sheet says of a place. `part`: its id, or an assembly's IRI; `none`: it has none; else not known.

    `condition`: as found, by its IRI, of a part that the sheet itself has brought in.
    """

    part: str = ""
    none: bool = False
    condition: str = ""
    evidence: str = ""
    author: str = ""

    def same(self, other: PlaceSaid) -> bool:
        """Whether both say the same of the place, whoever says so."""
        return (self.part, self.none, self.condition) == (other.part, other.none, other.condition)


NOTHING = PlaceSaid()
Said = Mapping[str, PlaceSaid]  # by the IRI of the position kind


@dataclass(frozen=True, slots=True)
class MergedSheet:
    """`said`: what the sheet says now; `clashes`: the places that both changed, to different things."""

    said: dict[str, PlaceSaid]
    clashes: tuple[str, ...]


def merge(base: Said, mine: Said, theirs: Said) -> MergedSheet:
    """What two writers made of `base`, taken together; a clash keeps what is `theirs`.

    >>> a, b = PlaceSaid("disc"), PlaceSaid("shaft")
    >>> merge({}, {"x": a}, {"y": b}) == MergedSheet({"x": a, "y": b}, ())
    True
    >>> merge({}, {"x": a}, {"x": b}).clashes
    ('x',)
    """
    said: dict[str, PlaceSaid] = {}
    clashes = []
    for place in sorted({*base, *mine, *theirs}):
        before, own, other = (one.get(place, NOTHING) for one in (base, mine, theirs))
        taken = own if other == before else other
        if own != before and other != before and not own.same(other):
            clashes.append(place)
        if not taken.same(NOTHING):
            said[place] = taken
    return MergedSheet(said, tuple(clashes))


def said_in_sheet(entry: Entry | None, base: str, unit: str = "") -> dict[str, PlaceSaid]:
    """What a sheet's note says, each place with who says so and how it is known; nothing of no note.

    `unit`: the IRI of the unit whose places alone are wanted, of a note that may speak of others too.
    """
    if entry is None or entry.retracted:
        return {}
    known: dict[str, dict[str, str]] = {}
    for triple in triples_of(entry.statements):
        known.setdefault(str(triple.subject.value), {})[triple.predicate.value] = str(triple.object.value)  # type: ignore[union-attr]
    found, made, own = {}, "", dict[str, str]()
    for said in known.values():
        if said.get(TYPE) in _PLACES and unit in ("", said.get(LAY + "source")):
            part = said.get(LAY + "target", "").removeprefix(base)
            brought = known.get(base + part, {}) if part else {}
            found[said[LAY + "position"]] = PlaceSaid(
                part, not part, brought.get(_CONDITION.value, ""),
                said.get(LAY + "evidence", "").removeprefix(KIND) or entry.evidence,
                said.get(LAY + "saidBy", "") or entry.author,
            )  # fmt: skip
        if MADE_FOR in said and TYPE not in said:
            made = said[MADE_FOR]
        if said.get(TYPE) == _STATEMENT:
            own = said
    if made:
        found[MADE_FOR] = PlaceSaid(
            made, evidence=own.get(LAY + "evidence", "").removeprefix(KIND) or entry.evidence,
            author=own.get(LAY + "saidBy", "") or entry.author,
        )  # fmt: skip
    return found


def sheet_triples(
    unit: str, said: Said, base: str, note_id: str, evidence: str, author: str
) -> Iterator[ox.Triple]:  # fmt: skip
    """The statements of a sheet. `evidence`, `author`: of its note; an edge states its own where they differ."""
    note = note_iri(base, note_id)
    subject = unit if "://" in unit else base + unit
    if MADE_FOR in said:
        yield ox.Triple(ox.NamedNode(subject), ox.NamedNode(MADE_FOR), ox.NamedNode(said[MADE_FOR].part))
        yield from _made_for_said(ox.NamedNode(f"{note}/nodes/made-for"), subject, said[MADE_FOR], evidence, author)
    places = ((position, one) for position, one in sorted(said.items()) if position != MADE_FOR)
    for number, (position, one) in enumerate(places, start=1):
        edge = ox.NamedNode(f"{note}/nodes/{number}")
        yield ox.Triple(edge, ox.NamedNode(TYPE), ox.NamedNode(LAY + ("HasNone" if one.none else "Contains")))
        ends = {"source": subject, "position": position}
        ends |= {"note": note} if one.none else {"target": one.part if "://" in one.part else base + one.part}
        if one.evidence and one.evidence != evidence:
            ends["evidence"] = KIND + one.evidence
        yield from (ox.Triple(edge, ox.NamedNode(LAY + name), ox.NamedNode(iri)) for name, iri in ends.items())
        if one.author and one.author != author:
            yield ox.Triple(edge, ox.NamedNode(LAY + "saidBy"), ox.Literal(one.author))


def _made_for_said(
    node: ox.NamedNode, unit: str, said: PlaceSaid, evidence: str, author: str
) -> Iterator[ox.Triple]:  # fmt: skip
    """Who says what a unit was made for, where that is not the note's: of the statement itself (RDF reification)."""
    other: list[tuple[str, ox.NamedNode | ox.Literal]] = []
    other += [(LAY + "evidence", ox.NamedNode(KIND + said.evidence))] if said.evidence not in ("", evidence) else []
    other += [(LAY + "saidBy", ox.Literal(said.author))] if said.author not in ("", author) else []
    if not other:
        return
    ends = {TYPE: _STATEMENT, RDF + "subject": unit, RDF + "predicate": MADE_FOR, RDF + "object": said.part}
    yield from (ox.Triple(node, ox.NamedNode(name), ox.NamedNode(iri)) for name, iri in ends.items())
    yield from (ox.Triple(node, ox.NamedNode(name), value) for name, value in other)


Credit = tuple[str, str]  # who says so, and how it is known


def credited(
    statements: str, before: Entry, author: str, evidence: str, edited: Mapping[str, Credit] | None = None
) -> str:  # fmt: skip
    """The statements of a sheet that somebody else writes now, each place still by whoever said so.

    `before`: the writing that the statements come from; `author`, `evidence`: of the note that takes them over.
    `edited`: whose places (by the IRI of the edge, or of the unit for what it was made for) were changed, by whom.
    """
    edited, triples = edited or {}, list(triples_of(statements))
    places = {
        t.subject: None for t in triples if t.predicate.value == TYPE and getattr(t.object, "value", "") in _PLACES
    }
    was, now = (_credits(one) for one in (triples_of(before.statements), triples))
    said = [t for t in triples if not (t.subject in places and t.predicate.value in (_SAID_BY, _EVIDENCE))]
    for place in places:
        name = str(place.value)  # type: ignore[union-attr]
        who, how = now.get(name, ("", ""))
        if name in edited:
            kept = tuple(old != new for old, new in zip(was.get(name, ("", "")), (who, how), strict=True))
            who, how = (
                new if changed else own for changed, new, own in zip(kept, (who, how), edited[name], strict=True)
            )
        who, how = who or before.author, how or before.evidence
        if who != author:
            said.append(ox.Triple(place, ox.NamedNode(_SAID_BY), ox.Literal(who)))
        if how != evidence:
            said.append(ox.Triple(place, ox.NamedNode(_EVIDENCE), ox.NamedNode(how if "://" in how else KIND + how)))
    return canonical([*_without_made_for(said), *_made_for_again(said, before, author, evidence, edited)])


def _credits(triples: Iterable[ox.Triple]) -> dict[str, Credit]:
    """Who says so and how it is known, by subject, where that is stated there."""
    found: dict[str, Credit] = {}
    for triple in triples:
        who, how = found.get(name := str(triple.subject.value), ("", ""))  # type: ignore[union-attr]
        value = str(getattr(triple.object, "value", ""))
        if triple.predicate.value == _SAID_BY:
            found[name] = value, how
        if triple.predicate.value == _EVIDENCE:
            found[name] = who, value.removeprefix(KIND)
    return found


def _without_made_for(triples: Iterable[ox.Triple]) -> Iterator[ox.Triple]:
    """Without who says what the unit was made for."""
    held = list(triples)
    own = {t.subject for t in held if t.predicate.value == TYPE and getattr(t.object, "value", "") == _STATEMENT}
    return (triple for triple in held if triple.subject not in own)


def _made_for_again(
    triples: Iterable[ox.Triple], before: Entry, author: str, evidence: str, edited: Mapping[str, Credit]
) -> Iterator[ox.Triple]:  # fmt: skip
    stated = next((t for t in triples if t.predicate.value == MADE_FOR), None)
    if stated is None:
        return
    unit, job = str(stated.subject.value), str(stated.object.value)  # type: ignore[union-attr]
    was = said_in_sheet(before, "").get(MADE_FOR, NOTHING)
    who, how = (was.author, was.evidence) if was.part == job else edited.get(unit, (author, evidence))
    node = ox.NamedNode(f"{before.iri}/nodes/made-for")
    yield from _made_for_said(node, unit, PlaceSaid(job, evidence=how, author=who), evidence, author)


def with_conditions(parts: Iterable[ox.Triple], said: Said, base: str) -> Iterator[ox.Triple]:
    """The statements of the sheet's own parts, in the condition that their place says."""
    own = list(parts)
    stated = {triple.subject for triple in own}
    found = {
        ox.NamedNode(base + one.part): one.condition for one in said.values() if one.part and "://" not in one.part
    }
    for triple in own:
        if triple.predicate != _CONDITION or triple.subject not in found:
            yield triple
    for subject, condition in found.items():
        if condition and subject in stated:
            yield ox.Triple(subject, _CONDITION, ox.NamedNode(condition))


def restated(said: Said, evidence: str, author: str) -> dict[str, PlaceSaid]:
    """The same places, as one person knows them now."""
    return {place: replace(one, evidence=evidence, author=author) for place, one in said.items()}
