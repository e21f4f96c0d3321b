"""What is asked of a search: the one form in which a search is handed on.

A search may be made here, in another process or on another machine: whoever needs routes takes a `Search` and does not
know where it is made. Document, order and solution can all be pickled.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from graph.conversion.document import Conversion
from graph.conversion.parse import parse_conversion
from graph.errors import LayshaftError
from graph.search.as_json import as_json
from graph.search.budget import USUAL_BYTES, Budget
from graph.search.result import Solution
from graph.search.solve import solve

MEGABYTE = 1 << 20


@dataclass(frozen=True, slots=True)
class SearchOrder:
    """`objective`: expected, total, cash or hours. `alternatives`: how many next-best routes.

    `front`, `look_first`, `changes`: what else is wanted; what would change the answer is said of the expected cost
    only. `reasons`: where there is no route, also why. `seconds`, `memory_mb`: the most that it may take; None: until
    everything is proven, in the usual memory.
    """

    objective: str = "expected"
    alternatives: int = 2
    front: bool = True
    look_first: bool = True
    changes: bool = False
    reasons: bool = True
    seconds: float | None = None
    memory_mb: int | None = None


JUST_THE_BEST = SearchOrder(alternatives=0, front=False, look_first=False, reasons=False)
Search = Callable[[Conversion, SearchOrder], Solution]


def search_here(conversion: Conversion, order: SearchOrder) -> Solution:
    """The search made in this process. Raises InvalidQuestion as `solve` does."""
    memory = USUAL_BYTES if order.memory_mb is None else order.memory_mb * MEGABYTE
    return solve(
        conversion, order.objective, order.alternatives, with_front=order.front, with_look_first=order.look_first,
        with_changes=order.changes and order.objective == "expected", with_reasons=order.reasons,
        budget=Budget(order.seconds, memory),
    )  # fmt: skip


def solve_document(data: bytes, order: SearchOrder) -> dict[str, Any]:
    """A conversion document solved, as JSON values. Raises InvalidDocument, InvalidQuestion."""
    return dict(as_json(search_here(parse_conversion(data), order)))


class OutOfTime(LayshaftError):
    """The time of a question with several searches is used up before this one could begin or be proven."""


def within(search: Search, seconds: float | None) -> Search:
    """The same search, for several that have so many seconds together. Raises OutOfTime when nothing is left."""
    if seconds is None:
        return search
    stop_at = time.monotonic() + seconds

    def timed(conversion: Conversion, order: SearchOrder) -> Solution:
        left = stop_at - time.monotonic()
        if left <= 0:
            raise OutOfTime(f"the {seconds:g} s that the question may take are used up")
        return search(conversion, replace(order, seconds=left if order.seconds is None else min(left, order.seconds)))

    return timed
