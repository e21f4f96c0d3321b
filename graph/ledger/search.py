"""Finding notes by their words, misspelt ones too.

The full-text index (SQLite FTS5) is a view like the graph: it lies in the process's own view folder, follows the
ledger line by line, whatever database that is in, and is made again if it does not agree with it.
Misspelt words are compared with rapidfuzz, so `cluch disk` finds the note about the clutch disc.
"""

from __future__ import annotations

import re
import sqlite3
import threading
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz import fuzz, process

from graph.ledger.book import Ledger
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
        self.ledger = ledger
        self._lock = threading.Lock()
        self._db = sqlite3.connect(folder / "search.db", check_same_thread=False, isolation_level=None)
        self._db.execute("PRAGMA synchronous = OFF")  # it can be made again
        try:
            self._create()
        except sqlite3.DatabaseError:
            self._db.close()
            (folder / "search.db").unlink()
            self._db = sqlite3.connect(folder / "search.db", check_same_thread=False, isolation_level=None)
            self._create()

    def close(self) -> None:
        """Gives the file free."""
        self._db.close()

    def find_notes(self, text: str, filters: Mapping[str, str] | None = None, limit: int = 20) -> list[NoteHit]:
        """Notes with all the words (or their beginnings), best first; where none has them, with words alike."""
        words = [word.lower() for word in _WORD.findall(text)][:MAX_WORDS]
        chosen = {name: value for name, value in (filters or {}).items() if name in FILTERS and value}
        with self._lock:
            self._catch_up()
            if not words:
                return []
            exact = self._matching([[word] for word in words], chosen, limit)
            return exact or self._matching([self._alike(word) for word in words], chosen, limit)

    def _create(self) -> None:
        for statement in _TABLES:
            self._db.execute(statement)
        self._db.execute("PRAGMA quick_check")

    def _matching(self, words: Sequence[Sequence[str]], filters: Mapping[str, str], limit: int) -> list[NoteHit]:
        query = " AND ".join("(" + " OR ".join(f'"{word}"*' for word in group) + ")" for group in words)
        where = "".join(f" AND notes.{name} = ?" for name in filters)
        rows = self._db.execute(
            "SELECT notes.id, notes.iri, snippet(words, -1, '[', ']', '…', 24), author, evidence, job, made_at "
            f"FROM words JOIN notes ON notes.iri = words.iri WHERE words MATCH ?{where} "
            "ORDER BY bm25(words, 0, 2.0, 1.0), notes.iri LIMIT ?",
            (query, *filters.values(), limit),
        )
        return [NoteHit(*row) for row in rows]

    def _alike(self, word: str) -> list[str]:
        known = [row[0] for row in self._db.execute("SELECT term FROM vocabulary")]
        found = process.extract(word, known, scorer=fuzz.ratio, score_cutoff=NEAR_WORD, limit=8)
        return [word, *(name for name, _, _ in found)]

    def _catch_up(self) -> None:
        head = self.ledger.head()
        position, last = self._db.execute("SELECT position, hash FROM stands").fetchone() or (0, "")
        if (position, last) == (head.position, head.hash):
            return
        line = self.ledger.find_line(position) if position else None
        if position and (line is None or line.hash != last):
            self._clear()
            position = 0
        self._db.execute("BEGIN")
        for entry in self.ledger.iter_lines(after=position):
            self._take(entry)
            position, last = entry.position, entry.hash
        self._db.execute("DELETE FROM stands")
        self._db.execute("INSERT INTO stands VALUES (?, ?)", (position, last))
        self._db.execute("COMMIT")

    def _clear(self) -> None:
        for table in ("words", "notes", "stands"):
            self._db.execute(f"DELETE FROM {table}")

    def _take(self, entry: Entry) -> None:
        with closing(self._db.cursor()) as cursor:
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
