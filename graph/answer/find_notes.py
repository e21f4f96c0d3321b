"""Finding what fact files note, by words: those have no full text of their own as the ledger's notes do."""

from __future__ import annotations

from collections.abc import Iterator
from heapq import nlargest
from itertools import islice

from rapidfuzz import fuzz

from graph.catalogue.model import Catalogue, Note

MOST_LOOKED_AT = 20_000  # of more, the first in order of ids
MOST_COMPARED = 2_000  # word by word, where no note has the words as they are typed
ALIKE = 80.0  # of 100: below, nobody would call it the same words


def find_fact_notes(known: Catalogue, text: str, limit: int = 20, job: str = "") -> tuple[Note, ...]:
    """Notes with all the words anywhere in them, in order of ids; where none has, those whose words are most alike.

    `job`: only of this job. Notes of the ledger are found by its own search (`graph/ledger/search.py`).
    """
    words = text.casefold().split()
    if not words:
        return ()
    notes = [one for one in _some(known) if not job or one.job == job]
    exact = [one for one in notes if all(word in _said(one) for word in words)]
    if exact:
        return tuple(exact[:limit])
    scored = [(_likeness(words, _said(one).split()), one.id, one) for one in notes[:MOST_COMPARED]]
    near = nlargest(limit, (hit for hit in scored if hit[0] >= ALIKE), key=lambda hit: (hit[0], hit[1]))
    return tuple(note for _, _, note in near)


def _likeness(words: list[str], said: list[str]) -> float:
    """How like the words are to the nearest ones of the note, in the mean, of 100."""
    best = [max((fuzz.ratio(word, one) for one in said), default=0.0) for word in words]
    return sum(best) / len(best)


def _some(known: Catalogue) -> Iterator[Note]:
    return (known.notes[name] for name in islice(iter(known.notes), MOST_LOOKED_AT))


def _said(note: Note) -> str:
    job = f"job {note.job}" if note.job else ""
    return " ".join((note.text, note.author, note.method, job, note.made_on)).casefold()
