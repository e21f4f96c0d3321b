"""An app with a notebook and the pages of notes and parts over the shop worked by hand, and a small form driver."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path

from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx import Response

from api.app import create_app
from api.with_notes import install
from graph.catalogue.load import load_catalogue
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.query import QueryLimits

SHOP = Path(__file__).parents[1] / "answer" / "shop.ttl"
LIMITS = QueryLimits(time_s=5.0, memory_bytes=500 << 20, result_bytes=200_000)
_FIELD = re.compile(r'<input type="hidden" name="([\w.-]+)" value="([^"]*)"')


@contextmanager
def paged_app(folder: Path, *facts: Path) -> Iterator[tuple[FastAPI, Notebook]]:
    """The app and its notebook in a folder; closed afterwards."""
    notebook = open_notebook(folder, facts=facts or (SHOP,), limits=LIMITS)
    app = create_app(load_catalogue(list(facts or (SHOP,))))
    install(app, notebook)
    yield app, notebook
    notebook.close()


def hidden(page: str) -> dict[str, str]:
    """The hidden fields of the first form of a page that posts."""
    start = page.index('<form method="post"')
    return {name: unescape(value) for name, value in _FIELD.findall(page[start : page.index("</form>", start)])}


def send(client: TestClient, form_at: str, to: str, **fields: str) -> Response:
    """Loads the page with the form, then sends it with its hidden fields, without following where it leads."""
    answer: Response = client.post(to, data=hidden(client.get(form_at).text) | fields, follow_redirects=False)
    return answer
