"""An app with a notebook to test with, in process or behind a real socket."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from api.app import create_app
from api.with_notes import install
from graph.catalogue.load import load_catalogue
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.query import QueryLimits
from graph.ledger.record import Draft

LIMITS = QueryLimits(time_s=1.5, memory_bytes=500 << 20, result_bytes=200_000)
SAID = Draft(text="Disc slides on the shaft.", author="bench", evidence="measured-on-these-parts")


@contextmanager
def notebook_app(folder: Path) -> Iterator[tuple[FastAPI, Notebook]]:
    """The app and its notebook in a folder; closed afterwards."""
    notebook = open_notebook(folder, limits=LIMITS)
    app = create_app(load_catalogue([]))
    install(app, notebook)
    yield app, notebook
    notebook.close()


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """The app behind a real socket on loopback; yields its address."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()
