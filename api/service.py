"""Everything that the service offers, over one data folder: routes, notes, costing, papers, behind the gate.

The folder holds the ledger with the record of cost (`ledger.db`, `views/`), and a shop's own facts (`facts/`, Turtle);
without own facts the demo workshop is used. Facts of some megabytes are kept besides as a compact file (`catalogue`),
made anew when they change. A `costs.db` of an earlier version is taken over once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fastapi import FastAPI

from api import notebook as notes
from api.app import create_app
from api.routers import costing
from api.security import LOOPBACK, Gate, check_listening
from api.settings import Settings
from graph.catalogue.compact.bulk import Report
from graph.catalogue.compact.store import CompactFile
from graph.cli.question import KEPT, facts_of
from graph.costing.mirror import MirroredNotes
from graph.costing.store import SqlNotes
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.tokens import Tokens
from graph.reading.compact import CompactIndex, is_large, open_index
from graph.reading.index import CatalogueIndex
from graph.reading.layered import FollowingIndex


@contextmanager
def opened_service(
    data: Path, settings: Settings, database: str = "", host: str = LOOPBACK,
    report: Report = lambda what, done, of: None,
) -> Iterator[tuple[FastAPI, CatalogueIndex]]:  # fmt: skip
    """The app over a data folder, made if it is not there, and the facts it starts with; closed afterwards.

    `database`: the address of the ledger's database instead of a file in the folder. `host`: the address that the
    service will listen on; where others can reach it, every request needs an access token, and one must exist.
    `report`: told how far it is with facts that are many, when they are read for the first time or have changed.
    Raises InvalidFacts, InvalidInput, Conflict, StoreProblem.
    """
    data.mkdir(parents=True, exist_ok=True)
    notebook, root = _opened_notebook(data, database, report)
    try:
        tokens = Tokens(notebook.ledger.engine)
        required = check_listening(host, tokens)
        costs = SqlNotes(notebook.ledger.engine)
        costs.take_over(data / "costs.db")
        catalogue = notebook.catalogue()
        index = FollowingIndex(root).of(catalogue) if root else CatalogueIndex(catalogue)
        app = create_app(index, settings)
        notes.install(app, notebook)
        costing.install(app, MirroredNotes(costs, notebook.ledger))
        app.add_middleware(Gate, tokens=tokens, required=required)
        yield app, index
    finally:
        notebook.close()


def _opened_notebook(data: Path, database: str, report: Report) -> tuple[Notebook, CompactIndex | None]:
    """The notebook, and the index of its facts where they are so many that they are kept in a compact file."""
    facts = [facts_of(data)]
    if not is_large(facts):
        return open_notebook(data, database, facts=facts), None
    kept: list[CompactIndex] = []

    def stored(base: str) -> CompactFile:
        kept.append(open_index(facts, data / KEPT, shop_base=base, report=report))
        return kept[0].file

    return open_notebook(data, database, stored=stored), kept[0]
