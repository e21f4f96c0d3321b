"""Reads the tables of complaints. Every row names its source; every fault is told with file, line and column."""

from __future__ import annotations

import csv
from collections.abc import Callable, Container, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

from graph.complaints.model import READING_STATES, SIDES, Cause, Complaint, Test, Trade
from graph.errors import InvalidFacts, Problem

KINDS = Path(__file__).resolve().parents[2] / "facts" / "kinds"
MOST_SHARED = 8  # causes that bring others about: each doubles the work
Row = Mapping[str, str]
Made = TypeVar("Made")


@cache
def trade_tables() -> Trade:
    """The tables that come with the program, read once."""
    return load_trade(KINDS)


def load_trade(folder: Path) -> Trade:
    """The tables of a folder. Raises InvalidFacts with every bad row."""
    faults: list[Problem] = []
    complaints = keyed(folder / "complaints.csv", "complaint", _complaint, faults)
    causes = keyed(folder / "complaint_causes.csv", "cause", _cause, faults)
    tests = keyed(folder / "complaint_tests.csv", "test", read_test, faults)
    readings: dict[str, float] = {}
    for where, row in table_rows(folder / "complaint_readings.csv", faults):
        if row["state"] not in READING_STATES:
            faults.append(Problem(f"{where}, column state", f"expected one of {', '.join(READING_STATES)}"))
        readings[row["state"]] = number_between(where, row, "ratio", faults, most=1000.0)
    brings = read_links(folder / "complaint_links.csv", causes, {*complaints, *causes, *tests}, faults)
    check_pairs("complaint_tests.csv", tests, faults)
    faults += wrong_orders("complaint_links.csv", causes, brings)
    for state in sorted(set(READING_STATES) - set(readings)):
        faults.append(Problem("complaint_readings.csv", f"no row for {state!r}"))
    if faults:
        raise InvalidFacts(faults)
    return Trade(complaints, causes, tests, brings, readings)


def read_links(
    path: Path, causes: Container[str], known: Container[str], faults: list[Problem]
) -> dict[str, dict[str, float]]:
    """Per cause what it brings about and how often; what is wrong is added to `faults`."""
    brings: dict[str, dict[str, float]] = {}
    for where, row in table_rows(path, faults):
        if row["cause"] not in causes:
            faults.append(Problem(f"{where}, column cause", f"no cause {row['cause']!r}"))
        elif row["brings"] not in known:
            faults.append(Problem(f"{where}, column brings", f"no complaint, test or cause {row['brings']!r}"))
        elif row["brings"] in brings.setdefault(row["cause"], {}):
            faults.append(Problem(where, "said twice"))
        else:
            brings[row["cause"]][row["brings"]] = number_between(where, row, "chance", faults)
    return brings


def check_pairs(file: str, tests: Mapping[str, Test], faults: list[Problem]) -> None:
    """Every test that cannot be yes with another one names one that there is."""
    for test in tests.values():
        if test.not_with and test.not_with not in tests:
            faults.append(Problem(f"{file}, {test.id}, column not_with", f"no test {test.not_with!r}"))


def wrong_orders(file: str, causes: Container[str], brings: Mapping[str, Mapping[str, float]]) -> Iterator[Problem]:
    """A cause that brings causes about is not brought about by another: two steps, no more."""
    shared = {cause for cause, links in brings.items() if any(node in causes for node in links)}
    for cause in sorted(shared):
        for node in sorted(set(brings[cause]) & shared):
            yield Problem(file, f"{cause} brings {node} about, which itself brings causes about")
    if len(shared) > MOST_SHARED:
        told = f"{len(shared)} causes bring others about, at most {MOST_SHARED} can be reckoned with"
        yield Problem(file, told)


def _complaint(where: str, row: Row, faults: list[Problem]) -> Complaint:
    return Complaint(row["complaint"], row["label"], number_between(where, row, "otherwise", faults), row["source"])


def _cause(where: str, row: Row, faults: list[Problem]) -> Cause:
    if row["side"] not in SIDES or bool(row["side"]) != bool(row["chain"]):
        faults.append(
            Problem(f"{where}, column side", "expected below, above or either with a chain, or neither of them")
        )
    return Cause(
        row["cause"], row["label"], row["joint"], row["position"], row["fault"], row["chain"], row["side"],
        number_between(where, row, "prior", faults), row["remedy"], row["looks_like"], row["source"],
    )  # fmt: skip


def read_test(where: str, row: Row, faults: list[Problem]) -> Test:
    """A row of a table of tests."""
    minutes = number_between(where, row, "minutes", faults, least=-1.0, most=10_000.0)
    return Test(
        row["test"], row["asks"], row["how"], minutes, tuple(row["needs"].split()),
        number_between(where, row, "otherwise", faults), row["not_with"], row["source"],
    )  # fmt: skip


def keyed(
    path: Path, key: str, make: Callable[[str, Row, list[Problem]], Made], faults: list[Problem]
) -> dict[str, Made]:
    """The table's rows by their key, each made by `make`."""
    found: dict[str, Made] = {}
    for where, row in table_rows(path, faults):
        if not row[key] or row[key] in found:
            faults.append(Problem(f"{where}, column {key}", "empty, or there already"))
        found[row[key]] = make(where, row, faults)
    return found


def table_rows(path: Path, faults: list[Problem]) -> Iterator[tuple[str, dict[str, str]]]:
    """File with line, and the row; one of another number of cells is left out and told."""
    with path.open(encoding="utf-8", newline="") as lines:
        for line, row in enumerate(csv.DictReader(lines), start=2):
            where = f"{path.name} line {line}"
            if None in row or None in row.values():
                faults.append(Problem(where, "more or fewer cells than columns"))
                continue
            if not row["source"]:
                faults.append(Problem(where, 'no source: name one, or write "common practice"'))
            yield where, row


def number_between(
    where: str, row: Row, column: str, faults: list[Problem], least: float = 0.0, most: float = 1.0
) -> float:  # fmt: skip
    """Between `least` and `most`, neither of them: nothing is certain beforehand."""
    try:
        value = float(row[column])
    except ValueError:
        value = most
    if not least < value < most:
        faults.append(
            Problem(
                f"{where}, column {column}", f"expected a number between {least:g} and {most:g}, found {row[column]!r}"
            )
        )
    return value
