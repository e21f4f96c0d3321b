"""A real server process for the kill tests: the API with a notebook, on the folder and database it is told."""

from __future__ import annotations

import sys
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from api import problems
from api.with_notes import install_notes
from graph.ledger.notebook import open_notebook


def main() -> None:
    """`python -m tests.ledger.writer_server FOLDER PORT [DATABASE_URL]`."""
    notebook = open_notebook(Path(sys.argv[1]), sys.argv[3] if len(sys.argv) > 3 else "")
    app = FastAPI()
    install_notes(app, notebook)
    problems.install(app)
    uvicorn.run(app, host="127.0.0.1", port=int(sys.argv[2]), log_level="error")


if __name__ == "__main__":
    main()
