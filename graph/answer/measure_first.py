"""What to measure first because of what a route assumes: the looks worth taking, the most telling first.

A doubt of odds p and cost c puts a mean deviation of 2 p (1 - p) c into the sum (`graph.answer.assumed.off_by`).
"""

from __future__ import annotations

from fractions import Fraction

from graph.answer import words
from graph.answer.assumed import off_by, picks_of, told_shortly
from graph.answer.ground import Ground
from graph.answer.model.doubt import MeasureFirst
from graph.answer.settling import settling_lines, takes_result
from graph.conversion.document import Fault, Inspection
from graph.conversion.known import doubts_of
from graph.search.result import LookFirst, Route

CHANGES_THE_ROUTE = "the route"
CHANGES_THE_SUM = "the sum, not the route"


def measure_first(
    ground: Ground, route: Route | None, look: LookFirst | None, saves: Fraction
) -> tuple[MeasureFirst, ...]:
    """The looks worth taking: the set that pays, then those that settle most of this route's sum per money of looking.

    What this route opens anyway is no cost of a look. `route`: the one that assumes something; `look`: the set of
    inspections that pays, which `saves` so much.
    """
    chosen = set(look.inspections) if look else set()
    lines = [
        _look(ground, test, route, test.id in chosen, saves)
        for test in ground.conversion.inspections
        if test.id in chosen or (route is not None and _settled_by(ground, test, route))
    ]
    return tuple(sorted(lines, key=_rank))


def _rank(line: MeasureFirst) -> tuple[bool, bool, Fraction, Fraction, str]:
    per_money = line.per_money
    return (
        line.changes != CHANGES_THE_ROUTE, per_money is not None, -(per_money or line.spread), -line.spread,
        line.inspection,
    )  # fmt: skip


def _settled_by(ground: Ground, test: Inspection, route: Route) -> list[Fault]:
    """The doubts of this route that the test settles."""
    picked = picks_of(route)
    return [one for one in doubts_of(ground.conversion) if one.id in test.settles and not picked.isdisjoint(one.on)]


def _look(ground: Ground, test: Inspection, route: Route | None, chosen: bool, saves: Fraction) -> MeasureFirst:
    settled = _settled_by(ground, test, route) if route is not None else []
    done = frozenset(route.tasks) if route is not None else frozenset[str]()
    anyway, more = _last(ground, ground.closed(test.tasks) & done), ground.closed(test.tasks) - done
    cash = test.cash_hundredths + sum(ground.tasks[task].cash_hundredths for task in more)
    hours = test.hours_hundredths + sum(ground.tasks[task].hours_hundredths for task in more)
    cost = ground.priced(cash, hours)
    spread = sum((off_by(ground, fault, route) for fault in settled if route), start=Fraction(0))
    per_money = spread / cost if cost else None
    told = settled or [fault for fault in doubts_of(ground.conversion) if fault.id in test.settles]
    readings = tuple(line for fault in told for line in settling_lines(ground, fault, ground.doubt(fault.id)))
    labels = tuple(fault.label or fault.id for fault in settled) or _labels_of(ground, test)
    changes = CHANGES_THE_ROUTE if chosen else CHANGES_THE_SUM
    text = f"{words.sentence(test.label or test.id)}: {ground.sum_words(cash, hours)}"
    text += f", with {words.listed(_last(ground, more))} done for it" if more else ""
    text += f", while it is open anyway ({words.listed(anyway)})" if anyway and not more else ""
    how = [line.words for line in readings if line.inspection == test.id and line.quantity]
    text += f"; {told_shortly(how)}" if how else ""
    text += f"; changes {changes}" + _worth(ground, spread, saves if chosen else None)
    takes = next((line for fault in told if (line := takes_result(ground, ground.doubt(fault.id)))), "")
    return MeasureFirst(
        inspection=test.id, label=test.label or test.id, settles=labels, readings=readings, cost=cost,
        hours_hundredths=hours, changes=changes, saves=saves if chosen else None, spread=spread, per_money=per_money,
        words=text, takes_result=takes,
    )  # fmt: skip


def _last(ground: Ground, tasks: frozenset[str]) -> list[str]:
    """Of these tasks those that no other of them comes after, in words: the rest goes without saying."""
    last = [one for one in sorted(tasks) if not any(one in ground.closed((t,)) for t in tasks if t != one)]
    return [ground.tasks[one].label or one for one in last]


def _labels_of(ground: Ground, test: Inspection) -> tuple[str, ...]:
    return tuple(fault.label or fault.id for fault in ground.conversion.faults if fault.id in test.settles)


def _worth(ground: Ground, spread: Fraction, saves: Fraction | None) -> str:
    currency = ground.catalogue.currency
    said = []
    if saves is not None:
        said.append(f"the looks that change it save {words.money(saves, currency)} on average together")
    if spread:
        said.append(f"the sum is off by {words.money(spread, currency)} on average until then")
    return f" ({'; '.join(said)})" if said else ""
