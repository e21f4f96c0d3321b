"""What a route between two units costs at least: from the units' parts alone, then from the conversion document.

Both are true lower bounds for every objective, because no cost is negative and every joint must close.

From the parts: each joint between the two units is closed by parts of different units, so its own tasks are due; and
where the two parts found do not mate, a part must be bought that mates with one of them, or one that stands between,
or one for each side. Joints whose places and intermediate kinds are distinct need distinct parts, so their least
prices add up. From the document: each place picks one candidate and each joint one link, so their least costs add up,
and the tasks that all candidates of a place or all links of a joint ask for are due once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import inf

from graph.catalogue.model import DOES_NOT_FIT, UNIT_KINDS, Part
from graph.catalogue.terms import JointKind
from graph.conversion.closure import with_all_before
from graph.conversion.document import CandidateOrLink, Conversion
from graph.reach.computed import Computed
from graph.reading import CatalogueIndex, Question
from graph.reading.donors import parts_of_donors
from graph.reading.tasks import UnitTasks, assembly_meant

Weigh = Callable[[int, int], int]  # cash and hours in hundredths -> the objective in ten-thousandths


def weigh_for(objective: str, rate_hundredths: int) -> Weigh:
    """How cash and hours count for an objective, in whole ten-thousandths of its unit.

    >>> weigh_for("total", 6000)(100, 50)
    310000
    """
    if objective == "cash":
        return lambda cash, hours: cash * 100
    if objective == "hours":
        return lambda cash, hours: hours * 100
    return lambda cash, hours: cash * 100 + rate_hundredths * hours


def document_bound(conversion: Conversion, weigh: Weigh) -> float:
    """What every route of the document costs at least; infinite where a place or a joint has no choice."""
    least, due = 0, set[str]()
    for choices in (*(p.candidates for p in conversion.positions), *(j.links for j in conversion.joints)):
        if not choices:
            return inf
        least += min(weigh(one.cash_hundredths, one.hours_hundredths) for one in choices)
        due |= _asked_by_all(choices)
    tasks = {task.id: task for task in conversion.tasks}
    closed = with_all_before(due, lambda task: tasks[task].after)
    return least + sum(weigh(tasks[task].cash_hundredths, tasks[task].hours_hundredths) for task in closed)


def _asked_by_all(choices: Iterable[CandidateOrLink]) -> set[str]:
    asked = [set(one.tasks) for one in choices]
    return set.intersection(*asked)


class PartsBound:
    """The bound from the parts found, for one question and all units that may take one side of it."""

    def __init__(self, index: CatalogueIndex, question: Question, side: str, weigh: Weigh):
        """`side`: gearbox or engine, the unit that varies; the question names the others."""
        self.index, self.question, self.side, self.weigh = index, question, side, weigh
        self.own = frozenset(question.own) | parts_of_donors(index, question)
        self.known = index.catalogue
        self._least_of_kinds: dict[str, float] = {}
        self._open: dict[tuple[str, str, str], float] = {}
        self._mates: dict[tuple[str, str], float] = {}
        self._due: dict[tuple[str, ...], int] = {}
        self.computed = Computed(index)
        self._fixed = {unit: index.contains(unit) for unit in self._others()}

    def _others(self) -> list[str]:
        return [unit for what in UNIT_KINDS if what != self.side and (unit := self.question.unit_of(what))]

    def of(self, unit: str) -> float:
        """What a route with this unit costs at least, in ten-thousandths."""
        here = self.index.contains(unit)
        joints, opened = [], []
        for joint in self.known.joint_kinds.values():
            near, far = self._sides(joint, here)
            if near is None or far is None:
                continue
            joints.append(joint.id)
            cost = min((self._closed_or_open(one, other, joint) for one in near for other in far), default=0.0)
            if cost > 0:
                opened.append((cost, joint))
        return self._tasks_due(tuple(joints), unit) + _of_distinct(opened)

    def _sides(self, joint: JointKind, here: object) -> tuple[list[str] | None, list[str] | None]:
        """The parts found at the two ends, where one belongs to this unit alone and the other to another alone."""
        assert isinstance(here, dict)
        found: list[list[str] | None] = [None, None]
        for place, position in enumerate(joint.between):
            owners = [held for held in (here, *self._fixed.values()) if position in held]
            if len(owners) != 1:
                return None, None
            found[place] = [edge.target for edge in owners[0][position]]
        mine = [position in here for position in joint.between]
        return (found[0], found[1]) if mine[0] != mine[1] else (None, None)

    def _tasks_due(self, joints: tuple[str, ...], unit: str) -> int:
        """The tasks of the joints themselves, with all they come after."""
        family = self.index.lineage(unit)[-1]
        placed = replace(self.question, gearbox=unit) if self.side == "gearbox" else replace(self.question, engine=unit)
        assembly = assembly_meant(self.index, placed)
        key = (*joints, family if any(self.index.stand_ins(task) for task in self.known.tasks) else "", assembly)
        if key not in self._due:
            units = tuple(unit if what == self.side else self.question.unit_of(what) for what in UNIT_KINDS)
            work = UnitTasks(self.index, tuple(filter(None, units)), assembly)
            tasks = work.closed(task for joint in joints for task in self.known.joint_kinds[joint].tasks)
            self._due[key] = sum(self.weigh(task.cash_hundredths, task.hours_hundredths) for task in tasks)
        return self._due[key]

    def _closed_or_open(self, one: str, other: str, joint: JointKind) -> float:
        """What closing the joint costs at least where these two were found; 0 where they mate."""
        key = (one, other, joint.id)
        known = self._open.get(key)
        if known is None and self._may_be_computed(one, other, joint):
            known = self._open[key] = 0.0
        if known is None:
            said = self.index.said_of(one, other, joint.id)
            mating = [e.edge for e in said if e.edge.kind != DOES_NOT_FIT]
            if mating:
                stated = ((edge.cash_hundredths or 0, edge.hours_hundredths or 0) for edge in mating)
                known = float(min(self._weigh_fitting(cash, hours) for cash, hours in stated))
            else:
                known = inf
            known = self._open[key] = min(known, self._remedy(one, other, joint)) if known else 0.0
        return known

    def _may_be_computed(self, one: str, other: str, joint: JointKind) -> bool:
        """May arithmetic close the joint, between these two or with a measured part in place of one of them?"""
        asked, measured = self.computed.asks(joint), self.computed.measured
        return asked is not None and (len(asked) == 1 or one in measured or other in measured)

    def _remedy(self, one: str, other: str, joint: JointKind) -> float:
        """A part that mates with one of the two, or one for each side."""
        if self.computed.asks(joint) is not None:
            return 0.0  # two measured parts may be put in, of which the catalogue need not know one
        first, second = (self._least_at(position) for position in joint.between)
        return min(self._least_mate(one, joint.id), self._least_mate(other, joint.id), first + second)

    def _least_mate(self, part: str, joint: str) -> float:
        """The cheapest part to be had that mates with this one at the joint, intermediate parts included."""
        key = (part, joint)
        known = self._mates.get(key)
        if known is None:
            mates = self.index.statements(part, joint)
            known = min((self._price(self.known.parts[mate]) for mate in mates), default=inf)
            self._mates[key] = known
        return known

    def _least_at(self, position: str) -> float:
        """The cheapest part to be had of the kinds that the place holds; 0 once the graph is too large to look."""
        if position not in self._least_of_kinds:
            wanted = set(self.known.position_kinds[position].part_kinds)
            found = 0.0
            if len(self.known.parts) <= LOOKED_THROUGH:
                parts = (p for p in self.known.parts.values() if not wanted.isdisjoint(self.index.kinds_of(p.kind)))
                found = min((self._price(part) for part in parts), default=inf)
            self._least_of_kinds[position] = found
        return self._least_of_kinds[position]

    def _weigh_fitting(self, cash: int, hours: int) -> int:
        """Hours of fitting that a shop's record may shorten are no bound, so they count for nothing."""
        return self.weigh(cash, 0 if self.known.fitting_hours else hours)

    def _price(self, part: Part) -> float:
        if part.id in self.own:
            return float(self._weigh_fitting(0, part.hours_hundredths or 0))
        if part.abstract or part.cash_hundredths is None:
            return inf
        return float(self._weigh_fitting(part.cash_hundredths, part.hours_hundredths or 0))


LOOKED_THROUGH = 20_000  # parts; more are not gone through for the sake of a bound


def _of_distinct(opened: list[tuple[float, JointKind]]) -> float:
    """The sum over joints that share neither a place nor a kind of part between, dearest first."""
    taken: set[str] = set()
    least = 0.0
    for cost, joint in sorted(opened, key=lambda one: (-one[0], one[1].id)):
        touched = {*joint.between, *joint.via_kinds}
        if taken.isdisjoint(touched):
            taken |= touched
            least += cost
    return least
