"""Where notes contradict each other: both sides shown, best evidence first, settled only by a new note.

Two claims are in dispute when one note says that two parts fit at a joint (as they are, or after machining)
and another says that they do not, or when two notes give different millimetres for one dimension. A note
that names another under `settles` sets that one's claim aside; nothing is deleted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import pyoxigraph as ox

from graph.catalogue.model import DOES_NOT_FIT, FITS
from graph.ledger.identity import KINDS, VOCABULARY
from graph.ledger.view import View

UNRANKED = 99
LENGTHS = ("shiftMm", "missMm", "startMm", "lowMm", "highMm")

_MATING = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?a ?b ?joint ?yesNote ?yesEdge ?noNote ?noEdge WHERE {{
  GRAPH ?noNote {{ ?noEdge a lay:DoesNotFit ; lay:source ?a ; lay:target ?b ; lay:joint ?joint }}
  VALUES ?yes {{ lay:Fits lay:RequiresMachining }}
  {{ GRAPH ?yesNote {{ ?yesEdge a ?yes ; lay:source ?a ; lay:target ?b ; lay:joint ?joint }} }}
  UNION {{ GRAPH ?yesNote {{ ?yesEdge a ?yes ; lay:source ?b ; lay:target ?a ; lay:joint ?joint }} }}
}}"""

_LENGTHS = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?thing ?property ?note ?value WHERE {{
  VALUES ?property {{ {" ".join(f"lay:{name}" for name in LENGTHS)} }}
  GRAPH ?note {{ ?thing ?property ?value }}
  GRAPH ?other {{ ?thing ?property ?different }}
  FILTER(?note != ?other && ?value != ?different)
}}"""

_SHIFTS = f"""PREFIX lay: <{VOCABULARY}>
SELECT ?source ?target ?note ?edge ?value WHERE {{
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
class Dispute:
    """Claims that cannot all be true, best evidence first. `about`: the IRIs it is about; `kind`: fit or length."""

    kind: str
    about: tuple[str, ...]
    claims: tuple[Claim, ...]

    @property
    def settled(self) -> bool:
        """Whether the claims that still count agree."""
        return len({claim.says for claim in self.claims if not claim.set_aside_by}) <= 1


def list_disputes(view: View, ranks: Mapping[str, int]) -> list[Dispute]:
    """Every dispute among the notes that stand, settled ones too. `ranks`: evidence id -> rank, 1 the best."""
    view.catch_up()
    settled = {row["note"].value: row["by"].value for row in _rows(view, _SETTLED)}
    found: dict[tuple[str, tuple[str, ...]], set[tuple[str, str, str]]] = {}
    for row in _rows(view, _MATING):
        about = (*sorted((row["a"].value, row["b"].value)), row["joint"].value)
        sides = found.setdefault(("fit", about), set())
        sides.add((row["yesNote"].value, row["yesEdge"].value, FITS))
        sides.add((row["noNote"].value, row["noEdge"].value, DOES_NOT_FIT))
    for row in _rows(view, _LENGTHS):
        about = (row["thing"].value, row["property"].value)
        found.setdefault(("length", about), set()).add((row["note"].value, row["thing"].value, _mm(row["value"].value)))
    for row in _rows(view, _SHIFTS):
        about = (row["source"].value, row["target"].value, f"{VOCABULARY}shiftMm")
        found.setdefault(("length", about), set()).add((row["note"].value, row["edge"].value, _mm(row["value"].value)))
    return [
        Dispute(kind, about, tuple(sorted((_claim(view, ranks, settled, *side) for side in sides), key=_best_first)))
        for (kind, about), sides in sorted(found.items())
    ]


def set_aside_edges(disputes: list[Dispute]) -> frozenset[str]:
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
