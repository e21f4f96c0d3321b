"""Units in hand that nobody asks about: they give parts."""

from __future__ import annotations

from typing import Protocol

from graph.catalogue.model import UNIT_KINDS
from graph.lookups.index import CatalogueIndex


class AsksAround(Protocol):
    """Whatever names the units that are asked about, and what is in hand."""

    @property
    def units(self) -> tuple[str, ...]:
        """The asked units."""

    @property
    def own(self) -> tuple[str, ...]:
        """The ids of what is in hand."""


def donors_in_hand(index: CatalogueIndex, question: AsksAround) -> tuple[str, ...]:
    """The units that the question names as its own and does not ask about."""
    named = (unit for unit in question.own if unit not in question.units)
    return tuple(unit for unit in named if any(index.is_unit(unit, what) for what in UNIT_KINDS))
