"""The search: from a conversion document to proven routes."""

from graph.search.as_json import as_json, change_as_json, route_as_json
from graph.search.budget import Budget
from graph.search.changes import changes
from graph.search.result import OBJECTIVES, Change, Completeness, LookFirst, Open, Route, Solution
from graph.search.solve import solve

__all__ = [
    "OBJECTIVES",
    "Budget",
    "Change",
    "Completeness",
    "LookFirst",
    "Open",
    "Route",
    "Solution",
    "as_json",
    "change_as_json",
    "changes",
    "route_as_json",
    "solve",
]
