"""The README's answer is what the program says: the block is compared with a run of the command above it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"<!-- answer: (.+?) -->\n```text\n(.*?)```", README, flags=re.DOTALL)


@pytest.mark.parametrize(("command", "shown"), BLOCKS)
def test_the_readme_shows_what_the_program_prints(command: str, shown: str) -> None:
    environment = {**os.environ, "LAYSHAFT_FACTS": "", "LAYSHAFT_DATA": ""}

    printed = subprocess.run(
        [sys.executable, "-m", "graph", *command.split()],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip

    assert shown.splitlines()[:-1] == [line.rstrip() for line in printed.splitlines()][: len(shown.splitlines()) - 1]
    assert shown.splitlines()[-1] == "..."


def test_the_first_paragraph_states_the_job() -> None:
    assert "cheapest" in README.split("\n\n")[0]
    assert BLOCKS
