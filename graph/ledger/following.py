"""The catalogue that follows the notes: what a few new lines touch is read again, the rest is kept.

A line that speaks of kinds, tasks or the shop, a changed fact file, or very many lines: then everything is read.
The first time it goes on from what an earlier process has kept (see kept.py), if that still holds.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from pyoxigraph import NamedNode

from graph.catalogue.layered import changed_table
from graph.catalogue.model import Catalogue
from graph.catalogue.names import local_id
from graph.catalogue.restate import SINGLE_TABLES
from graph.catalogue.statements import node_key
from graph.errors import Problem
from graph.ledger.around import LedgerGround, gather
from graph.ledger.bulk import without_collector
from graph.ledger.facts import MOST_FOLLOWED, StandingFacts, standing_notes
from graph.ledger.kept import CatalogueAtLine, KeptCatalogue
from graph.ledger.left_out import LeftOutNote, StandingNote, read_what_holds
from graph.ledger.provenance import facts_of

KEEP_EVERY = 1_000  # lines; at least a tenth of what is there, so that keeping costs little beside reading


class FollowedCatalogue:
    """The catalogue at one position of the ledger. `read` moves it on; `keep` saves it for the next process."""

    def __init__(self, facts: StandingFacts, kept: KeptCatalogue):
        self.facts, self.kept = facts, kept
        self._kept_at = -1  # -1: nobody has looked yet
        self.catalogue: Catalogue | None = None
        self._position = 0
        self._ground: LedgerGround | None = None  # None: read everything next time
        self._hidden: frozenset[str] = frozenset()
        self._watched: frozenset[str] = frozenset()  # a change to any of these may let a note in that is left out

    def read(self, position: int, hidden: frozenset[str]) -> Catalogue:
        """The catalogue at `position`, without the `hidden` subjects.

        Notes that do not hold together with the rest are left out (`facts.left_out`). Raises InvalidFacts where the
        facts of files are wrong; then nothing is kept.
        """
        ground = self.facts.ground()
        if self._kept_at < 0:
            self._resume(ground)
        few = 0 <= position - self._position <= MOST_FOLLOWED
        known, same = self.catalogue, self._ground is ground
        self._ground = None  # until this read has succeeded
        found = self._followed(known, position, hidden) if known and same and few else None
        found = found or self._anew(hidden)
        self.catalogue, self._position, self._ground, self._hidden = found, position, self.facts.ground(), hidden
        if position - self._kept_at >= max(KEEP_EVERY, self._kept_at // 10):
            self.keep()
        return found

    def keep(self) -> None:
        """Saves the catalogue as it stands, if it has moved since it was saved last."""
        ground, ledger = self._ground, self.facts.view.ledger
        if self.catalogue is None or ground is None or self._position == max(self._kept_at, 0):
            return
        if self.facts.left_out:  # the next process finds out for itself which notes hold
            return
        line = ledger.find_line(self._position)
        if line is not None:
            self.kept.save(CatalogueAtLine(self._position, line.hash, self._hidden, self.catalogue), ground)
            self._kept_at = self._position

    def _resume(self, ground: LedgerGround) -> None:
        """Takes up what was kept, if it is of this ledger and no line since then has moved the ground."""
        self._kept_at = 0
        kept, ledger = self.kept.load(ground), self.facts.view.ledger
        if kept is None:
            return
        line, newest = ledger.find_line(kept.position), ledger.head().position
        if line is None or line.hash != kept.hash or newest - kept.position > MOST_FOLLOWED:
            return
        if any(ground.is_moved_by(facts_of(each)) for each in ledger.iter_lines(after=kept.position)):
            return
        self.catalogue, self._position, self._hidden = kept.catalogue, kept.position, kept.hidden
        self._ground, self._kept_at = ground, kept.position

    def _anew(self, hidden: frozenset[str]) -> Catalogue:
        ledger, facts = self.facts.view.ledger, self.facts
        with without_collector():
            notes = list(standing_notes(ledger, hidden))
            catalogue, out = read_what_holds(facts.whole, notes, ledger.base)
            ground = facts.ground()
            facts.leave_out(out)
            self._watched = self._around(out, notes, hidden)
            if facts.stored is not None and facts.ground() is not ground:  # kinds that notes speak of came or went
                gone = {one.iri for one in out}
                return facts.whole(note.stated for note in notes if note.iri not in gone)
            return catalogue

    def _around(
        self, out: Sequence[LeftOutNote], notes: Sequence[StandingNote], hidden: frozenset[str]
    ) -> frozenset[str]:  # fmt: skip
        """Whom the notes that are left out speak of, refer to, and stand among: what changes there may let them in."""
        if not out:
            return frozenset()
        gone = {one.iri for one in out}
        stated = [note.stated for note in notes if note.iri in gone]
        triples = [triple for _, said in stated for triple in said]
        shelf = self.facts.shelf(hidden)
        found = gather(shelf.ground, shelf, {node_key(triple.subject) for triple in triples}, stated, ()).looked_at
        return found | gone | {triple.object.value for triple in triples if isinstance(triple.object, NamedNode)}

    def _followed(self, known: Catalogue, position: int, hidden: frozenset[str]) -> Catalogue | None:
        """None where everything has to be read to know which notes hold together."""
        touched = self._touched(position) | (hidden ^ self._hidden)
        if self._watched and not self._watched.isdisjoint(self._named(position) | (hidden ^ self._hidden)):
            return None
        changed, subjects, problems = self._read(touched, hidden)
        if more := self._judged_by_others(known, changed, touched, hidden) - subjects:
            changed, subjects, problems = self._read(touched | more, hidden)
        if problems:
            return None
        base = self.facts.view.ledger.base
        return _merged(known, changed, {local_id(subject, base) for subject in subjects})

    def _named(self, position: int) -> set[str]:
        lines = self.facts.view.ledger.iter_note_lines(self._position, position)
        return {name for line in lines for name in self.facts.named_by(line)}

    def _read(self, touched: Collection[str], hidden: frozenset[str]) -> tuple[Catalogue, set[str], list[Problem]]:
        shelf = self.facts.shelf(hidden)
        around = gather(shelf.ground, shelf, touched, (), ())
        changed, problems = self.facts.judged(around)
        return changed, around.affected, list(problems.values())

    def _touched(self, position: int) -> set[str]:
        """Every subject of which the new lines say something, or no longer do."""
        ledger, found = self.facts.view.ledger, set()
        for line in ledger.iter_note_lines(self._position, position):
            found |= {node_key(triple.subject) for triple in facts_of(line)}
            if line.revision > 1:
                for earlier in ledger.get_history(line.note_id):
                    found |= {node_key(triple.subject) for triple in facts_of(earlier)}
        return found

    def _judged_by_others(
        self, known: Catalogue, changed: Catalogue, touched: Collection[str], hidden: frozenset[str]
    ) -> set[str]:
        """Who refers to a touched subject that came, went, or is of another kind or evidence than before."""
        shelf, base = self.facts.shelf(hidden), self.facts.view.ledger.base
        return {
            referrer
            for subject in touched
            if _traits(known, local_id(subject, base)) != _traits(changed, local_id(subject, base))
            for referrer in shelf.referrers(subject)
        }


def _traits(catalogue: Catalogue, name: str) -> tuple[Any, ...]:
    part, note, edge = catalogue.parts.get(name), catalogue.notes.get(name), catalogue.edges.get(name)
    return (part and part.kind, note and note.evidence, edge and edge.kind)


def _merged(known: Catalogue, changed: Catalogue, names: Collection[str]) -> Catalogue:
    """`known`, with what `changed` says of the names in place of what was known of them; in order of ids."""
    tables: dict[str, Any] = {}
    for table in SINGLE_TABLES:
        old, new = getattr(known, table), getattr(changed, table)
        mine = {name: new[name] for name in names if name in new}
        gone = [name for name in names if name in old and name not in mine]
        if gone or any(old.get(name) != thing for name, thing in mine.items()):
            tables[table] = changed_table(old, mine, gone)
    return replace(known, **tables)
