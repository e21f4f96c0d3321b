"""What to measure first for a question: the answer's own plan, so that nobody hears a second truth.

Only where nobody has said which kind of job it is can the answer have no plan; then the measurements that joints wait
for are tried one by one, on what is written down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from graph.answer.model.answer import Answer
from graph.answer.model.doubt import MeasureFirst
from graph.answer.plain import find_out_first
from graph.answer.serial import part_as_json
from graph.answer.status import IF_IT_HOLDS, ON_WHAT_IS_KNOWN, PROVEN
from graph.counter.next_measurement import NextMeasurement
from graph.search.result import NO_ROUTE

ALL_IS_PROVEN = "Nothing that could be measured would make this cheaper: what is known is proven the cheapest."
NOTHING_TO_LOOK_AT = "Nothing can be looked at before work starts that would tell."
NO_LOOK = "No look at what is assumed is written down. Find it out all the same, the likeliest not to hold first."


@dataclass(frozen=True, slots=True)
class MeasurePlan:
    """`status`, `headline`, `asks`: as the answer has them. `first`: what to look at, the most telling first.

    `missing`: where no assembly is settled, the missing measurements that could change what is written down.
    `words`: what else there is to say: what stays open and what would open it, or that nothing needs measuring.
    `cautions`: as the answer has them; what the question tries in place of what is known is said first.
    """

    status: str
    headline: str
    asks: tuple[str, ...] = ()
    first: tuple[MeasureFirst, ...] = ()
    missing: tuple[NextMeasurement, ...] = ()
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def plan_of_answer(answer: Answer, missing: Callable[[], tuple[NextMeasurement, ...]]) -> MeasurePlan:
    """The plan. `missing`: tries the missing measurements one by one; asked only where the answer has no assembly."""
    tried = () if answer.assembly else missing()
    return MeasurePlan(
        answer.status,
        answer.headline,
        answer.asks,
        answer.measure_first,
        tried,
        _words(answer, bool(tried)),
        answer.cautions,
    )


def plan_as_json(plan: MeasurePlan) -> dict[str, Any]:
    """The plan as JSON values; costs of `missing` are expected ones, null where there is no route."""
    missing = [{**part_as_json(one), "decides": one.decides} for one in plan.missing]
    return {**part_as_json(plan), "missing": missing}


def _words(answer: Answer, tried: bool) -> tuple[str, ...]:
    opens = tuple(f"{line.label}: {line.opens}" for line in answer.open)
    if opens and answer.status not in (PROVEN, ON_WHAT_IS_KNOWN):
        return opens
    if tried or answer.measure_first:
        return ()
    if answer.status == PROVEN:
        return (ALL_IS_PROVEN,)
    hopeful = next((route for route in answer.routes if route.assumptions), None)
    if hopeful is not None and (wanted := find_out_first(hopeful)):
        return (NO_LOOK, *wanted)
    return (NOTHING_TO_LOOK_AT,) if answer.status in (IF_IT_HOLDS, ON_WHAT_IS_KNOWN, NO_ROUTE) else ()
