"""The view of the comparison: routes side by side, in plain words, what differs apart from what does not.

Pure: an answer in, a view out. Numbers are rounded for the eye only here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from urllib.parse import quote

from api.pages.asked import address
from api.pages.assumed_view import Asking, LookView, look_views
from api.pages.bars import Bars, cost_bars
from api.pages.compare_rows import Row, compared_rows, differs_in
from api.pages.first_view import FirstView, first_view
from api.pages.question_view import QuestionView, avoiding, label_of, question_view
from api.pages.trying import TryView, try_view
from graph.answer import words
from graph.answer.asked_units import deposit_words
from graph.answer.model.answer import Answer, Dispute, NearestWay, OpenLine
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import PartLine
from graph.answer.sums import hope_of, least_cash, least_hours, least_of
from graph.counter.nearest import wishes_of
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question


@dataclass(frozen=True, slots=True)
class Fitted:
    """A part that a route fits. `label`; `page`: the address of its own page, empty for a part that is only computed.

    `what`: number, condition, price and lead in words.
    `without`: the address of the answer without it; `without_words`: the same as words of a link.
    `between`: it is of a kind that stands between two others (plate, sleeve, spacer, ring).
    """

    label: str
    page: str
    what: str
    without: str
    without_words: str
    between: bool


@dataclass(frozen=True, slots=True)
class Column:
    """One route. `rank`; `heading`: its name; `note`: what it is best at; `summary`; `verdict`.

    `address`: of its own page; `between`: the parts it fits that stand between two others; `parts`: the rest.
    `provisional`: something on the way is still to be confirmed. `assumed`: how many things it assumes.
    `figure`: its number for the objective, in words.
    """

    rank: int
    heading: str
    note: str
    summary: str
    verdict: str
    provisional: bool
    assumed: int
    figure: str
    address: str
    between: tuple[Fitted, ...]
    parts: tuple[Fitted, ...]


@dataclass(frozen=True, slots=True)
class NearView:
    """A way without some wish. `words`: which, and what it comes to; `address`: the page that asks for it."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class CompareView:
    """The answer to a question.

    `question`: as asked, with ways to change it. `first`: of the first route verdict, sum, what to confirm and the
    work, None where there is no route;
    `trying`: other values to try of it; `headline`: the answer in a sentence; `verdict`; `columns`: routes.
    `doing_without`: what it costs to do without the part that was avoided last, in a sentence; empty if none was.
    `differs`, `same`: rows that tell them apart, and rows that do not. `bars`: where the cost goes.
    `asks`: what must be said first; `measure_first`: what to look at before work starts; `instead`: what not doing the
    job costs, where there is no route; `ranking`: which route leaves less without a price. `look_first`,
    `look_cautions`: what looking first is worth. `changes`: what would change the answer, `idle` what would not,
    `changes_address` where they are worked out
    (empty where there is nothing to work out).
    `open`: what keeps every route closed; `nearest`: the ways that break the fewest wishes.
    `unfinished`: what the search did not get done in time. `left_out`,
    `to_measure`, `disputes`, `assumptions`, `cautions`: as answered.
    """

    question: QuestionView
    first: FirstView | None
    trying: TryView | None
    headline: str
    doing_without: str
    verdict: str
    columns: tuple[Column, ...]
    differs: tuple[Row, ...]
    same: tuple[Row, ...]
    bars: Bars | None
    asks: tuple[str, ...]
    measure_first: tuple[LookView, ...]
    instead: str
    ranking: tuple[str, ...]
    look_first: tuple[str, ...]
    look_cautions: tuple[str, ...]
    changes: tuple[str, ...]
    idle: tuple[str, ...]
    changes_address: str
    open: tuple[OpenLine, ...]
    nearest: tuple[NearView, ...]
    unfinished: tuple[str, ...]
    left_out: tuple[str, ...]
    to_measure: tuple[str, ...]
    disputes: tuple[Dispute, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]


def compare_view(
    index: CatalogueIndex,
    question: Question,
    answer: Answer,
    with_changes: bool,
    allowed: Answer | None = None,
    has_papers: bool = False,
    known: Answer | None = None,
) -> CompareView:
    """The view of the answer. `with_changes`: the answer holds what would change it.

    `has_papers`: the app prints papers.
    `known`: the answer without what is tried, where something is. `allowed`: the answer to the same question with the
    last avoided part allowed, to say what doing without costs.
    """
    rows = compared_rows(answer)
    can_change = bool(answer.routes) and question.objective == "expected" and not with_changes
    return CompareView(
        question=question_view(index, question),
        first=first_view(question, answer, answer.routes[0], has_papers, beside_others=True) if answer.routes else None,
        trying=try_view(index, question, answer, answer.routes[0], known) if answer.routes else None,
        headline=answer.headline,
        doing_without=_doing_without(index, question, answer, allowed) if allowed else "",
        verdict=answer.verdict,
        columns=tuple(_column(index, question, answer, route) for route in answer.routes),
        differs=tuple(row for row in rows if differs_in(row)),
        same=tuple(row for row in rows if not differs_in(row)),
        bars=cost_bars(answer) if answer.routes else None,
        asks=answer.asks,
        measure_first=look_views(index, answer, Asking.of(question, address("/compare", question))),
        instead=answer.instead.words if answer.instead and not answer.routes else "",
        ranking=answer.ranking,
        look_first=(answer.look_first.words, *answer.look_first.odds_words) if answer.look_first else (),
        look_cautions=answer.look_first.cautions if answer.look_first else (),
        changes=tuple(words.sentence(change.words) for change in answer.changes if change.value is not None),
        idle=tuple(change.label for change in answer.changes if change.value is None),
        changes_address=address("/compare", question, [("changes", "yes")]) if can_change else "",
        open=answer.open,
        nearest=tuple(_near(index, question, way) for way in answer.nearest),
        unfinished=answer.unfinished,
        left_out=tuple(out.why for out in answer.left_out),
        to_measure=answer.to_measure,
        disputes=answer.disputes,
        assumptions=answer.assumptions,
        cautions=answer.cautions,
    )


def _near(index: CatalogueIndex, question: Question, way: NearestWay) -> NearView:
    for wish in way.wishes:
        question = dict(wishes_of(index, question))[wish]
    return NearView(way.words, address("/compare", question))


def allowing_last(question: Question) -> Question:
    """The question with the part allowed that was avoided last."""
    return replace(question, avoid=question.avoid[:-1])


def _doing_without(index: CatalogueIndex, question: Question, answer: Answer, allowed: Answer) -> str:
    name = label_of(index, question.avoid[-1])
    if not allowed.routes:
        return f"With {name} allowed there is no route either."
    if not answer.routes:
        return f"There is no way without {name}; with it the best route is {_figure(allowed, allowed.routes[0])}."
    here, there = _least(answer), _least(allowed)
    if here == there:
        return f"Doing without {name} costs nothing more."
    more = words.hours(int(here - there)) if answer.objective == "hours" else words.money(here - there, answer.currency)
    return f"Doing without {name} costs {more} more: with it the best route is {_figure(allowed, allowed.routes[0])}."


def _least(answer: Answer) -> Fraction:
    """What the best route costs by the objective: currency units, or whole hundredths of an hour."""
    best = answer.routes[0]
    amounts = {
        "expected": best.expected, "total": best.total, "cash": Fraction(best.cash_hundredths, 100),
        "hours": Fraction(best.hours_hundredths),
    }  # fmt: skip
    return amounts[answer.objective]


BEST_BY = {"expected": "cheapest with likely faults", "total": "cheapest", "cash": "least cash", "hours": "quickest"}


def _column(index: CatalogueIndex, question: Question, answer: Answer, route: AnsweredRoute) -> Column:
    parts = [fitted(index, question, answer.currency, part) for part in route.parts]
    return Column(
        rank=route.rank,
        heading=f"Route {route.rank}",
        note=_note(answer, route),
        summary=told_without_verdict(route),
        verdict=words.sentence(route.verdict),
        provisional=route.provisional,
        assumed=len(route.assumptions),
        figure=_figure(answer, route),
        address=address("/route", question, [("rank", str(route.rank))]),
        between=tuple(part for part in parts if part.between),
        parts=tuple(part for part in parts if not part.between),
    )


def _note(answer: Answer, route: AnsweredRoute) -> str:
    """What the route is best at; one that assumes something is best only if it holds."""
    if route.assumptions:
        return f"{BEST_BY[answer.objective]}, if it holds" if route.rank == 1 else "if it holds"
    if route.rank > 1:
        return ""
    known = any(other.assumptions for other in answer.routes)
    return f"{BEST_BY[answer.objective]}{' on what is known' if known else ''}"


def told_without_verdict(route: AnsweredRoute) -> str:
    """The route in a line, for where its verdict stands beside it; "if ..." stays in front."""
    return words.sentence(route.summary.removeprefix(f"{words.sentence(route.verdict)}: "))


def _figure(answer: Answer, route: AnsweredRoute) -> str:
    def money(value: Fraction) -> str:
        return least_of(route) + words.priced(value, route.hours_hundredths, answer.currency, answer.rate_stated)

    figures = {
        "expected": f"{money(route.expected)} expected",
        "total": f"{money(route.total)} total",
        "cash": f"{least_cash(route, answer.currency)} cash",
        "hours": least_hours(route),
    }
    return f"{'if it holds, ' if hope_of(route) else ''}{figures[answer.objective]}"


def fitted(index: CatalogueIndex, question: Question, currency: str, part: PartLine) -> Fitted:
    """The part with the link to the answer without it."""
    kind = index.catalogue.part_kinds.get(part.kind)
    if part.is_unit:
        mine = replace(question, own=(*question.own, part.part))
        told = f"to be bought, {_part_words(part, currency)}"
        return Fitted(part.label, f"/part/{quote(part.part)}", told, address("/compare", mine), "It is in hand", False)
    name = kind.label if kind is not None else part.label
    between = part.via or bool(kind and kind.intermediate)
    # What stands between two others can be done without altogether; of the rest another one must take its place.
    without = avoiding(index, question, part.kind if between and kind is not None else part.part)
    said = f"Without any {name}" if between else f"Without this {name}"
    told = _part_words(part, currency)
    own_page = f"/part/{quote(part.part)}" if part.part in index.catalogue.parts else ""
    return Fitted(part.label, own_page, told, address("/compare", without), said, between)


def _part_words(part: PartLine, currency: str) -> str:
    price = "price not noted" if part.price_hundredths is None else words.cash(part.price_hundredths, currency)
    if part.in_hand:
        return "in hand"
    wait = "in stock" if part.in_stock else words.days(part.lead_days) if part.lead_days else "no wait"
    deposit = ""
    if part.deposit_hundredths:
        deposit = deposit_words(currency, part.deposit_hundredths, part.deposit_counted_hundredths)
    said = (part.number, part.condition.replace("-", " "), price, part.price_source, deposit, wait)
    return ", ".join(filter(None, said))
