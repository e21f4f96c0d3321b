"""The index of a costed catalogue, sharing with the index below all that prices, hours and odds do not touch.

A price list that came in changes millions of edges not at all; indexing them again would take seconds.
"""

from __future__ import annotations

import copy
from collections import defaultdict

from graph.catalogue.model import Catalogue
from graph.derive import around
from graph.reading.index import CatalogueIndex


def index_costed(below: CatalogueIndex, catalogue: Catalogue) -> CatalogueIndex:
    """The look-ups of the index below, over its catalogue with other prices, hours and odds.

    `catalogue`: below's with the same ids everywhere. Built anew only where the record changed what an edge says.
    """
    if catalogue is below.catalogue:
        return below
    if catalogue.edges is not below.catalogue.edges:
        return CatalogueIndex(catalogue)
    made = copy.copy(below)
    vars(made).pop(around._KEPT, None)  # computed edges rest on prices
    made.catalogue = catalogue
    made._stand_ins, made._faults = defaultdict(list), defaultdict(list)
    made._index_work()
    return made
