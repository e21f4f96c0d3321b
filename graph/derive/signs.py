"""Which length chains a quantity moves, and which way."""

from __future__ import annotations

from graph.catalogue.model import Catalogue


def signs_of(catalogue: Catalogue, quantity: str) -> dict[str, int]:
    """Per chain kind that the quantity moves, which way."""
    known = catalogue.quantities.get(quantity)
    if known is None:
        return {}
    return {**dict.fromkeys(known.adds_to, 1), **dict.fromkeys(known.takes_from, -1)}
