"""The question as a sieve: which parts and edges may be used, what is still to confirm, and what was left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from graph.catalogue.model import HAS_NONE, REPLACES, REQUIRES_MACHINING, Condition, Edge, Part
from graph.catalogue.relations import MATING
from graph.lookups.index import CatalogueIndex
from graph.reading.conditions import FAILS, Settled, settle
from graph.reading.model import AVOIDED, BELOW_FLOOR, CONDITION_FALSE, NO_PRICE, UNUSABLE, LeftOut
from graph.reading.question import Question

WORST_RANK = 99
FLOORED = MATING | {REPLACES}  # statements that one part can stand in for, or mate with, another


class Sieve:
    """One question put to one catalogue; every part and edge is judged once."""

    def __init__(
        self, index: CatalogueIndex, question: Question, no_use_for: Iterable[str] = (),
        unpriced: frozenset[str] = frozenset(),
    ):  # fmt: skip
        """`no_use_for`: part kinds that the kind of job has no use for. `unpriced`: parts that may be used though
        nobody has priced them."""
        self.unpriced = unpriced
        self.index = index
        self.question = question
        self.own = frozenset(question.own)
        self.context = {**{f: set(index.lineage(u)) for f, u in _asked(question)}, **question.context}
        self.unit_families = frozenset(one for unit in question.units for one in index.lineage(unit))
        self._avoid = frozenset(question.avoid)
        self._no_use_for = frozenset(no_use_for)
        self._floor = self.rank(question.evidence_floor) if question.evidence_floor else None
        self._settled: dict[Condition, Settled] = {}
        self._parts: dict[str, bool] = {}
        self._edges: dict[str, bool] = {}
        self._left_out: dict[tuple[str, str, str], LeftOut] = {}

    def part(self, part_id: str) -> Part:
        """The part with this id, which must be known."""
        return self.index.catalogue.parts[part_id]

    def admits_part(self, part_id: str, where: str) -> bool:
        """May the part be used? Where not, the reason is put on record."""
        known = self._parts.get(part_id)
        if known is None:
            known = self._parts[part_id] = self._judge_part(self.part(part_id), where)
        return known

    def admits_bought(self, part_id: str, where: str) -> bool:
        """May the part be used, and can it be had: is it in hand, or is its price known?

        A missing price is no price of nothing: the cheapest route must not rest on it.
        """
        part = self.part(part_id)
        if part.cash_hundredths is None and part_id not in self.own and part_id not in self.unpriced:
            text = f"{part.label}: no price is noted; give it one, or ask with it in hand"
            self.leave_out(LeftOut(part_id, "part", where, NO_PRICE, text))
            return False
        if self.question.from_shelf and not part.in_stock and part_id not in self.own:
            self.leave_out(LeftOut(part_id, "part", where, AVOIDED, f"{part.label}: not on the shelf"))
            return False
        return self.admits_part(part_id, where)

    def is_sound(self, condition: str) -> bool:
        """May a part in this condition go into a job as it is? What nobody has looked at may."""
        known = self.index.catalogue.part_conditions.get(condition)
        return known is None or known.usable

    def admits_found(self, part_id: str, where: str) -> bool:
        """May the part stay where a unit has it? Where not, the reason is put on record."""
        part = self.part(part_id)
        condition = part.found_condition or part.condition
        if not self.is_sound(condition):
            self._leave_out_unsound(part, condition, where)
            return False
        return self.admits_part(part_id, where)

    def admits_edge(self, edge: Edge) -> bool:
        """May the statement be relied on? Where not, the reason is put on record."""
        known = self._edges.get(edge.id)
        if known is None:
            known = self._edges[edge.id] = self._judge_edge(edge)
        return known

    def settle(self, conditions: Iterable[Condition]) -> tuple[Settled, ...]:
        """The conditions with their states."""
        if not conditions:
            return ()
        return tuple(self._settle(condition) for condition in conditions)

    def avoids(self, part: Part) -> bool:
        """Is the part, its family or its kind among what the question avoids?"""
        return bool(self._avoid) and not (
            self._avoid.isdisjoint(self.index.lineage(part.id))
            and self._avoid.isdisjoint(self.index.kinds_of(part.kind))
        )

    def level(self, edge: Edge) -> str:
        """How the edge is known: its own level, or its note's; "" where nothing is noted."""
        if edge.evidence or not edge.note:
            return edge.evidence
        note = self.index.catalogue.notes.get(edge.note)
        return note.evidence if note else ""

    def rank(self, level: str) -> int:
        """1 is the best; a level that is not stated ranks after all that are."""
        known = self.index.catalogue.evidence_levels.get(level)
        return known.rank if known else WORST_RANK

    def below_floor(self, level: str) -> bool:
        """Is the level weaker than the question's floor?"""
        return self._floor is not None and self.rank(level) > self._floor

    def leave_out(self, left_out: LeftOut) -> None:
        """Put on record that something is not used; the first record of a thing at a place stands."""
        self._left_out.setdefault((left_out.where, left_out.what, left_out.reason), left_out)

    @contextmanager
    def unrecorded(self) -> Iterator[None]:
        """Nothing that is left out meanwhile is put on record."""
        before = dict(self._left_out)
        try:
            yield
        finally:
            self._left_out = before

    def left_out(self) -> tuple[LeftOut, ...]:
        """Everything on record, by place."""
        return tuple(self._left_out[key] for key in sorted(self._left_out))

    def _settle(self, condition: Condition) -> Settled:
        known = self._settled.get(condition)
        if known is None:
            known = self._settled[condition] = Settled(condition, settle(condition, self.context))
        return known

    def _judge_part(self, part: Part, where: str) -> bool:
        if self.avoids(part):
            self.leave_out(LeftOut(part.id, "part", where, AVOIDED, f"{part.label}: to be avoided"))
            return False
        if self._no_use_for and not self._no_use_for.isdisjoint(self.index.kinds_of(part.kind)):
            self.leave_out(LeftOut(part.id, "part", where, UNUSABLE, f"{part.label}: of no use in such a job"))
            return False
        if not self.is_sound(part.condition):
            self._leave_out_unsound(part, part.condition, where)
            return False
        failed = [one.text for one in self.settle(part.conditions) if one.state == FAILS]
        if failed:
            text = f"{part.label}: only {'; '.join(failed)}, which is not so here"
            self.leave_out(LeftOut(part.id, "part", where, CONDITION_FALSE, text))
        return not failed

    def _leave_out_unsound(self, part: Part, condition: str, where: str) -> None:
        label = self.index.catalogue.part_conditions[condition].label
        text = f"{part.label}: {label}, so it cannot be used as it is"
        self.leave_out(LeftOut(part.id, "part", where, UNUSABLE, text))

    def _judge_edge(self, edge: Edge) -> bool:
        where = edge.joint or edge.position or edge.target
        failed = [one.text for one in self.settle(edge.conditions) if one.state == FAILS]
        if failed:
            reason, told = CONDITION_FALSE, f"only {'; '.join(failed)}, which is not so here"
        elif edge.kind == REQUIRES_MACHINING and self.question.without_machining:
            reason, told = AVOIDED, "nothing is to be machined"
        elif edge.kind in FLOORED and self.below_floor(self.level(edge)):
            reason, told = BELOW_FLOOR, f"known only as {self.level_label(self.level(edge))}"
        else:
            return True
        text = f"{self.say(edge)}: {told}"
        self.leave_out(LeftOut(edge.id, "edge", where, reason, text, (edge.id,), edge.miss_um))
        return False

    def level_label(self, level: str) -> str:
        """The level in words."""
        known = self.index.catalogue.evidence_levels.get(level)
        return known.label if known else level or "nothing noted"

    def say(self, edge: Edge) -> str:
        """The edge in words: source, kind, target."""
        if edge.kind == HAS_NONE:
            place = self.index.catalogue.position_kinds.get(edge.position)
            return f"{self.label(edge.source)} has none: {place.label if place else edge.position}"
        return f"{self.label(edge.source)} {edge.kind.replace('-', ' ')} {self.label(edge.target)}"

    def label(self, part_id: str) -> str:
        """The label of a part, position or feature, or the id itself."""
        known = self.index.catalogue
        found = known.parts.get(part_id) or known.features.get(part_id) or known.chain_kinds.get(part_id)
        return found.label if found else part_id


def _asked(question: Question) -> tuple[tuple[str, str], ...]:
    named = (("gearbox", question.gearbox), ("engine", question.engine), ("vehicle", question.vehicle))
    return tuple((what, unit) for what, unit in named if unit)
