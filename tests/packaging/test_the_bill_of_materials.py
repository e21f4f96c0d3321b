"""The bill of materials names every locked package with its version and licence; the lock names every file by hash."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import cyclonedx.schema
import jsonschema_rs
import pytest

ROOT = Path(__file__).parents[2]
SCHEMAS = Path(cyclonedx.schema.__file__).parent / "_res"  # OWASP's own, as the reference library carries them


def _sbom(*options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, ROOT / "scripts" / "sbom", *options], text=True, capture_output=True)


def test_it_is_cyclonedx_and_names_every_direct_dependency() -> None:
    bill = json.loads(_sbom().stdout)

    named = {component["name"]: component for component in bill["components"]}
    assert (bill["bomFormat"], bill["specVersion"]) == ("CycloneDX", "1.6")  # OWASP CycloneDX, ECMA-424
    for package in ("fastapi", "rdflib", "pyoxigraph", "networkx", "sqlalchemy"):
        assert named[package]["purl"] == f"pkg:pypi/{package}@{named[package]['version']}"


@pytest.mark.parametrize("lock", ["run", "test"])
def test_it_is_valid_by_the_published_schema(lock: str) -> None:
    """ECMA-424's JSON schema 1.6, with the schemas of licence ids and signatures that it refers to."""
    bill = json.loads(_sbom("--lock", lock).stdout)
    schema = jsonschema_rs.validator_for(
        json.loads((SCHEMAS / "bom-1.6.SNAPSHOT.schema.json").read_text()), retriever=_shipped
    )

    assert [str(error) for error in schema.iter_errors(bill)] == []
    assert not schema.is_valid(bill | {"components": [{"name": "without a type"}]})


def _shipped(uri: str) -> dict[str, object]:
    name = uri.rsplit("/", 1)[-1].removesuffix(".schema.json").removesuffix(".SNAPSHOT")
    found: dict[str, object] = json.loads((SCHEMAS / f"{name}.SNAPSHOT.schema.json").read_text())
    return found


@pytest.mark.parametrize("lock", ["run", "test"])
def test_every_package_states_a_licence_that_forbids_no_use(lock: str) -> None:
    done = _sbom("--licences", "--lock", lock)

    assert done.returncode == 0, done.stdout + done.stderr
    assert "not stated" not in done.stdout


@pytest.mark.parametrize("lock", ["run", "test"])
def test_every_locked_package_has_hashes_so_that_pip_takes_no_other_file(lock: str) -> None:
    """pip, "Secure installs": one hash in a requirements file and all must have one."""
    text = (ROOT / "scripts" / "lock" / f"{lock}.txt").read_text().replace("\\\n", " ")

    lines = [line for line in text.splitlines() if not line.startswith("#")]

    assert all(re.match(r"[a-z0-9._-]+(\[[a-z]+\])?==\S+ .*--hash=sha256:[0-9a-f]{64}", line) for line in lines), lines
    assert "://" not in text  # nor does it say where from
