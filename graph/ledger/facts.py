"""From notes to the catalogue: what the notes state, checked by the shapes and read into typed facts.

The ledger keeps any note that is well formed; whether its statements are complete facts is judged here, by the
shapes and rules that judge fact files, so a note and a file are held to the same. A note is judged with what stands
around it (see around.py); one that speaks of kinds, tasks or the shop, with everything.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pyoxigraph import NamedNode, Triple
from sqlalchemy import select

from graph.catalogue.compact.opened import StoredFacts
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.judged import JudgedFacts
from graph.catalogue.layered import changed_table
from graph.catalogue.load import build_sound, judged, load_catalogue, reading_order
from graph.catalogue.model import Catalogue
from graph.catalogue.names import local_id
from graph.catalogue.restate import SINGLE_TABLES
from graph.catalogue.rules import list_rule_problems
from graph.catalogue.shapes import list_violations
from graph.catalogue.statements import node_key
from graph.errors import InvalidFacts, NotFound, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.around import (
    SINGLE,
    GatheredAround,
    LedgerGround,
    Shelf,
    Stated,
    gather,
    read_ground,
    read_stored_ground,
    signature_of,
)
from graph.ledger.book import BATCH, Drafts, Ledger
from graph.ledger.database import reading
from graph.ledger.drafts import now
from graph.ledger.identity import find_note_id, note_iri
from graph.ledger.left_out import LeftOutNote, StandingNote, gist
from graph.ledger.provenance import facts_of
from graph.ledger.record import DRAFT_FIELDS, NOTE, Draft, Entry
from graph.ledger.statements import triples_of
from graph.ledger.view import View

MAX_PROBLEMS = 100
MOST_FOLLOWED = 5_000  # lines; more are read anew instead of followed


def standing_notes(ledger: Ledger, set_aside: Collection[str] = ()) -> Iterator[StandingNote]:
    """What every note that stands states. `set_aside`: IRIs of edges that a settling note has overruled."""
    for entry in ledger.iter_current():
        stated = facts_of(entry)
        if set_aside:
            stated = [triple for triple in stated if getattr(triple.subject, "value", "") not in set_aside]
        yield StandingNote(entry.note_id, entry.iri, stated)


class StandingFacts:
    """What stands at the moment: the ground, kept until files or notes move it, and the shelf of single notes."""

    def __init__(self, view: View, paths: Sequence[Path] = (), stored: CompactFile | None = None):
        """`stored`: the facts read in earlier and kept in a file, instead of `paths`."""
        self.view, self.paths, self.stored = view, tuple(paths), stored
        self._lock = threading.RLock()
        self._ground: LedgerGround | None = None
        self._read_at: tuple[object, int] = (None, 0)  # the fact files' signature, the ledger's position
        self._left_out: dict[str, LeftOutNote] = {}

    @property
    def left_out(self) -> tuple[LeftOutNote, ...]:
        """The notes that do not hold together with the rest, so that nothing here rests on them."""
        return tuple(self._left_out.values())

    def leave_out(self, notes: Collection[LeftOutNote]) -> None:
        """From now on these notes, and no others, are left out."""
        with self._lock:
            changed = {one.iri: one for one in notes}
            if self._left_out.keys() != changed.keys():
                self._ground = None
            self._left_out = changed

    def ground(self) -> LedgerGround:
        """Read again only if a fact file changed, or a note that speaks of kinds came. Raises InvalidFacts."""
        with self._lock:
            signature, position = self._signature(), self.view.standing().position
            if self._read_at[0] != signature:  # which notes hold together with the changed files, nobody knows yet
                self._left_out = {}
            if self._ground is None or self._read_at[0] != signature or self._is_moved(self._ground, position):
                self._ground = self._read_ground()
            self._read_at = (signature, position)
            return self._ground

    def _signature(self) -> object:
        """JudgedFacts in a file are read once, when the shop opens: reading millions again is nothing to wait for."""
        return signature_of(self.paths) if self.stored is None else self.stored.path

    def _read_ground(self) -> LedgerGround:
        if self.stored is None:
            return read_ground(self.paths, self.view.ledger.base, self.view.store, self._said, self._left_out)
        return read_stored_ground(self.stored, self.view.store, self._said, self._left_out)

    def whole(self, stated: Iterable[Stated]) -> Catalogue:
        """The catalogue of the facts and of `stated`, all of it judged. Raises InvalidFacts."""
        base = self.view.ledger.base
        if self.stored is None:
            return load_catalogue(self.paths, shop_base=base, stated=list(stated))
        facts, ground = StoredFacts.over(self.stored), self.ground()
        for origin, triples in stated:
            facts.add(triples, origin)
        small, problems = judged(facts, list(list_violations(facts, ground.shapes)), ground.terms)
        if problems:
            raise InvalidFacts(problems)
        known = ground.catalogue
        tables: dict[str, Any] = {
            name: changed_table(getattr(known, name), getattr(small, name), ()) for name in SINGLE_TABLES
        }
        return replace(known, **tables)

    def _is_moved(self, ground: LedgerGround, position: int) -> bool:
        last = self._read_at[1]
        if position == last:
            return False
        if not 0 < position - last <= MOST_FOLLOWED:
            return True
        lines = self.view.ledger.iter_note_lines(last, position)
        return any(line.iri in ground.notes or ground.is_moved_by(facts_of(line)) for line in lines)

    def shelf(self, hidden: Collection[str] = ()) -> Shelf:
        """The single notes, by subject."""
        about = f"{self.view.ledger.base}ledger"
        out = frozenset(self._left_out)
        return Shelf(self.view.store, self.ground(), about, self._said, frozenset(hidden), out)

    def _said(self, graph: str) -> list[Triple]:
        try:
            return facts_of(self.view.ledger.get_note(find_note_id(graph) or graph))
        except NotFound:
            return []

    def named_by(self, line: Entry) -> set[str]:
        """Whom a line speaks of or refers to, and whom its note spoke of before. Not those whom every note names."""
        lines = self.view.ledger.get_history(line.note_id) if line.revision > 1 else [line]
        named = {line.iri}
        for each in lines:
            for triple in triples_of(each.statements):
                named.add(node_key(triple.subject))
                if isinstance(triple.object, NamedNode):
                    named.add(triple.object.value)
        return named

    def judged(self, around: GatheredAround) -> tuple[Catalogue, dict[str, Problem]]:
        """What was gathered as a catalogue beside the ground's kinds, and its faults, each under what it says."""
        ground = self.ground()
        violations = list(list_violations(around, ground.shapes, around.affected))
        problems = [Problem(around.place(v.subject, v.property), v.message) for v in violations]
        small, inexact = build_sound(around, {violation.subject for violation in violations})
        tables = {name: getattr(small, name) for name in SINGLE_TABLES}
        whole = replace(ground.catalogue, **tables)
        rules = JudgedFacts(statements=around, catalogue=whole, terms=ground.terms, keys=self._keys(around))
        found = (p for p in list_rule_problems(rules) if around.shown.get(p.path, set()) & around.affected)
        return whole, {gist(problem): problem for problem in (*problems, *inexact, *found)}

    def _keys(self, around: GatheredAround) -> dict[str, str]:
        keys = _Keys(self, around)
        for subject in around.declared:
            keys.setdefault(local_id(subject, around.shop_base), subject)
        return keys


class _Keys(dict[str, str]):
    """Ids and their IRIs; walked through only to find names like a misspelt one, and then it knows them all."""

    def __init__(self, facts: StandingFacts, around: GatheredAround):
        super().__init__()
        self._facts, self._around = facts, around

    def __iter__(self) -> Iterator[str]:
        ground = self._facts.ground().statements
        for subjects in (ground.declared, *map(self._around.of_class, sorted(SINGLE))):
            for subject in subjects:
                self.setdefault(local_id(subject, ground.shop_base), subject)
        return super().__iter__()


@dataclass(frozen=True)
class JudgedDrafts:
    """That drafts may enter where the ledger stood at `position`, as far as the subjects `looked_at` are concerned.

    None of them: everything was looked at. A `Verdict` for `Ledger`.
    """

    facts: StandingFacts
    ground: LedgerGround
    position: int
    looked_at: frozenset[str] | None
    took_s: float

    def holds_at(self, position: int) -> bool:
        """Whether nothing that was written since bears on it. Raises StoreProblem."""
        if position == self.position:
            return True
        if not 0 < position - self.position <= MOST_FOLLOWED:
            return False
        self.facts.view.catch_up()
        if self.facts.ground() is not self.ground:
            return False
        for line in self.facts.view.ledger.iter_note_lines(self.position, position):
            if self.looked_at is None or not self.looked_at.isdisjoint(self.facts.named_by(line)):
                return False
        return True


class FactsCheck:
    """Judges drafts together with all that is known; a `Check` for `Ledger`.

    Faults that the facts had before are not the new note's, so they do not stop it.
    """

    def __init__(self, facts: StandingFacts):
        self.facts, self.view, self.ledger = facts, facts.view, facts.view.ledger

    def __call__(self, added: Drafts, removed: Sequence[str]) -> JudgedDrafts | None:
        """Raises InvalidFacts with every fault that the change would bring in, StoreProblem if it cannot be judged."""
        try:
            return self._judge(added, removed)
        except StoreProblem as error:
            raise StoreProblem(f"nothing was written, for it could not be judged: {error}") from error

    def _judge(self, added: Drafts, removed: Sequence[str]) -> JudgedDrafts | None:
        if not removed and not any(draft.statements for _, draft in added):
            self._plain(added)
            return None
        began, position = time.monotonic(), self.view.catch_up()
        untold: set[str] = set()
        new = list(self._stated(added, untold))
        gone = frozenset(self._graphs(removed))
        ground = self.facts.ground()
        moved = gone & ground.notes or any(ground.is_moved_by(triples) for _, triples in new)
        if moved:
            problems, looked_at = self._whole(list(self._stated(added)), removed), None
        else:
            problems, looked_at = self._nearby(new, gone, untold)
        if problems:
            raise InvalidFacts(sorted(problems, key=reading_order)[:MAX_PROBLEMS])
        return JudgedDrafts(self.facts, ground, position, looked_at, time.monotonic() - began)

    def _stated(self, added: Drafts, untold: set[str] | None = None) -> Iterator[Stated]:
        """What the drafts state. Of many with the same words, as an import makes, only the first need be judged.

        `untold`, where given, takes the IRIs of the others, which then come without their words.
        """
        seen: set[Draft] = set()
        for note_id, draft in added:
            entry, words = self._as_entry(note_id, draft), replace(draft, statements="")
            told = untold is None or words not in seen
            if untold is not None and not told:
                untold.add(entry.iri)
            yield f"note {entry.note_id}", facts_of(entry, told)
            seen.add(words)

    def _nearby(
        self, new: Sequence[Stated], gone: frozenset[str], untold: set[str]
    ) -> tuple[list[Problem], frozenset[str]]:
        """Judges what the change touches and what stands around it; and whom it has looked at for that."""
        shelf = self.facts.shelf()
        touched = {node_key(triple.subject) for _, triples in new for triple in triples} - untold
        touched.update(*(shelf.subjects_in(graph) for graph in gone))
        after = gather(shelf.ground, shelf, touched, new, gone)
        _, found = self.facts.judged(after)
        if not found:
            return [], after.looked_at
        _, before = self.facts.judged(gather(shelf.ground, shelf, after.affected, (), ()))
        return [problem for gist, problem in found.items() if gist not in before], after.looked_at

    def _whole(self, new: Sequence[Stated], removed: Sequence[str]) -> list[Problem]:
        """Judges everything: kinds may be named anywhere."""
        gone = set(removed)
        out = {one.iri for one in self.facts.left_out}
        standing = [(note.note_id, note.stated) for note in standing_notes(self.ledger) if note.iri not in out]
        kept = [stated for note_id, stated in standing if note_id not in gone]
        found = self._problems([*kept, *new])
        if not found:
            return []
        before = {gist(problem) for problem in self._problems([stated for _, stated in standing])}
        return [problem for problem in found if gist(problem) not in before]

    def _plain(self, added: Drafts) -> None:
        """A note without statements needs what the shape of a note asks for, and no look at the rest."""
        problems = [
            Problem(name, f"say {what}")
            for _, draft in added
            for name, what in (("text", "what is known"), ("author", "who says so"), ("evidence", "how it is known"))
            if not getattr(draft, name).strip()
        ]
        if problems:
            raise InvalidFacts(problems[:MAX_PROBLEMS])

    def _problems(self, stated: Iterable[Stated]) -> list[Problem]:
        try:
            self.facts.whole(stated)
        except InvalidFacts as error:
            return list(error.problems)
        return []

    def _graphs(self, note_ids: Sequence[str]) -> Iterator[str]:
        """The IRIs of those of the notes that the ledger holds."""
        column = schema.entries.c
        for start in range(0, len(note_ids), BATCH):
            wanted = column.note_id.in_(note_ids[start : start + BATCH])
            with reading(self.ledger.engine) as connection:
                yield from connection.scalars(select(column.iri).where(wanted).distinct())

    def _as_entry(self, note_id: str, draft: Draft) -> Entry:
        values = {name: getattr(draft, name) for name in DRAFT_FIELDS}
        iri = note_id if "/" in note_id else note_iri(self.ledger.base, note_id)
        return Entry(
            position=0, note_id=find_note_id(iri) or note_id, iri=iri, revision=1, action=NOTE, recorded_at=now(),
            **values,
        )  # fmt: skip
