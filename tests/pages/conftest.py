"""The pages over the demo workshop, with costing and papers on a record that is kept in memory."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.routers import costing
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.costing.notes import MemoryNotes
from graph.lookups.index import CatalogueIndex


@pytest.fixture(scope="session")
def demo() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO_FACTS]))


@pytest.fixture
def pages(demo: CatalogueIndex) -> Iterator[TestClient]:
    app = create_app(demo)
    costing.install(app, MemoryNotes())
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as made:
        yield made
