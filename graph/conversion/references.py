"""Do the ids in a conversion document point at something, and does the task order have no circle?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from graph.common_cause import CommonCause
from graph.conversion.document import Candidate, Conversion, Link, Task
from graph.conversion.reader import Problems


def note_broken_references(conversion: Conversion, problems: Problems) -> None:
    """Add a problem for each id that stands twice or points nowhere, and for each circle in `after`."""
    tasks = _index("tasks", (task.id for task in conversion.tasks), problems)
    chains = _index("chains", (chain.id for chain in conversion.chains), problems)
    faults = _index("faults", (fault.id for fault in conversion.faults), problems)
    positions = _index("positions", (position.id for position in conversion.positions), problems)
    _index("joints", (joint.id for joint in conversion.joints), problems)
    _index("inspections", (one.id for one in conversion.inspections), problems)
    choices = _choices(conversion, problems)

    for place, task in enumerate(conversion.tasks):
        _known(f"tasks[{place}].after", task.after, tasks, "task", problems)
    _note_circles(conversion.tasks, problems)
    for path, choice in choices.values():
        _known(f"{path}.tasks", choice.tasks, tasks, "task", problems)
        _known(f"{path}.shifts", choice.shifts_um, chains, "chain", problems)
        _known(f"{path}.unmeasured", choice.unmeasured, chains, "chain", problems)
    _note_joints(conversion, positions, problems)
    for place, rule in enumerate(conversion.rules):
        named = (
            ("when", (rule.when,)),
            ("needs_any", rule.needs_any),
            ("excludes", rule.excludes),
            ("also", rule.also),
        )
        for key, ids in named:
            _known(f"rules[{place}].{key}", ids, choices, "candidate or link", problems)
    for place, fault in enumerate(conversion.faults):
        if fault.on:
            _known(f"faults[{place}].on", fault.on, choices, "candidate or link", problems)
        else:
            _known(f"faults[{place}].position", (fault.position,), positions, "position", problems)
        _known(f"faults[{place}].reach", fault.reach, tasks, "task", problems)
    _note_causes(conversion, problems)
    for place, inspection in enumerate(conversion.inspections):
        _known(f"inspections[{place}].settles", inspection.settles, faults, "fault", problems)
        _known(f"inspections[{place}].tasks", inspection.tasks, tasks, "task", problems)


def _index(path: str, ids: Iterable[str], problems: Problems) -> dict[str, int]:
    seen: dict[str, int] = {}
    for place, id_ in enumerate(ids):
        if id_ in seen:
            problems.note(f"{path}[{place}].id", f"the id {id_!r} stands already at {path}[{seen[id_]}]")
        seen.setdefault(id_, place)
    return seen


def _choices(conversion: Conversion, problems: Problems) -> dict[str, tuple[str, Candidate | Link]]:
    seen: dict[str, tuple[str, Candidate | Link]] = {}
    for place, position in enumerate(conversion.positions):
        if not position.candidates:
            problems.note(f"positions[{place}].candidates", "a position without candidates can never be filled")
        for at, candidate in enumerate(position.candidates):
            _add_choice(f"positions[{place}].candidates[{at}]", candidate, seen, problems)
    for place, joint in enumerate(conversion.joints):
        for at, link in enumerate(joint.links):
            _add_choice(f"joints[{place}].links[{at}]", link, seen, problems)
    return seen


def _add_choice(
    path: str, choice: Candidate | Link, seen: dict[str, tuple[str, Candidate | Link]], problems: Problems
) -> None:
    if choice.id in seen:
        problems.note(f"{path}.id", f"the id {choice.id!r} stands already at {seen[choice.id][0]}")
    seen.setdefault(choice.id, (path, choice))


def _known(path: str, ids: Iterable[str], known: Mapping[str, object], what: str, problems: Problems) -> None:
    for id_ in ids:
        if id_ not in known:
            problems.note(path, f"no {what} with the id {id_!r} in this document")


def _note_causes(conversion: Conversion, problems: Problems) -> None:
    """Add a problem for each cause that ties what cannot be tied, or whose numbers contradict a fault's own odds."""
    _index("causes", (cause.id for cause in conversion.causes), problems)
    faults = {fault.id: fault for fault in conversion.faults}
    tied: dict[str, str] = {}
    for place, cause in enumerate(conversion.causes):
        path = f"causes[{place}]"
        if not 0 < cause.odds < 1:
            problems.note(f"{path}.odds", "expected more than 0 and less than 1: what is certain ties nothing")
            continue
        if len(cause.if_there) < 2:
            problems.note(f"{path}.if_there", "a cause ties two faults or more; name them, each with its odds")
        _known(f"{path}.if_there", cause.if_there, faults, "fault", problems)
        for id_ in cause.if_there:
            fault, at = faults.get(id_), f"{path}.if_there.{id_}"
            if fault is None:
                continue
            if fault.on:
                problems.note(at, "is a doubt on choices; only faults of a position can share a cause")
                continue
            if tied.setdefault(id_, cause.id) != cause.id:
                problems.note(at, f"is tied by the cause {tied[id_]!r} already; a fault has one cause at most")
            if not 0 <= cause.if_not(id_, fault.odds) <= 1:
                problems.note(at, _contradiction(cause, id_, fault.odds))


def _contradiction(cause: CommonCause, fault: str, odds: Fraction) -> str:
    there = cause.if_there[fault]
    least, most = max(Fraction(0), (odds - 1 + cause.odds) / cause.odds), min(Fraction(1), odds / cause.odds)
    return (
        f"odds of {float(there):g} where the cause is there (in {float(cause.odds):g} of all) contradict the "
        f"fault's own odds of {float(odds):g}; expected from {float(least):.4g} to {float(most):.4g}"
    )


def _note_circles(tasks: tuple[Task, ...], problems: Problems) -> None:
    try:
        TopologicalSorter({task.id: task.after for task in tasks}).prepare()
        return
    except CycleError as error:
        circle = list(reversed(error.args[1][1:]))  # closed, and each before the next: turned to "waits for"
    place = next(place for place, task in enumerate(tasks) if task.id == circle[0])
    problems.note(
        f"tasks[{place}].after", f"the tasks wait for each other in a circle: {' -> '.join([*circle, circle[0]])}"
    )


def _note_joints(conversion: Conversion, positions: Mapping[str, int], problems: Problems) -> None:
    held = {position.id: {one.id for one in position.candidates} for position in conversion.positions}
    for place, joint in enumerate(conversion.joints):
        _known(f"joints[{place}].between", joint.between, positions, "position", problems)
        if not all(end in held for end in joint.between):
            continue
        for at, link in enumerate(joint.links):
            for part, end in zip(link.parts, joint.between, strict=True):
                if part not in held[end]:
                    path = f"joints[{place}].links[{at}].parts"
                    problems.note(path, f"{part!r} is no candidate of the position {end!r}, where this joint ends")
