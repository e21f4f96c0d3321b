"""What the rules over facts look at: the statements, and the objects that were built of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY
from graph.catalogue.statements import Statements


@dataclass(frozen=True, slots=True)
class JudgedFacts:
    """What a rule looks at. `terms`: the names that the vocabulary defines."""

    statements: Statements
    catalogue: Catalogue
    terms: frozenset[str]
    keys: Mapping[str, str]  # id -> IRI

    def place(self, thing: str, prop: str = "") -> str:
        return self.statements.place(self.keys.get(thing, thing), LAY + prop if prop and ":" not in prop else prop)
