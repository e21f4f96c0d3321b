"""The costed catalogue and its index, following facts and notes of cost as they move.

What neither of the two touches is carried over from the last ones, so a note, a price or a job's closing costs the next
question little, however large the trade and however long the price list.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from graph.catalogue.model import Catalogue
from graph.costing.applied import Costed, WorkCosted, costed_by, work_costed
from graph.costing.notes import READ_BY_ANSWERS, CostNotes
from graph.costing.record import Record
from graph.lookups.index import CatalogueIndex
from graph.lookups.layered import MOST_AT_ONCE, LayeredIndex, has_same_kinds, list_changed_things

MOST_KEPT = 8  # costed indexes, one per set of signs
Found = tuple[CatalogueIndex, Costed]


@dataclass(frozen=True, slots=True)
class _State:
    """What was costed last: over which index, by which record, on which day; and what came of it."""

    base: CatalogueIndex
    record: Record
    today: date
    work: WorkCosted
    index: CatalogueIndex
    costed: Costed


class FollowedCosts:
    """The costed index of whatever index is asked about. For any number of threads; one at a time moves it on."""

    def __init__(self, notes: CostNotes):
        self.notes = notes
        self._lock = threading.Lock()
        self._record = Record()
        self._position = self._moved = -1
        self._state: _State | None = None
        self._with_signs: OrderedDict[tuple[tuple[str, str], ...], Found] = OrderedDict()

    def costed(self, index: CatalogueIndex, today: date, signs: Mapping[str, str] | None = None) -> Found:
        """The index of the costed catalogue, and what was done to it. Raises InvalidQuestion for unknown signs."""
        with self._lock:
            state = self._followed(index, today)
            if not signs:
                return state.index, state.costed
            key = tuple(sorted(signs.items()))
            if key not in self._with_signs:
                costed = costed_by(state.record, index.catalogue, state.work, today, signs)
                self._with_signs[key] = LayeredIndex(state.index, costed.catalogue, ()), costed
                while len(self._with_signs) > MOST_KEPT:
                    self._with_signs.popitem(last=False)
            self._with_signs.move_to_end(key)
            return self._with_signs[key]

    def _followed(self, index: CatalogueIndex, today: date) -> _State:
        record, last = self._current_record(), self._state
        if last is None or last.base is not index or last.record is not record or last.today != today:
            self._with_signs.clear()
            self._state = None  # until this has succeeded
            self._state = last = _moved_on(last, index, record, today)
        return last

    def _current_record(self) -> Record:
        position = self.notes.position()
        if position != self._position:
            moved = self.notes.position(READ_BY_ANSWERS)
            if moved != self._moved:
                self._record = self._record.after(self.notes)
            self._position, self._moved = position, moved
        return self._record


def _moved_on(last: _State | None, index: CatalogueIndex, record: Record, today: date) -> _State:
    known = last is not None and _is_same_work(last, index.catalogue, record)
    work = last.work if last is not None and known else work_costed(index.catalogue, record)
    costed = costed_by(record, index.catalogue, work, today)
    own = index if costed.catalogue is index.catalogue else _indexed(last, index, record, today, costed.catalogue)
    return _State(index, record, today, work, own, costed)


def _is_same_work(last: _State, catalogue: Catalogue, record: Record) -> bool:
    """Do tasks, operations and rates rest on what they rested on?"""
    old, before = last.base.catalogue, last.record
    tables = old.tasks is catalogue.tasks and old.operation_prices is catalogue.operation_prices
    shop = (old.rate_hundredths, old.currency) == (catalogue.rate_hundredths, catalogue.currency)
    noted = before.hours is record.hours and before.rates is record.rates and before.sublets is record.sublets
    return tables and shop and noted


def _indexed(
    last: _State | None, index: CatalogueIndex, record: Record, today: date, catalogue: Catalogue
) -> CatalogueIndex:
    """Carried on from the last costed index where facts and record have moved a little, else laid over the facts'."""
    if last is not None and last.index is not last.base and has_same_kinds(last.base.catalogue, index.catalogue):
        facts = list_changed_things(last.base.catalogue, index.catalogue)
        names = [*facts, *record.evidence.differing(last.record.evidence)]
        if len(names) <= MOST_AT_ONCE:
            repriced: Iterable[str] = record.list_repriced(last.record) if today == last.today else record.priced
            return LayeredIndex(last.index, catalogue, names, repriced)
    return LayeredIndex(index, catalogue, record.evidence, record.priced)
