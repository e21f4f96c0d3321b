"""The sums of a route and what each of them is: decided here, for text, JSON, pages and papers alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from graph.answer import words
from graph.answer.assumed import NO_ODDS, WHATEVER_COMES, only_figures, told_shortly
from graph.answer.ground import Ground
from graph.answer.model.doubt import DUE, AssumptionLine
from graph.answer.model.route import AnsweredRoute, SumLine
from graph.answer.model.work import RENEWAL, Step
from graph.reading.untold import HOURS, hours_among
from graph.search.result import Route

NOT_STATED = "not stated"
WORK = "the work to reach it"  # among what a doubt names as not known
WITHOUT = "without what nobody has priced"
FAULTS, DOUBTS, BOTH = "likely faults", "what is in doubt", "likely faults and what is in doubt"

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
    labels = LABELS_ASSUMING if hope_of(route) else LABELS
    least = least_of(route)
    untold = _untold(route)
    values: list[tuple[str, Fraction | None, Fraction | None]] = [
        (TOTAL, route.total, None), (IF_ALL_HOLDS, route.if_all_holds, None), (EXPECTED, route.expected, None),
        (HALF, route.p50, route.p50_least), (NINE_IN_TEN, route.p90, route.p90_least),
    ]  # fmt: skip
    lines = []
    for what, value, lower in values:
        if value is None or what in untold or (what == IF_ALL_HOLDS and not hope_of(route)):
            continue
        hope = hope_of(route) if what != IF_ALL_HOLDS else ""
        said = words.priced(value, route.hours_hundredths, currency, rate_stated) + lower_end(lower, currency)
        without = left_out(route) if what in (EXPECTED, HALF, NINE_IN_TEN) else ""
        # "at most ... at least" says nothing: a share says what it leaves out instead
        lower_bound = "" if without and what != EXPECTED else least
        lines.append(SumLine(what, labels[what], value, lower, f"{hope}{lower_bound}{said}{without}"))
    return tuple(lines)


def least_of(route: AnsweredRoute) -> str:
    """What stands before each sum of a route some of which has no price; nothing where all of it has one."""
    return "at least " if route.at_least else ""


def is_at_least(ground: Ground, route: Route, lines: Iterable[AssumptionLine]) -> bool:
    """Has something that the route takes, or may come to, no price, hours or rate? `lines`: what it assumes."""
    return any(line.at_least for line in lines) or bool(_lacking_of_job(ground, route))


def why_at_least(ground: Ground, route: Route, lines: Iterable[AssumptionLine]) -> tuple[str, ...]:
    """What has none, in words."""
    return (*not_priced(lines), *_lacking_of_job(ground, route))


def _lacking_of_job(ground: Ground, route: Route) -> tuple[str, ...]:
    """What no assumption speaks of: the rate; where nobody has stated which kind of job it is, what else it takes."""
    rate = () if ground.rate_stated or not route.hours_hundredths else ("the bench rate",)
    asks = ground.reading is not None and bool(ground.reading.asks)
    return (*rate, *(("what else its kind of job takes",) if asks else ()))


def hope_of(route: AnsweredRoute) -> str:
    """What stands before a sum that hangs on what nobody has stated; hours and prices that are missing make it "at
    least" and no more."""
    return "" if only_figures(route.assumptions) else "if "


def amount_of(route: AnsweredRoute, value: Fraction, currency: str, rate_stated: bool) -> str:
    """One sum of the route in words, as it stands in a row of its own beside those of other routes."""
    said = words.priced(value, route.hours_hundredths, currency, rate_stated)
    return f"{hope_of(route)}{least_of(route)}{said}"


def least_cash(route: AnsweredRoute, currency: str = "") -> str:
    """The route's money on the day of paying, "at least" where some of it has no price."""
    return f"{least_of(route)}{words.cash(route.cash_hundredths, currency)}"


def least_hours(route: AnsweredRoute) -> str:
    """The route's hours, "at least" where some of them are not stated."""
    return f"{_least_hours(route)}{words.hours(route.hours_hundredths)}"


def hours_of_work(route: AnsweredRoute, steps: Sequence[Step]) -> str:
    """The hours of these steps, the route's own and what is renewed besides; "at least" where some are not stated."""
    renewed = [step for step in steps if step.source_kind == RENEWAL]
    least = _least_hours(route) or ("at least " if any(hours_among(step.not_stated) for step in renewed) else "")
    return f"{least}{words.hours(route.hours_hundredths + sum(step.hours_hundredths for step in renewed))}"


def least_days(route: AnsweredRoute) -> str:
    """The days until it is ready, "at least" where some of the hours are not stated."""
    return f"{_least_hours(route)}{words.days(route.days)}"


def _least_hours(route: AnsweredRoute) -> str:
    return "at least " if any(HOURS in what or what == WORK for what in route.unpriced) else ""


def hours_of_step(step: Step) -> str:
    """The planned hours of a line of work; nothing where it takes none, and said so where nobody has stated them."""
    known = words.hours(step.hours_hundredths) if step.hours_hundredths else ""
    if not hours_among(step.not_stated):
        return known
    return f"at least {known}" if known else NOT_STATED


def left_out(route: AnsweredRoute) -> str:
    """What stands behind an average or a share of the jobs that leaves out what has no price; else nothing."""
    return f", {WITHOUT}" if any(line.at_least for line in route.assumptions) else ""


def unpriced_doubts(route: AnsweredRoute) -> int:
    """How many of the things in doubt have no price, hours or rate, in whole or in part."""
    return sum(line.at_least for line in _in_doubt(route))


def no_average(route: AnsweredRoute) -> str:
    """Why the route has neither an average nor a nine in ten: nothing of what is in doubt has a price. Else nothing.

    Such figures would only be the sum itself once more, as if all that is in doubt were free.
    """
    missing = unpriced_doubts(route)
    if not missing or route.expected != route.total or any(not _is_free_of_price(line) for line in _in_doubt(route)):
        return ""
    return f"no average: {missing} of what is in doubt {'has' if missing == 1 else 'have'} no price"


def added_label(route: AnsweredRoute) -> str:
    """What it is that the average adds to the total: likely faults, what is in doubt, or both."""
    faults, doubts = any(fault.expected for fault in route.faults), bool(_in_doubt(route))
    return BOTH if faults and doubts else DOUBTS if doubts else FAULTS


def _in_doubt(route: AnsweredRoute) -> tuple[AssumptionLine, ...]:
    return tuple(line for line in route.assumptions if line.state != DUE)


def _is_free_of_price(line: AssumptionLine) -> bool:
    return line.at_least and not line.cost and not line.comeback


def _untold(route: AnsweredRoute) -> tuple[str, ...]:
    """The sums that would say nothing: all shares where nothing in doubt has a price, the half where most has none."""
    if no_average(route):
        return (EXPECTED, HALF, NINE_IN_TEN)
    return (HALF,) if 2 * unpriced_doubts(route) > len(_in_doubt(route)) else ()


def sum_label(what: str, routes: Sequence[AnsweredRoute]) -> str:
    """The label of one sum of several routes side by side."""
    known = any(not route.assumptions for route in routes) and what in LABELS
    return (LABELS if known else LABELS_ASSUMING)[what]


def lower_end(least: Fraction | None, currency: str = "") -> str:
    """What a share of the jobs that is not counted exactly costs at least; nothing where it is."""
    return "" if least is None else f" (rounded up; not less than {words.money(least, currency)})"


def low_end(route: AnsweredRoute) -> Fraction:
    """What the route comes to if all that it assumes holds; its total where nothing is said of that."""
    return route.total if route.if_all_holds is None else route.if_all_holds


def three_sums(route: AnsweredRoute, currency: str) -> str:
    """What a route with assumptions may come to: if all holds, on average, and in nine cases of ten."""
    least = least_of(route)
    holds = words.money(low_end(route), currency)
    work = f"{least}{words.hours(route.hours_hundredths)}, {least}{words.days(route.days)}"
    return f"{least}{holds} if all holds, {shares(route, currency, 'expected')} ({work})"


def shares(route: AnsweredRoute, currency: str, on_average: str = "on average") -> str:
    """What the route costs on average and in nine jobs of ten, and what these leave out; or why neither is told."""
    if said := no_average(route):
        return said
    expected, most = words.money(route.expected, currency), words.money(route.p90, currency)
    without = left_out(route).replace(WITHOUT, f"both {WITHOUT}")
    return f"{least_of(route)}{expected} {on_average}, nine in ten at most {most}{without}"


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
