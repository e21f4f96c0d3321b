"""What is uncertain about the assumed picks, as faults that sit on them, with what puts each right and what would tell.

One doubt per thing not known and remedy. A part of which nothing is known is replaced once, however many of its joints
may not close; of a known part each joint is a doubt of its own, on all pairs that hang on the same reading of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from graph.catalogue.terms import JointKind
from graph.conversion.document import Fault, Inspection
from graph.reading.assumed import is_empty
from graph.reading.demanded import Judged
from graph.reading.found import Found, Neighbourhood
from graph.reading.kinship import Kinship
from graph.reading.links import Way
from graph.reading.model import ASSUMED_EMPTY, PART_NEEDED, Doubt, Settling
from graph.reading.remedies import Remedies, Remedy
from graph.reading.settling import Looks
from graph.reading.sieve import Sieve
from graph.reading.tasks import UnitTasks

Open = Mapping[str, Mapping[tuple[str, str], tuple[str, ...]]]
Unsettled = Mapping[str, Mapping[str, None]]
NONE_OPEN: Mapping[str, Any] = {}
EVEN = Fraction(1, 2)  # what is reckoned with where nobody has stated odds, and named as not known
LOOK = "by eye"
EXACT = 10_000  # odds are handed on to this, so that a document carries them exactly


@dataclass(slots=True)
class DoubtfulThing:
    """One thing not known, with all that hangs on it. `joints`: at which it may not close, by id, with the odds there.

    `on`: candidate and link ids. `sure`: that it does not hold is known, and the remedy is due. `replaced`: the part
    not known that the remedy replaces. `to_see`: places, with their unit, of which only a look tells.
    `remedy`, `readings`, `ways_in`: of a dimension or condition, what puts it right, what is missing, what reaches it.
    """

    key: str
    text: str
    position: str = ""
    joints: dict[str, tuple[Fraction | None, str]] = field(default_factory=dict)
    pairs: dict[tuple[str, str, str], None] = field(default_factory=dict)
    on: dict[str, None] = field(default_factory=dict)
    sure: bool = False
    replaced: Found | None = None
    to_see: dict[str, str] = field(default_factory=dict)
    counts: dict[str, None] = field(default_factory=dict)
    remedy: Remedy | None = None
    readings: dict[tuple[str, str], None] = field(default_factory=dict)
    ways_in: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Doubted:
    """The doubts of a document: as faults, with what settles them before work starts, and with their words."""

    faults: tuple[Fault, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    doubts: Mapping[str, Doubt] = field(default_factory=dict)

    def tasks(self) -> set[str]:
        """The tasks that doubts and inspections name."""
        return {task for one in (*self.faults,) for task in one.reach} | {
            t for one in self.inspections for t in one.tasks
        }


class Doubts:
    """Reads the doubts of one question's assumed picks. `parted_by`: the tasks by which the units come apart."""

    def __init__(
        self, sieve: Sieve, around: Neighbourhood, work: UnitTasks, remedies: Remedies, looks: Looks,
        parted_by: tuple[str, ...] = (),
    ):  # fmt: skip
        self._sieve, self._around, self._work, self._remedies, self._looks = sieve, around, work, remedies, looks
        self._parted_by = parted_by
        self._kinship = Kinship(sieve)
        self._joints = sieve.index.catalogue.joint_kinds
        self._things: dict[str, DoubtfulThing] = {}

    def read(
        self, ways: Mapping[str, Sequence[Way]], lacking: Open = NONE_OPEN, unsettled: Unsettled = NONE_OPEN,
        judged: Judged | None = None,
    ) -> Doubted:  # fmt: skip
        """The doubts of the ways left, and of the suppositions left in their places.

        `lacking`, `unsettled`: lengths and conditions that nobody knows, as `graph.reading.build.Written` has them.
        `judged`: the question's demands, some of which may not be known on some choices.
        """
        for joint in self._around.joints:
            for way in ways[joint.id]:
                if way.assumed and not way.assembled:
                    self._add_way(joint, way)
                else:
                    self._add_suiting(joint, way)
        for position in sorted(self._around.gaps):
            self._add_supposed(position)
        for chain in sorted(lacking):
            self._add_chain(chain, lacking[chain])
        for text in sorted(unsettled):
            thing = self._thing(f"condition/{text}", f"whether it is so here: {text}", "", None)
            thing.on.update(dict.fromkeys(unsettled[text]))
            thing.remedy = Remedy("none is known: it may rule this out").with_unpriced("what it costs if it is not so")
        for text, choices in judged.unsettled.items() if judged else ():
            thing = self._thing(f"demand/{text}", f"whether it comes to what is asked: {text}", "", None)
            thing.on.update(dict.fromkeys(choices))
            thing.readings.update(judged.readings.get(text, {}) if judged else {})
            thing.remedy = Remedy("none is known: it may rule this out").with_unpriced("what it costs if it is not so")
        made = [self._made(self._things[key]) for key in sorted(self._things)]
        return Doubted(
            tuple(fault for fault, _, _ in made),
            tuple(look for _, _, looks in made for look in looks),
            {fault.id: doubt for fault, doubt, _ in made},
        )

    def _add_way(self, joint: JointKind, way: Way) -> None:
        ends = self._ends(joint, way)
        replaced = self._replaced(joint, ends)
        if replaced is not None and replaced.how == PART_NEEDED:
            self._add_suiting(joint, way)
            return
        within = not way.estimated and self._is_within(joint, ends)
        if replaced is not None and replaced.gap is not None:
            key = f"{replaced.gap.position.id}/{replaced.part}"
            text = f"{self._label(replaced)}: whether it can stay"
            thing = self._thing(key, text, replaced.gap.position.id, replaced)
        else:
            thing = self._thing(*self._joint_key(joint, ends, way, within), "", None)
        thing.sure |= way.estimated
        thing.joints[joint.id] = (Fraction(1), "the arithmetic") if way.estimated else _odds(joint, within)
        thing.counts[joint.odds_key(within)] = None
        thing.pairs[(joint.id, *way.ends)] = None
        thing.on[way.id] = None

    def _add_suiting(self, joint: JointKind, way: Way) -> None:
        """What is bought to suit closes its joints: they hang on its being bought, and on nothing else."""
        for place, end in zip(joint.between, self._ends(joint, way), strict=True):
            if end.how == PART_NEEDED:
                self._needed(end, place).on[way.id] = None

    def _joint_key(self, joint: JointKind, ends: tuple[Found, Found], way: Way, within: bool) -> tuple[str, str]:
        """One reading of the end that stays settles all its pairs, so it names the doubt; where all of that is read,
        each part from outside is a doubt of its own."""
        stays = self._staying(joint, ends)
        words = (
            " and ".join(self._label(end) for end in ends) if not ends[0].is_bought and not ends[1].is_bought else ""
        )
        if way.estimated:
            words = words or f"{self._label(stays)} and what is fitted to it"
            return f"{joint.id}/{'+'.join(way.ends)} remedied", f"{joint.label}: {words} do not close as they are"
        for end in ends:
            if end.is_bought and self._looks.is_only_unread(end.part, joint.id, way.ends):
                words = f"{self._label(end)} and {self._label(stays)}"
                return f"{joint.id}/{'+'.join(way.ends)}", f"{joint.label}: nobody has stated whether {words} close"
        of = f"{joint.id}/{stays.part}" + (" within" if within else "")
        said = f"whether {words} close" if words else f"that it closes on {self._label(stays)}"
        return of, f"{joint.label}: nobody has stated {said}"

    def _staying(self, joint: JointKind, ends: tuple[Found, Found]) -> Found:
        """The end that is not brought in from outside; of two, the one that the remedy leaves alone."""
        here = [end for end in ends if not end.is_bought]
        if len(here) == 2 and joint.remedy_kind and self._is_of(joint, 0, joint.remedy_kind):
            return here[1]
        return here[0]

    def _add_supposed(self, position: str) -> None:
        """The doubt of a place that a part is needed for, or that may hold one after all."""
        gap = self._around.gaps[position]
        found = self._around.positions.get(position, {}).get(gap.name)
        if found is None:
            return
        key = f"{position}/{found.part}"
        if gap.how == PART_NEEDED:
            thing = self._needed(found, position)
        elif is_empty(found):
            self._add_empty(position, key, self._label(found))
            return
        else:
            return
        thing.on[key] = None

    def _needed(self, found: Found, position: str) -> DoubtfulThing:
        """That a part is needed here is no doubt, it is due."""
        thing = self._thing(f"{position}/{found.part}", self._label(found), position, found)
        thing.sure = True
        return thing

    def _add_empty(self, position: str, key: str, text: str) -> None:
        """What its joints to other units cost, as if it were there; what is inside its own unit belongs there."""
        kinds, gaps = self._sieve.index.catalogue.position_kinds, self._around.gaps
        unit = gaps[position].unit
        for joint in self._joints_at(position):
            far = joint.between[1 - joint.between.index(position)]
            if self._sieve.question.unit_of(kinds[far].owner) in ("", unit):
                continue
            if far in gaps and gaps[far].how == ASSUMED_EMPTY:  # there is such a joint only if both are there
                thing = self._thing(
                    f"{joint.id}/none-known", f"{joint.label}: nobody has said that there is none", "", None
                )
            else:
                thing = self._thing(key, text, position, None)
            thing.joints[joint.id] = _odds(joint, within=False)
            thing.on[key] = None
            thing.to_see[position] = unit

    def _add_chain(self, chain: str, lacking: Mapping[tuple[str, str], tuple[str, ...]]) -> None:
        """One doubt for the dimension, whatever leaves it open: it is put right once."""
        kind = self._sieve.index.catalogue.chain_kinds[chain]
        thing = self._thing(f"length/{chain}", f"{kind.label}: not every length that it takes is known", "", None)
        thing.on.update(dict.fromkeys(choice for choice, _ in lacking))
        thing.readings.update(dict.fromkeys((part, one) for (_, part), wanted in lacking.items() for one in wanted))
        kinds = self._sieve.index.catalogue.position_kinds
        thing.ways_in = (self._parted_by, *(kinds[position].fit_tasks for position in kind.positions))
        remedy = kind.remedy.rstrip(".") or f"no usual remedy is known for {kind.label}"
        meant = kind.remedy.rstrip(".").replace("; ", " or ") or f"a remedy at {kind.label}"
        thing.remedy = Remedy(remedy).with_unpriced(f"price of {meant}", f"hours of {meant}")

    def _thing(self, key: str, text: str, position: str, replaced: Found | None) -> DoubtfulThing:
        return self._things.setdefault(key, DoubtfulThing(key, text, position, replaced=replaced))

    def _made(self, thing: DoubtfulThing) -> tuple[Fault, Doubt, tuple[Inspection, ...]]:
        joints = [self._joints[joint] for joint in sorted(thing.joints)]
        reach = self._reach(thing, joints)
        remedy = self._remedy(thing, joints)
        if not reach and (thing.joints or thing.replaced):
            remedy = remedy.with_unpriced("the work to reach it")
        odds, source, known = _odds_of(thing)
        if not known:
            remedy = remedy.with_unpriced("odds")
        id_ = f"doubt/{thing.key}"
        cash, hours = remedy.cash_hundredths, remedy.hours_hundredths
        fault = Fault(id_, thing.text, "", odds, cash, hours, reach, bool(reach), tuple(thing.on))
        looks, settles = self._settled_by(id_, thing, reach)
        if thing.replaced is not None:
            settles = tuple(one if one.quantity else replace(one, of=thing.replaced.part) for one in settles)
        return fault, self._doubt(thing, joints, source, remedy, settles), looks

    def _settled_by(
        self, fault: str, thing: DoubtfulThing, reach: tuple[str, ...]
    ) -> tuple[tuple[Inspection, ...], tuple[Settling, ...]]:
        if thing.sure:
            return (), ()
        if thing.to_see:
            return (), tuple(Settling("", place, unit, LOOK) for place, unit in sorted(thing.to_see.items()))
        bought = {
            part
            for joint, *pair in thing.pairs
            for place, part in zip(self._joints[joint].between, pair, strict=True)
            if self._around.positions[place][part].is_bought
        }
        return self._looks.of(fault, thing.text, tuple(thing.pairs), tuple(thing.readings), bought, reach)

    def _doubt(
        self,
        thing: DoubtfulThing,
        joints: Sequence[JointKind],
        source: str,
        remedy: Remedy,
        settles: tuple[Settling, ...],
    ) -> Doubt:
        known = self._sieve.index.catalogue.parts
        parts = dict.fromkeys(part for pair in thing.pairs for part in pair[1:] if part in known)
        return Doubt(
            fault=f"doubt/{thing.key}", text=thing.text, joint=joints[0].id if len(joints) == 1 else "",
            position=thing.position, parts=tuple(parts), odds_source=source, remedy=remedy.text,
            cost_source=remedy.source, unpriced=remedy.unpriced, settles=settles, counts_as=_counts_as(thing),
        )  # fmt: skip

    def _remedy(self, thing: DoubtfulThing, joints: Sequence[JointKind]) -> Remedy:
        if thing.remedy is not None:
            return thing.remedy
        if thing.replaced is not None and thing.replaced.gap is not None:
            return self._remedies.of_part(thing.replaced.gap.position, self._joints_at(thing.position))
        each = [self._remedies.of_joint(joint) for joint in joints]
        unpriced = tuple(dict.fromkeys(what for one in each for what in one.unpriced))
        source = "; ".join(dict.fromkeys(one.source for one in each if one.source))
        return Remedy(
            "; ".join(dict.fromkeys(one.text for one in each)), sum(one.cash_hundredths for one in each),
            sum(one.hours_hundredths for one in each), source, unpriced,
        )  # fmt: skip

    def _reach(self, thing: DoubtfulThing, joints: Sequence[JointKind]) -> tuple[str, ...]:
        """The tasks of the joints, else the shorter of their positions', else those of the place itself."""
        kinds = self._sieve.index.catalogue.position_kinds
        if thing.replaced is not None and thing.position:
            return self._work.here(kinds[thing.position].fit_tasks)
        tasks = list(self._shortest(thing.ways_in))
        for joint in joints:
            tasks += joint.tasks or self._shortest(kinds[position].fit_tasks for position in joint.between)
        return self._work.here(tasks)

    def _shortest(self, ways_in: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
        """The tasks that take the least time, with all they come after; none where none are known."""
        return min((way for way in ways_in if way), key=lambda way: (self._hours(way), way), default=())

    def _hours(self, tasks: Iterable[str]) -> int:
        return sum(task.hours_hundredths for task in self._work.closed(tasks))

    def _is_within(self, joint: JointKind, ends: tuple[Found, Found]) -> bool:
        return joint.odds_within is not None and self._kinship.is_of_one_family(joint, *ends)

    def _replaced(self, joint: JointKind, ends: tuple[Found, Found]) -> Found | None:
        """The end that is not known and that the joint's remedy replaces."""
        for side, end in enumerate(ends):
            if end.gap is not None and joint.remedy_kind and self._is_of(joint, side, joint.remedy_kind):
                return end
        return next((end for end in ends if end.how == PART_NEEDED), None)

    def _is_of(self, joint: JointKind, side: int, kind: str) -> bool:
        held = self._sieve.index.catalogue.position_kinds[joint.between[side]].part_kinds
        return not self._sieve.index.kinds_of(kind).isdisjoint(held)

    def _joints_at(self, position: str) -> list[JointKind]:
        return [joint for joint in self._around.joints if position in joint.between]

    def _ends(self, joint: JointKind, way: Way) -> tuple[Found, Found]:
        first, second = (
            self._around.positions[place][part] for place, part in zip(joint.between, way.ends, strict=True)
        )
        return first, second

    def _label(self, found: Found) -> str:
        if found.gap is not None:
            return found.gap.text(self._sieve.label(found.gap.unit))
        return self._sieve.label(found.part)


def _odds(joint: JointKind, within: bool) -> tuple[Fraction | None, str]:
    return joint.odds(within), joint.source_of_odds(within)


def _counts_as(thing: DoubtfulThing) -> str:
    """What a finding of it teaches: the joint's odds, where it is about one joint that is there and may close."""
    one_joint = len(thing.joints) == 1 and len(thing.counts) == 1
    return next(iter(thing.counts)) if one_joint and not thing.sure and not thing.to_see else ""


def _odds_of(thing: DoubtfulThing) -> tuple[Fraction, str, bool]:
    """The odds that one of its joints does not close, where from, and whether all of them are known."""
    if thing.sure:
        return Fraction(1), "known", True
    if not thing.joints:
        return EVEN, "reckoned as even", False
    holds = Fraction(1)
    for odds, _ in thing.joints.values():
        holds *= 1 - (EVEN if odds is None else odds)
    known = all(odds is not None for odds, _ in thing.joints.values())
    source = "; ".join(dict.fromkeys(source for _, source in thing.joints.values() if source))
    return _exact(1 - holds), source or "reckoned as even", known


def _exact(odds: Fraction) -> Fraction:
    """To a ten-thousandth, never rounded to certain either way."""
    near = Fraction(round(odds * EXACT), EXACT)
    return near if near not in (0, 1) or odds in (0, 1) else Fraction(1 if near == 0 else EXACT - 1, EXACT)
