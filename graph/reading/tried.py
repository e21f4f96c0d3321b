"""Values that a question tries in place of what is known: odds of a fault or doubt, a part's price. Pure.

Nothing of it is written down anywhere; what was tried is handed on with what is known, so that an answer can say so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.catalogue.layered import Revised
from graph.catalogue.model import Part
from graph.conversion.document import Conversion, Fault
from graph.lookups.index import CatalogueIndex
from graph.lookups.layered import LayeredIndex
from graph.reading.model import Doubt
from graph.reading.question import Question

ODDS, PRICE = "odds", "price"
TRIED = "tried in this question"  # the source of such a value


@dataclass(frozen=True, slots=True)
class TriedValue:
    """`sort`: odds (0 to 1) or price (whole hundredths); of `what` (an id), called `label`.

    `known`: what counts without it, None where nobody knows.
    """

    sort: str
    what: str
    label: str
    value: Fraction
    known: Fraction | None


def with_tried_prices(index: CatalogueIndex, question: Question) -> tuple[CatalogueIndex, tuple[TriedValue, ...]]:
    """The index with the parts at the prices that the question tries, and what was tried."""
    prices = question.prices_hundredths
    if not prices:
        return index, ()
    known = index.catalogue.parts

    def priced(part: Part) -> Part:
        return replace(part, cash_hundredths=prices[part.id], price_source=TRIED)

    tried = tuple(
        TriedValue(PRICE, name, known[name].label or name, Fraction(value), _exactly(known[name].cash_hundredths))
        for name, value in prices.items()
    )
    catalogue = replace(index.catalogue, parts=Revised(known, frozenset(prices), priced))
    return LayeredIndex(index, catalogue, (), prices), tried


def with_tried_odds(
    conversion: Conversion, doubts: Mapping[str, Doubt], question: Question
) -> tuple[Conversion, Mapping[str, Doubt], tuple[TriedValue, ...]]:
    """The document with the odds that the question tries of its faults, what stands behind them, what was tried.

    Odds of what this document does not know as a fault are left alone: another wish may have taken it away.
    """
    odds = question.odds
    here = [fault for fault in conversion.faults if fault.id in odds]
    if not here:
        return conversion, doubts, ()

    def known(fault: Fault) -> Fraction | None:
        said = doubts.get(fault.id)
        return None if said is not None and ODDS in said.unpriced else fault.odds

    tried = tuple(TriedValue(ODDS, one.id, _called(one, doubts), odds[one.id], known(one)) for one in here)
    faults = tuple(replace(one, odds=odds[one.id]) if one.id in odds else one for one in conversion.faults)
    return replace(conversion, faults=faults), {**doubts, **_told(here, doubts)}, tried


def _told(here: list[Fault], doubts: Mapping[str, Doubt]) -> dict[str, Doubt]:
    behind = [doubts[fault.id] for fault in here if fault.id in doubts]
    return {
        one.fault: replace(one, odds_source=TRIED, unpriced=tuple(each for each in one.unpriced if each != ODDS))
        for one in behind
    }


def _called(fault: Fault, doubts: Mapping[str, Doubt]) -> str:
    return doubts[fault.id].text if fault.id in doubts else fault.label or fault.id


def _exactly(hundredths: int | None) -> Fraction | None:
    return None if hundredths is None else Fraction(hundredths)
