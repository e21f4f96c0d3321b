"""What all tests share."""

from __future__ import annotations

import gc
import warnings

import pytest

from tests.rotating import without_those_of_other_days

with warnings.catch_warnings():
    # At import the test client announces a successor of its HTTP library; ours is the one that the locks pin.
    warnings.filterwarnings("ignore", message="Using `httpx` with `starlette.testclient`")
    import fastapi.testclient  # noqa: F401

gc.freeze()  # what libraries hold stays, as do catalogues that tests share: walking them at every turn costs a fifth
gc.set_threshold(50_000, 20, 50)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of a whole run, costly files run the tests whose turn it is; files or tests that are named run whole."""
    if any("::" in one or one.endswith(".py") for one in config.args):
        return
    kept, rested = without_those_of_other_days(items)
    if rested:
        config.hook.pytest_deselected(items=rested)
        items[:] = kept
