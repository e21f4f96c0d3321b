"""The index of a costed catalogue, sharing with the index below all that prices, hours and odds do not touch.

A price list that came in changes millions of edges not at all; indexing them again would take seconds.
"""

from __future__ import annotations

from graph.catalogue.layered import list_changed
from graph.catalogue.model import Catalogue
from graph.lookups.index import CatalogueIndex
from graph.lookups.layered import LayeredIndex


def index_costed(below: CatalogueIndex, catalogue: Catalogue) -> CatalogueIndex:
    """The look-ups of the index below, over its catalogue with other prices, hours, odds and evidence.

    `catalogue`: below's with the same ids everywhere.
    """
    if catalogue is below.catalogue:
        return below
    edges = list_changed(below.catalogue.edges, catalogue.edges)
    return LayeredIndex(below, catalogue, edges, list_changed(below.catalogue.parts, catalogue.parts))
