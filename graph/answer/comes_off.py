"""What comes off on a route for good: each part that another takes the place of, at the step that opens its place.

A part that the route has altered (facts/kinds/altering.csv: a propshaft that is shortened) is among them, since what is
fitted is another one by the facts; `altered` tells it from what is scrapped.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterator, Sequence
from functools import cache

from graph.answer.ground import Ground
from graph.answer.model.lines import Named
from graph.answer.model.work import Besides
from graph.answer.what_is_there import held_at
from graph.answer.work_order import fit_tasks_of, line_of_besides
from graph.catalogue.house import KINDS_FOLDER
from graph.catalogue.model import REPLACES
from graph.search.result import Route

FILE = KINDS_FOLDER / "altering.csv"
NEW = "new"
NOT_KNOWN = "the {place} that is there"


def comes_off(
    ground: Ground, route: Route, written: Collection[str], besides: Sequence[Besides] = ()
) -> dict[str, tuple[Named, ...]]:
    """Per line of the work the parts that leave there, those too for which others are renewed `besides`. `written`: the
    lines that are steps.

    A part leaves at the task that opens its place, the deepest of several; where the route has none, at the step that
    fits what comes after it.
    """
    found: dict[str, list[Named]] = {}
    for position, pick in route.picks.items():
        left = list(_left(ground, position, pick))
        line = _line_of(ground, route, position, pick, written) if left else ""
        if line:
            found.setdefault(line, []).extend(left)
    for one in besides:
        if one.leaves:  # a worn piece leaves its part where the new one goes in
            opened = _opening(ground, route, one.place, one.tasks) if one.leaves.id else iter(())
            line = _deepest(ground, opened, written) or line_of_besides(one)
            found.setdefault(line, []).append(one.leaves)
    return {line: tuple(sorted(parts, key=lambda one: one.label)) for line, parts in found.items()}


@cache
def _altering() -> frozenset[str]:
    """The tasks by which a part that is there is made into another one."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return frozenset(row["task"] for row in csv.DictReader(lines))


def altered(ground: Ground, route: Route) -> frozenset[str]:
    """Parts that are there and not scrapped: the route has them altered, and what that makes of them fitted.

    Such a part is replaced, as the facts state, by one that a task of its own makes, and that nobody states as new.
    """
    picked = {ground.candidates[pick].part for pick in route.picks.values() if not ground.candidates[pick].as_found}
    known = (ground.catalogue.parts[part] for part in picked if part in ground.catalogue.parts)
    made = {part.id for part in known if _altering() & set(part.tasks) and part.condition != NEW}
    replaces = (edge for edge in ground.catalogue.edges.values() if edge.kind == REPLACES) if made else ()
    return frozenset(edge.target for edge in replaces if edge.source in made)


def _left(ground: Ground, position: str, pick: str) -> Iterator[Named]:
    """What is there now and is not what the route has there."""
    candidate, kind = ground.candidates[pick], ground.catalogue.position_kinds.get(ground.positions[position].kind)
    if candidate.as_found and not ground.is_empty(pick):
        return
    held = list(held_at(ground, kind)) if kind else []
    if kind and not held:
        held = [
            one.part for one in ground.positions[position].candidates if one.as_found and not ground.is_to_come(one.id)
        ]
    for part in held:
        if part != candidate.part:
            known = part in ground.catalogue.parts
            label = ground.part_label(part) if known else NOT_KNOWN.format(place=kind.label if kind else position)
            yield Named(part if known else "", label)


def _line_of(ground: Ground, route: Route, position: str, pick: str, written: Collection[str]) -> str:
    line = _deepest(ground, _opening(ground, route, position, ground.candidates[pick].tasks), written)
    return line or (f"choice {pick}" if f"choice {pick}" in written else "")


def _opening(ground: Ground, route: Route, position: str, tasks: Sequence[str]) -> Iterator[list[str]]:
    """The lines that open the place; where none does, those of the tasks that the work there needs."""
    yield [
        f"task {task}" for task in (*fit_tasks_of(ground, route, position), *_taking_it_off(ground, route, position))
    ]
    yield [f"task {task}" for task in ground.closed(tasks) if task in route.tasks]


def _deepest(ground: Ground, ways: Iterator[list[str]], written: Collection[str]) -> str:
    """Of the first lines of which any is a step, the one that lies deepest; "" for none."""
    for lines in ways:
        there = sorted((line for line in lines if line in written), key=lambda line: (ground.depth(line[5:]), line))
        if there:
            return there[-1]
    return ""


def _taking_it_off(ground: Ground, route: Route, position: str) -> Iterator[str]:
    """The bench tasks that put it back when they close: a front retainer comes off with the tail housing."""
    for known in filter(None, map(ground.known_task, route.tasks)):
        if known.stage == "bench" and known.refit and position in known.waits_for:
            yield known.id
