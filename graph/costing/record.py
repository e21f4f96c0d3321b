"""What the shop's notes of cost that stand come to for an answer, followed from note to note.

A record never changes: `after` makes the next one, which shares with it all that the new notes do not speak of. So a
note costs what it says, however many prices the shop has.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from graph.catalogue.layered import Pieced
from graph.costing.jobs.closing import CONTRADICTED, DONE_AND_LASTED
from graph.costing.notes import (
    EVIDENCE,
    FINDING,
    HOURS,
    PRICE,
    RATE,
    READ_BY_ANSWERS,
    RETRACTION,
    STOCK,
    SUBLET,
    CostNote,
    CostNotes,
)
from graph.costing.price_import import price_of_note
from graph.costing.prices import Price, StockItem
from graph.costing.rates import Rate, Sublet
from graph.costing.shop import rates_of, stock_of, sublets_of

_KINDS = (PRICE, STOCK, RATE, SUBLET, FINDING, HOURS, EVIDENCE)
Notes = Pieced[str, tuple[CostNote, ...]]  # by what they are about, oldest first


@dataclass(frozen=True, slots=True)
class Record:
    """What stands at `position` of the notes of cost. `known_by`: per note of evidence that counts, its edge."""

    position: int = 0
    prices: Pieced[str, tuple[Price, ...]] = field(default_factory=Pieced)
    _said: Mapping[str, Notes] = field(default_factory=lambda: {kind: Pieced() for kind in _KINDS[1:]})
    _taken_back: Pieced[str, None] = field(default_factory=Pieced)
    known_by: Pieced[str, str] = field(default_factory=Pieced)

    def after(self, notes: CostNotes) -> Record:
        """With all that was noted and taken back since; itself where that is nothing."""
        new, position = notes.list_since(self.position, READ_BY_ANSWERS)
        if not new:
            return self if position == self.position else replace(self, position=position)
        back = {note.retracts: None for note in new if note.kind == RETRACTION}
        taken_back = self._taken_back.changed(back)
        gone = [note for batch in back for note in notes.list_notes(batch=batch)] if self.position else []
        come = [note for note in new if note.kind in _KINDS and not _is_in(taken_back, note)]
        said = {kind: _with(known, come, gone, kind) for kind, known in self._said.items()}
        prices = _with_prices(self.prices, come, gone)
        known_by = _known_by(self.known_by, self._said[EVIDENCE], said[EVIDENCE])
        return Record(position, prices, said, taken_back, known_by)

    @property
    def is_empty(self) -> bool:
        """Does nothing stand?"""
        return not self.prices and not any(self._said.values())

    @property
    def priced(self) -> Priced:
        """The parts of which a price or a count of the shelf stands."""
        return Priced(self.prices, self._said[STOCK])

    def stock(self, part: str) -> list[StockItem]:
        """The shelf's pieces of a part."""
        return stock_of(self._said[STOCK].get(part, ()))

    @property
    def rates(self) -> Notes:
        """Per kind of work."""
        return self._said[RATE]

    def list_rates(self) -> list[Rate]:
        """The newest rate per kind of work."""
        return rates_of(_flat(self.rates))

    @property
    def sublets(self) -> Notes:
        """Per task or operation sent out."""
        return self._said[SUBLET]

    def list_sublets(self) -> list[Sublet]:
        """The newest price of every kind of work sent out."""
        return sublets_of(_flat(self.sublets))

    @property
    def findings(self) -> Notes:
        """Per fault."""
        return self._said[FINDING]

    @property
    def hours(self) -> Notes:
        """Per operation."""
        return self._said[HOURS]

    @property
    def evidence(self) -> Notes:
        """Per edge, oldest first; `holding` says which counts."""
        return self._said[EVIDENCE]

    def list_repriced(self, last: Record) -> Iterable[str]:
        """The parts of which another price or count stands than in the last record."""
        return self.prices.differing(last.prices) | self._said[STOCK].differing(last._said[STOCK])


class Priced(Collection[str]):
    """Names that stand in either table; some may come twice where they are walked through."""

    def __init__(self, prices: Collection[str], shelf: Collection[str]):
        self._prices, self._shelf = prices, shelf

    def __contains__(self, name: object) -> bool:
        return name in self._prices or name in self._shelf

    def __iter__(self) -> Iterator[str]:
        yield from self._prices
        yield from self._shelf

    def __len__(self) -> int:
        return len(self._prices) + len(self._shelf)


def _is_in(taken_back: Pieced[str, None], note: CostNote) -> bool:
    return note.batch in taken_back or note.id in taken_back


def _flat(notes: Notes) -> Iterator[CostNote]:
    return (note for said in notes.values() for note in said)


def _with(known: Notes, come: list[CostNote], gone: list[CostNote], kind: str) -> Notes:
    """What stands of a kind, with the notes that came after those that went."""
    out = {note.id for note in gone if note.kind == kind}
    changed: dict[str, tuple[CostNote, ...]] = {}
    for about in {note.about for note in gone if note.kind == kind}:
        changed[about] = tuple(note for note in known.get(about, ()) if note.id not in out)
    for note in come:
        if note.kind == kind:
            changed[note.about] = (*changed.get(note.about, known.get(note.about, ())), note)
    return _without_empty(known, changed)


def _with_prices(
    known: Pieced[str, tuple[Price, ...]], come: list[CostNote], gone: list[CostNote]
) -> Pieced[str, tuple[Price, ...]]:
    """Of prices only what they say is kept: a list may have very many."""
    changed: dict[str, tuple[Price, ...]] = {}
    for note in gone:
        if note.kind == PRICE:
            standing = changed.get(note.about, known.get(note.about, ()))
            changed[note.about] = tuple(price for price in standing if price.batch != note.batch)
    for note in come:
        if note.kind == PRICE:
            standing = changed.get(note.about, known.get(note.about, ()))
            changed[note.about] = (*standing, price_of_note(note))
    return _without_empty(known, changed)


def _without_empty(known: Pieced[str, Any], changed: Mapping[str, tuple[Any, ...]]) -> Pieced[str, Any]:
    if not changed:
        return known
    there = {name: said for name, said in changed.items() if said}
    return known.changed(there, [name for name in changed if name not in there])


def holding(said: Sequence[CostNote]) -> CostNote:
    """The note that holds, of those on one edge: a job merely closed does not clear what a look back found bad.

    Nor does it open again what was looked back on: a job that is put right and closed once more keeps its look back.
    """
    held = said[0]
    for note in said[1:]:
        again = held.evidence == DONE_AND_LASTED and note.job == held.job != ""
        if _is_look_back(note) or (held.evidence != CONTRADICTED and not again):
            held = note
    return held


def _is_look_back(note: CostNote) -> bool:
    return note.evidence in (CONTRADICTED, DONE_AND_LASTED) or "months" in note.body


def _known_by(known: Pieced[str, str], before: Notes, after: Notes) -> Pieced[str, str]:
    edges = after.differing(before)
    gone = [holding(before[edge]).id for edge in edges if edge in before]
    return known.changed({holding(after[edge]).id: edge for edge in edges if edge in after}, gone) if edges else known
