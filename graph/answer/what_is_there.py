"""What a task finds at the places that it lays open: its step speaks of no clutch where none ever was."""

from __future__ import annotations

from collections.abc import Iterator

from graph.answer import words
from graph.answer.ground import Ground
from graph.catalogue.terms import Assembly, PositionKind
from graph.lookups.index import PlaceState


def opening_words(ground: Ground, task: str) -> str:
    """What the task's first step says: what comes off, where its name also covers putting it back."""
    known = ground.known_task(task)
    if known is None or not known.step_words:
        return ground.tasks[task].label + _parting(ground, task)
    assembly = _assembly(ground)
    unfit = assembly.no_use_for if assembly else ()
    parts = (ground.catalogue.parts.get(part) for kind in _places(ground, task) for part in held_at(ground, kind))
    strange = [part.label for part in parts if part is not None and part.kind in unfit]
    here = f"; here it is the {words.listed(strange)}" if strange else ""
    return known.step_words + here + _parting(ground, task)


def nothing_is_there(ground: Ground, task: str) -> bool:
    """Whether all that the task lays open is stated to hold nothing, though the finished job must have something there:
    an engine that never had a clutch."""
    assembly = _assembly(ground)
    if ground.index is None or assembly is None:
        return False
    known = ground.known_task(task)
    on_it = known.waits_for if known else ()  # what it takes off besides: a retainer, to reach a bearing
    places = [one for one in (*(kind.id for kind in _places(ground, task)), *on_it) if ground.unit_at(one)]
    if set(places).isdisjoint(assembly.must_have):
        return False
    return all(ground.index.place(ground.unit_at(one), one).state == PlaceState.HAS_NONE for one in places)


def _assembly(ground: Ground) -> Assembly | None:
    return ground.catalogue.assemblies.get(ground.reading.assembly) if ground.reading else None


def _places(ground: Ground, task: str) -> list[PositionKind]:
    """The kinds of place of this job that the task lays open, also in place of another task."""
    known, assembly = ground.known_task(task), _assembly(ground)
    names = {task, known.instead_of} if known else {task}
    kinds = (ground.catalogue.position_kinds.get(place) for place in (assembly.positions if assembly else ()))
    return [kind for kind in kinds if kind is not None and not names.isdisjoint(kind.fit_tasks)]


def held_at(ground: Ground, kind: PositionKind) -> Iterator[str]:
    """The parts that are stated to be at this kind of place now, in the asked unit that it belongs to."""
    unit = ground.unit_at(kind.id)
    if unit and ground.index is not None:
        yield from (edge.target for edge in ground.index.place(unit, kind.id).edges if edge.target)


def _parting(ground: Ground, task: str) -> str:
    """What comes away first where a unit was made for another kind of job: a converter, with its automatic."""
    assembly, known = _assembly(ground), ground.known_task(task)
    if assembly is None or known is None or ground.reading is None or ground.index is None:
        return ""
    if {task, known.instead_of}.isdisjoint(assembly.comes_apart_by):
        return ""
    made_for = [
        ground.index.made_for(unit) for unit in (ground.reading.question.gearbox, ground.reading.question.engine)
    ]
    others = [one for kinds in made_for if assembly.id not in kinds for one in kinds]
    said = dict.fromkeys(ground.catalogue.assemblies[one].parting for one in others)
    return "".join(f": {text}" for text in said if text)
