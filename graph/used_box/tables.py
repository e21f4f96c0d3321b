"""The trade's checks of a used gearbox as a network: the wear table's faults inside it, and what they show."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from graph.complaints.model import Cause, Trade
from graph.complaints.tables import (
    KINDS,
    Row,
    check_pairs,
    keyed,
    number_between,
    read_links,
    read_test,
    wrong_orders,
)
from graph.costing.odds import BetaOdds
from graph.costing.priors import load_priors_once
from graph.errors import InvalidFacts, Problem
from graph.wear.table import wear_table


@cache
def used_box_tables() -> Trade:
    """The tables that come with the program, read once."""
    return load_used_box(KINDS)


def load_used_box(folder: Path) -> Trade:
    """The tables of a folder, with the faults of the wear table that they speak of. Raises InvalidFacts."""
    faults: list[Problem] = []
    behind = keyed(folder / "used_box_causes.csv", "cause", _behind, faults)
    checks = keyed(folder / "used_box_checks.csv", "test", read_test, faults)
    worn = {row.fault: _worn(row.fault, row.label, load_priors_once()[row.fault]) for row in wear_table()}
    brings = read_links(folder / "used_box_links.csv", {**behind, **worn}, {**worn, **checks}, faults)
    check_pairs("used_box_checks.csv", checks, faults)
    faults += wrong_orders("used_box_links.csv", {**behind, **worn}, brings)
    if faults:
        raise InvalidFacts(faults)
    spoken = {cause for cause, links in brings.items() if any(one in checks for one in links)} | set(behind)
    return Trade({}, {**behind, **{name: one for name, one in worn.items() if name in spoken}}, checks, brings, {})


def _behind(where: str, row: Row, faults: list[Problem]) -> Cause:
    prior = number_between(where, row, "prior", faults)
    return _cause(row["cause"], row["label"], "", prior, row["source"])


def _worn(fault: str, label: str, odds: BetaOdds) -> Cause:
    return _cause(fault, label, fault, float(odds.mean), odds.source)


def _cause(name: str, label: str, fault: str, prior: float, source: str) -> Cause:
    return Cause(name, label, "", "", fault, "", "", prior, "", "", source)
