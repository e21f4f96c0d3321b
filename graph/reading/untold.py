"""What work takes that nobody has stated: hours and prices that are in no sum, in words; and what stands for them.

A part's hours are its own, else those of its family, else what its kind usually takes. A plain *fits* takes none of its
own, its work is its joint's task; machining, and whatever names an operation or money, takes hours that must be stated
(0 is a statement). What comes out of a unit that holds it at the place is put back by the place's own tasks.
"""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.model import REQUIRES_MACHINING, Edge, Part, StatedFault
from graph.catalogue.terms import TaskKind
from graph.lookups.index import CatalogueIndex

HOURS, PRICE = "hours", "price"  # how the words of what is missing begin
CONSUMABLES, CARRIAGE = f"{PRICE} of consumables: ", f"{PRICE} of carriage: "  # of tasks


def fitting_hours(index: CatalogueIndex, part: Part) -> tuple[int | None, str]:
    """Hundredths of hours of fitting the part, and whose they are in words where not its own; None: nobody's."""
    if part.hours_hundredths is not None:
        return part.hours_hundredths, ""
    known = index.catalogue.parts
    for family in index.lineage(part.id)[1:]:
        if family in known and known[family].hours_hundredths is not None:
            return known[family].hours_hundredths, f"as for {known[family].label}"
    kinds, kind = index.catalogue.part_kinds, part.kind
    while kind in kinds:
        if kinds[kind].usual_hours_hundredths is not None:
            return kinds[kind].usual_hours_hundredths, f"as usual for the kind: {kinds[kind].label}"
        kind = kinds[kind].broader
    return None, ""


def is_work(edge: Edge) -> bool:
    """Does the statement speak of work of its own, beyond the tasks of its joint?"""
    return edge.kind == REQUIRES_MACHINING or bool(edge.operations or edge.cash_hundredths)


def lacking_of_edge(edge: Edge, said: str) -> tuple[str, ...]:
    """What nobody has stated of the work that the edge speaks of; `said`: the edge in words."""
    work = " and ".join(edge.operations) or said
    lacks = []
    if edge.kind == REQUIRES_MACHINING and edge.cash_hundredths is None:
        lacks.append(f"{PRICE} of {work}")
    if is_work(edge) and edge.hours_hundredths is None:
        lacks.append(f"{HOURS} of {work}")
    return tuple(lacks)


def lacking_of_part(part: Part) -> str:
    """That nobody has stated how long fitting it takes."""
    return f"{HOURS} to fit {part.label}"


def lacking_of_task(task: TaskKind) -> tuple[str, ...]:
    """What nobody has stated of doing the task: how long it takes, what it uses up or, sent out, its carriage."""
    hours = () if task.hours_hundredths is not None else (f"{HOURS} of {task.label}",)
    return (*hours, *(() if task.cash_stated else (f"{used_up_by(task)}{task.label}",)))


def used_up_by(task: TaskKind) -> str:
    """How the words of a missing price of the task begin."""
    return CARRIAGE if task.stage == "send-out" else CONSUMABLES


def used_up_unstated(lacking: Iterable[str]) -> tuple[str, ...]:
    """Which of consumables and carriage are among what is missing.

    >>> used_up_unstated(["hours of gearbox out", "price of consumables: gearbox out"])
    ('consumables',)
    """
    starts = (CONSUMABLES, CARRIAGE)
    found = {start for one in lacking for start in starts if one.startswith(start)}
    return tuple(start.removeprefix(f"{PRICE} of ").removesuffix(": ") for start in starts if start in found)


def lacking_of_fault(fault: StatedFault) -> tuple[str, ...]:
    """What nobody has stated of putting the fault right."""
    figures = ((PRICE, fault.cash_hundredths), (HOURS, fault.hours_hundredths))
    return tuple(f"{what} to put right: {fault.label}" for what, stated in figures if stated is None)


def hours_among(lacking: Iterable[str]) -> bool:
    """Are hours among what is missing?"""
    return any(one.startswith(HOURS) for one in lacking)


def prices_among(lacking: Iterable[str]) -> tuple[str, ...]:
    """Which prices are among what is missing."""
    return tuple(one for one in lacking if one.startswith(f"{PRICE} of "))
