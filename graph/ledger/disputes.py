"""Where notes contradict each other: both sides shown, best evidence first, settled only by a new note.

Two claims are in dispute when one note says that two parts fit at a joint (as they are, or after machining)
and another says that they do not, when two notes give different millimetres for one dimension, or when two
measurements of one thing are further apart than their uncertainties allow. One note that says of a pair that it does
not fit as it is but does after machining disputes nothing. A note that names another under `settles` sets that one's
claim aside; nothing is deleted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain
from typing import Any

import pyoxigraph as ox

from graph.catalogue.model import DOES_NOT_FIT, FITS, Catalogue
from graph.ledger.identity import KINDS, VOCABULARY
from graph.ledger.measured import list_disagreeing
from graph.ledger.view import View

UNRANKED = 99
LENGTHS = ("shiftMm", "missMm", "startMm", "lowMm", "highMm")

_MATING = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?a ?b ?joint ?yesNote ?yesEdge ?noNote ?noEdge WHERE {{
  GRAPH ?noNote {{ ?noEdge a lay:DoesNotFit ; lay:source ?a ; lay:target ?b ; lay:joint ?joint }}
  VALUES ?yes {{ lay:Fits lay:RequiresMachining }}
  {{ GRAPH ?yesNote {{ ?yesEdge a ?yes ; lay:source ?a ; lay:target ?b ; lay:joint ?joint }} }}
  UNION {{ GRAPH ?yesNote {{ ?yesEdge a ?yes ; lay:source ?b ; lay:target ?a ; lay:joint ?joint }} }}
  FILTER(?yesNote != ?noNote || ?yes = lay:Fits)
}}"""

_LENGTHS = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?thing ?property ?note ?value ?other ?different WHERE {{
  $among
  VALUES ?property {{ {" ".join(f"lay:{name}" for name in LENGTHS)} }}
  GRAPH ?note {{ ?thing ?property ?value }}
  GRAPH ?other {{ ?thing ?property ?different }}
  FILTER(?note != ?other && ?value != ?different)
}}"""

_SHIFTS = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?source ?target ?note ?edge ?value ?other ?else ?different WHERE {{
  $among
  GRAPH ?note {{ ?edge a lay:Shifts ; lay:source ?source ; lay:target ?target ; lay:shiftMm ?value }}
  GRAPH ?other {{ ?else a lay:Shifts ; lay:source ?source ; lay:target ?target ; lay:shiftMm ?different }}
  FILTER(?edge != ?else && ?value != ?different)
}}"""

_SETTLED = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?note ?by WHERE {{ GRAPH ?by {{ ?by lay:settlesDispute ?note }} }}"""

_NOTES = f"""PREFIX lay: <{VOCABULARY}> PREFIX prov: <http://www.w3.org/ns/prov#>
SELECT ?evidence ?made WHERE {{ GRAPH $note {{ $note prov:generatedAtTime ?made .
  OPTIONAL {{ $note lay:evidence ?evidence }} }} }}"""


@dataclass(frozen=True, slots=True)
class Claim:
    """One side: the note's IRI, the edge or thing it speaks of, what it says, and how it is known.

    `set_aside_by`: the IRI of the note that settled it; empty while it counts.
    """

    note: str
    edge: str
    says: str
    evidence: str
    rank: int
    made_at: str
    set_aside_by: str = ""


@dataclass(frozen=True, slots=True)
class ClaimDispute:
    """Claims that cannot all be true, best evidence first. `about`: the IRIs it is about.

    `kind`: fit, length or measurement. `agreed`: the measurements that still count agree within their uncertainty.
    """

    kind: str
    about: tuple[str, ...]
    claims: tuple[Claim, ...]
    agreed: bool = False

    @property
    def settled(self) -> bool:
        """Whether the claims that still count agree."""
        return self.agreed or len({claim.says for claim in self.claims if not claim.set_aside_by}) <= 1


_TYPE = ox.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")
_SOURCE, _TARGET, _JOINT = (ox.NamedNode(VOCABULARY + name) for name in ("source", "target", "joint"))
_SAYS: dict[Any, str] = {
    ox.NamedNode(f"{VOCABULARY}{name}"): says
    for name, says in (("Fits", FITS), ("RequiresMachining", FITS), ("DoesNotFit", DOES_NOT_FIT))
}
_MACHINED = ox.NamedNode(f"{VOCABULARY}RequiresMachining")
Side = tuple[str, str, str]  # note, edge or thing, what it says
Sides = dict[tuple[str, tuple[str, ...]], set[Side]]


def list_disputes(
    view: View, ranks: Mapping[str, int], kinds: Catalogue | None = None, among: Collection[str] | None = None
) -> list[ClaimDispute]:
    """Every dispute among the notes that stand, settled ones too; with `among`, only those these notes take part in.

    `ranks`: evidence id -> rank, 1 the best. `kinds`: the quantities; without them measurements are not compared.
    """
    view.catch_up()
    settled = list_settled(view)
    found: Sides = {}
    _find_fits(view, among, found)
    _find_lengths(view, among, found)
    disputes = [
        ClaimDispute(
            kind, about, tuple(sorted((_claim(view, ranks, settled, *side) for side in sides), key=_best_first))
        )
        for (kind, about), sides in sorted(found.items())
    ]
    for group in list_disagreeing(view.store, kinds, among) if kinds else ():
        claims = (_claim(view, ranks, settled, one.note, one.thing, one.says) for one in group.readings)
        agreed = not group.disagree({one.note for one in group.readings} - set(settled))
        about = (group.part, group.quantity)
        disputes.append(ClaimDispute("measurement", about, tuple(sorted(claims, key=_best_first)), agreed))
    return disputes


def _find_fits(view: View, among: Collection[str] | None, found: Sides) -> None:
    if among is not None:
        for note in sorted(among):
            _find_fits_of(view.store, ox.NamedNode(note), found)
        return
    for row in _rows(view, _MATING):
        about = (*sorted((row["a"].value, row["b"].value)), row["joint"].value)
        sides = found.setdefault(("fit", about), set())
        sides.add((row["yesNote"].value, row["yesEdge"].value, FITS))
        sides.add((row["noNote"].value, row["noEdge"].value, DOES_NOT_FIT))


def _find_fits_of(store: ox.Store, note: ox.NamedNode, found: Sides) -> None:
    """The same for one note, from its own edges outwards: no other edge of the graph is looked at."""
    for quad in store.quads_for_pattern(None, _TYPE, None, note):
        says = _SAYS.get(quad.object)
        ends = _ends_of(store, quad.subject, note) if says else None
        if says is None or ends is None:
            continue
        sides: set[Side] = set()
        for other, graph in _edges_between(store, *ends[:2]):
            of_other = {quad.object for quad in store.quads_for_pattern(other, _TYPE, None, graph)}
            contrary = {_SAYS[each] for each in of_other if each in _SAYS} - {says}
            if graph == note and _MACHINED in (quad.object, *of_other):
                continue  # one note: not as they are, but after machining
            if contrary and _ends_of(store, other, graph) in (ends, (ends[1], ends[0], ends[2])):
                sides |= {(graph.value, _name(other), each) for each in contrary}
        if sides:
            about = (*sorted((_name(ends[0]), _name(ends[1]))), _name(ends[2]))
            found.setdefault(("fit", about), set()).update(sides, {(note.value, _name(quad.subject), says)})


def _ends_of(store: ox.Store, edge: Any, graph: ox.NamedNode) -> tuple[Any, Any, Any] | None:
    """What the note in this graph says that the edge joins, and at which joint."""
    found = []
    for predicate in (_SOURCE, _TARGET, _JOINT):
        quad = next(iter(store.quads_for_pattern(edge, predicate, None, graph)), None)
        if quad is None:
            return None
        found.append(quad.object)
    return found[0], found[1], found[2]


def _edges_between(store: ox.Store, here: Any, far: Any) -> list[tuple[Any, Any]]:
    """The edges at one of the two ends, whichever has fewer: a shaft may have thousands that a disc on it has not."""
    walks = [
        chain(*(store.quads_for_pattern(None, predicate, end, None) for predicate in (_SOURCE, _TARGET)))
        for end in (here, far)
    ]
    return [(quad.subject, quad.graph_name) for quad in _shortest(walks)]


def _shortest(walks: Sequence[Iterator[ox.Quad]]) -> list[ox.Quad]:
    """What the walk has that ends first; the others are walked no further."""
    read: list[list[ox.Quad]] = [[] for _ in walks]
    while True:
        for quads, walk in zip(read, walks, strict=True):
            quad = next(walk, None)
            if quad is None:
                return quads
            quads.append(quad)


def _name(node: Any) -> str:
    return str(node.value)


def _find_lengths(view: View, among: Collection[str] | None, found: Sides) -> None:
    for values in _values(among, "note"):
        for row in _rows(view, _LENGTHS.replace("$among", values)):
            sides = found.setdefault(("length", (row["thing"].value, row["property"].value)), set())
            for note, value in (("note", "value"), ("other", "different")):
                sides.add((row[note].value, row["thing"].value, _mm(row[value].value)))
        for row in _rows(view, _SHIFTS.replace("$among", values)):
            about = (row["source"].value, row["target"].value, f"{VOCABULARY}shiftMm")
            sides = found.setdefault(("length", about), set())
            for note, edge, value in (("note", "edge", "value"), ("other", "else", "different")):
                sides.add((row[note].value, row[edge].value, _mm(row[value].value)))


def _values(among: Collection[str] | None, *names: str) -> list[str]:
    """Restrictions of a query to some notes, one for each variable that may be one of them."""
    if among is None:
        return [""]
    listed = " ".join(f"<{iri}>" for iri in sorted(among))
    return [f"VALUES ?{name} {{ {listed} }}" for name in names]


def list_settled(view: View) -> dict[str, str]:
    """Each note that is set aside, with a note that sets it aside.

    A note that is itself set aside no longer sets others aside; of notes that set each other aside the newest counts
    (the grounded extension of the attacks, ties by time: Dung, Artificial Intelligence 77 (1995), definition 20).
    """
    attackers: dict[str, set[str]] = {}
    for row in _rows(view, _SETTLED):
        if row["by"] != row["note"]:
            attackers.setdefault(row["note"].value, set()).add(row["by"].value)
    settled: dict[str, str] = {}
    undecided = {*attackers, *(by for many in attackers.values() for by in many)}
    counting: set[str] = set()
    while undecided:
        free = {note for note in undecided if not attackers.get(note, set()) - set(settled)}
        if not free:
            free = {max(undecided, key=lambda note: (_recorded_at(view, note), note))}
        counting |= free
        lost = {note for note in undecided - free if attackers.get(note, set()) & free}
        settled.update({note: min(attackers[note] & free) for note in lost})
        undecided -= free | lost
    return settled


def _recorded_at(view: View, note: str) -> str:
    node = ox.NamedNode(note)
    quads = view.store.quads_for_pattern(node, ox.NamedNode(f"{VOCABULARY}recordedAt"), None, node)
    return next((quad.object.value for quad in quads), "")  # type: ignore[union-attr]


def list_hidden(view: View, ranks: Mapping[str, int], kinds: Catalogue) -> frozenset[str]:
    """The IRIs of edges and measurements that no answer may rest on: set aside by a note, or hanging on such an edge.

    Looks only at disputes that settled notes take part in, so it costs little however much is known.
    """
    view.catch_up()
    settled = list_settled(view)
    if not settled:
        return frozenset()
    hidden = set(set_aside_edges(list_disputes(view, ranks, kinds, among=settled.keys())))
    waiting = list(hidden)
    while waiting:
        edge = ox.NamedNode(waiting.pop())
        for end in ("source", "target"):
            for quad in view.store.quads_for_pattern(None, ox.NamedNode(VOCABULARY + end), edge, None):
                if (name := quad.subject.value) not in hidden:  # type: ignore[union-attr]
                    hidden.add(name)
                    waiting.append(name)
    return frozenset(hidden)


def set_aside_edges(disputes: list[ClaimDispute]) -> frozenset[str]:
    """The IRIs of edges whose claim was set aside by a settling note: no answer may rest on them."""
    counted = {claim.edge for dispute in disputes for claim in dispute.claims if not claim.set_aside_by}
    return frozenset(c.edge for d in disputes for c in d.claims if c.set_aside_by and c.edge not in counted)


def _rows(view: View, query: str) -> list[dict[str, ox.NamedNode | ox.Literal]]:
    solutions = view.store.query(query)
    names = [variable.value for variable in solutions.variables]  # type: ignore[union-attr]
    return [{name: row[name] for name in names if row[name] is not None} for row in solutions]  # type: ignore[misc, union-attr]


def _claim(view: View, ranks: Mapping[str, int], settled: Mapping[str, str], note: str, edge: str, says: str) -> Claim:
    rows = _rows(view, _NOTES.replace("$note", f"<{note}>"))
    evidence = rows[0]["evidence"].value.removeprefix(KINDS) if rows and "evidence" in rows[0] else ""
    made_at = rows[0]["made"].value if rows else ""
    return Claim(note, edge, says, evidence, ranks.get(evidence, UNRANKED), made_at, settled.get(note, ""))


def _mm(text: str) -> str:
    return f"{Decimal(text).normalize():f} mm"


def _best_first(claim: Claim) -> tuple[bool, int, str, str]:
    return bool(claim.set_aside_by), claim.rank, claim.note, claim.edge
