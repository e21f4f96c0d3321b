"""The sums of a route and what each of them is: decided here, for text, JSON, pages and papers alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from graph.answer import words
from graph.answer.assumed import NO_ODDS, WHATEVER_COMES, told_shortly
from graph.answer.model import DUE, AnsweredRoute, AssumptionLine, SumLine

TOTAL, IF_ALL_HOLDS, EXPECTED, HALF, NINE_IN_TEN = "total", "if_all_holds", "expected", "half", "nine_in_ten"
LABELS = {
    TOTAL: "Total, if nothing is worn", EXPECTED: "Expected, with likely faults",
    HALF: "Half of such jobs cost at most", NINE_IN_TEN: "Nine in ten cost at most",
}  # fmt: skip
LABELS_ASSUMING = {
    **LABELS, TOTAL: "As far as known, nothing worn",
    IF_ALL_HOLDS: "If all that is assumed holds, with likely faults",
    EXPECTED: "On average, with likely faults and what is assumed at its odds",
}  # fmt: skip


def sum_lines(route: AnsweredRoute, currency: str, rate_stated: bool) -> tuple[SumLine, ...]:
    """The route's sums in the order of their size. Where something is assumed, each says "if"."""
    labels = LABELS_ASSUMING if route.assumptions else LABELS
    least = "at least " if route.at_least else ""
    values: list[tuple[str, Fraction | None, Fraction | None]] = [
        (TOTAL, route.total, None), (IF_ALL_HOLDS, route.if_all_holds, None), (EXPECTED, route.expected, None),
        (HALF, route.p50, route.p50_least), (NINE_IN_TEN, route.p90, route.p90_least),
    ]  # fmt: skip
    lines = []
    for what, value, lower in values:
        if value is None:
            continue
        hope = "if " if route.assumptions and what != IF_ALL_HOLDS else ""
        said = words.priced(value, route.hours_hundredths, currency, rate_stated) + lower_end(lower, currency)
        lines.append(SumLine(what, labels[what], value, lower, f"{hope}{least}{said}"))
    return tuple(lines)


def sum_label(what: str, routes: Sequence[AnsweredRoute]) -> str:
    """The label of one sum of several routes side by side."""
    known = any(not route.assumptions for route in routes) and what in LABELS
    return (LABELS if known else LABELS_ASSUMING)[what]


def lower_end(least: Fraction | None, currency: str = "") -> str:
    """What a share of the jobs that is not counted exactly costs at least; nothing where it is."""
    return "" if least is None else f" (rounded up; not less than {words.money(least, currency)})"


def three_sums(route: AnsweredRoute, currency: str) -> str:
    """What a route with assumptions may come to: if all holds, on average, and in nine cases of ten."""
    least = "at least " if route.at_least else ""
    holds = words.money(route.total if route.if_all_holds is None else route.if_all_holds, currency)
    expected, most = words.money(route.expected, currency), words.money(route.p90, currency)
    hours = words.hours(route.hours_hundredths)
    return (
        f"{least}{holds} if all holds, {least}{expected} expected, nine in ten at most"
        f" {f'{most} and what is not priced' if route.at_least else most} ({hours}, {words.days(route.days)})"
    )


def not_priced(assumptions: Iterable[AssumptionLine]) -> tuple[str, ...]:
    """What has no price, hours or rate: first what is due whatever is found, then what only may be."""
    lines = sorted(assumptions, key=lambda line: bool(line.fault) and line.state != DUE)
    told = (what for line in lines for what in line.unpriced)
    return tuple(dict.fromkeys(what for what in told if what not in (NO_ODDS, WHATEVER_COMES)))


def at_least_words(route: AnsweredRoute) -> str:
    """Why the route's sums are "at least"; nothing where all has a price."""
    return f"At least, because it is not stated: {told_shortly(route.unpriced)}." if route.unpriced else ""


def ranking(routes: Sequence[AnsweredRoute], currency: str) -> tuple[str, ...]:
    """Which dearer routes leave less without a price than the first, and how far that may go before they are cheaper.

    What has no price is in no sum, so the first may only look cheaper than such a route.
    """
    said = []
    for other in routes[1:]:
        missing = [what for what in routes[0].unpriced if what not in other.unpriced]
        if missing and set(other.unpriced) < set(routes[0].unpriced) and other.expected >= routes[0].expected:
            more = words.money(other.expected - routes[0].expected, currency)
            said.append(
                f"Route {other.rank} costs {more} more and leaves less without a price: route 1 is cheaper only while"
                f" this comes to less than {more} on average: {told_shortly(missing)}."
            )
    return tuple(said)
