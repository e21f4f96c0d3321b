"""Where a shop has its searches made: here, in processes, or over a cluster; all alike to the one who asks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from graph.conversion.document import Conversion
from graph.search import SearchOrder, Solution, search_here


class Searches(Protocol):
    """A `graph.search.Search` that can also make other calls where it searches."""

    def __call__(self, conversion: Conversion, order: SearchOrder) -> Solution:
        """The search."""

    def run(self, function: Callable[..., Any], *arguments: Any, order: SearchOrder) -> Any:
        """What the function gives back, with the order's seconds and memory. Raises what it raises."""


class SearchesHere:
    """In this thread: for a command, where nobody else waits."""

    def __call__(self, conversion: Conversion, order: SearchOrder) -> Solution:
        """See Searches."""
        return search_here(conversion, order)

    def run(self, function: Callable[..., Any], *arguments: Any, order: SearchOrder) -> Any:
        """See Searches."""
        return function(*arguments)


HERE = SearchesHere()
