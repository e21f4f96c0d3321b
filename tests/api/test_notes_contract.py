"""schemathesis reads the OpenAPI description and tries what it allows and forbids: no 5xx, no broken contract."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.api.notebooks import notebook_app, served

CHECKS = "not_a_server_error,response_schema_conformance,status_code_conformance,content_type_conformance"
PATHS = "^/(notes|sparql|graph|imports|merges|attachments|search|disputes|ledger|tokens)"


@pytest.mark.slow  # every role and database by test_contract_by_role.py
def test_no_request_that_the_description_allows_or_forbids_breaks_the_contract(tmp_path: Path) -> None:
    program = Path(sys.executable).parent / "st"
    with notebook_app(tmp_path / "data") as (app, _), served(app) as address:
        command = [str(program), "run", f"{address}/openapi.json", "--include-path-regex", PATHS, "--checks", CHECKS,
                   "--phases", "coverage,fuzzing", "--max-examples", "3", "--seed", "1"]  # fmt: skip
        done = subprocess.run(command, check=False, cwd=tmp_path, capture_output=True, text=True, timeout=120)

    assert done.returncode == 0, done.stdout[-4000:]
