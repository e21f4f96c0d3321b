"""A small invented trade, made once for all tests here."""

from __future__ import annotations

from pathlib import Path

import pytest

from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade

PARTS, SEED = 400, 3


@pytest.fixture(scope="session")
def plan() -> Plan:
    return Plan(PARTS, SEED)


@pytest.fixture(scope="session")
def trade(tmp_path_factory: pytest.TempPathFactory, plan: Plan) -> Path:
    folder = tmp_path_factory.mktemp("trade") / "facts"
    write_trade(plan, folder)
    return folder
