"""One to many where units have prices, parts are damaged and a donor is in hand: as the long way round finds it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer.status import weigh
from graph.catalogue.model import Catalogue
from graph.reach import reach
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.search import SearchOrder, search_here
from tests.demo.shop import catalogue
from tests.reach.asked import with_unit


def changed() -> Catalogue:
    """The demo with a Hollin 5 at 1450 and 15 days, and Ouzel and Pipit with damaged discs."""
    parts = dict(catalogue().parts)
    parts["hollin-5"] = replace(parts["hollin-5"], cash_hundredths=145000, days=Fraction(15))
    for disc in ("disc-ouzel", "disc-pipit"):
        parts[disc] = replace(parts[disc], condition="damaged")
    return replace(catalogue(), parts=parts)


def the_long_way(index: CatalogueIndex, question: Question, side: str) -> Iterator[tuple[Fraction, str]]:
    for unit in index.units(side):
        if not index.catalogue.parts[unit].abstract:
            conversion = read_conversion(index, with_unit(question, side, unit)).conversion
            weighed = weigh(conversion, SearchOrder("total", 0), search_here)
            yield from ((route.total, unit) for route in weighed.shown.routes[:1])


@pytest.mark.parametrize(
    ("side", "question"),
    [
        ("gearbox", Question(gearbox="", engine="pipit-16", objective="total", own=("hollin-5l",))),
        ("engine", Question(gearbox="tansy-5", engine="", objective="total", own=("hollin-5l", "ouzel-20"))),
    ],
)
def test_nothing_is_ruled_out_that_can_be_reached(side: str, question: Question) -> None:
    index = CatalogueIndex(changed())

    found = [(one.value, one.unit) for one in reach(index, question, side, limit=100)]

    assert sorted(found) == sorted(the_long_way(index, question, side))
    assert found
