"""The shop's notebook as one object: ledger, graph, free queries, disputes and the catalogue that follows them.

One for each process. The catalogue is read again when the ledger has moved. Notes that do not hold together with the
rest are left out of it, and `left_out` names them; if fact files become unreadable, or a full disk keeps the graph from
following, the last good catalogue stays in use and `catalogue_fault` says what is wrong.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from graph.catalogue.compact.store import CompactFile
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.errors import InvalidFacts, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.disputes import ClaimDispute, list_disputes, list_hidden
from graph.ledger.facts import FactsCheck, StandingFacts
from graph.ledger.following import FollowedCatalogue
from graph.ledger.kept import KeptCatalogue
from graph.ledger.left_out import LeftOutNote
from graph.ledger.query import QueryLimits, QueryRunner
from graph.ledger.quick import check_quickly
from graph.ledger.search import SearchIndex
from graph.ledger.view import View, open_view


class Notebook:
    """`facts`: fact files besides the notes, or `stored`: facts that a file keeps. Raises InvalidFacts."""

    def __init__(
        self, ledger: Ledger, view: View, facts: Sequence[Path] = (), limits: QueryLimits | None = None,
        stored: CompactFile | None = None,
    ):  # fmt: skip
        self.ledger, self.view, self.facts = ledger, view, tuple(facts)
        self.queries = QueryRunner(view, limits)
        self.search = SearchIndex(ledger, view.folder)
        self.kinds = load_catalogue([])
        self.ranks = {level.id: level.rank for level in self.kinds.evidence_levels.values()}
        ledger.levels = self.ranks
        standing = self._standing = StandingFacts(view, self.facts, stored)
        ledger.check = FactsCheck(standing)
        self._followed = FollowedCatalogue(standing, KeptCatalogue(view.folder, ledger.base, self.facts, stored))
        self._fault = self._behind = ""
        self._left_out: tuple[LeftOutNote, ...] = ()
        self._lock = threading.Lock()
        self._position = -1
        self._catalogue = Catalogue()

    def catalogue(self) -> Catalogue:
        """The catalogue as the ledger stands now; the same object while nothing has changed."""
        with self._lock:
            try:
                position = self.view.catch_up()
            except StoreProblem as error:  # a full disk must not stop answers from what is known
                if self._position < 0:
                    raise
                self._behind = str(error)
                return self._catalogue
            self._behind = ""
            if position != self._position:
                self._read(position)
                self._position = position
            return self._catalogue

    @property
    def position(self) -> int:
        """The ledger's position at which the catalogue was last read."""
        return self._position

    @property
    def catalogue_fault(self) -> str:
        """Why the newest notes are not in the catalogue; empty if they are."""
        return self._behind or self._fault

    @property
    def left_out(self) -> tuple[LeftOutNote, ...]:
        """The notes that stand, but do not hold together with facts and other notes: nothing rests on them."""
        return self._left_out

    @property
    def is_packed(self) -> bool:
        """Whether the facts are so many that they are kept in a compact file, and not read as a whole."""
        return self._standing.stored is not None

    def disputes(self) -> list[ClaimDispute]:
        """Every dispute among the notes, settled ones too."""
        return list_disputes(self.view, self.ranks, self.kinds)

    def hidden(self) -> frozenset[str]:
        """The IRIs of edges that no answer rests on, because a note has settled against them."""
        return list_hidden(self.view, self.ranks, self.kinds)

    def close(self) -> None:
        """Stops the query processes and gives the view's folder free."""
        with self._lock, suppress(StoreProblem):  # without it the next start reads the notes anew
            self._followed.keep()
        self.queries.close()
        self.search.close()
        self.view.close()
        self.ledger.engine.dispose()

    def _read(self, position: int) -> None:
        try:
            self._catalogue = self._followed.read(position, self.hidden())
            self._fault, self._left_out = "", self._standing.left_out
        except InvalidFacts as error:
            if self._position < 0:
                self._catalogue = self._standing.whole(())
            self._fault = str(error)


def open_notebook(
    folder: Path, url: str = "", base: str = "", facts: Sequence[Path] = (), limits: QueryLimits | None = None,
    stored: Callable[[str], CompactFile] | None = None,
) -> Notebook:  # fmt: skip
    """The notebook kept under `folder` (ledger.db, views), or with its ledger at a database `url`.

    `stored`: opens the facts in a file, for the ledger's base, instead of `facts`. Raises InvalidInput, Conflict
    (another shop's ledger), StoreProblem (also for one that is not what was written).
    """
    folder.mkdir(parents=True, exist_ok=True)
    engine = open_database(url or sqlite_url(folder / "ledger.db"))
    check_quickly(engine)
    ledger = Ledger(engine, base)
    file = None if stored is None else stored(ledger.base)
    return Notebook(ledger, open_view(ledger, folder / "views"), facts, limits, file)
