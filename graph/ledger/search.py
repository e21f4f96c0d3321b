"""Finding notes by their words, misspelt ones too.

The full-text index (SQLite FTS5) is a view like the graph: it lies in the process's own view folder, follows the
ledger line by line, whatever database that is in, and is made again if it does not agree with it.
Misspelt words are compared with rapidfuzz, so `cluch disk` finds the note about the clutch disc.
"""

from __future__ import annotations

import re
import sqlite3
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz import fuzz, process

from graph.errors import StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.disk import full_words, has_room, means_full
from graph.ledger.record import Entry

NEAR_WORD = 74.0  # of 100: one slip in a four-letter word still counts
MAX_WORDS = 12
FILTERS = ("author", "evidence", "job")
_WORD = re.compile(r"[^\W_]+")
_TABLES = (
    "CREATE TABLE IF NOT EXISTS stands (position INTEGER NOT NULL, hash TEXT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS notes (iri PRIMARY KEY, id, author, evidence, job, made_at)",
    "CREATE VIRTUAL TABLE IF NOT EXISTS words USING fts5(iri UNINDEXED, text, about, "
    "tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3')",
    "CREATE VIRTUAL TABLE IF NOT EXISTS vocabulary USING fts5vocab(words, row)",
)


@dataclass(frozen=True, slots=True)
class NoteHit:
    """A note that was found: the words around the hit are between [ and ]."""

    id: str
    iri: str
    excerpt: str
    author: str
    evidence: str
    job: str
    made_at: str


class SearchIndex:
    """The notes' words. Thread-safe."""

    def __init__(self, ledger: Ledger, folder: Path):
        self.ledger, self.path = ledger, folder / "search.db"
        self._lock = threading.Lock()
        self._db: sqlite3.Connection | None = None

    def close(self) -> None:
        """Gives the file free."""
        with self._lock:
            self._shut()

    def find_notes(self, text: str, filters: Mapping[str, str] | None = None, limit: int = 20) -> list[NoteHit]:
        """Notes with all the words (or their beginnings), best first; where none has them, with words alike."""
        words = [word.lower() for word in _WORD.findall(text)][:MAX_WORDS]
        chosen = {name: value for name, value in (filters or {}).items() if name in FILTERS and value}
        with self._lock, self._plain_words():
            db = self._opened()
            self._catch_up(db)
            if not words:
                return []
            exact = self._matching(db, [[word] for word in words], chosen, limit)
            return exact or self._matching(db, [self._alike(db, word) for word in words], chosen, limit)

    @contextmanager
    def _plain_words(self) -> Iterator[None]:
        """A file that failed is closed, so that the next search opens it again, or makes it anew if it is damaged."""
        try:
            yield
        except sqlite3.Error as error:
            self._shut()
            if means_full(error) or not has_room(self.path):
                raise StoreProblem(f"{full_words(self.path)}: notes cannot be searched until there is space") from error
            raise StoreProblem(f"{self.path} could not be searched ({error}); try again, it is made anew") from error

    def _opened(self) -> sqlite3.Connection:
        if self._db is None:
            try:
                self._db = self._created()
            except sqlite3.DatabaseError as error:
                if isinstance(error, sqlite3.OperationalError):  # full, locked, not writable: not damaged
                    raise
                self.path.unlink()
                self._db = self._created()
        return self._db

    def _created(self) -> sqlite3.Connection:
        db = sqlite3.connect(self.path, check_same_thread=False, isolation_level=None)
        try:
            db.execute("PRAGMA synchronous = OFF")  # it can be made again
            for statement in _TABLES:
                db.execute(statement)
            if (found := db.execute("PRAGMA quick_check").fetchone()[0]) != "ok":
                raise sqlite3.DatabaseError(found)
        except BaseException:
            db.close()
            raise
        return db

    def _shut(self) -> None:
        if self._db is not None:
            self._db.close()
            self._db = None

    def _matching(
        self, db: sqlite3.Connection, words: Sequence[Sequence[str]], filters: Mapping[str, str], limit: int
    ) -> list[NoteHit]:
        query = " AND ".join("(" + " OR ".join(f'"{word}"*' for word in group) + ")" for group in words)
        where = "".join(f" AND notes.{name} = ?" for name in filters)
        rows = db.execute(
            "SELECT notes.id, notes.iri, snippet(words, -1, '[', ']', '…', 24), author, evidence, job, made_at "
            f"FROM words JOIN notes ON notes.iri = words.iri WHERE words MATCH ?{where} "
            "ORDER BY bm25(words, 0, 2.0, 1.0), notes.iri LIMIT ?",
            (query, *filters.values(), limit),
        )
        return [NoteHit(*row) for row in rows]

    def _alike(self, db: sqlite3.Connection, word: str) -> list[str]:
        known = [row[0] for row in db.execute("SELECT term FROM vocabulary")]
        found = process.extract(word, known, scorer=fuzz.ratio, score_cutoff=NEAR_WORD, limit=8)
        return [word, *(name for name, _, _ in found)]

    def _catch_up(self, db: sqlite3.Connection) -> None:
        head = self.ledger.head()
        position, last = db.execute("SELECT position, hash FROM stands").fetchone() or (0, "")
        if (position, last) == (head.position, head.hash):
            return
        line = self.ledger.find_line(position) if position else None
        db.execute("BEGIN")
        if position and (line is None or line.hash != last):
            for table in ("words", "notes", "stands"):
                db.execute(f"DELETE FROM {table}")
            position = 0
        for entry in self.ledger.iter_lines(after=position):
            if entry.is_note:
                self._take(db, entry)
            position, last = entry.position, entry.hash
        db.execute("DELETE FROM stands")
        db.execute("INSERT INTO stands VALUES (?, ?)", (position, last))
        db.execute("COMMIT")

    def _take(self, db: sqlite3.Connection, entry: Entry) -> None:
        with closing(db.cursor()) as cursor:
            cursor.execute("DELETE FROM words WHERE rowid IN (SELECT rowid FROM notes WHERE iri = ?)", (entry.iri,))
            cursor.execute("DELETE FROM notes WHERE iri = ?", (entry.iri,))
            if entry.retracted:
                return
            made_at = entry.made_at or entry.recorded_at
            values = (entry.iri, entry.note_id, entry.author, entry.evidence, entry.job, made_at)
            cursor.execute("INSERT INTO notes VALUES (?, ?, ?, ?, ?, ?)", values)
            about = " ".join((entry.author, entry.method, entry.job, entry.document, *_literals(entry.statements)))
            cursor.execute("INSERT INTO words (rowid, iri, text, about) VALUES (?, ?, ?, ?)",
                           (cursor.lastrowid, entry.iri, entry.text, about))  # fmt: skip


def _literals(statements: str) -> list[str]:
    return re.findall(r'"((?:[^"\\]|\\.)*)"(?:@|\s)', statements)
