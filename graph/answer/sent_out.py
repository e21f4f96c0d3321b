"""What goes along on a visit to another shop, and whether what is done there can be undone: known before it leaves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from graph.answer.comes_off import altered
from graph.answer.ground import Ground
from graph.answer.work_order import fit_tasks_of
from graph.catalogue.model import REPLACES
from graph.search.result import Route


@dataclass(frozen=True, slots=True)
class SentAlong:
    """What one visit takes along: `parts`, by name, each once; `irreversible`: some of the work cannot be undone."""

    parts: tuple[str, ...] = ()
    irreversible: bool = False


def sent_out(ground: Ground, route: Route) -> dict[str, SentAlong]:
    """By line of a visit what the route's machining sends along, and what is altered there into what is fitted (a
    propshaft that is shortened); nothing for a visit that does neither.

    Both parts of a joint go, the one that is cut and the one that it is cut to fit, unless it stays where it is.
    """
    found: dict[str, SentAlong] = {}
    for task, part in _altered_there(ground, route):
        before = found.get(f"task {task}", SentAlong())
        found[f"task {task}"] = SentAlong(tuple(dict.fromkeys((*before.parts, ground.part_label(part)))))
    for link in (ground.links[link] for link in route.links.values()):
        for task in (task for task in link.tasks if link.operations and ground.stage_of(task) == "send-out"):
            before = found.get(f"task {task}", SentAlong())
            going = (part for part in link.parts if _is_out(ground, route, part))
            names = (ground.candidates[part].label or ground.part_label(ground.candidates[part].part) for part in going)
            parts = tuple(dict.fromkeys((*before.parts, *names)))
            found[f"task {task}"] = SentAlong(parts, before.irreversible or link.irreversible)
    return found


def _altered_there(ground: Ground, route: Route) -> Iterator[tuple[str, str]]:
    """Each visit with a part that goes along to become one that is fitted."""
    kept = altered(ground, route)
    for edge in ground.catalogue.edges.values() if kept else ():
        if edge.kind == REPLACES and edge.target in kept:
            picked = (ground.candidates[pick] for pick in route.picks.values())
            made = [one for one in picked if one.part == edge.source]
            for task in (task for one in made for task in one.tasks if ground.stage_of(task) == "send-out"):
                yield task, edge.target


def _is_out(ground: Ground, route: Route, part: str) -> bool:
    """Whether the part is bought, or has come out by then: a crankshaft stays in its engine."""
    place = ground.place_of_choice[part].id
    return not ground.candidates[part].as_found or any(True for _ in fit_tasks_of(ground, route, place))
