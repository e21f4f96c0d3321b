"""The examples in docstrings show what they say they show."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
WITH_EXAMPLES = [
    str(path.relative_to(ROOT).with_suffix("")).replace("/", ".")
    for folder in ("graph", "api", "scripts")
    for path in sorted((ROOT / folder).rglob("*.py"))
    if ">>> " in path.read_text()
]


def test_there_are_examples() -> None:
    assert len(WITH_EXAMPLES) > 50


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_examples_of_a_module_hold(module: str) -> None:
    found = doctest.testmod(import_module(module))

    assert found.attempted > 0
    assert found.failed == 0
