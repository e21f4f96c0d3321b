"""The search: from a conversion document to proven routes."""

from graph.search.as_json import as_json, change_as_json, route_as_json
from graph.search.budget import Budget
from graph.search.changes import changes
from graph.search.order import JUST_THE_BEST, OutOfTime, Search, SearchOrder, search_here, solve_document, within
from graph.search.result import OBJECTIVES, Completeness, LookFirst, Open, Route, RouteChange, Solution
from graph.search.solve import solve

__all__ = [
    "JUST_THE_BEST",
    "OBJECTIVES",
    "Budget",
    "Completeness",
    "LookFirst",
    "Open",
    "OutOfTime",
    "Route",
    "RouteChange",
    "Search",
    "SearchOrder",
    "Solution",
    "as_json",
    "change_as_json",
    "changes",
    "route_as_json",
    "search_here",
    "solve",
    "solve_document",
    "within",
]
