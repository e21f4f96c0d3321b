"""A command that is printed runs as it is printed; one that cannot run says what to do instead."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from graph.cli.program import ROOT, command


def test_without_the_libraries_the_program_says_which_python_has_them() -> None:
    """-S: without site-packages, as the system's own Python is."""
    done = subprocess.run([sys.executable, "-S", "-m", "graph", "parts"], cwd=ROOT, capture_output=True, text=True,
                          timeout=60, check=False)  # fmt: skip

    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "scripts/start installs them" in done.stderr
    assert ".venv/bin/python -m graph parts" in done.stderr


def test_a_command_printed_elsewhere_goes_to_the_checkout_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)

    said = command("token", "list", data=tmp_path / "a shop")

    assert said.startswith(f"cd {ROOT} && ")
    assert said.endswith(f"-m graph token list --data '{tmp_path / 'a shop'}'")
