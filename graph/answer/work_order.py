"""What must stand before what in a route's work, and what should: the order in which a person can do it.

Binding: a task before what needs it open, an order before its fitting, all work before what it needs open is put back.
As far as these leave room: what moves a dimension is bought after the lengths are measured, what is in doubt after its
doubt can be seen; a part before its place is closed again (its position kind's fitting task) and after the work that
needs that place open (a housing is dialled in before disc and cover), after what its position kind waits for
(`waits_for`: a disc for the pilot bearing and the flywheel), a task or its putting back after what it waits for (a
propshaft's length for the box on its mounts, end float for the front retainer) or, where it closes the job, after all
else; a loose part (longer bolts) after what needs it and before that is closed again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from graph.answer import why_here
from graph.answer.ground import Ground
from graph.catalogue.model import TaskKind
from graph.conversion.document import Candidate, Fault, Link
from graph.search.result import Route

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where it is used, since it takes a third of a second

Arrow = tuple[str, str, str]  # first, then, why
Lines = Mapping[str, object]  # by key: "task X", "refit X", "choice X", "order X", "due X", "order due X"


def work_order(
    ground: Ground, route: Route, choices: Sequence[Candidate | Link], due: Sequence[Fault], lines: Lines
) -> nx.DiGraph[str]:
    """The lines' keys, an arrow from each to what must come after it, with `why` (why_here.py); without a circle."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(lines)
    for first, then, why in _binding(ground, route, choices, due, lines):
        if not graph.has_edge(first, then):
            graph.add_edge(first, then, why=why)
    for first, then, why in dict.fromkeys(_wished(ground, route, lines)):
        if first != then and not graph.has_edge(first, then) and not nx.has_path(graph, then, first):
            graph.add_edge(first, then, why=why)
    return graph


def _binding(
    ground: Ground, route: Route, choices: Sequence[Candidate | Link], due: Sequence[Fault], lines: Lines
) -> Iterator[Arrow]:
    for task_id in route.tasks:
        yield from ((f"task {before}", f"task {task_id}", why_here.OPEN) for before in ground.tasks[task_id].after)
        put_back_later = _refits(ground, [task_id], lines)
        yield from ((f"task {task_id}", later, why_here.THEN_CLOSED) for later in put_back_later)
        if f"refit {task_id}" in lines:
            yield f"task {task_id}", f"refit {task_id}", why_here.COME_OUT
            inner_first = put_back_later - {f"refit {task_id}"}
            yield from ((f"refit {task_id}", later, why_here.THEN_CLOSED) for later in inner_first)
        if ground.stage_of(task_id) == "refit":
            # What it comes after has been put back by then: a road test follows the gearbox going in.
            inner = ground.closures[task_id] - {task_id}
            put_back = (f"refit {i}" for i in inner if f"refit {i}" in lines)
            yield from ((back, f"task {task_id}", why_here.AFTER_CLOSING) for back in put_back)
    for choice in choices:
        key = f"choice {choice.id}"
        if key in lines:
            yield from ((f"task {task_id}", key, why_here.OPEN) for task_id in choice.tasks)
            yield from ((key, later, why_here.THEN_CLOSED) for later in _refits(ground, choice.tasks, lines))
            if f"order {choice.id}" in lines:
                yield f"order {choice.id}", key, why_here.BOUGHT
    for fault in due:
        if f"order due {fault.id}" in lines:
            yield f"order due {fault.id}", f"due {fault.id}", why_here.BOUGHT
        yield from ((f"task {task}", f"due {fault.id}", why_here.OPEN) for task in ground.closed(fault.reach))
        closing = _refits(ground, fault.reach, lines)
        yield from ((f"due {fault.id}", later, why_here.THEN_CLOSED) for later in closing)


def _wished(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """Arrows in the order of their weight: one that would close a circle with those before it is left out."""
    at = _lines_at(ground, route, lines)
    yield from _known_before_bought(ground, route, lines)
    yield from _out_before_machined(ground, route, lines)
    for position, keys in at.items():
        closing = list(_closing(ground, route, position, lines))
        yield from ((key, refit, why_here.THEN_CLOSED) for key in keys for refit in closing)
    yield from _loose_with_what_needs_them(ground, route, lines)
    kinds = ground.catalogue.position_kinds
    waiting = [
        ([key for key in keys if not _is_sent_out(ground, key)], kinds[position].waits_for)
        for position, keys in at.items()
        if position in kinds
    ]
    for position in at:
        yield from _worked_on_while_open(ground, route, position, at[position])
    for known in filter(None, map(ground.known_task, route.tasks)):
        back = f"refit {known.id}"
        waiting.append(([back if back in lines else f"task {known.id}"], _waits_for(ground, known)))
        if known.closes_the_job:
            rest = (line for line in lines if line.startswith(("refit ", "choice ", "due ")))
            yield from ((line, f"task {known.id}", why_here.CLOSES_THE_JOB) for line in rest)
    for keys, positions in waiting:
        for first in (line for position in positions for line in at.get(position, ())):
            yield from ((first, key, why_here.GOES_IN_FIRST) for key in keys)
    for keys, positions in waiting:
        for first in (line for position in positions for line in _closing(ground, route, position, lines)):
            yield from ((first, key, why_here.GOES_IN_FIRST) for key in keys)


def _waits_for(ground: Ground, known: TaskKind) -> tuple[str, ...]:
    """What the task waits for, or what the one does that it stands in for."""
    general = ground.known_task(known.instead_of)
    return known.waits_for or (general.waits_for if general else ())


def _known_before_bought(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """What moves a dimension is bought when the lengths are known; what is in doubt, when its doubt can be seen."""
    measured = [task for task in route.tasks if (known := ground.known_task(task)) and known.measures_lengths]
    to_come = [line for line in lines if line.startswith("order due ")]
    yield from ((f"task {task}", line, why_here.LENGTHS) for task in measured for line in to_come)
    for choice in (*route.picks.values(), *route.links.values()):
        if f"order {choice}" in lines and choice not in ground.bought_units:
            moves = any(ground.choice(choice).shifts_um.values())
            yield from ((f"task {task}", f"order {choice}", why_here.LENGTHS) for task in measured if moves)
    for fault in open_on(ground, route):
        bought = [one for one in decided_by(ground, route, fault) if f"order {one}" in lines]
        for choice in (one for one in bought if one not in ground.bought_units):
            seen = [f"task {task}" for task in ground.closed(fault.reach) if f"task {task}" in lines]
            yield from ((task, f"order {choice}", why_here.SEEN) for task in seen)


def open_on(ground: Ground, route: Route) -> list[Fault]:
    """The doubts of the route's picks that may hold or not."""
    picked = {*route.picks.values(), *route.links.values()}
    return [one for one in ground.conversion.faults if 0 < one.odds < 1 and not picked.isdisjoint(one.on)]


def decided_by(ground: Ground, route: Route, fault: Fault) -> set[str]:
    """The picked candidates and links that the doubt is about: of a joint both its ends."""
    on = {*route.picks.values(), *route.links.values()} & set(fault.on)
    ends = (route.picks[place] for one in on if one in ground.joint_of for place in ground.joint_of[one].between)
    return {*on, *ends}


def _worked_on_while_open(ground: Ground, route: Route, position: str, keys: Sequence[str]) -> Iterator[Arrow]:
    """Parts go in when what needs their place open is done: a housing is dialled in before disc and cover are on."""
    opened = set(_fit_tasks(ground, route, position))
    for task in route.tasks:
        known = ground.known_task(task)
        if (
            known
            and known.stage == "bench"
            and position not in known.waits_for
            and opened & set(ground.tasks[task].after)
        ):
            yield from ((f"task {task}", key, why_here.WHILE_OPEN) for key in keys if not _is_sent_out(ground, key))


def _is_sent_out(ground: Ground, line: str) -> bool:
    """Whether the line is machining, which waits for nothing that goes in."""
    choice = line.removeprefix("choice ")
    return choice in ground.links and bool(ground.links[choice].operations)


def _loose_with_what_needs_them(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """Bolts that hold the bell through a plate go in after the plate and before the gearbox is in."""
    at: dict[str, tuple[str, ...]] = {choice: (position,) for position, choice in route.picks.items()}
    at |= {link: ground.joint_of[link].between for link in route.links.values()}
    for rule in ground.conversion.rules:
        for loose in (one for one in rule.needs_any if one in at and rule.when in at and f"choice {one}" in lines):
            if not ground.choice(loose).tasks and not _has_a_place(ground, at[loose]):
                key, needing = f"choice {loose}", ground.choice(rule.when)
                yield from ((first, key, why_here.HOLDS) for first in (f"choice {rule.when}",) if first in lines)
                closing = [refit for position in at[rule.when] for refit in _closing(ground, route, position, lines)]
                shut = closing or _refits(ground, needing.tasks, lines)
                yield from ((key, refit, why_here.THEN_CLOSED) for refit in shut)


def _has_a_place(ground: Ground, positions: Sequence[str]) -> bool:
    return any(position in ground.catalogue.position_kinds for position in positions)


def _out_before_machined(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """What is machined has come out by then, if it was in."""
    for link in (ground.links[link] for link in route.links.values()):
        if link.operations and f"choice {link.id}" in lines:
            visits = [f"task {task}" for task in link.tasks if ground.stage_of(task) == "send-out"]
            for position in ground.joint_of[link.id].between:
                out = _fit_tasks(ground, route, position) if ground.candidates[route.picks[position]].as_found else ()
                machined = (*visits, f"choice {link.id}")
                yield from ((f"task {task}", line, why_here.COME_OUT) for task in out for line in machined)


def _lines_at(ground: Ground, route: Route, lines: Lines) -> dict[str, list[str]]:
    """The lines of the parts and joints at each position."""
    at: dict[str, list[str]] = {}
    places = [(choice, (position,)) for position, choice in route.picks.items()]
    for choice, positions in places + [(link, ground.joint_of[link].between) for link in route.links.values()]:
        for position in positions if f"choice {choice}" in lines else ():
            at.setdefault(position, []).append(f"choice {choice}")
    for fault in ground.conversion.faults:
        if f"order due {fault.id}" in lines:
            at.setdefault(ground.needed_by(fault), []).append(f"due {fault.id}")
    return at


def _closing(ground: Ground, route: Route, position: str, lines: Lines) -> Iterator[str]:
    return (line for line in closing_of(ground, route, position) if line in lines)


def closing_of(ground: Ground, route: Route, position: str) -> Iterator[str]:
    """The lines after which the part at this position can no longer be changed, as far as they are lines."""
    return (f"refit {task}" for task in _fit_tasks(ground, route, position))


def _fit_tasks(ground: Ground, route: Route, position: str) -> Iterator[str]:
    """The tasks of the route by which the part at this position comes out, in this job's own form."""
    kind = ground.catalogue.position_kinds.get(position)
    fit_tasks = kind.fit_tasks if kind else ()
    for task in route.tasks:
        known = ground.known_task(task)
        if task in fit_tasks or (known and known.instead_of in fit_tasks):
            yield task


def _refits(ground: Ground, tasks: Sequence[str], lines: Lines) -> set[str]:
    """The refit lines that must wait for work which needs these tasks: of all that is still open by then."""
    key = ("refits", "\n".join(tasks))
    if key not in ground.kept:
        closed = ground.closed(tasks)
        shut = _put_back_by(ground, closed)
        ground.kept[key] = [f"refit {task}" for task in closed if not _kept_open(ground, task) & shut]
    return {refit for refit in ground.kept[key] if refit in lines}


def _put_back_by(ground: Ground, closed: frozenset[str]) -> frozenset[str]:
    """What the refit-stage tasks among these find closed again, those tasks included."""
    return frozenset().union(*(ground.closures[task] for task in closed if ground.stage_of(task) == "refit"))


def _kept_open(ground: Ground, task: str) -> frozenset[str]:
    """What has to be open while this task is."""
    return (ground.closures[task] - _put_back_by(ground, ground.closures[task])) | {task}
