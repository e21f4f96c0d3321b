"""Where the checks stand that can only be made once things are in place: at the step that brings them together."""

from __future__ import annotations

from collections.abc import Container, Iterator

from graph.answer.ground import Ground
from graph.answer.work_order import closing_of
from graph.conversion.document import Candidate, Link
from graph.search.result import Route


def checks_of(ground: Ground, choice: Candidate | Link) -> tuple[str, ...]:
    """What the choice's edges and parts ask to be looked at when it is in place, each once."""
    found = [text for edge in ground.edges_of(choice.id) for text in edge.check_when_fitted]
    names = choice.via if isinstance(choice, Link) else () if choice.as_found else (choice.part,)
    known = map(ground.catalogue.parts.get, names)
    found += [text for part in known if part is not None for text in part.check_when_fitted]
    return tuple(dict.fromkeys(found))


def step_to_check_at(ground: Ground, route: Route, choice: Candidate | Link, lines: Container[str]) -> str:
    """The line at which the choice is checked; "" where the route does nothing that could be looked at."""
    return next((line for line in _lines_for(ground, route, choice) if line in lines), "")


def _lines_for(ground: Ground, route: Route, choice: Candidate | Link) -> Iterator[str]:
    """Its own line, those of the parts that it joins, then the putting back that closes it, then the last of all."""
    yield f"choice {choice.id}"
    joint = ground.joint_of.get(choice.id)
    places = joint.between if joint else [place for place, one in route.picks.items() if one == choice.id]
    yield from (f"choice {route.picks[place]}" for place in places)
    for place in places:
        yield from closing_of(ground, route, place)
    yield from (f"refit {task}" for task in sorted(route.tasks, key=ground.depth, reverse=True))
    yield from (f"task {task}" for task in route.tasks)
