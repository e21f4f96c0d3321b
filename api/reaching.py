"""A reach on its way, taken a little at a time: no thread is held longer than a moment, and anyone may stop it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from api.workshop import Workshop
from graph.exact import plain
from graph.reach import Reached, Reaching
from graph.reading import Question

A_MOMENT_S = 0.25


@dataclass(slots=True)
class Underway:
    """What has been found stands in `state`; `ended` once nothing more comes."""

    workshop: Workshop
    question: Question
    side: str
    limit: int
    budget: Fraction | None
    seconds: float
    state: Reaching = field(default_factory=Reaching)
    ended: bool = False
    _steps: Iterator[Reached | None] | None = None

    async def some(self) -> list[Reached]:
        """The units that the next moment brings, often none. Raises as a question does, the first time only.

        They stand on the shop's own prices, shelf, rates, hours and odds, as the answer to each pair does.
        """
        return await self.workshop.work_out(self._some)

    def _some(self) -> list[Reached]:
        until = time.monotonic() + A_MOMENT_S
        if self._steps is None:
            self._steps = self.workshop.shop.explore(
                self.question, self.side, limit=self.limit, budget=self.budget, seconds=self.seconds, state=self.state
            )
        found = []
        for one in self._steps:
            if one is not None:
                found.append(one)
            if time.monotonic() > until:
                return found
        self.ended = True
        return found


def unit_as_json(one: Reached) -> dict[str, Any]:
    """A unit with the sums of its cheapest route, what that is worth, and how much of the pair is known: of how many of
    its places and joints something is stated. `assumptions`, `unpriced`: what the route takes for given and what has
    no price, as the answer to the pair says it; `told`: both in words."""
    route = one.route
    return {
        "unit": one.unit, "label": one.label, "value": plain(one.value), "cash": plain(route.cash_hundredths, 100),
        "hours": plain(route.hours_hundredths, 100), "total": plain(route.total), "expected": plain(route.expected),
        "days": plain(route.days), "status": one.status, "assumed": one.assumed, "known": one.known, "of": one.of,
        "sums_at_least": one.at_least, "assumptions": list(one.assumptions), "unpriced": list(one.unpriced),
        "told": list(one.told),
    }  # fmt: skip


def state_as_json(state: Reaching, ended: bool) -> dict[str, Any]:
    """How far it is."""
    return {
        "ended": ended, "complete": state.complete, "units": state.units, "looked_at": state.looked_at,
        "read": state.read, "solved": state.solved, "without_route": state.without_route,
        "at_least": None if state.at_least is None else plain(state.at_least), "seconds": round(state.seconds, 3),
    }  # fmt: skip
