"""The index of a costed catalogue, sharing with the index below all that prices, hours and odds do not touch.

A price list that came in changes millions of edges not at all; indexing them again would take seconds.
"""

from __future__ import annotations

import copy

from graph.catalogue.layered import list_changed
from graph.catalogue.model import Catalogue
from graph.reading.index import CatalogueIndex
from graph.reading.layered import LayeredIndex


def index_costed(below: CatalogueIndex, catalogue: Catalogue) -> CatalogueIndex:
    """The look-ups of the index below, over its catalogue with other prices, hours and odds.

    `catalogue`: below's with the same ids everywhere.
    """
    if catalogue is below.catalogue:
        return below
    edges, parts = (
        list_changed(below.catalogue.edges, catalogue.edges),
        list_changed(below.catalogue.parts, catalogue.parts),
    )
    if edges:
        return LayeredIndex(below, catalogue, (*edges, *parts))
    made = copy.copy(below)
    made._priced = below.priced_kinds() | {
        part.kind for part in map(catalogue.parts.__getitem__, parts) if part.cash_hundredths is not None
    }
    made.kept, made.catalogue = {}, catalogue  # computed edges rest on prices
    return made
