"""What of a route may be worn: faults that the facts state, and rows of the trade's table at places kept as found."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.answer.model.route import AnsweredRoute
from graph.catalogue.model import Part
from graph.conversion.closure import with_all_before
from graph.conversion.document import Conversion, Fault
from graph.costing.asking import CostedAnswer
from graph.costing.odds import odds_text
from graph.costing.priors import fault_at_position, load_priors_once, load_signs
from graph.costing.signs import odds_given_signs
from graph.lookups.index import CatalogueIndex, PlaceState
from graph.reading.question import Question
from graph.reading.tasks import UnitTasks, assembly_meant
from graph.wear.model import WearRow
from graph.wear.prices import OwnPrice, WearPrices
from graph.wear.table import wear_table

SEND_OUT = "send-out"


@dataclass(frozen=True, slots=True)
class Subject:
    """Something that may be worn. `reach`: the tasks that lay it open, each after what it needs; `row`: the trade's;
    `sent`: it is sent out; `part_id`: what is there, "" where nobody says."""

    id: str
    label: str
    position: str
    part: str
    stated: bool
    odds: Fraction
    odds_words: str
    price: OwnPrice
    reach: tuple[str, ...]
    seen: bool
    counted: bool
    row: WearRow | None
    source: str
    sent: bool = False
    part_id: str = ""


@dataclass(slots=True)
class Subjects:
    """`known`: what can be weighed. `renewed`: labels of what the route replaces; `not_known`: of places where nobody
    says what is there."""

    known: list[Subject] = field(default_factory=list)
    renewed: dict[str, None] = field(default_factory=dict)
    not_known: dict[str, None] = field(default_factory=dict)


def list_subjects(found: CostedAnswer, route: AnsweredRoute, index: CatalogueIndex, question: Question) -> Subjects:
    """All that may be worn beside this route. Raises InvalidFacts for a task that nobody describes."""
    reader = _WearReader(found, route, index, question)
    subjects = Subjects()
    stated = {(one.position, fault_at_position().get(one.position, "")) for one in reader.stated}
    subjects.known += (reader.of_fault(fault) for fault in reader.stated)
    for row in wear_table():
        if (row.position, row.fault) not in stated:
            reader.add_row(row, subjects)
    return subjects


class _WearReader:
    """One route's places, as found or replaced, and the work that lays them open."""

    def __init__(self, found: CostedAnswer, route: AnsweredRoute, index: CatalogueIndex, question: Question):
        conversion = found.conversion
        self._costed, self._index, self._question = found.costed, index, question
        self._assembly = assembly_meant(index, question)
        units = tuple(filter(None, (question.gearbox, question.engine, question.vehicle)))
        self._work = UnitTasks(index, units, self._assembly)
        self._prices, self._ratios = WearPrices(index), load_signs()
        self._after = {task.id: task.after for task in conversion.tasks}
        self._picked = {
            position.id: candidate
            for position in conversion.positions
            for candidate in position.candidates
            if candidate.id == route.picks.get(position.id)
        }
        self.stated = tuple(_kept_faults(conversion, self._picked))

    def of_fault(self, fault: Fault) -> Subject:
        """A fault of the facts, its odds as the shop's record has them."""
        candidate, table = self._picked[fault.position], fault_at_position().get(fault.position, "")
        row = next((one for one in wear_table() if (one.position, one.fault) == (fault.position, table)), None)
        after = with_all_before(fault.reach, self._after.__getitem__)
        beta, known = self._costed.odds.get(fault.id), self._index.catalogue.faults.get(fault.id)
        price = OwnPrice(
            known.cash_hundredths if known else fault.cash_hundredths,
            known.hours_hundredths if known else fault.hours_hundredths, "as the fault states it",
        )  # fmt: skip
        return Subject(
            fault.id, fault.label or fault.id, fault.position, self._part_label(candidate.part), not candidate.assumed,
            fault.odds, odds_text(beta) if beta else "", price, after, fault.shows, True, row,
            known.source if known else "", part_id=self._id_of(candidate.part),
        )  # fmt: skip

    def add_row(self, row: WearRow, subjects: Subjects) -> None:
        """The row's part, if it stays where it is; else why there is none."""
        kind = self._index.catalogue.position_kinds.get(row.position)
        if kind is None:
            return
        part, stated, replaced = self._at(row.position, kind.owner)
        if replaced:
            subjects.renewed[self._part_label(replaced)] = None
        elif stated is None:
            return
        elif not stated and not self._is_needed(row.position):
            if self._may_be_there(row.position):
                subjects.not_known[kind.label] = None
        else:
            subjects.known.append(self._of_row(row, part, stated, kind.fit_tasks))

    def _at(self, position: str, owner: str) -> tuple[str, bool | None, str]:
        """The part kept there, whether somebody states one (None: there is none), and what replaces it."""
        candidate = self._picked.get(position)
        if candidate is not None and not candidate.as_found:
            return "", False, candidate.part
        if candidate is not None and candidate.part in self._index.catalogue.parts:
            return candidate.part, not candidate.assumed, ""
        unit = getattr(self._question, owner, "") if owner in ("gearbox", "engine", "vehicle") else ""
        place = self._index.place(unit, position) if unit else None
        if place is None or place.state is PlaceState.HAS_NONE:
            return "", None, ""
        return (place.edges[0].target, True, "") if place.state is PlaceState.HOLDS else ("", False, "")

    def _is_needed(self, position: str) -> bool:
        known = self._index.catalogue.assemblies.get(self._assembly)
        return known is not None and position in known.must_have

    def _may_be_there(self, position: str) -> bool:
        """Whether such a job may have it; any may where nobody says which kind of job it is."""
        known = self._index.catalogue.assemblies.get(self._assembly)
        return known is None or position in known.may_have

    def _of_row(self, row: WearRow, part: str, stated: bool, fit_tasks: Sequence[str]) -> Subject:
        opening = self._work.here((row.needs,) if row.needs else fit_tasks)
        visits = [self._index.catalogue.tasks[one] for one in opening if self._is_visit(one)]
        reach = with_all_before(
            [*(one for one in opening if not self._is_visit(one)), *(task for one in visits for task in one.after)],
            self._work.after,
        )
        price = self._prices.of_visits(visits) if visits else self._prices.of(row, "" if row.piece else part)
        prior = load_priors_once()[row.fault]
        signed = odds_given_signs(prior, self._costed.signs, self._ratios)
        return Subject(
            f"{row.fault}@{row.position}", self._label(row), row.position, self._part_label(part), stated, signed.after,
            odds_text(prior), price, reach, row.seen, False, row, row.source, bool(visits), self._id_of(part),
        )  # fmt: skip

    def _is_visit(self, task: str) -> bool:
        known = self._index.catalogue.tasks.get(task)
        return known is not None and known.stage == SEND_OUT

    def _label(self, row: WearRow) -> str:
        """The row's label; its place too, where the table has it at several."""
        several = sum(one.fault == row.fault for one in wear_table()) > 1
        place = self._index.catalogue.position_kinds[row.position].label
        return f"{row.label}: {place}" if several else row.label

    def _id_of(self, part: str) -> str:
        return part if part in self._index.catalogue.parts else ""

    def _part_label(self, part: str) -> str:
        known: Part | None = self._index.catalogue.parts.get(part)
        return known.label if known else ""


def _kept_faults(conversion: Conversion, picked: Mapping[str, object]) -> Iterator[Fault]:
    for fault in conversion.faults:
        candidate = picked.get(fault.position)
        if not fault.on and candidate is not None and getattr(candidate, "as_found", False):
            yield fault
