"""The first sentences of an answer, in the words of the trade: what the verdict is, what it rests on, what it costs.

Pages, papers and the command line all take them from here, so that they say the same. Pure.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Protocol

from graph.answer import sums, words
from graph.answer.assumed import SHOWN, only_figures
from graph.answer.capacity import unrated_words
from graph.answer.model.answer import Answer
from graph.answer.model.doubt import DUE
from graph.answer.model.fit import DIRECT, IMPOSSIBLE, MACHINING, MADE_SPECIALLY, NOT_ADVISABLE, UNKNOWN, WITH_PARTS
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.answer.status import (
    ASSEMBLY_NOT_STATED,
    IF_IT_HOLDS,
    ON_WHAT_IS_KNOWN,
)
from graph.reading.untold import used_up_unstated
from graph.search.result import STOPPED_EARLY

IN_PLAIN_WORDS = {
    DIRECT: "It goes straight on",
    WITH_PARTS: "It bolts on, with parts",
    MACHINING: "It fits once parts are machined",
    MADE_SPECIALLY: "It fits with parts made specially",
    NOT_ADVISABLE: "It can be joined, but that is not advisable",
    IMPOSSIBLE: "It does not fit",
    UNKNOWN: "Whether it fits is not known yet: measure first",
}
LEAST = {"expected": "cheapest", "total": "cheapest if nothing is worn", "cash": "least cash", "hours": "fewest hours"}
_OF_ALL = {
    "expected": "no way is cheaper with likely wear counted", "total": "no way is cheaper if nothing is worn",
    "cash": "no way takes less cash", "hours": "no way takes fewer hours",
}  # fmt: skip


def verdict_sentence(answer: Answer, route: AnsweredRoute) -> str:
    """What the verdict is and what it rests on, in one sentence without its full stop."""
    kind = IN_PLAIN_WORDS[route.verdict]
    if route.verdict == NOT_ADVISABLE:
        kind += "".join(f": {reason}" for reason in route.against[:1])
    elif only_figures(route.assumptions):
        kind += _what_is_not_stated(route)
    elif count := len(route.assumptions):
        kind = f"It may fit, if {words.counted(count, 'thing')} that nobody has stated {_holds(count)}"
    told = [kind, _proof(answer, route)]
    if route.provisional:
        told.append("if what is to be confirmed holds")
    told.append(f"the weakest word it rests on: {route.weakest_evidence_words}" if route.weakest_evidence_words else "")
    return "; ".join(filter(None, told))


def _what_is_not_stated(route: AnsweredRoute) -> str:
    count = len(route.assumptions)
    return f", and nobody has stated {words.counted(count, 'figure')} of it" if count else ""


def _holds(count: int) -> str:
    return "holds" if count == 1 else "hold"


def _proof(answer: Answer, route: AnsweredRoute) -> str:
    """What is proven of the first route; the others are only other ways."""
    if route.rank > 1:
        return f"it is route {route.rank} of {len(answer.routes)}"
    if answer.status == STOPPED_EARLY:
        return "the best found before the time ran out"
    if answer.status == ASSEMBLY_NOT_STATED:
        return "said on what is written down only"
    torque = unrated_words(route.capacities)
    if only_figures(route.assumptions) and route.assumptions:
        return (f"{torque}, " if torque else "") + "as far as stated " + _OF_ALL[answer.objective]
    known = {ON_WHAT_IS_KNOWN: "on what is known ", IF_IT_HOLDS: "if so, "}.get(answer.status, "")
    return (f"{torque}, " if torque else "") + known + _OF_ALL[answer.objective]


class SaidIn(Protocol):
    """What a sum is said in: an answer, or its best route alone."""

    @property
    def objective(self) -> str:
        """By what routes are ranked."""

    @property
    def currency(self) -> str:
        """Of the money."""

    @property
    def rate_stated(self) -> bool:
        """Whether anybody has stated what a bench hour costs."""


def sum_words(answer: SaidIn, route: AnsweredRoute) -> str:
    """What it costs, as one amount; as a range where the route takes something for given that nobody has stated.

    The range goes from all that is assumed holding to what nine such jobs in ten stay below.
    """
    least = sums.least_of(route)

    def said(value: Fraction) -> str:
        return words.priced(value, route.hours_hundredths, answer.currency, answer.rate_stated)

    if not sums.hope_of(route):
        return f"{least}{said(route.expected if answer.objective == 'expected' else route.total)}"
    low = sums.low_end(route)
    high = max(low, route.expected, route.p90)
    if low == high or sums.no_average(route):
        return f"if it holds, {least}{said(low)}"
    return f"{least}{words.money(low)} to {said(high)}{sums.left_out(route)}"


def sum_notes(answer: Answer, route: AnsweredRoute) -> tuple[str, ...]:
    """What the sum is made of and what moves it, a line each; before them what not doing the job costs, if asked."""
    limit = (answer.instead.words,) if answer.instead else ()
    money, least = answer.currency, sums.least_of(route)
    if sums.hope_of(route):
        low = sums.low_end(route)
        first = f"{least}{words.money(low, money)} if all that is assumed holds, {sums.shares(route, money)}"
    elif route.expected != route.total:
        ends = (words.money(route.total, money), words.money(route.p90, money))
        first = f"with likely wear; {ends[0]} if nothing is worn, nine in ten at most {ends[1]}{sums.left_out(route)}"
        if answer.objective != "expected":
            first = f"if nothing is worn; {words.money(route.expected, money)} with likely wear"
    else:
        first = "no wear is counted: none is written down for these parts, which is not to say that none is likely"
    spent = f"{sums.least_cash(route, money)} cash, {sums.least_hours(route)}"
    rate = f" at {words.cash(answer.rate_hundredths, money)} an hour" if answer.rate_stated else " (no rate stated)"
    return *limit, first, f"{spent}{rate}; ready in {sums.least_days(route)}"


def first_to_do(answer: Answer, route: AnsweredRoute) -> tuple[str, ...]:
    """What to confirm and to measure before work starts and money is spent, in that order, each once."""
    looks = tuple(words.sentence(line.label) for line in answer.measure_first)
    if route.assumptions:
        return tuple(dict.fromkeys((*(looks or find_out_first(route)), *route.to_confirm)))
    hopeful = next((one for one in answer.routes if one.assumptions), None)
    if hopeful is not None:  # this route takes nothing for given: what is to be looked at is another one's
        looks = tuple(f"Only if route {hopeful.rank} is wanted: {look}" for look in looks)
    seen = answer.look_first.inspections if answer.look_first and not looks else ()
    pays = tuple(f"Look first, it pays: {words.sentence(one.label)}" for one in seen)
    return tuple(dict.fromkeys((*route.to_confirm, *pays, *looks)))


def find_out_first(route: AnsweredRoute) -> tuple[str, ...]:
    """Where no look at what is assumed is written down: what to find out all the same, what is likeliest not to hold
    first, then that whose odds nobody has stated; the first few one by one."""
    doubts = [line for line in route.assumptions if line.state != DUE]
    ranked = sorted(doubts, key=lambda line: (line.odds is None, -(line.odds or 0)))
    told = tuple(f"Find out: {text}" for text in dict.fromkeys(line.text for line in ranked))
    more = len(told) - SHOWN
    return (*told[:SHOWN], f"Find out {more} more; no look at any of it is written down") if more > 1 else told


def amounts_of(step: Step, currency: str) -> str:
    """Cash, hours and days of a step; cash of a task is for what it uses up.

    >>> amounts_of(Step(number=1, stage="bench", text="Gear train out", source="t", source_kind="task",
    ...                 cash_hundredths=11000, hours_hundredths=300), "EUR")
    '110.00 EUR for consumables, 3.0 h'
    """
    used_up = " for consumables" if step.source_kind == "task" else ""
    said_hours = sums.hours_of_step(step).replace(sums.NOT_STATED, f"hours {sums.NOT_STATED}")
    return ", ".join(
        filter(
            None,
            (
                f"{words.cash(step.cash_hundredths, currency)}{used_up}" if step.cash_hundredths else "",
                *(f"{one} {sums.NOT_STATED}" for one in used_up_unstated(step.not_stated)),
                said_hours,
                words.days(step.days) if step.days else "",
            ),
        )
    )
