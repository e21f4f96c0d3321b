"""Runs the command line as a process of its own, the way a person does."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SHOP = ROOT / "tests" / "answer" / "shop.ttl"
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def run() -> Run:
    """Runs `python -m graph` with the arguments; the result has returncode, stdout and stderr."""

    def run_graph(*arguments: str, stdin: str | None = None, facts: Path = SHOP) -> subprocess.CompletedProcess[str]:
        environment = {**os.environ, "LAYSHAFT_FACTS": str(facts), "PYTHONPATH": str(ROOT)}
        return subprocess.run(
            [sys.executable, "-m", "graph", *arguments],
            input=stdin, capture_output=True, text=True, check=False, env=environment, cwd=ROOT, timeout=60,
        )  # fmt: skip

    return run_graph
