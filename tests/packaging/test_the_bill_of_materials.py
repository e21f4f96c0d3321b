"""The bill of materials names every locked package with its version and licence."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def _sbom(*options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, ROOT / "scripts" / "sbom", *options], text=True, capture_output=True)


def test_it_is_cyclonedx_and_names_every_direct_dependency() -> None:
    bill = json.loads(_sbom().stdout)

    named = {component["name"]: component for component in bill["components"]}
    assert (bill["bomFormat"], bill["specVersion"]) == ("CycloneDX", "1.6")  # OWASP CycloneDX, ECMA-424
    for package in ("fastapi", "rdflib", "pyoxigraph", "networkx", "sqlalchemy"):
        assert named[package]["purl"] == f"pkg:pypi/{package}@{named[package]['version']}"


def test_every_package_states_a_licence() -> None:
    done = _sbom("--licences")

    assert done.returncode == 0, done.stdout
    assert "not stated" not in done.stdout
