"""The answer that a job was planned on, kept inside the job, so that its papers print whatever the facts say later.

Kept are the one route, what may be found on the way and its odds; all else follows from these. What has changed since
is told beside, never mixed in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.answer.words import cash, hours, money
from graph.common_cause import CommonCause
from graph.costing.asking import CostedAnswer, route_at, spread_at, spread_or_drawn
from graph.costing.found import FoundOption, found_options
from graph.costing.jobs.job import Job
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import PLAN, CostNote, CostNotes, Provenance, new_id, standing
from graph.costing.spread import FaultCost, Spread, fault_costs, task_costs
from graph.costing.thaw import freeze, thaw
from graph.errors import InvalidInput, Problem


@dataclass(frozen=True, slots=True)
class Plan:
    """An answer cut down to the planned route, and what its papers need besides. Money in currency units.

    `spread`: amounts and their chances, as they were. `made_on`: when it was planned. `renewals`: what the customer
    ticked to be renewed while it is open, frozen (`graph.wear.planned_renewals` reads it); None where nobody was asked.
    """

    answer: Answer
    options: tuple[FoundOption, ...]
    spread: Spread
    made_on: str = ""
    renewals: object = None

    @property
    def route(self) -> AnsweredRoute:
        """The planned route."""
        return self.answer.routes[0]


def plan_of(found: CostedAnswer, route: AnsweredRoute) -> Plan:
    """What papers of that route need, taken from a fresh answer."""
    options = found_options(found.conversion, route.picks, route.tasks, route.links.values())
    return Plan(replace(found.answer, routes=(route,)), tuple(options), spread_at(found, route))


def plan_and_open(
    notes: CostNotes, found: CostedAnswer, rank: int, title: str, provenance: Provenance, job: str = "",
    renewals: object = None, steps: Sequence[Step] = (), form: str = "",
) -> Job:  # fmt: skip
    """A job from the route of that rank, its plan kept with it, and what is renewed besides, if anything was asked.
    `steps`: the order of work with what is renewed in it; none: the route's own. `job`: its number; "": the next
    running one. `form`: see `open_job`.

    Raises NotFound, InvalidInput for a job without a name, or Conflict for a number in use.
    """
    if not title.strip():
        raise InvalidInput([Problem("title", "say what the job is called, such as the customer's own words for it")])
    route = route_at(found.answer, rank)
    worked = replace(route, steps=tuple(steps) or route.steps)
    opened = plan_job(found.answer, worked, title, provenance, job, found.book_hundredths, found.costed.signs)
    return open_job(notes, opened, [_plan_note(opened, found, route, renewals)], form)


def find_plan(notes: CostNotes, job: Job) -> Plan | None:
    """The plan kept in the job; None for a job that was opened without one. Raises Conflict if it cannot be read."""
    kept = standing(notes, kind=PLAN, about=job.id)
    if not kept:
        return None
    body = kept[-1].body
    spread = thaw(Spread, body["spread"]) if "spread" in body else _spread_again(body)
    options = thaw(tuple[FoundOption, ...], body["options"])
    return Plan(thaw(Answer, body["answer"]), options, spread, kept[-1].made_on, body.get("renewals"))


def find_renewals(notes: CostNotes, job: Job) -> object:
    """What was ticked when the job was planned, as it was kept; None where nobody asked for the list."""
    kept = standing(notes, kind=PLAN, about=job.id)
    return kept[-1].body.get("renewals") if kept else None


def changed_since(plan: Plan, fresh: CostedAnswer | None) -> tuple[str, ...]:
    """What has changed since the plan was made, in words; nothing if nothing has. `fresh`: None if it cannot be asked.

    Today's figures are those of the same route, if it is still among the answer's.
    """
    then = plan.made_on[:10]
    if fresh is None:
        return (f"The facts have changed since {then}: the question can no longer be asked. Printed as planned.",)
    now = _same_route(plan.route, fresh.answer)
    if now is None:
        best = fresh.answer.routes[0].summary if fresh.answer.routes else fresh.answer.headline
        return (
            f"The facts have changed since {then}: this route is no longer among the answer's. Printed as planned. "
            f"Answered today: {best}",
        )
    changes = [*_sums_changed(plan, fresh.answer, now), *_parts_changed(plan.route, now)]
    if now.weakest_evidence != plan.route.weakest_evidence:
        changes.append(
            f"The weakest evidence on the way was: {plan.route.weakest_evidence_words}; it is: "
            f"{now.weakest_evidence_words}"
        )
    return (f"Printed as planned on {then}; since then:", *changes) if changes else ()


def _sums_changed(plan: Plan, answer: Answer, now: AnsweredRoute) -> list[str]:
    then, currency = plan.route, answer.currency
    rows = (
        ("Bench rate", cash(plan.answer.rate_hundredths, currency), cash(answer.rate_hundredths, currency)),
        ("Hours", hours(then.hours_hundredths), hours(now.hours_hundredths)),
        ("Total", money(then.total, currency), money(now.total, currency)),
        ("Expected", money(then.expected, currency), money(now.expected, currency)),
    )
    return [f"{name} {before} then, {after} now" for name, before, after in rows if before != after]


def _parts_changed(then: AnsweredRoute, now: AnsweredRoute) -> list[str]:
    today = {part.part: part for part in now.parts}
    lines = []
    for part in then.parts:
        other = today.get(part.part)
        if other is not None and other.price_hundredths != part.price_hundredths:
            before, after = (
                "no price" if each.price_hundredths is None else cash(each.price_hundredths) for each in (part, other)
            )
            source = f" ({other.price_source})" if other.price_source else ""
            lines.append(f"{part.label}: {before} then, {after} now{source}")
    return lines


def _same_route(route: AnsweredRoute, answer: Answer) -> AnsweredRoute | None:
    """The same picks and links, and the same work if there are several."""
    alike = [each for each in answer.routes if (each.picks, each.links) == (route.picks, route.links)]
    return next((each for each in alike if each.tasks == route.tasks), alike[0] if alike else None)


MOST_KEPT_AMOUNTS = 2_000  # a longer spread is worked out again from its faults


def _plan_note(opened: CostNote, found: CostedAnswer, route: AnsweredRoute, renewals: object) -> CostNote:
    plan = plan_of(found, route)
    body: dict[str, object] = {"answer": freeze(plan.answer), "options": freeze(plan.options)}
    if len(plan.spread.amounts) <= MOST_KEPT_AMOUNTS:
        body["spread"] = freeze(plan.spread)
    else:
        faults = fault_costs(found.conversion, route.picks, route.tasks, route.links.values())
        cost = task_costs(found.conversion)
        body["faults"], body["task_cost"] = freeze(faults), freeze(cost)
        body["causes"] = freeze(found.conversion.causes)
    if renewals is not None:
        body["renewals"] = freeze(renewals)
    return replace(opened, id=new_id(PLAN), kind=PLAN, body=body)


def _spread_again(body: Mapping[str, object]) -> Spread:
    answer = thaw(Answer, body["answer"])
    faults = thaw(tuple[FaultCost, ...], body["faults"])
    causes = thaw(tuple[CommonCause, ...], body.get("causes", []))
    return spread_or_drawn(answer.routes[0].total, faults, thaw(dict[str, Fraction], body["task_cost"]), causes)[0]
