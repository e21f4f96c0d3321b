"""While it is open: which parts to replace now, which to leave, and the odds at which that turns.

Replacing now costs the part and its own minutes. Leaving it costs nothing, or, if it fails, the part, its
minutes and everything that must come off again. Alone, a part is worth replacing above odds of now / later.
In company the later opening is shared: whatever fails, each task is paid once. The plan is the set of parts
that costs least in expectation with that sharing (ROUTES: the comeback), so nothing is counted twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from graph.common_cause import CommonCause
from graph.conversion.causes import CauseState, states_given, states_of
from graph.conversion.closure import with_all_before
from graph.conversion.document import Conversion, Fault, Task

MOST_ENUMERATED = 14  # parts in one plan that are still decided by trying every set (2^14)
REPLACE, LEAVE, LOOK = "replace", "leave", "look"
_Cost = Callable[[frozenset[str]], tuple[Fraction, int, list[str]]]


@dataclass(frozen=True, slots=True)
class OpenOption:
    """A part that could be replaced while a state is open. Money in currency units.

    `own`: part and own minutes. `reach`: the tasks that must be done again to get back to it (closed).
    """

    id: str
    label: str
    odds: Fraction
    own: Fraction
    reach: tuple[str, ...]
    shows: bool = False


@dataclass(frozen=True, slots=True)
class OpenAdvice:
    """What to do with one part. `break_even` alone, `break_even_in_company` with the rest of the plan as it stands.

    Both are odds; above them replacing now is cheaper. In company it is None where no odds would do.
    """

    option: OpenOption
    now: Fraction
    later: Fraction
    break_even: Fraction
    break_even_in_company: Fraction | None
    decision: str
    words: str


@dataclass(frozen=True, slots=True)
class OpenPlan:
    """Advice on every part, and what the plan costs. `proven`: every set of parts was tried.

    `now`: replacing the chosen parts. `expected_later`: what leaving the others is expected to cost,
    a shared later opening counted once.
    """

    advice: tuple[OpenAdvice, ...]
    now: Fraction
    expected_later: Fraction
    proven: bool = True


@dataclass(frozen=True, slots=True)
class OpenState:
    """An opened state (the tasks laid open for it, deepest last) and the advice on what lies there."""

    tasks: tuple[str, ...]
    label: str
    advice: tuple[OpenAdvice, ...]


def break_even_odds(now: Fraction, later: Fraction) -> Fraction:
    """The odds at which replacing now and leaving cost the same.

    >>> break_even_odds(Fraction(59), Fraction(664))
    Fraction(59, 664)
    """
    return now / later if later else Fraction(1)


def expected_later(
    left: Sequence[OpenOption], task_cost: Mapping[str, Fraction], causes: Sequence[CommonCause] = ()
) -> Fraction:
    """What the parts left in are expected to cost later; a task that several need is paid once.

    `causes`: tie some of them; what is expected is the average over their states.
    """
    if not causes:
        return _later_apart(left, task_cost)
    return _average_later(left, task_cost, states_of(causes, {each.id: each.odds for each in left}))


def _average_later(
    left: Sequence[OpenOption], task_cost: Mapping[str, Fraction], states: Sequence[CauseState]
) -> Fraction:
    inside = (
        state.chance * _later_apart([replace(each, odds=state.odds[each.id]) for each in left], task_cost)
        for state in states
    )
    return sum(inside, Fraction(0))


def _later_apart(left: Sequence[OpenOption], task_cost: Mapping[str, Fraction]) -> Fraction:
    own = sum((option.odds * option.own for option in left), Fraction(0))
    for task, cost in task_cost.items():
        sound = of = 1  # whole numbers, and one fraction at the end: every set of a plan is reckoned so
        for option in left:
            if task in option.reach:
                sound *= option.odds.denominator - option.odds.numerator
                of *= option.odds.denominator
        if of != sound:
            own += cost * Fraction(of - sound, of)
    return own


def plan_while_open(
    options: Sequence[OpenOption], task_cost: Mapping[str, Fraction], others: Sequence[OpenOption] = (),
    causes: Sequence[CommonCause] = (),
) -> OpenPlan:  # fmt: skip
    """The cheapest set of parts to replace now. `others`: faults that stay unseen whatever is decided here.

    Parts whose wear shows are not gambled on: the advice is to look, and the break-even is given for them too.
    `causes`: tie some of the parts, see `expected_later`.
    """
    gambled = [option for option in options if not option.shows]

    def later_of(left: Sequence[OpenOption]) -> Fraction:
        return expected_later(left, task_cost, causes)

    replaced, proven = _cheapest_set(gambled, others, later_of)
    left = [option for option in gambled if option.id not in replaced]
    advice = tuple(_advice(option, replaced, [*left, *others], task_cost, causes) for option in options)
    now = sum((option.own for option in gambled if option.id in replaced), Fraction(0))
    return OpenPlan(advice, now, later_of([*left, *others]) - later_of(others), proven)


def while_open(
    conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str]
) -> tuple[list[OpenState], OpenPlan]:
    """Advice on every part as found that the done `tasks` of a route lay open, state by state, and the plan."""
    done = set(tasks)
    by_id = {task.id: task for task in conversion.tasks}
    rate = conversion.rate_hundredths
    task_cost = {t.id: cost_of(t.cash_hundredths, t.hours_hundredths, rate) for t in conversion.tasks}
    kept = _as_found_positions(conversion, picks)
    here: list[OpenOption] = []
    deeper: list[OpenOption] = []
    for fault in conversion.faults:
        if fault.position in kept:
            option = _option(fault, by_id, rate)
            (here if set(option.reach) <= done and option.reach else deeper).append(option)
    plan = plan_while_open(here, task_cost, deeper, conversion.causes)
    states: dict[tuple[str, ...], list[OpenAdvice]] = {}
    for advice in plan.advice:
        states.setdefault(advice.option.reach, []).append(advice)
    ordered = sorted(states.items(), key=lambda item: (len(item[0]), item[0]))
    return [OpenState(reach, by_id[reach[-1]].label, tuple(advice)) for reach, advice in ordered], plan


def cost_of(cash_hundredths: int, hours_hundredths: int, rate_hundredths: int) -> Fraction:
    """Cash plus hours at the rate, in currency units.

    >>> cost_of(4800, 20, 5500)
    Fraction(59, 1)
    """
    return Fraction(cash_hundredths, 100) + Fraction(hours_hundredths * rate_hundredths, 10_000)


def closed_reach(reach: Iterable[str], tasks: Mapping[str, Task]) -> tuple[str, ...]:
    """The tasks of a reach with all they come after, each after what it needs."""
    return with_all_before(reach, lambda task: tasks[task].after)


def _as_found_positions(conversion: Conversion, picks: Mapping[str, str]) -> set[str]:
    return {
        position.id
        for position in conversion.positions
        for candidate in position.candidates
        if candidate.id == picks.get(position.id) and candidate.as_found
    }


def _option(fault: Fault, tasks: Mapping[str, Task], rate: int) -> OpenOption:
    own = cost_of(fault.cash_hundredths, fault.hours_hundredths, rate)
    return OpenOption(fault.id, fault.label, fault.odds, own, closed_reach(fault.reach, tasks), fault.shows)


def _cheapest_set(
    options: Sequence[OpenOption], others: Sequence[OpenOption], later_of: Callable[[Sequence[OpenOption]], Fraction]
) -> tuple[frozenset[str], bool]:
    def cost(replaced: frozenset[str]) -> tuple[Fraction, int, list[str]]:
        left = [option for option in options if option.id not in replaced]
        now = sum((option.own for option in options if option.id in replaced), Fraction(0))
        return now + later_of([*left, *others]), len(replaced), sorted(replaced)

    ids = [option.id for option in options]
    if len(ids) <= MOST_ENUMERATED:
        sets = (frozenset(chosen) for size in range(len(ids) + 1) for chosen in combinations(ids, size))
        return min(sets, key=cost), True
    best = min((_descend(start, ids, cost) for start in (frozenset[str](), frozenset(ids))), key=cost)
    return best, False


def _descend(start: frozenset[str], ids: Sequence[str], cost: _Cost) -> frozenset[str]:
    """Change one part at a time while that makes the plan cheaper."""
    current = start
    while True:
        nearest = min((current ^ {each} for each in ids), key=cost)
        if cost(nearest) >= cost(current):
            return current
        current = nearest


def _advice(
    option: OpenOption, replaced: frozenset[str], left: Sequence[OpenOption], task_cost: Mapping[str, Fraction],
    causes: Sequence[CommonCause] = (),
) -> OpenAdvice:  # fmt: skip
    """`together`: at other odds of this part, what is known of those tied to it given its state stays (Jeffrey)."""
    later = option.own + sum((task_cost[task] for task in option.reach), Fraction(0))
    alone = break_even_odds(option.own, later)
    company = [other for other in left if other.id != option.id]
    given = states_given(causes, {each.id: each.odds for each in [*company, option]}, option.id)
    slope = _average_later([*company, option], task_cost, given) - _average_later(company, task_cost, given)
    together = option.own / slope if slope and option.own <= slope else None
    decision = LOOK if option.shows else REPLACE if option.id in replaced else LEAVE
    return OpenAdvice(option, option.own, later, alone, together, decision, _words(option, together, decision))


def _words(option: OpenOption, break_even: Fraction | None, decision: str) -> str:
    """The decision and the odds at which it turns with the rest of the plan as it stands, so that they agree."""
    odds = f"{float(option.odds):.0%}"
    edge = "does not pay at any odds" if break_even is None else f"pays above {float(break_even):.1%}"
    if decision == LOOK:
        return f"look while it is open: replace if worn (odds {odds}); replacing unseen {edge}"
    verb = "replace now" if decision == REPLACE else "leave"
    return f"{verb}: odds {odds}, replacing now {edge}"
