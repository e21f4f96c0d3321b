"""schemathesis reads the OpenAPI description and tries what it allows and forbids, as each role, on both databases.

No 5xx, no status that is not described, no body of another shape. A few examples an operation here; the whole of it
by `LAYSHAFT_CONTRACT_EXAMPLES=50 pytest tests/api/test_contract_by_role.py`.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.tokens import ROLES, Tokens
from tests.api.processes import Service, running
from tests.ledger.postgres import Postgres, start_or_skip
from tests.rotating import todays

EXAMPLES = int(os.environ.get("LAYSHAFT_CONTRACT_EXAMPLES", "1"))
WHOLE = EXAMPLES >= 10
CHECKS = "not_a_server_error,response_schema_conformance,status_code_conformance,content_type_conformance"
PHASES = "coverage,fuzzing" if WHOLE else "fuzzing"
Shop = tuple[Service, dict[str, str]]
NOBODY = "192.0.2.1"  # RFC 5737: a proxy that is never there, so that loopback gives no rights


@pytest.fixture(scope="module")
def server() -> Iterator[Postgres]:
    started = start_or_skip()
    yield started
    started.remove()


@pytest.fixture(scope="module")
def shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A service that asks for tokens, and a token of each role."""
    data = tmp_path_factory.mktemp(request.param) / "data"
    data.mkdir()
    settings: dict[str, int | str] = {"proxies": NOBODY, "most_a_second": 100_000, "question_seconds": 2}
    if request.param == "postgresql":
        settings["database"] = request.getfixturevalue("server").new_url()
    engine = open_database(str(settings.get("database", sqlite_url(data / "ledger.db"))))
    Ledger(engine)
    secrets = {each: Tokens(engine).add(f"may {each}", each)[1] for each in ROLES}
    engine.dispose()
    with running(data, **settings) as service:
        assert (
            service.get("/openapi.json").status_code == 200
        )  # drawn up once, which can take longer than its reader waits
        yield service, secrets


@pytest.mark.parametrize(
    ("shop", "role"),
    [(database, role) for database in ("sqlite", "postgresql") for role in ("", *ROLES)]
    if WHOLE
    else todays([("sqlite", ""), ("sqlite", "read"), ("postgresql", "note"), ("postgresql", "manage")], 2),
    indirect=["shop"],
)
def test_no_request_of_any_role_breaks_the_contract(shop: Shop, role: str, tmp_path: Path) -> None:
    service, secrets = shop
    header = ["--header", f"Authorization: Bearer {secrets[role]}"] if role else []

    command = [str(Path(sys.executable).parent / "st"), "run", f"{service.address}/openapi.json", *header,
               "--checks", CHECKS, "--phases", PHASES, "--max-examples", str(EXAMPLES), "--seed", "1",
               "--continue-on-failure", "--request-timeout", "60"]  # fmt: skip
    done = subprocess.run(command, check=False, cwd=tmp_path, capture_output=True, text=True)

    assert done.returncode == 0, done.stdout[-8000:]
    assert [line for line in service.lines() if "exception" in line] == []
