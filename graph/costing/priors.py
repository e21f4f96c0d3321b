"""Reads the prior odds and the likelihood ratios of signs from their tables. Every row names its source."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

from graph.costing.odds import BetaOdds
from graph.costing.signs import SignRatio
from graph.errors import InvalidFacts, Problem
from graph.exact import NotExact, fraction_of

KINDS = Path(__file__).resolve().parents[2] / "facts" / "kinds"
PRIORS = KINDS / "fault_priors.csv"
SIGNS = KINDS / "fault_signs.csv"
SHARES = KINDS / "sign_shares.csv"


@dataclass(frozen=True, slots=True)
class SignShare:
    """How often (0 to 1) a sign is seen in a state, over all boxes that come in."""

    sign: str
    state: str
    share: Fraction
    source: str


def load_priors(path: Path = PRIORS) -> dict[str, BetaOdds]:
    """The prior odds by fault id. Raises InvalidFacts with file and line of every bad row."""
    problems: list[Problem] = []
    priors: dict[str, BetaOdds] = {}
    for where, row in table_rows(path):
        prior = fraction_in(where, row, "prior", problems)
        strength = fraction_in(where, row, "strength_boxes", problems)
        if prior is None or strength is None:
            continue
        if not row["source"]:
            problems.append(Problem(where, 'no source: name one, or write "common practice"'))
        priors[row["fault"]] = BetaOdds(row["fault"], prior, strength, row["source"])
    if problems:
        raise InvalidFacts(problems)
    return priors


@cache
def load_priors_once() -> dict[str, BetaOdds]:
    """The table's priors, read once."""
    return load_priors()


@cache
def load_signs(path: Path = SIGNS) -> tuple[SignRatio, ...]:
    """The likelihood ratios of all signs, read once. Raises InvalidFacts with file and line of every bad row."""
    problems: list[Problem] = []
    ratios: list[SignRatio] = []
    for where, row in table_rows(path):
        ratio = fraction_in(where, row, "likelihood_ratio", problems)
        if ratio is not None:
            ratios.append(SignRatio(row["sign"], row["state"], row["fault"], ratio, row["source"]))
    if problems:
        raise InvalidFacts(problems)
    return tuple(ratios)


@cache
def load_shares(path: Path = SHARES) -> tuple[SignShare, ...]:
    """How often each sign is seen, read once. Raises InvalidFacts with file and line of every bad row."""
    problems: list[Problem] = []
    shares: list[SignShare] = []
    for where, row in table_rows(path):
        share = fraction_in(where, row, "share", problems)
        if share is not None and not 0 < share < 1:
            problems.append(Problem(f"{where}, column share", f"expected between 0 and 1, found {row['share']}"))
        elif share is not None:
            shares.append(SignShare(row["sign"], row["state"], share, row["source"]))
    if problems:
        raise InvalidFacts(problems)
    return tuple(shares)


@cache
def fault_at_position(path: Path = PRIORS) -> dict[str, str]:
    """The table's fault for each position kind that it names, so that signs reach the faults of the shop's facts."""
    return {position: row["fault"] for _, row in table_rows(path) for position in row["positions"].split()}


def table_rows(path: Path) -> Iterable[tuple[str, dict[str, str]]]:
    """File with line, and the row."""
    with path.open(encoding="utf-8", newline="") as lines:
        for line, row in enumerate(csv.DictReader(lines), start=2):
            yield f"{path.name} line {line}", row


def fraction_in(where: str, row: Mapping[str, str], column: str, problems: list[Problem]) -> Fraction | None:
    """The number in a column; None, with a problem added, for what is none."""
    try:
        return fraction_of(row[column])
    except NotExact as fault:
        problems.append(Problem(f"{where}, column {column}", str(fault)))
        return None
