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
from graph.answer.model.work import RENEWAL, Besides
from graph.answer.work_reasons import BACK, reason_of
from graph.catalogue.terms import TaskKind
from graph.conversion.document import Candidate, Fault, Link
from graph.made.kinds import MADE_KINDS
from graph.search.result import Route

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where it is used, since it takes a third of a second

MADE_TO_SIZE = frozenset(kind.part_kind for kind in MADE_KINDS.values())
Arrow = tuple[str, str, str]  # first, then, why
Lines = Mapping[
    str, object
]  # by key: "task X", "refit X", "choice X", "order X", "due X", "order due X", "renewal P/X"


def work_order(
    ground: Ground, route: Route, choices: Sequence[Candidate | Link], due: Sequence[Fault], lines: Lines,
    besides: Sequence[Besides] = (),
) -> nx.DiGraph[str]:  # fmt: skip
    """The lines' keys, an arrow from each to what must come after it, with `why` (why_here.py); without a circle."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(lines)
    for first, then, why in _binding(ground, route, choices, due, lines):
        _add(graph, first, then, why)
    for one in besides:
        key = line_of_besides(one)
        for task in one.tasks:
            _add(graph, f"task {task}", key, _opened(ground, task))
        for later in _refits(ground, one.tasks, lines):
            _add(graph, key, later, why_here.THEN_CLOSED)
        if f"order {key}" in lines:
            _add(graph, f"order {key}", key, why_here.BOUGHT)
            for task in () if one.sure else one.tasks:
                _add(graph, f"task {task}", f"order {key}", why_here.WHICH)
    for first, then, why in dict.fromkeys(_wished(ground, route, lines)):
        if first != then and (graph.has_edge(first, then) or not nx.has_path(graph, then, first)):
            _add(graph, first, then, why)
    names = {line: names_of(ground, line) for line in lines}
    for first, then, arrow in graph.edges(data=True):
        if arrow["why"] not in why_here.SAID_AS_IT_IS and (told := reason_of(names[first], names[then])):
            arrow["why"] = told
    return graph


def _add(graph: nx.DiGraph[str], first: str, then: str, why: str) -> None:
    """An arrow; of two reasons for one, the first that says something."""
    if not graph.has_edge(first, then):
        graph.add_edge(first, then, why=why)
    elif not graph.edges[first, then]["why"]:
        graph.edges[first, then]["why"] = why


def line_of_besides(one: Besides) -> str:
    """The key of its line."""
    return f"{RENEWAL} {one.place}/{one.id}"


def names_of(ground: Ground, line: str) -> tuple[str, ...]:
    """What a line goes by in the table of reasons: task, place of a part, kind of joint; nothing of an order."""
    sort, _, name = line.partition(" ")
    if sort in ("task", "refit"):
        known = ground.known_task(name)
        tasks = (name, known.instead_of) if known and known.instead_of else (name,)
        return tuple(f"{task}{BACK}" for task in tasks) if sort == "refit" else tasks
    if sort == "due":
        return tuple(
            filter(None, [next((ground.needed_by(one) for one in ground.conversion.faults if one.id == name), "")])
        )
    if sort == RENEWAL:
        return (name.partition("/")[0],)
    if sort != "choice":
        return ()
    return (ground.joint_of[name].kind,) if name in ground.links else (ground.place_of_choice[name].kind,)


def _binding(
    ground: Ground, route: Route, choices: Sequence[Candidate | Link], due: Sequence[Fault], lines: Lines
) -> Iterator[Arrow]:
    for task_id in route.tasks:
        on_the_way_back = ground.stage_of(task_id) == "refit"
        for before in ground.tasks[task_id].after:
            put_back = on_the_way_back and f"refit {before}" in lines
            opened = "" if put_back else _opened(ground, before)
            yield f"task {before}", f"task {task_id}", why_here.GOES_IN_FIRST if opened == why_here.PART_OF else opened
        put_back_later = _refits(ground, [task_id], lines)
        if f"refit {task_id}" in lines:
            yield f"task {task_id}", f"refit {task_id}", why_here.CAME_OFF
            inner_first = put_back_later - {f"refit {task_id}"}
            yield from ((f"refit {task_id}", later, why_here.FURTHER_IN) for later in inner_first)
        yield from ((f"task {task_id}", later, why_here.WHILE_OFF) for later in put_back_later)
        if ground.stage_of(task_id) == "refit":
            # What it comes after has been put back by then: a road test follows the gearbox going in, and all that
            # lies further out; what waits for some part is done as soon as that can be, before the undertray is on.
            known = ground.known_task(task_id)
            all_of_it = known is None or known.closes_the_job or not known.waits_for
            inner = ground.closures[task_id] - {task_id} if all_of_it else ground.tasks[task_id].after
            backs = (f"refit {i}" for i in inner if f"refit {i}" in lines)
            yield from ((back, f"task {task_id}", why_here.AFTER_CLOSING) for back in backs)
    for choice in choices:
        key = f"choice {choice.id}"
        if key in lines:
            yield from ((f"task {task_id}", key, _opened(ground, task_id)) for task_id in choice.tasks)
            yield from ((key, later, why_here.THEN_CLOSED) for later in _refits(ground, choice.tasks, lines))
            if f"order {choice.id}" in lines:
                yield f"order {choice.id}", key, why_here.BOUGHT
    for fault in due:
        if f"order due {fault.id}" in lines:
            yield f"order due {fault.id}", f"due {fault.id}", why_here.BOUGHT
        yield from ((f"task {task}", f"due {fault.id}", why_here.OPEN) for task in ground.closed(fault.reach))
        closing = _refits(ground, fault.reach, lines)
        yield from ((f"due {fault.id}", later, why_here.THEN_CLOSED) for later in closing)


def _opened(ground: Ground, task: str) -> str:
    """What it is to need a task: that something is open, or that this work is part of it."""
    known = ground.known_task(task)
    if known is None or known.stage == "strip" or known.refit:
        return why_here.OPEN
    if any({task, known.instead_of} & set(kind.fit_tasks) for kind in ground.catalogue.position_kinds.values()):
        return why_here.OPEN if known.stage == "bench" else why_here.PART_OF
    return why_here.ON_THE_VISIT if known.stage == "send-out" else why_here.PART_OF


def _wished(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """Arrows in the order of their weight: one that would close a circle with those before it is left out."""
    at = _lines_at(ground, route, lines)
    yield from _known_before_bought(ground, route, lines)
    yield from _out_before_machined(ground, route, lines)
    yield from _machined_before_fitted(ground, route, lines)
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
        yield from _worked_on_while_open(ground, route, position, at[position], said=True)
    for known in filter(None, map(ground.known_task, route.tasks)):
        back = f"refit {known.id}"
        waiting.append(([back if back in lines else f"task {known.id}"], _waits_for(ground, known)))
        if known.closes_the_job:
            rest = (line for line in lines if line.startswith(("refit ", "choice ", "due ", f"{RENEWAL} ")))
            yield from ((line, f"task {known.id}", why_here.CLOSES_THE_JOB) for line in rest)
    for keys, positions in waiting:
        for first in (line for position in positions for line in at.get(position, ())):
            yield from ((first, key, why_here.GOES_IN_FIRST) for key in keys)
    for keys, positions in waiting:
        for first in (line for position in positions for line in _closing(ground, route, position, lines)):
            yield from ((first, key, why_here.GOES_IN_FIRST) for key in keys)
    for position in at:
        yield from _worked_on_while_open(ground, route, position, at[position], said=False)


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
            moves = any(ground.choice(choice).shifts_um.values()) or ground.choice(choice).unmeasured
            why = why_here.LENGTHS if moves else why_here.SIZED if _is_made_to_size(ground, choice) else ""
            yield from ((f"task {task}", f"order {choice}", why) for task in measured if why)
    for link in (one for one in route.links.values() if f"order {one}" in lines):
        for task in (f"task {task}" for task in route.tasks if ground.stage_of(task) == "bench"):
            if found_there := reason_of(names_of(ground, task), (ground.joint_of[link].kind,)):
                yield task, f"order {link}", found_there  # which dowels, when the housing is dialled in
    for fault in open_on(ground, route):
        bought = [one for one in decided_by(ground, route, fault) if f"order {one}" in lines]
        for choice in (one for one in bought if one not in ground.bought_units):
            seen = [f"task {task}" for task in ground.closed(fault.reach) if f"task {task}" in lines]
            yield from ((task, f"order {choice}", why_here.SEEN) for task in seen)


def _is_made_to_size(ground: Ground, choice: str) -> bool:
    """Whether a part of it is of a kind that is made to suit its neighbours: a bush, a sleeve, a spacer."""
    link = ground.links.get(choice)
    parts = link.via if link else (ground.candidates[choice].part,)
    known = (ground.catalogue.parts.get(part) for part in parts)
    return any(part.kind in MADE_TO_SIZE for part in known if part)


def open_on(ground: Ground, route: Route) -> list[Fault]:
    """The doubts of the route's picks that may hold or not."""
    picked = {*route.picks.values(), *route.links.values()}
    return [one for one in ground.conversion.faults if 0 < one.odds < 1 and not picked.isdisjoint(one.on)]


def decided_by(ground: Ground, route: Route, fault: Fault) -> set[str]:
    """The picked candidates and links that the doubt is about: of a joint both its ends."""
    on = {*route.picks.values(), *route.links.values()} & set(fault.on)
    ends = (route.picks[place] for one in on if one in ground.joint_of for place in ground.joint_of[one].between)
    return {*on, *ends}


def _worked_on_while_open(
    ground: Ground, route: Route, position: str, keys: Sequence[str], said: bool
) -> Iterator[Arrow]:
    """Parts go in when what needs their place open is done: a housing is dialled in before disc and cover are on.

    `said`: those that the trade has a reason for; the others are a habit, which gives way to all else.
    """
    opened = set(fit_tasks_of(ground, route, position))
    for task in route.tasks:
        known = ground.known_task(task)
        if (
            known
            and known.stage == "bench"
            and position not in known.waits_for
            and opened & set(ground.tasks[task].after)
        ):
            for key in (key for key in keys if not _is_sent_out(ground, key)):
                why = reason_of(names_of(ground, f"task {task}"), names_of(ground, key))
                if bool(why) == said:
                    yield f"task {task}", key, why


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
                yield from ((key, refit, why_here.BOLTED_UP) for refit in shut)


def _has_a_place(ground: Ground, positions: Sequence[str]) -> bool:
    return any(position in ground.catalogue.position_kinds for position in positions)


def _out_before_machined(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """What is machined has come out by then, if it was in."""
    for link in (ground.links[link] for link in route.links.values()):
        if link.operations and f"choice {link.id}" in lines:
            visits = [f"task {task}" for task in link.tasks if ground.stage_of(task) == "send-out"]
            for position in ground.joint_of[link.id].between:
                out = fit_tasks_of(ground, route, position) if ground.candidates[route.picks[position]].as_found else ()
                machined = (*visits, f"choice {link.id}")
                yield from ((f"task {task}", line, why_here.COME_OUT) for task in out for line in machined)


def _machined_before_fitted(ground: Ground, route: Route, lines: Lines) -> Iterator[Arrow]:
    """What is sent out is here by then, and back before its part is fitted, or what came out goes in again."""
    for link in (ground.links[link] for link in route.links.values()):
        line = f"choice {link.id}"
        if link.operations and line in lines and any(ground.stage_of(task) == "send-out" for task in link.tasks):
            for position in ground.joint_of[link.id].between:
                part = route.picks[position]
                yield from ((order, line, why_here.GOES_ALONG) for order in (f"order {part}",) if order in lines)
                yield from ((line, fit, why_here.MACHINED) for fit in (f"choice {part}",) if fit in lines)
                back = _closing(ground, route, position, lines) if ground.candidates[part].as_found else ()
                yield from ((line, refit, why_here.MACHINED) for refit in back)


def _lines_at(ground: Ground, route: Route, lines: Lines) -> dict[str, list[str]]:
    """The lines of the parts and joints at each position."""
    at: dict[str, list[str]] = {}
    places = [(choice, (position,)) for position, choice in route.picks.items()]
    for choice, positions in places + [(link, _where_laid(ground, link)) for link in route.links.values()]:
        for position in positions if f"choice {choice}" in lines else ():
            at.setdefault(position, []).append(f"choice {choice}")
    for line in (line for line in lines if line.startswith(f"{RENEWAL} ")):
        at.setdefault(line.removeprefix(f"{RENEWAL} ").partition("/")[0], []).append(line)
    for fault in ground.conversion.faults:
        if f"order due {fault.id}" in lines:
            at.setdefault(ground.needed_by(fault), []).append(f"due {fault.id}")
    return at


def _where_laid(ground: Ground, link: str) -> tuple[str, ...]:
    """The places where the work at a joint is done: of its two, those reached by what the kind of joint needs open (a
    shim behind the release bearing, not at the clutch cover); both where that does not tell."""
    between = ground.joint_of[link].between
    if ground.links[link].operations:
        return between
    kinds, joint = ground.catalogue.position_kinds, ground.catalogue.joint_kinds.get(ground.joint_of[link].kind)
    via = set(joint.via_tasks) if joint else set()
    reached = tuple(place for place in between if place in kinds and via & set(kinds[place].fit_tasks))
    return reached or between


def _closing(ground: Ground, route: Route, position: str, lines: Lines) -> Iterator[str]:
    return (line for line in closing_of(ground, route, position) if line in lines)


def closing_of(ground: Ground, route: Route, position: str) -> Iterator[str]:
    """The lines after which the part at this position can no longer be changed, as far as they are lines."""
    return (f"refit {task}" for task in fit_tasks_of(ground, route, position))


def fit_tasks_of(ground: Ground, route: Route, position: str) -> Iterator[str]:
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
