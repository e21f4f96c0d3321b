"""Finding notes: words anywhere in what they say, with filters, newest first, a page at a time."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import or_, select

from graph.errors import LimitExceeded
from graph.ledger import schema
from graph.ledger.book import MAX_LIST, Ledger
from graph.ledger.database import reading
from graph.ledger.lines import entry_of
from graph.ledger.record import NOTE_ACTIONS, RETRACT, Entry

MOST_WORDS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteFilter:
    """Which notes are wanted; an empty field wants all. `words`: all of them, in any field; `part`: a part's IRI."""

    words: str = ""
    part: str = ""
    author: str = ""
    evidence: str = ""
    job: str = ""
    retracted: bool = False


def find_notes(ledger: Ledger, wanted: NoteFilter, *, before: int = 0, limit: int = 50) -> list[Entry]:
    """The newest revisions of the notes that match, newest first, those recorded before position `before` (0: all).

    Raises LimitExceeded for a page of no or more than 1,000 notes.
    """
    if not 1 <= limit <= MAX_LIST:
        raise LimitExceeded(f"a page holds 1 to {MAX_LIST} notes, asked for {limit}")
    column, later = schema.entries.c, schema.entries.alias("later")
    newer = select(later.c.position).where(later.c.note_id == column.note_id, later.c.revision > column.revision)
    query = select(schema.entries).where(~newer.exists(), column.action.in_(NOTE_ACTIONS))
    query = query.order_by(column.position.desc()).limit(limit)
    if before:
        query = query.where(column.position < before)
    query = query.where(column.action == RETRACT) if wanted.retracted else query.where(column.action != RETRACT)
    for word in wanted.words.split()[:MOST_WORDS]:
        fields = (column.text, column.statements, column.author, column.method, column.job, column.document)
        query = query.where(or_(*(field.icontains(word, autoescape=True) for field in fields)))
    if wanted.part:
        query = query.where(column.statements.contains(f"<{wanted.part}>", autoescape=True))
    for name, value in (("author", wanted.author), ("evidence", wanted.evidence), ("job", wanted.job)):
        query = query.where(column[name] == value) if value else query
    with reading(ledger.engine) as connection:
        rows = list(connection.execute(query).mappings())
    return [entry_of(row) for row in rows]
