"""Everything that the service offers, over one data folder: routes, notes, costing, papers, behind the gate.

The folder holds the ledger with the record of cost (`ledger.db`, `views/`), and a shop's own facts (`facts/`, Turtle);
without own facts the demo workshop is used. A `costs.db` of an earlier version is taken over once.
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
from graph.cli.question import facts_of
from graph.costing.mirror import MirroredNotes
from graph.costing.store import SqlNotes
from graph.ledger.notebook import open_notebook
from graph.ledger.tokens import Tokens
from graph.reading.index import CatalogueIndex


@contextmanager
def opened_service(
    data: Path, settings: Settings, database: str = "", host: str = LOOPBACK
) -> Iterator[tuple[FastAPI, CatalogueIndex]]:
    """The app over a data folder, made if it is not there, and the facts it starts with; closed afterwards.

    `database`: the address of the ledger's database instead of a file in the folder. `host`: the address that the
    service will listen on; where others can reach it, every request needs an access token, and one must exist.
    Raises InvalidFacts, InvalidInput, Conflict, StoreProblem.
    """
    data.mkdir(parents=True, exist_ok=True)
    notebook = open_notebook(data, database, facts=[facts_of(data)])
    try:
        tokens = Tokens(notebook.ledger.engine)
        required = check_listening(host, tokens)
        costs = SqlNotes(notebook.ledger.engine)
        costs.take_over(data / "costs.db")
        index = CatalogueIndex(notebook.catalogue())
        app = create_app(index, settings)
        notes.install(app, notebook)
        costing.install(app, MirroredNotes(costs, notebook.ledger))
        app.add_middleware(Gate, tokens=tokens, required=required)
        yield app, index
    finally:
        notebook.close()
