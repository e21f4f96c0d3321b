"""Ledgers to test with: one in a SQLite file, one on a real PostgreSQL server where there is one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from tests.ledger.disks import Disk, mounted_or_skip
from tests.ledger.postgres import Postgres, start_or_skip


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    server = start_or_skip()
    yield server
    server.remove()


@pytest.fixture(params=["sqlite", "postgresql"])
def any_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "sqlite":
        return sqlite_url(tmp_path / "ledger.db")
    server: Postgres = request.getfixturevalue("postgres")
    return server.new_url()


@pytest.fixture
def any_ledger(any_url: str) -> Iterator[Ledger]:
    engine = open_database(any_url)
    yield Ledger(engine)
    engine.dispose()


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    yield Ledger(engine)
    engine.dispose()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Disk]:
    with mounted_or_skip(tmp_path / "small", "4m") as disk:
        yield disk
