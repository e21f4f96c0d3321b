"""A shop opened from what is on disk: a data folder with its ledger, or fact files alone."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from graph.catalogue.compact.bulk import Report
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.statements import list_fact_files
from graph.costing.store import SqlNotes
from graph.counter.limits import NO_LIMITS, Limits
from graph.counter.searches import HERE, Searches
from graph.counter.shop import Shop
from graph.ledger.book import Ledger
from graph.ledger.database import opened_read_only
from graph.ledger.left_out import LeftOutNote
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.view import open_view
from graph.lookups.compact import CompactIndex, is_large, open_index
from graph.lookups.index import CatalogueIndex

OWN_FACTS = "has-facts-of-its-own"  # in a data folder: a mark, so that facts that are gone are missed
KEPT = "catalogue"  # in a data folder: its facts as a compact file, where they are many


@dataclass(frozen=True, slots=True)
class OpenedShop:
    """A shop with its ledger; the notebook must be closed."""

    shop: Shop
    notebook: Notebook


def _untold(what: str, done: int, of: int) -> None:
    """Nobody waits to hear how far it is."""


@contextmanager
def opened_shop(
    data: Path, facts: Path, database: str = "", *, searches: Searches = HERE, limits: Limits = NO_LIMITS,
    report: Report = _untold,
) -> Iterator[OpenedShop]:  # fmt: skip
    """The shop of a data folder (made if it is not there) on the facts of a folder; closed afterwards.

    `database`: the address of the ledger's database instead of a file in the folder. `report`: told how far it is with
    facts that are many, when they are read for the first time or have changed. A `costs.db` of an earlier version is
    taken over once. Raises InvalidFacts, InvalidInput, Conflict, StoreProblem.
    """
    data.mkdir(parents=True, exist_ok=True)
    if facts == data / "facts" and list_fact_files([facts]):
        (data / OWN_FACTS).touch()
    notebook, root = _opened_notebook(data, facts, database, report)
    try:
        costs = SqlNotes(notebook.ledger)
        costs.take_over(data / "costs.db")
        index = CatalogueIndex(notebook.catalogue()) if root is None else root
        shop = Shop(index, costs, searches=searches, limits=limits)
        shop.follow_notes(notebook)
        shop.follow()
        yield OpenedShop(shop, notebook)
    finally:
        notebook.close()


def find_left_out(data: Path, facts: Path, url: str) -> tuple[LeftOutNote, ...]:
    """The notes of a ledger that do not hold together with the facts of a folder; the ledger is only read.

    `data`: the folder where facts that are many are kept. Raises InvalidFacts, StoreProblem.
    """
    with (
        tempfile.TemporaryDirectory(prefix="layshaft-reading-") as folder,
        opened_read_only(url) as engine,
    ):
        ledger = Ledger(engine)
        large = is_large([facts])
        stored = open_index([facts], data / KEPT, shop_base=ledger.base).file if large else None
        notebook = Notebook(ledger, open_view(ledger, Path(folder)), () if large else [facts], None, stored)
        try:
            notebook.catalogue()
            return notebook.left_out
        finally:
            notebook.close()


def _opened_notebook(data: Path, facts: Path, database: str, report: Report) -> tuple[Notebook, CompactIndex | None]:
    """The notebook, and the index of its facts where they are so many that they are kept in a compact file."""
    if not is_large([facts]):
        return open_notebook(data, database, facts=[facts]), None
    kept: list[CompactIndex] = []

    def stored(base: str) -> CompactFile:
        kept.append(open_index([facts], data / KEPT, shop_base=base, report=report))
        return kept[0].file

    notebook = open_notebook(data, database, stored=stored)
    return notebook, kept[0]
