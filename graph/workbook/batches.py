"""A workbook taken in as one batch, all or nothing, and taken back as one.

The batch is a run of lines of the ledger written together; its last line is a note that names the file, says how many
lines came before it, and is what the batch is called by.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select

from graph.costing.notes import RETRACTION, CostNote, Provenance, retraction
from graph.costing.store import SqlNotes
from graph.errors import Conflict, InvalidFacts, NotFound, Problem
from graph.guarded.bounds import OWNER, Bounds
from graph.guarded.reader import Source
from graph.ledger import schema
from graph.ledger.book import Ledger
from graph.ledger.bulk import without_collector
from graph.ledger.database import reading
from graph.ledger.identity import new_id, note_iri
from graph.ledger.lines import Appending, Retry, entry_of, find_newest_of, line_values
from graph.ledger.notebook import Notebook
from graph.ledger.record import NOTE, RETRACT, REVISE, Draft, Entry, draft_of
from graph.workbook.arrive import understand
from graph.workbook.changes import Changes, Fate, changes_of
from graph.workbook.costs import SHEETS, is_of_cost, read_costs
from graph.workbook.judged import all_faults, placed
from graph.workbook.known import Finds, Known, read_known
from graph.workbook.plan import MARK
from graph.workbook.sent import read_book

MOST_BATCHES = 200
_LINES = re.compile(r"\((\d+) lines(?:, record (\S+))?\)$")


@dataclass(frozen=True, slots=True)
class Preview:
    """What taking a workbook in would do. `counts`: per sheet and fate; `fates`: of the rows that change something.

    `problems`: each with sheet, row and column; with any of them nothing is taken in. `told`: what is left as it is.
    """

    name: str
    counts: Mapping[str, Mapping[str, int]]
    fates: tuple[Fate, ...]
    problems: tuple[Problem, ...]
    told: tuple[str, ...]

    @property
    def changes(self) -> int:
        """How many rows change something."""
        return len(self.fates)


@dataclass(frozen=True, slots=True)
class Batch:
    """A workbook that was taken in. `id`: of its note; `lines`: how many notes it wrote; `taken_back`: it is gone,
    which `taken_back_by` did."""

    id: str
    name: str
    lines: int
    author: str
    recorded_at: str
    taken_back: bool
    taken_back_by: str = ""


@dataclass(frozen=True, slots=True)
class Sent:
    """A workbook as it was sent: its content, its file's name, what holds of all rows, and the bounds of its reader."""

    source: Source
    name: str
    words: Draft
    bounds: Bounds = OWNER


def preview(notebook: Notebook, sent: Sent, finds: Finds = lambda name: ()) -> Preview:
    """What it would do; nothing is written. Raises InvalidInput where it is no workbook, LimitExceeded, Busy."""
    with without_collector():
        changes, _, known = _changes(notebook, sent, finds)
        problems = all_faults(notebook, changes, known)
    return _preview(sent.name, changes, problems)


def take_in(
    notebook: Notebook, sent: Sent, finds: Finds = lambda name: (), retry: Retry | None = None
) -> tuple[Batch | None, Preview]:
    """Takes it in, all or nothing; no batch where nothing changes. Raises InvalidFacts with every fault, Conflict."""
    with without_collector():
        if done := notebook.ledger.sent_before(retry):
            return _batch(done[-1]), Preview(sent.name, {}, (), (), ())
        changes, costs, known = _changes(notebook, sent, finds)
        if changes.problems:
            raise InvalidFacts(all_faults(notebook, changes, known))
        shown = _preview(sent.name, changes, [])
        if not changes.added and not changes.revised and not costs:
            return None, shown
        ledger = notebook.ledger
        stands = changes.stands
        ledger.check_words(stands)
        name = new_id()
        record = [SqlNotes(ledger).line_of(costs)] if costs else []
        marking = _mark(sent, changes, costs)
        ledger.check_words([(name, marking)])

        def look(under_lock: Appending) -> None:
            now = find_newest_of(under_lock.connection, list(changes.revised))
            for note_id, (entry, _) in changes.revised.items():
                if note_id not in now or now[note_id].revision != entry.revision:
                    told = f"{changes.places[note_id].place} was changed by somebody else meanwhile; look at it again"
                    raise Conflict(told)

        def written(under_lock: Appending) -> list[Entry]:
            lines = [
                line_values(note, note_iri(ledger.base, note), 1, NOTE, one) for note, one in changes.added.items()
            ]
            lines += [line_values(note, entry.iri, entry.revision + 1, REVISE, draft)
                      for note, (entry, draft) in changes.revised.items()]  # fmt: skip
            mark = line_values(name, note_iri(ledger.base, name), 1, NOTE, marking)
            return under_lock.write([*lines, *record, mark], retry)

        try:
            lines = ledger.admit(stands, list(changes.revised), written, retry, look)
        except InvalidFacts as error:
            raise InvalidFacts(placed(error.problems, changes, known)) from None
    return _batch(lines[-1]), shown


def _changes(notebook: Notebook, sent: Sent, finds: Finds) -> tuple[Changes, list[CostNote], Known]:
    book = read_book(sent.source, sent.name, sent.bounds)
    sheets = book.sheets
    known, catalogue = read_known(notebook, finds), notebook.catalogue()
    of_facts = [sheet for sheet in sheets if not is_of_cost(sheet)]
    facts = understand(known, catalogue, of_facts, [sheet.title for sheet in SHEETS.values()])
    changes = changes_of(known, facts, sent.words)
    by = Provenance(sent.words.author, f"workbook {sent.name}"[:200])
    kept = SqlNotes(notebook.ledger)
    costs = read_costs(known, kept, catalogue, [sheet for sheet in sheets if is_of_cost(sheet)], by)
    changes.fates += costs.fates
    changes.problems = [*book.problems, *changes.problems, *costs.problems]
    changes.titles = [sheet.title for sheet in sheets]
    if not any(sheet.rows for sheet in sheets) and not changes.problems:
        changes.problems.append(Problem("workbook", "no sheet has a row below its headers: nothing to take in"))
    return changes, costs.notes, known


def _preview(name: str, changes: Changes, problems: Sequence[Problem]) -> Preview:
    moving = tuple(fate for fate in changes.fates if fate.fate != "as it stands")
    return Preview(name, changes.counts(), moving, tuple(problems), tuple(changes.told))


def _mark(sent: Sent, changes: Changes, costs: Sequence[CostNote]) -> Draft:
    count = len(changes.added) + len(changes.revised)
    text = f"The workbook {sent.name} was taken in: {len(changes.added)} notes new, {len(changes.revised)} changed."
    text += f" {len(costs)} entries of prices, rates, shelf and work sent out." if costs else ""
    record = f", record {costs[0].batch}" if costs else ""
    document = f"{sent.name[:300]} ({count} lines{record})"
    return replace(sent.words, text=text, statements="", method=MARK, document=document, shareable=False)


def _batch(entry: Entry, newest: Entry | None = None) -> Batch:
    found = _LINES.search(entry.document)
    name = entry.document[: found.start()].rstrip() if found else entry.document
    gone = newest is not None and newest.retracted
    by = newest.author if newest is not None and gone else ""
    return Batch(entry.note_id, name, int(found[1]) if found else 0, entry.author, entry.recorded_at, gone, by)


def list_batches(notebook: Notebook) -> list[Batch]:
    """The workbooks that were taken in, newest first."""
    column = schema.entries.c
    query = select(schema.entries).where(column.method == MARK, column.action == NOTE)
    query = query.order_by(column.position.desc()).limit(MOST_BATCHES)
    with reading(notebook.ledger.engine) as connection:
        marks = [entry_of(row) for row in connection.execute(query).mappings()]
        newest = find_newest_of(connection, [mark.note_id for mark in marks])
    return [_batch(mark, newest[mark.note_id]) for mark in marks if _LINES.search(mark.document)]


def batches_of(notebook: Notebook, lines: Iterable[Entry]) -> dict[int, Entry]:
    """The note of the workbook with which a line was written or taken back, by the line's position."""
    wanted = {line.position: line for line in lines}
    column = schema.entries.c
    query = select(schema.entries).where(column.method == MARK).order_by(column.position)
    query = query.where(column.recorded_at.in_({line.recorded_at for line in wanted.values()}))
    with reading(notebook.ledger.engine) as connection:
        marks = [entry_of(row) for row in connection.execute(query).mappings()]
    found: dict[int, Entry] = {}
    for position, line in wanted.items():
        of = next((mark for mark in marks if mark.position >= position and mark.recorded_at == line.recorded_at), None)
        marked = _LINES.search(of.document) if of is not None else None
        if of is not None and (marked is None or position >= of.position - int(marked[1]) - 1):
            found[position] = of
    return found


def take_back(notebook: Notebook, batch_id: str, by: Draft) -> Batch:
    """Takes back all that a batch wrote: what was new goes, what was changed is as it was before.

    Raises NotFound, Conflict where it is taken back already or a note of it was changed since, InvalidFacts where
    something written since rests on it.
    """
    ledger = notebook.ledger
    mark, first, record = _mark_of(notebook, batch_id)
    batch = _batch(first)
    lines = _lines_of(ledger, batch, first, record)
    gone, back = _undone(notebook, lines, by)
    record_back = _record_back(notebook, record, by)
    ledger.check_words(
        [*back.items(), (batch_id, gone_words := replace(by, text=f"{batch.name} was taken back.", method=MARK))]
    )
    numbers = {line.note_id: line for line in lines}

    def look(under_lock: Appending) -> None:
        now = find_newest_of(under_lock.connection, [*numbers, batch_id])
        later = [note for note, line in numbers.items() if now[note].revision != line.revision]
        if later or now[batch_id].retracted:
            told = f"{len(later)} of its notes were changed or taken back since, the first {later[:1]}" if later else ""
            raise Conflict(f"nothing was taken back: {told or 'somebody else was first'}")

    def written(under_lock: Appending) -> list[Entry]:
        made: list[dict[str, Any]] = []
        for note in gone:
            line = numbers[note]
            end = replace(by, text=f"{batch.name} was taken back.", shareable=line.shareable)
            made.append(line_values(note, line.iri, line.revision + 1, RETRACT, end))
        made += [line_values(note, numbers[note].iri, numbers[note].revision + 1, REVISE, draft)
                 for note, draft in back.items()]  # fmt: skip
        made += record_back
        made.append(line_values(batch_id, first.iri, mark.revision + 1, RETRACT, gone_words))
        return under_lock.write(made)

    with without_collector():
        ledger.admit(list(back.items()), [*gone, *back, batch_id], written, None, look)
    return replace(batch, taken_back=True, taken_back_by=by.author)


def _mark_of(notebook: Notebook, batch_id: str) -> tuple[Entry, Entry, str]:
    """The note that marks a batch, as it stands and as it was written, and the line of cost kept with it, "" for none.

    Raises NotFound, Conflict where it is taken back already.
    """
    mark = notebook.ledger.get_note(batch_id)
    first = notebook.ledger.get_history(batch_id)[0]
    marked = _LINES.search(first.document)
    if first.method != MARK or marked is None:
        raise NotFound("batch", batch_id, [one.id for one in list_batches(notebook)[:5]])
    if mark.retracted:
        raise Conflict("this batch was taken back already")
    return mark, first, marked[2] or ""


def _lines_of(ledger: Ledger, batch: Batch, mark: Entry, record: str) -> list[Entry]:
    """The lines that a batch wrote, which stand before its mark. Raises Conflict where they do not."""
    end = mark.position - (2 if record else 1)
    lines = list(ledger.iter_note_lines(end - batch.lines, end))
    if len(lines) != batch.lines or any(line.recorded_at != mark.recorded_at for line in lines):
        raise Conflict("the lines of this batch are not together; take its notes back one by one")
    return lines


def _record_back(notebook: Notebook, record: str, by: Draft) -> list[dict[str, Any]]:
    """The line that takes back what was kept of cost, unless somebody has taken it back by itself."""
    kept = SqlNotes(notebook.ledger)
    if not record or any(note.retracts == record for note in kept.list_notes(kind=RETRACTION)):
        return []
    return [kept.line_of([retraction(kept, record, Provenance(by.author, "workbook taken back"))])]


def _undone(notebook: Notebook, lines: Sequence[Entry], by: Draft) -> tuple[list[str], dict[str, Draft]]:
    """The notes that go, and those that say again what they said before."""
    gone = [line.note_id for line in lines if line.action == NOTE]
    back: dict[str, Draft] = {}
    for line in lines:
        if line.action == REVISE:
            before = next(one for one in notebook.ledger.get_history(line.note_id) if one.revision == line.revision - 1)
            back[line.note_id] = replace(draft_of(before), recorded_by=by.recorded_by)
    return gone, back
