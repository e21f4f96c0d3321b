"""A Solution as one JSON object, as the command line and the API print it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from graph.exact import HUNDREDTHS, MICROMETRES, plain
from graph.search.result import Completeness, LookFirst, Route, RouteChange, Solution


def as_json(solution: Solution) -> dict[str, Any]:
    """The object; exact sums become the nearest JSON numbers."""
    made: dict[str, Any] = {
        "status": solution.status,
        "objective": solution.objective,
        "routes": [route_as_json(route) for route in solution.routes],
        "front": [route_as_json(route) for route in solution.front],
        "look_first": None if solution.look_first is None else _look_first_as_json(solution.look_first),
        "open": [{"what": one.what, "why": one.why} for one in solution.open],
        "instead": None if solution.instead is None else _instead_as_json(solution.instead, solution.routes),
        "parts": [_completeness_as_json(one) for one in solution.parts],
    }
    if any(one.part == "changes" for one in solution.parts):
        made["changes"] = [change_as_json(change) for change in solution.changes]
    if solution.gap is not None:
        made["gap"] = plain(solution.gap)
    return made


def route_as_json(route: Route) -> dict[str, Any]:
    """One route."""
    return {
        "picks": dict(route.picks),
        "links": dict(route.links),
        "tasks": list(route.tasks),
        "cash": plain(route.cash_hundredths, HUNDREDTHS),
        "hours": plain(route.hours_hundredths, HUNDREDTHS),
        "total": plain(route.total),
        "expected": plain(route.expected),
        "days": plain(route.days),
        "spread": _spread_as_json(route),
        "chains": {
            chain: None if chain in route.unmeasured else plain(value, MICROMETRES)
            for chain, value in route.chains_um.items()
        },
        "assumed": [
            {"what": id_, "words": f"assumed: {label} - nobody has stated it"} for id_, label in route.assumed.items()
        ],
        "unmeasured": [
            {"what": chain, "words": f"{chain} is not judged: nobody has measured {', '.join(labels)}"}
            for chain, labels in route.unmeasured.items()
        ],
    }


def _spread_as_json(route: Route) -> dict[str, Any]:
    """With the lower ends where the spread is not exact."""
    made = {"p50": plain(route.p50), "p90": plain(route.p90)}
    if route.p50_least is not None and route.p90_least is not None and not route.spread_is_exact:
        made |= {"p50_least": plain(route.p50_least), "p90_least": plain(route.p90_least)}
    return made


def _instead_as_json(instead: Fraction, routes: Sequence[Route]) -> dict[str, Any]:
    cost = f"not doing the job costs {plain(instead):.2f}"
    if not routes:
        return {"cost": plain(instead), "words": cost}
    shown = routes[0].expected
    words = "more than" if shown < instead else "less than" if shown > instead else "as much as"
    return {"cost": plain(instead), "words": f"{cost}, {words} the first route is expected to"}


def _look_first_as_json(looking: LookFirst) -> dict[str, Any]:
    return {
        "inspections": list(looking.inspections),
        "expected": plain(looking.expected),
        "odds_range": {fault: [plain(low), plain(high)] for fault, (low, high) in looking.odds_range.items()},
    }


def _completeness_as_json(one: Completeness) -> dict[str, Any]:
    gap = None if one.gap is None else plain(one.gap)
    return {"part": one.part, "complete": one.complete, "gap": gap, "words": one.words}


def change_as_json(change: RouteChange) -> dict[str, Any]:
    """One thing that would change the answer."""
    return {
        "kind": change.kind,
        "what": change.what,
        "now": plain(change.now),
        "value": None if change.value is None else plain(change.value),
        "route": None if change.route is None else route_as_json(change.route),
    }
