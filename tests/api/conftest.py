"""The API over the workshop that is worked by hand (tests/answer/shop.ttl)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from graph.catalogue.load import load_catalogue
from graph.lookups.index import CatalogueIndex

SHOP = Path(__file__).parents[1] / "answer" / "shop.ttl"


@pytest.fixture(scope="session")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([SHOP]))


@pytest.fixture
def client(index: CatalogueIndex) -> Iterator[TestClient]:
    with TestClient(create_app(index, Settings(most_body_bytes=100_000)), raise_server_exceptions=False) as made:
        yield made
