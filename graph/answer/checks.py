"""Where the checks stand that can only be made once things are in place: at the step that brings them together.

Where a kind of joint is checked is common practice and stands in facts/kinds/checked_at.csv: a housing where it is
dialled in, end float where retainer and tail close, room in the tunnel where the gearbox hangs on its mount. What the
table does not name is checked at the last step that joins or closes the parts.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from functools import cache

from graph.answer.ground import Ground
from graph.answer.work_order import closing_of, names_of
from graph.catalogue.house import KINDS_FOLDER
from graph.conversion.document import Candidate, Link
from graph.search.result import Route

LAID_IN = "part-laid-in"  # in the table: where a part goes in between (offset dowels), at the step that fits it
FITTED = "part-fitted"  # in the table: at the step that fits either part, before anything closes over it
FILE = KINDS_FOLDER / "checked_at.csv"


@cache
def checked_at() -> dict[str, tuple[str, ...]]:
    """By kind of joint the tasks (`... back`: their putting back) at which it is checked, the best first."""
    found: dict[str, tuple[str, ...]] = {}
    with FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found[row["joint"]] = (*found.get(row["joint"], ()), row["at"])
    return found


def checks_of(ground: Ground, choice: Candidate | Link) -> tuple[str, ...]:
    """What the choice's edges and parts ask to be looked at when it is in place, each once."""
    found = [text for edge in ground.edges_of(choice.id) for text in edge.check_when_fitted]
    names = choice.via if isinstance(choice, Link) else () if choice.as_found else (choice.part,)
    known = map(ground.catalogue.parts.get, names)
    found += [text for part in known if part is not None for text in part.check_when_fitted]
    return tuple(dict.fromkeys(found))


def step_to_check_at(ground: Ground, route: Route, choice: Candidate | Link, places: Mapping[str, int]) -> str:
    """The line at which the choice is checked; "" where the route does nothing that could be looked at.

    `places`: the lines that are steps, each with its place in the order of work.
    """
    for lines in _lines_for(ground, route, choice, places):
        if there := [line for line in lines if line in places]:
            return max(there, key=lambda line: places[line])
    return ""


def _lines_for(
    ground: Ground, route: Route, choice: Candidate | Link, places: Mapping[str, int]
) -> Iterator[list[str]]:
    """Where its kind of joint is checked, its own line, those that join and close its parts; then what is put back: of
    a car the last of it, else the innermost."""
    joint = ground.joint_of.get(choice.id)
    for at in checked_at().get(joint.kind, ()) if joint else ():
        if at == FITTED and joint:
            yield [f"choice {route.picks[place]}" for place in joint.between]
        laid_in = at == LAID_IN and isinstance(choice, Link) and choice.via
        yield [f"choice {choice.id}"] if laid_in else [line for line in places if at in names_of(ground, line)]
    yield [f"choice {choice.id}"]
    between = joint.between if joint else [place for place, one in route.picks.items() if one == choice.id]
    joined = [f"choice {route.picks[place]}" for place in between]
    yield [*joined, *(line for place in between for line in closing_of(ground, route, place))]
    kinds = [ground.catalogue.position_kinds.get(place) for place in between]
    put_back = [f"refit {task}" for task in sorted(route.tasks, key=ground.depth, reverse=True)]
    if any(kind is not None and kind.owner == "vehicle" for kind in kinds):
        yield put_back
    yield from ([line] for line in put_back)
    yield from ([f"task {task}"] for task in route.tasks)
