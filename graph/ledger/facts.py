"""From notes to the catalogue: what the notes state, checked by the shapes and read into typed facts.

The ledger keeps any note that is well formed; whether its statements are complete facts is judged here, by the
loader that reads fact files, so a note and a file are held to the same rules.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from pyoxigraph import Quad

from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.errors import InvalidFacts, Problem
from graph.ledger.book import Drafts, Ledger
from graph.ledger.drafts import now
from graph.ledger.identity import note_iri
from graph.ledger.provenance import quads_of
from graph.ledger.record import DRAFT_FIELDS, NOTE, Draft, Entry

MAX_PROBLEMS = 100


def catalogue_of(ledger: Ledger, paths: Sequence[Path] = (), set_aside: Collection[str] = ()) -> Catalogue:
    """The catalogue of the fact files and of every note that stands, without the edges set aside.

    `set_aside`: IRIs of edges that a settling note has overruled. Raises InvalidFacts.
    """
    stated = [(f"note {note_id}", kept) for note_id, kept in _standing(ledger, set_aside)]
    return load_catalogue(paths, shop_base=ledger.base, stated=stated)


def _standing(ledger: Ledger, set_aside: Collection[str] = ()) -> Iterator[tuple[str, list[Quad]]]:
    for entry in ledger.iter_current():
        quads = quads_of(entry)
        yield entry.note_id, [quad for quad in quads if getattr(quad.subject, "value", "") not in set_aside]


class FactsCheck:
    """Judges drafts together with all that is known; a `Check` for `Ledger`.

    Faults that the facts had before are not the new note's, so they do not stop it.
    """

    def __init__(self, ledger: Ledger, paths: Sequence[Path] = ()):
        self.ledger, self.paths = ledger, paths
        self._before: tuple[int, frozenset[Problem]] = (-1, frozenset())

    def __call__(self, added: Drafts, removed: Sequence[str]) -> None:
        """Raises InvalidFacts with every fault that the change would bring in."""
        if not removed and not any(draft.statements for _, draft in added):
            self._plain(added)
            return
        gone = set(removed)
        kept = [(f"note {note_id}", quads) for note_id, quads in _standing(self.ledger) if note_id not in gone]
        new = [(f"note {note_id}", list(quads_of(self._as_entry(note_id, draft)))) for note_id, draft in added]
        found = self._problems([*kept, *new])
        if problems := found and found - self._known_before():
            raise InvalidFacts(sorted(problems, key=lambda problem: (problem.path, problem.message))[:MAX_PROBLEMS])

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

    def _known_before(self) -> frozenset[Problem]:
        position = self.ledger.head().position
        if self._before[0] != position:
            stated = [(f"note {note_id}", quads) for note_id, quads in _standing(self.ledger)]
            self._before = (position, frozenset(self._problems(stated)))
        return self._before[1]

    def _problems(self, stated: Sequence[tuple[str, list[Quad]]]) -> set[Problem]:
        try:
            load_catalogue(self.paths, shop_base=self.ledger.base, stated=stated)
        except InvalidFacts as error:
            return set(error.problems)
        return set()

    def _as_entry(self, note_id: str, draft: Draft) -> Entry:
        values = {name: getattr(draft, name) for name in DRAFT_FIELDS}
        iri = note_iri(self.ledger.base, note_id)
        return Entry(
            position=0, note_id=note_id, iri=iri, revision=1, action=NOTE, recorded_at=now(), **values
        )  # fmt: skip
