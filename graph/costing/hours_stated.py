"""Low and high hours as the facts state them, for the steps of a route."""

from __future__ import annotations

from collections.abc import Iterator

from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.catalogue.model import Catalogue, Edge
from graph.catalogue.terms import TaskKind
from graph.costing.spread import HoursRange


def planned_hours(route: AnsweredRoute) -> dict[str, int]:
    """Hours in whole hundredths by task, candidate or link."""
    planned: dict[str, int] = {}
    for step in route.steps:
        planned[step.source] = planned.get(step.source, 0) + step.hours_hundredths
    return planned


def stated_ranges(catalogue: Catalogue, route: AnsweredRoute) -> list[HoursRange]:
    """Low, usual and high of every step whose task, or an edge of it, states a range; usual is what is planned.

    A shop's own hours may lie outside of the trade's range, which then reaches as far as them.
    """
    planned, less, more = planned_hours(route), dict[str, int](), dict[str, int]()
    for step in route.steps:
        if step.hours_hundredths:
            for stated in _stated(catalogue, step):
                hours = stated.hours_hundredths or 0
                low, high = stated.low_hours_hundredths, stated.high_hours_hundredths
                less[step.source] = less.get(step.source, 0) + (0 if low is None else max(0, hours - low))
                more[step.source] = more.get(step.source, 0) + (0 if high is None else max(0, high - hours))
    return [
        HoursRange(source, max(0, planned[source] - less[source]), planned[source], planned[source] + more[source])
        for source in less
        if less[source] or more[source]
    ]


def _stated(catalogue: Catalogue, step: Step) -> Iterator[TaskKind | Edge]:
    task = catalogue.tasks.get(step.source)
    if task is not None:
        yield task
        return
    for name in step.edges:
        edge = catalogue.edges.get(name)
        if edge is not None:
            yield edge
