"""What an answer is built on: the conversion document, the reading and catalogue behind it, and look-ups by id.

A mailed document has neither reading nor catalogue; it still makes a readable answer, without notes and cautions.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from graph.answer import words
from graph.answer.model.lines import Named
from graph.catalogue.model import DOES_NOT_FIT, Catalogue, Edge
from graph.catalogue.terms import TaskKind
from graph.conversion.closure import with_all_before
from graph.conversion.document import Candidate, CandidateOrLink, Conversion, Fault, Joint, Link, Position, Task
from graph.lookups.findings import COMPUTED
from graph.lookups.index import CatalogueIndex
from graph.reading.model import (
    ASSUMED_EMPTY,
    COMES_WITH,
    DOES_NOT_FIT_HERE,
    FROM_DONOR,
    OVERRULED,
    PART_NEEDED,
    Doubt,
    LeftOut,
)
from graph.reading.outcome import Reading
from graph.reading.units import UNIT
from graph.reading.untold import lacking_of_task

NOTHING_KNOWN = Catalogue()
NOTHING_SAID = Doubt(fault="", text="")


@dataclass(frozen=True)
class Ground:
    """`reading`: where the document's choices came from, `index`: of what; None for a document that came by itself."""

    conversion: Conversion
    catalogue: Catalogue = NOTHING_KNOWN
    reading: Reading | None = None
    index: CatalogueIndex | None = None

    @cached_property
    def kept(self) -> dict[tuple[str, str], Any]:
        """What was made of a choice once, for the other routes that pick it too. Keys: (what, id)."""
        return {}

    @cached_property
    def candidates(self) -> dict[str, Candidate]:
        return {c.id: c for position in self.conversion.positions for c in position.candidates}

    @cached_property
    def links(self) -> dict[str, Link]:
        return {link.id: link for joint in self.conversion.joints for link in joint.links}

    @cached_property
    def positions(self) -> dict[str, Position]:
        return {position.id: position for position in self.conversion.positions}

    @cached_property
    def place_of(self) -> dict[str, Position]:
        """Per name of a part, the position that it may hold."""
        return {c.part: position for position in self.conversion.positions for c in position.candidates}

    @cached_property
    def place_of_choice(self) -> dict[str, Position]:
        """Per candidate id, the position that it may hold."""
        return {c.id: position for position in self.conversion.positions for c in position.candidates}

    def unit_at(self, position_kind: str) -> str:
        """The asked unit that places of this kind belong to; "" where none is known."""
        kind = self.catalogue.position_kinds.get(position_kind)
        return self.reading.question.unit_of(kind.owner) if kind and self.reading else ""

    def whose(self, of: str) -> Named | None:
        """What a reading is taken of: a part; of one that nobody has stated, the unit whose place it has."""
        if of in self.catalogue.parts:
            return self.named(of)
        place = self.place_of.get(of)
        unit = self.unit_at(place.kind) if place else ""
        return Named(unit, f"{place.label or place.id} of {self.part_label(unit)}") if place and unit else None

    @cached_property
    def joints(self) -> dict[str, Joint]:
        return {joint.id: joint for joint in self.conversion.joints}

    @cached_property
    def tasks(self) -> dict[str, Task]:
        return {task.id: task for task in self.conversion.tasks}

    @cached_property
    def joint_of(self) -> dict[str, Joint]:
        """Per link id, the joint that it closes."""
        return {link.id: joint for joint in self.conversion.joints for link in joint.links}

    @cached_property
    def closures(self) -> dict[str, frozenset[str]]:
        """Per task: itself and all it comes after."""
        known = self.tasks

        def after(task: str) -> tuple[str, ...]:
            return known[task].after if task in known else ()

        return {task: frozenset(with_all_before([task], after)) for task in known}

    def closed(self, tasks: Iterable[str]) -> frozenset[str]:
        """The tasks with all that they come after."""
        return frozenset().union(*(self.closures[task] for task in tasks))

    def depth(self, task: str) -> int:
        """How many tasks must be done before this one."""
        return len(self.closures[task]) - 1

    def known_task(self, task: str) -> TaskKind | None:
        """The catalogue's task, which knows stage, refit words and caution."""
        return self.catalogue.tasks.get(task)

    def stage_of(self, task: str) -> str:
        """The catalogue's word for where a task's line is printed; strip where it does not say."""
        known = self.known_task(task)
        return known.stage if known else "strip"

    def edges_of(self, choice: str) -> tuple[Edge, ...]:
        """The catalogue's edges that a candidate or link was read from."""
        if self.reading is None:
            return ()
        origin = self.reading.candidates.get(choice) or self.reading.links.get(choice)
        return origin.edges if origin else ()

    def untold(self, choice: str) -> tuple[str, ...]:
        """Hours and prices of the choice itself that nobody has stated, in words."""
        if self.reading is None:
            return ()
        origin = self.reading.candidates.get(choice) or self.reading.links.get(choice)
        return origin.untold if origin else ()

    def untold_of_task(self, task: str) -> tuple[str, ...]:
        """What nobody has stated of doing the task, hours and what it uses up, in words."""
        known = self.known_task(task) if self.reading else None
        return lacking_of_task(known) if known else ()

    def general_hours(self, choice: str) -> tuple[str, ...]:
        """Whose hours stand for those that nobody has stated of the choice, in words."""
        if self.reading is None:
            return ()
        origin = self.reading.candidates.get(choice) or self.reading.links.get(choice)
        return origin.general if origin else ()

    def is_empty(self, candidate: str) -> bool:
        """Whether the candidate stands for a place that stays empty: nothing to buy, nothing to fit."""
        origin = self.reading.candidates.get(candidate) if self.reading else None
        return origin is not None and origin.part is None

    def is_to_come(self, candidate: str) -> bool:
        """Whether nothing is there now: the place stays empty, or its part is still to be had."""
        origin = self.reading.candidates.get(candidate) if self.reading else None
        return origin is not None and (origin.part is None or origin.how in (PART_NEEDED, ASSUMED_EMPTY))

    def needed_by(self, fault: Fault) -> str:
        """The place that has no part and must have one, where that is what the doubt is about; else ""."""
        origins = self.reading.candidates if self.reading else {}
        named = {one for one in fault.on if one in origins and origins[one].how == PART_NEEDED}
        return next((p.id for p in self.conversion.positions for c in p.candidates if c.id in named), "")

    def is_in_hand(self, part: str, choice: str) -> bool:
        """Whether the part is the asker's own, comes with one of the units or out of a donor in hand."""
        if self.reading is None:
            return False
        origin = self.reading.candidates.get(choice)
        return part in self.reading.question.own or (origin is not None and origin.how in (COMES_WITH, FROM_DONOR))

    def doubt(self, fault: str) -> Doubt:
        """What the reading says of a doubt; nothing of a fault that is none, or of a document that came by itself."""
        found = self.reading.doubts.get(fault) if self.reading else None
        return found or NOTHING_SAID

    @cached_property
    def bought_units(self) -> frozenset[str]:
        """The candidates that are an asked unit itself, bought."""
        return frozenset(c.id for p in self.conversion.positions if p.kind == UNIT for c in p.candidates)

    @cached_property
    def misfits(self) -> dict[tuple[str, frozenset[str]], str]:
        """Per joint kind and pair of parts, why they do not fit as they are."""
        found: dict[tuple[str, frozenset[str]], str] = {}
        for out in self.reading.left_out if self.reading else ():
            for name in out.edges if out.reason in (DOES_NOT_FIT_HERE, OVERRULED) else ():
                edge = self.catalogue.edges.get(name)
                if edge is not None and edge.kind == DOES_NOT_FIT:
                    pair = out.what.split("+") if out.reason == DOES_NOT_FIT_HERE else (edge.source, edge.target)
                    found.setdefault((edge.joint, frozenset(pair)), edge.reason or "no reason noted")
        return found

    @cached_property
    def noted_misfits(self) -> tuple[LeftOut, ...]:
        """The pairs that a note, not the arithmetic, says not to fit, with its reason."""
        found = self.reading.left_out if self.reading else ()
        return tuple(
            out for out in found
            if out.reason == DOES_NOT_FIT_HERE and not any(edge.startswith(COMPUTED) for edge in out.edges)
        )  # fmt: skip

    def is_disputed(self, choice: str) -> bool:
        """Whether notes of equal standing contradict each other about the choice."""
        origin = self.reading.links.get(choice) if self.reading else None
        return origin is not None and origin.disputed

    def choice(self, choice: str) -> CandidateOrLink:
        """The candidate or link with this id."""
        found = self.candidates.get(choice)
        return found if found is not None else self.links[choice]

    def part_label(self, part: str) -> str:
        """The part's label: the catalogue's, or a candidate's that holds it, or the id itself."""
        known = self.catalogue.parts.get(part)
        return known.label if known else self._candidate_labels.get(part, part)

    def thing(self, choice: Candidate | Link) -> str:
        """What the choice brings in: the candidate's part, the parts that stand inside a link, or the link itself."""
        if isinstance(choice, Candidate):
            return choice.label or self.part_label(choice.part)
        return words.listed([self.part_label(part) for part in choice.via]) or choice.label or choice.id

    @cached_property
    def _candidate_labels(self) -> dict[str, str]:
        return {c.part: c.label or c.part for c in self.candidates.values()}

    def named(self, part: str) -> Named:
        """The part with its label."""
        return Named(part, self.part_label(part))

    def feature_label(self, feature: str) -> str:
        """The feature's label, or its id."""
        term = self.catalogue.features.get(feature)
        return term.label if term else feature

    @property
    def rate_stated(self) -> bool:
        """Whether somebody has said what a bench hour costs; a rate of 0 counts where the question states it."""
        asked = self.reading.question.rate_hundredths if self.reading else None
        return asked is not None or self.conversion.rate_hundredths > 0

    def sum_words(self, cash_hundredths: int, hours_hundredths: int) -> str:
        """Cash plus hours at the bench rate in words; without a rate the hours stand beside the money."""
        value = self.priced(cash_hundredths, hours_hundredths)
        return words.priced(value, hours_hundredths, self.catalogue.currency, self.rate_stated)

    def priced(self, cash_hundredths: int, hours_hundredths: int) -> Fraction:
        """Cash plus hours at the bench rate, in currency units."""
        work = Fraction(self.conversion.rate_hundredths * hours_hundredths, 10_000)
        return Fraction(cash_hundredths, 100) + work
