"""Comunica, a SPARQL engine in JavaScript that no one here wrote, asks our endpoint over the SPARQL 1.1 Protocol.

npm fetches it into a temporary folder (about half a minute); without npm, or without a registry, the test is skipped.
LAYSHAFT_COMUNICA names a folder in which it is installed already.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.ledger.record import Draft
from tests.api.notebooks import notebook_app, served
from tests.ledger.test_disputes_stay_visible import edge

PACKAGE = "@comunica/query-sparql@4"  # version 5 needs node 22
pytestmark = pytest.mark.slow  # npm has half a minute of waiting to do
LAY = "https://layshaft.example/vocabulary#"


@pytest.fixture(scope="module")
def comunica(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The program."""
    kept = os.environ.get("LAYSHAFT_COMUNICA")
    folder = Path(kept) if kept else tmp_path_factory.mktemp("comunica")
    program = folder / "node_modules" / ".bin" / "comunica-sparql"
    if not program.exists():
        if not (shutil.which("npm") and shutil.which("node")):
            pytest.skip("npm and node are not installed")
        (folder / "package.json").write_text("{}")
        command = ["npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", PACKAGE]
        try:
            done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=180)
        except subprocess.TimeoutExpired:
            pytest.skip(f"npm took more than 180 s to install {PACKAGE}")
        if done.returncode:
            pytest.skip(f"npm could not install {PACKAGE}: {done.stderr[-200:]}")
    return program


@pytest.fixture(scope="module")
def endpoint(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with notebook_app(tmp_path_factory.mktemp("data")) as (app, notebook), served(app) as address:
        notebook.ledger.check = None  # loose statements: this is about the protocol
        for number in range(3):
            said = edge(f"e{number}", "Fits", f"disc-{number}", "shaft")
            notebook.ledger.append(Draft(text=f"note {number}", author="bench", statements=said))
        yield f"{address}/sparql"


def asked(program: Path, endpoint: str, query: str, media_type: str) -> str:
    """What Comunica prints."""
    done = subprocess.run([str(program), f"sparql@{endpoint}", "-q", query, "-t", media_type], capture_output=True,
                          text=True, check=False, timeout=60)  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def test_select_joins_and_orders_over_named_graphs(comunica: Path, endpoint: str) -> None:
    query = f"""SELECT ?text ?disc WHERE {{ GRAPH ?note {{ ?note <{LAY}text> ?text . ?edge <{LAY}source> ?disc }} }}
        ORDER BY ?text"""

    found = json.loads(asked(comunica, endpoint, query, "application/sparql-results+json"))

    rows = [(row["text"]["value"], row["disc"]["value"]) for row in found["results"]["bindings"]]
    assert rows == [(f"note {number}", f"https://shop.example/disc-{number}") for number in range(3)]


def test_ask_and_construct_come_through(comunica: Path, endpoint: str) -> None:
    ask = f"ASK {{ GRAPH ?g {{ ?edge a <{LAY}Fits> }} }}"
    where = f"GRAPH ?g {{ ?e <{LAY}source> ?disc ; <{LAY}target> ?shaft }}"
    build = f"CONSTRUCT {{ ?disc <{LAY}on> ?shaft }} WHERE {{ {where} }}"

    assert json.loads(asked(comunica, endpoint, ask, "application/sparql-results+json"))["boolean"] is True
    lines = asked(comunica, endpoint, build, "application/n-triples").strip().splitlines()

    assert sorted(lines) == [
        f"<https://shop.example/disc-{number}> <{LAY}on> <https://shop.example/shaft> ." for number in range(3)
    ]
