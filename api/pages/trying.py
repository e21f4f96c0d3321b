"""Other values to try on an answer: bench rate, odds, prices. What is tried counts on the page alone.

Pure: answers in, views out. Fields hold what counts; only those that differ from what is known are tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from starlette.datastructures import QueryParams

from api.pages.asked import ODDS, PRICE, address, parameters_of
from api.pages.question_view import as_known
from graph.answer import words
from graph.answer.best_alone import BestAlone
from graph.answer.build import TRIED
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.plain import sum_words
from graph.exact import HUNDREDTHS
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

MOST_FIELDS = 5  # of prices, the dearest, and of odds, the likeliest


@dataclass(frozen=True, slots=True)
class TryField:
    """A value to try: the `name` and `value` of its field, its `label` and `unit`, and the `most` of its slider.

    `known`: what counts without it, in words; `back`: the address without it, "" where nothing is tried here.
    """

    name: str
    value: str
    label: str
    unit: str
    most: str
    known: str
    back: str


@dataclass(frozen=True, slots=True)
class MovingView:
    """What the values make of the answer. `sum` of the best route, `before` with what is known ("" where nothing is
    tried), `difference`; `summary`: the route; `other`: it is not the one that is best with what is known.
    `tried`: what is tried, in words; `address` of the whole answer, `back` without anything tried.
    """

    sum: str
    before: str
    difference: str
    summary: str
    other: bool
    tried: tuple[str, ...]
    address: str
    back: str


@dataclass(frozen=True, slots=True)
class TryView:
    """`fields`; `hidden`: the rest of the question; `moving`: what they make of the answer."""

    fields: tuple[TryField, ...]
    hidden: tuple[tuple[str, str], ...]
    moving: MovingView


@dataclass(frozen=True, slots=True)
class TriedAlone:
    """`moving`: what the values make of the answer."""

    moving: MovingView


@dataclass(frozen=True, slots=True)
class TryFragment:
    """The part of a page that moves; `trying`: only its `moving`."""

    trying: TriedAlone


def tries(question: Question) -> bool:
    """Whether it tries a rate, odds or a price."""
    return bool(question.odds or question.prices_hundredths or question.rate_hundredths is not None)


def untried(question: Question) -> Question:
    """The question at the known rate, odds and prices."""
    return replace(as_known(question), rate_hundredths=None)


def try_view(
    index: CatalogueIndex, question: Question, answer: Answer, route: AnsweredRoute, known: Answer | None
) -> TryView:
    """What can be tried of the route. `known`: the answer without what is tried, where something is."""
    return TryView(
        (_rate(index, question), *_prices(index, question, route), *_odds(question, answer, route, known)),
        tuple(parameters_of(untried(question))),
        moving_view(index, question, BestAlone.of(answer), None if known is None else BestAlone.of(known)),
    )


def moving_view(index: CatalogueIndex, question: Question, now: BestAlone, known: BestAlone | None) -> MovingView:
    """What the tried values make of the answer. `known`: the best without them, where something is tried."""
    best, before = now.route, None if known is None else known.route
    return MovingView(
        sum="No route" if best is None else sum_words(now, best),
        before="" if before is None or known is None else sum_words(known, before),
        difference="" if best is None or before is None else _difference(before, best, now),
        summary="" if best is None else best.summary,
        other=best is not None and before is not None
        and (dict(best.picks), dict(best.links)) != (dict(before.picks), dict(before.links)),
        tried=now.tried + (_rate_words(index, question) if known is not None else ()),
        address=address("/compare", question), back=address("/compare", untried(question)),
    )  # fmt: skip


def _rate_words(index: CatalogueIndex, question: Question) -> tuple[str, ...]:
    usual, money = index.catalogue.rate_hundredths, index.catalogue.currency
    if question.rate_hundredths in (None, usual):
        return ()
    tried = words.cash(question.rate_hundredths or 0, money)
    return (f"{TRIED}: {tried} a bench hour (known: {words.cash(usual, money)})",)


def _difference(before: AnsweredRoute, now: AnsweredRoute, answer: BestAlone) -> str:
    held = (now.expected - before.expected) if answer.objective != "total" else now.total - before.total
    if not held:
        return "no difference"
    return f"{words.money(abs(held), answer.currency)} {'more' if held > 0 else 'less'}"


def _rate(index: CatalogueIndex, question: Question) -> TryField:
    usual, money = index.catalogue.rate_hundredths, index.catalogue.currency
    rate = usual if question.rate_hundredths is None else question.rate_hundredths
    back = "" if rate == usual else address("/compare", replace(question, rate_hundredths=None))
    return TryField("rate", _plain(rate), "Bench rate an hour", money, _plain(max(rate, usual, 5_000) * 2),
                    words.cash(usual, money), back)  # fmt: skip


def _prices(index: CatalogueIndex, question: Question, route: AnsweredRoute) -> Iterator[TryField]:
    parts, money, tried = index.catalogue.parts, index.catalogue.currency, question.prices_hundredths
    here = [part for part in route.parts if not part.in_hand and part.price_hundredths and part.part in parts]
    here.sort(key=lambda part: (part.part not in tried, -(part.price_hundredths or 0), part.part))
    for part in here[:MOST_FIELDS]:
        known, value = parts[part.part].cash_hundredths, part.price_hundredths or 0
        rest = {one: price for one, price in tried.items() if one != part.part}
        back = address("/compare", replace(question, prices_hundredths=rest)) if part.part in tried else ""
        yield TryField(PRICE + part.part, _plain(value), part.label, money, _plain(max(value, known or 0) * 2),
                       "no price" if known is None else words.cash(known, money), back)  # fmt: skip


def _odds(question: Question, answer: Answer, route: AnsweredRoute, known: Answer | None) -> Iterator[TryField]:
    labels = {**_odds_of(answer), **_odds_of_route(route)}
    before = labels if known is None else _odds_of(known)
    names = [*question.odds, *(one for one in labels if one not in question.odds)]
    for fault in [one for one in names if one in labels][:MOST_FIELDS]:
        label, odds = labels[fault]
        rest = {one: held for one, held in question.odds.items() if one != fault}
        back = address("/compare", replace(question, odds=rest)) if fault in question.odds else ""
        said = words.percent(before[fault][1]) if fault in before else "not known"
        yield TryField(ODDS + fault, _percent(odds), f"Odds: {label}", "%", "100", said, back)


def _odds_of(answer: Answer) -> dict[str, tuple[str, Fraction]]:
    """Label and odds of the faults and doubts of all routes, likeliest first."""
    found = dict[str, tuple[str, Fraction]]()
    for route in answer.routes:
        found.update(_odds_of_route(route))
    return dict(sorted(found.items(), key=lambda one: (-one[1][1], one[0])))


def _odds_of_route(route: AnsweredRoute) -> dict[str, tuple[str, Fraction]]:
    found = {line.fault: (line.label, line.odds) for line in route.faults}
    doubts = {line.fault: (line.text, line.odds) for line in route.assumptions if line.fault and line.odds is not None}
    return {**found, **doubts}


def only_tried(parameters: QueryParams, index: CatalogueIndex, known: Answer) -> QueryParams:
    """The fields of the form without those that hold what is known anyhow."""
    odds = {ODDS + fault: _percent(held) for fault, (_, held) in _odds_of(known).items()}
    prices = {
        name: _plain(part.cash_hundredths)
        for name in parameters
        if name.startswith(PRICE)
        and (part := index.catalogue.parts.get(name.removeprefix(PRICE))) is not None
        and part.cash_hundredths is not None
    }
    held = {**odds, **prices, "rate": _plain(index.catalogue.rate_hundredths)}
    return QueryParams([(name, text) for name, text in parameters.multi_items() if not _is_known(name, text, held)])


def _is_known(name: str, text: str, held: Mapping[str, str]) -> bool:
    try:
        return name in held and Decimal(text.strip().replace(",", ".")) == Decimal(held[name])
    except InvalidOperation:  # what is no number is told of where the question is read
        return False


def _plain(hundredths: int) -> str:
    return f"{hundredths / HUNDREDTHS:.2f}".removesuffix(".00")


def _percent(odds: Fraction) -> str:
    return f"{float(odds * 100):.2f}".rstrip("0").rstrip(".")
