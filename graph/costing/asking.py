"""What a route of an answer will really cost by the shop's own record. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.words import together_words
from graph.common_cause import CommonCause
from graph.conversion.causes import states_of
from graph.conversion.document import Conversion
from graph.costing.applied import Costed
from graph.costing.found import FoundOption, found_options
from graph.costing.hours import HoursRecord, learnt_hours
from graph.costing.hours_stated import planned_hours, stated_ranges
from graph.costing.jobs.closing import hours_records
from graph.costing.joints import joint_odds_text
from graph.costing.notes import CostNotes
from graph.costing.odds import odds_text
from graph.costing.signs import SignRatio, independence_text
from graph.costing.spread import (
    BlurredSpread,
    FaultCost,
    HoursRange,
    LearntRange,
    Spread,
    blur_with_hours,
    fault_costs,
    fault_spread,
    in_state,
    mixed,
    sampled_spread,
    task_costs,
)
from graph.costing.while_open import OpenState, while_open
from graph.errors import LimitExceeded, NotFound

MOST_POINTS = 200
DRAWN = "The spread is drawn, 200,000 times with a fixed seed: the faults are too many to follow every outcome."


@dataclass(frozen=True, slots=True)
class CostedAnswer:
    """The answer, the document behind it, and what the shop's record did to the facts."""

    answer: Answer
    conversion: Conversion
    costed: Costed
    book_hundredths: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class SpreadPoint:
    """An amount and the chance that the cost does not exceed it."""

    amount: float
    not_above: float


@dataclass(frozen=True, slots=True)
class OddsLine:
    """The odds of one fault. `prior`, `low`, `high`, `odds`: 0 to 1; `words` says counts, source and sample size."""

    fault: str
    label: str
    prior: Fraction
    odds: Fraction
    low: float
    high: float
    level: float
    opened: int
    worn: int
    source: str
    words: str
    signs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AdviceLine:
    """What to do with a part while its state is open; money in currency units."""

    fault: str
    label: str
    odds: Fraction
    now: Fraction
    later: Fraction
    break_even: Fraction
    break_even_in_company: Fraction | None
    decision: str
    words: str


@dataclass(frozen=True, slots=True)
class StateLine:
    """An opened state and the advice on what lies there."""

    state: str
    tasks: tuple[str, ...]
    advice: tuple[AdviceLine, ...]


@dataclass(frozen=True, slots=True)
class TiedFaults:
    """Faults of a route with a common cause. `share`: how often it is there, 0 to 1; `words` says what it is."""

    cause: str
    share: Fraction
    faults: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class RouteCost:
    """What a route will really cost. `exceeds`: chance of passing the limit; with hours where ranges were known.

    `ties`: which faults are counted as coming together, by a sign that has not been looked for; the sums count it.
    """

    rank: int
    summary: str
    currency: str
    total: Fraction
    expected: Fraction
    p50: Fraction
    p90: Fraction
    limit_hundredths: int | None
    exceeds: Fraction | None
    with_hours_p50: float | None
    with_hours_p90: float | None
    with_hours_exceeds: float | None
    points: tuple[SpreadPoint, ...]
    while_open: tuple[StateLine, ...]
    replace_now: Fraction
    expected_later: Fraction
    found_on_strip: tuple[FoundOption, ...]
    odds: tuple[OddsLine, ...]
    independence: str
    told: tuple[str, ...]
    ties: tuple[TiedFaults, ...] = ()


def with_told(answer: Answer, costed: Costed) -> Answer:
    """The answer with what the record says of its parts, faults and tasks among its assumptions."""
    ids: dict[str, None] = {}
    for route in answer.routes:
        ids.update(dict.fromkeys(_named_by(route)))
    told = costed.told_about(ids)
    return replace(answer, assumptions=(*answer.assumptions, *told)) if told else answer


def _named_by(route: AnsweredRoute) -> list[str]:
    return [*(part.part for part in route.parts), *(fault.fault for fault in route.faults), *route.tasks]


MOST_REASONS = 3


class NoRoute(NotFound):
    """The answer has no route at all, and says why."""

    def __init__(self, why: str):
        super().__init__("route of the answer", "1")
        self.args = (f"there is no route: {why}",)


def route_at(answer: Answer, rank: int) -> AnsweredRoute:
    """The route of that rank. Raises NotFound, also where there is no route at all."""
    for route in answer.routes:
        if route.rank == rank:
            return route
    if not answer.routes:
        why = "; ".join(f"{one.label}: {one.why}" for one in answer.open[:MOST_REASONS])
        raise NoRoute(f"{answer.headline}{f' ({why})' if why else ''}")
    raise NotFound("route of the answer", str(rank), [str(route.rank) for route in answer.routes])


def spread_at(found: CostedAnswer, route: AnsweredRoute) -> Spread:
    """The spread of a route of the answer: exact, or drawn with a fixed seed where the faults are too many."""
    return _spread_and_whether_drawn(found, route)[0]


def _spread_and_whether_drawn(found: CostedAnswer, route: AnsweredRoute) -> tuple[Spread, bool]:
    conversion = found.conversion
    faults = fault_costs(conversion, route.picks, route.tasks, route.links.values())
    return spread_or_drawn(route.total, faults, task_costs(conversion), conversion.causes)


def spread_or_drawn(
    total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction], causes: Sequence[CommonCause] = ()
) -> tuple[Spread, bool]:
    """The exact spread, or one drawn with a fixed seed where the faults are too many, and whether it was drawn."""
    try:
        return fault_spread(total, faults, task_cost, causes), False
    except LimitExceeded:
        states = states_of(causes, {fault.id: fault.odds for fault in faults})
        drawn = ((one.chance, sampled_spread(total, in_state(faults, one), task_cost)) for one in states)
        return mixed(drawn), True


def route_cost(
    found: CostedAnswer, rank: int, notes: CostNotes, limit_hundredths: int | None = None,
    ranges: Sequence[HoursRange] = (),
) -> RouteCost:  # fmt: skip
    """What the route of that rank will really cost.

    `ranges`: hours as stated for this job. For the rest hold those that the shop has learnt, then those of the facts.
    """
    route, conversion = route_at(found.answer, rank), found.conversion
    spread, drawn = _spread_and_whether_drawn(found, route)
    blurred = _blurred(found, route, spread, all_ranges(found, route, notes, ranges))
    states, plan = while_open(conversion, route.picks, route.tasks)
    limit = None if limit_hundredths is None else Fraction(limit_hundredths, 100)
    ties = _ties(conversion, route)
    return RouteCost(
        rank=rank, summary=route.summary, currency=found.answer.currency, total=route.total, expected=route.expected,
        p50=spread.quantile(Fraction(1, 2)), p90=spread.quantile(Fraction(9, 10)), limit_hundredths=limit_hundredths,
        exceeds=None if limit is None else spread.exceeds(limit),
        with_hours_p50=None if blurred is None else round(blurred.quantile(0.5), 2),
        with_hours_p90=None if blurred is None else round(blurred.quantile(0.9), 2),
        with_hours_exceeds=None if blurred is None or limit is None else round(blurred.exceeds(float(limit)), 6),
        points=_points(spread), while_open=tuple(_state_line(state) for state in states), replace_now=plan.now,
        expected_later=plan.expected_later,
        found_on_strip=tuple(found_options(conversion, route.picks, route.tasks, route.links.values())),
        odds=odds_lines(found.costed, {fault.fault for fault in route.faults}),
        independence=_independence(route, ties), ties=ties,
        told=(*found.costed.told_about(_named_by(route)), *([DRAWN] if drawn else [])),
    )  # fmt: skip


def odds_lines(costed: Costed, faults: set[str] | None = None) -> tuple[OddsLine, ...]:
    """The odds of the faults named, or of all, by fault id."""
    lines = []
    for fault, odds in sorted(costed.odds.items()):
        if faults is None or fault in faults:
            signed = costed.signed[fault]
            signs = tuple(_sign_words(each) for each in signed.used)
            lines.append(
                OddsLine(
                    fault, costed.catalogue.faults[fault].label, odds.prior, signed.after, signed.interval.low,
                    signed.interval.high, signed.interval.level, odds.opened, odds.worn, odds.source, odds_text(odds),
                    signs,
                )
            )  # fmt: skip
    return tuple(lines)


def joint_odds_lines(costed: Costed) -> tuple[OddsLine, ...]:
    """The odds that a joint which nobody has stated does not close, across and within families, by joint."""
    lines = []
    for joint in sorted(costed.catalogue.joint_kinds.values(), key=lambda one: one.id):
        for within in (False, True):
            odds = costed.joint_odds.get(joint.odds_key(within))
            if odds is not None:
                near, label = odds.interval(), f"{joint.label}, {'within a family' if within else 'other families'}"
                lines.append(
                    OddsLine(
                        odds.fault, label, odds.prior, odds.mean, near.low, near.high, near.level, odds.opened,
                        odds.worn, odds.source, joint_odds_text(odds),
                    )
                )  # fmt: skip
    return tuple(lines)


def _ties(conversion: Conversion, route: AnsweredRoute) -> tuple[TiedFaults, ...]:
    labels = {fault.fault: fault.label or fault.fault for fault in route.faults}
    made = []
    for cause in conversion.causes:
        tied = tuple(fault for fault in labels if fault in cause.if_there)
        if len(tied) > 1:
            said = together_words(cause, [labels[fault] for fault in tied])
            made.append(TiedFaults(cause.id, cause.odds, tied, said))
    return tuple(made)


def _independence(route: AnsweredRoute, ties: Sequence[TiedFaults]) -> str:
    labels = {fault.fault: fault.label or fault.fault for fault in route.faults}
    tied = [labels[fault] for tie in ties for fault in tie.faults]
    return independence_text(list(labels.values()), tied, " and ".join(tie.cause for tie in ties))


def all_ranges(
    found: CostedAnswer, route: AnsweredRoute, notes: CostNotes, stated: Sequence[HoursRange] = ()
) -> list[HoursRange | LearntRange]:
    """Per operation of the route one range: as stated for the job, else as learnt from its own records, else as the
    facts have it, else, once the shop has any record, as the shop as a whole is off."""
    by_operation: dict[str, HoursRange | LearntRange] = {}
    records = hours_records(notes)
    learnt = {each.operation: each for each in _learnt_ranges(found, route, records)} if records else {}
    by_operation |= learnt
    by_operation |= {each.operation: each for each in stated_ranges(found.costed.catalogue, route)}
    noted = {record.operation for record in records}
    by_operation |= {name: each for name, each in learnt.items() if name in noted}
    by_operation |= {each.operation: each for each in stated}
    return list(by_operation.values())


def _learnt_ranges(found: CostedAnswer, route: AnsweredRoute, records: Sequence[HoursRecord]) -> list[LearntRange]:
    """The hours of every operation of the route as the shop's records have them; those without one go by the shop."""
    book = {name: found.book_hundredths.get(name, 0) for name in planned_hours(route)}
    return [each.range for each in learnt_hours({n: hours for n, hours in book.items() if hours}, records).values()]


def _blurred(
    found: CostedAnswer, route: AnsweredRoute, spread: Spread, ranges: Sequence[HoursRange | LearntRange]
) -> BlurredSpread | None:
    """The spread moved to the usual hours of the ranges, then blurred by them."""
    if not ranges:
        return None
    planned = planned_hours(route)
    unknown = [each.operation for each in ranges if each.operation not in planned]
    if unknown:
        raise NotFound("operation of this route", unknown[0], sorted(planned)[:5])
    rate = found.answer.rate_hundredths
    moved = Fraction(sum(each.usual_hundredths - planned[each.operation] for each in ranges) * rate, 10_000)
    at_usual = Spread(tuple(amount + moved for amount in spread.amounts), spread.chances)
    return blur_with_hours(at_usual, ranges, rate)


def _points(spread: Spread) -> tuple[SpreadPoint, ...]:
    reached, points = Fraction(0), []
    for amount, chance in zip(spread.amounts, spread.chances, strict=True):
        reached += chance
        points.append(SpreadPoint(float(amount), float(reached)))
    step = max(1, -(-len(points) // MOST_POINTS))
    kept = points[::step]
    return tuple(kept if kept[-1] == points[-1] else [*kept, points[-1]])


def _state_line(state: OpenState) -> StateLine:
    advice = tuple(
        AdviceLine(
            each.option.id, each.option.label, each.option.odds, each.now, each.later, each.break_even,
            each.break_even_in_company, each.decision, each.words,
        )
        for each in state.advice
    )  # fmt: skip
    return StateLine(state.label, state.tasks, advice)


def _sign_words(ratio: SignRatio) -> str:
    return f"{ratio.sign} ({ratio.state}): times {float(ratio.ratio):g}, {ratio.source}"
