"""The work behind the choices: only the tasks that a choice or a fault's reach asks for, with all they come after."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from graph.catalogue.model import Part
from graph.catalogue.terms import TaskKind
from graph.conversion.closure import with_all_before
from graph.conversion.document import Task
from graph.errors import InvalidFacts, Problem
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.reading.untold import lacking_of_task

BENCH = "bench"


def assembly_meant(index: CatalogueIndex, question: Question) -> str:
    """The kind of job: as the question names it, or the one that gearbox and engine both were made for; else ""."""
    return question.assembly or assembly_shared(index, (question.gearbox, question.engine))


def assembly_shared(index: CatalogueIndex, units: Iterable[str]) -> str:
    """The one kind of job that all these units were made for; "" for none, for several, or of no units."""
    made_for = [set(index.made_for(unit)) for unit in units]
    shared = set.intersection(*made_for) if made_for else set()
    return shared.pop() if len(shared) == 1 else ""


class UnitTasks:
    """Tasks as they are for the asked units: a task may stand in for another on one unit or family, or in one assembly.

    So a boat is parted as boats are, also where nobody says which boat: no propshaft and no crossmember come off.
    """

    def __init__(self, index: CatalogueIndex, units: tuple[str, ...], assembly: str = ""):
        self._index = index
        # The unit itself before its family, gearbox before engine before vehicle, the kind of job after all of them.
        lineages = [index.lineage(unit) for unit in units]
        longest = max((len(lineage) for lineage in lineages), default=0)
        ranked = [lineage[at] for at in range(longest) for lineage in lineages if at < len(lineage)]
        ranked += [assembly] if assembly else []
        self._place = {unit: place for place, unit in reversed(list(enumerate(ranked)))}
        self._stands_for: dict[str, str] = {}
        self.on_donors: dict[str, TaskKind] = {}  # the work of stripping donors, by id

    def here(self, tasks: Iterable[str]) -> tuple[str, ...]:
        """The tasks, each replaced by what stands in for it here."""
        return tuple(dict.fromkeys(self._here(task) for task in tasks))

    def after(self, task: str) -> tuple[str, ...]:
        """What must be done before the task, here."""
        return self.here(self._known(task).after)

    def closed(self, tasks: Iterable[str]) -> tuple[Task, ...]:
        """The tasks and all that they come after, in order of ids."""
        needed: dict[str, tuple[str, ...]] = {}

        def after(task: str) -> tuple[str, ...]:
            needed[task] = self.after(task)
            return needed[task]

        with_all_before(self.here(tasks), after)
        return tuple(self._as_task(self._known(task), needed[task]) for task in sorted(needed))

    def all_stated(self, tasks: Iterable[str]) -> bool:
        """Has somebody stated the hours of these tasks and of all that they come after, and what they use up?"""
        return not any(lacking_of_task(self._known(task.id)) for task in self.closed(tasks))

    def strip(self, donor: Part, tasks: Iterable[str]) -> tuple[str, ...]:
        """The bench work that frees a part of the donor, as tasks of their own: paid once for all it gives.

        A donor stands on the bench: getting it out of its vehicle, and what is sent out, is none of this job's work.
        """
        found: dict[str, None] = {}
        waiting = list(tasks)
        while waiting:
            known = self._known(waiting.pop())
            waiting += known.after
            if known.stage == BENCH:
                found[self._on_donor(donor, known)] = None
        return tuple(found)

    def _on_donor(self, donor: Part, known: TaskKind) -> str:
        name = f"{known.id}-on-{donor.id}"
        if name not in self.on_donors:
            after = tuple(self._on_donor(donor, self._known(one)) for one in known.after if self._is_on_bench(one))
            label = f"On the donor {donor.label}: {known.label}"
            self.on_donors[name] = replace(known, id=name, label=label, after=after, refit="")
        return name

    def _is_on_bench(self, task: str) -> bool:
        return self._known(task).stage == BENCH

    def _here(self, task: str) -> str:
        known = self._stands_for.get(task)
        if known is None:
            fitting = [
                (min(self._place[unit] for unit in one.only_for if unit in self._place), one.id)
                for one in self._index.stand_ins(task) if any(unit in self._place for unit in one.only_for)
            ]  # fmt: skip
            known = self._stands_for[task] = min(fitting)[1] if fitting else task
        return known

    def _known(self, task: str) -> TaskKind:
        known = self.on_donors.get(task) or self._index.catalogue.tasks.get(task)
        if known is None:
            raise InvalidFacts([Problem(f"task {task}", "named by a fact, but not described; add it or mend the name")])
        return known

    @staticmethod
    def _as_task(known: TaskKind, after: tuple[str, ...]) -> Task:
        return Task(known.id, known.label, after, known.cash_hundredths or 0, known.hours_hundredths or 0, known.days)
