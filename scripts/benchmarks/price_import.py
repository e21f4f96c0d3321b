"""How long a price list of 50,000 rows takes: read, checked, kept, listed and taken back, as CSV and as XLSX.

Prints one JSON object. Ten rows are bad on a second pass, which must keep nothing and name all ten.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from datetime import date
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from graph.costing.notes import Provenance
from graph.costing.price_export import prices_as_csv, prices_as_xlsx
from graph.costing.price_import import ListReading, guess_mapping, price_notes, read_prices
from graph.costing.prices import Price
from graph.costing.shop import list_prices, take_back
from graph.costing.store import SqlNotes
from graph.costing.tables import read_table
from graph.errors import InvalidInput

ROWS, BAD_ROWS, SEED = 50_000, 10, 1
TODAY = date(2026, 12, 1)


def made_up_prices() -> list[Price]:
    """Invented prices, the same on every run."""
    draw = random.Random(SEED)
    return [
        Price(
            part=f"part-{number}", cash_hundredths=draw.randrange(1, 100_000), currency="EUR", condition="new",
            dated=date(2026, 1 + number % 9, 1 + number % 28), supplier=f"counter {number % 7}",
            lead_days=Fraction(number % 10),
        )
        for number in range(ROWS)
    ]  # fmt: skip


def timed(data: bytes, name: str) -> dict[str, float]:
    """Seconds per stage of one import and its undoing."""
    with tempfile.TemporaryDirectory() as folder:
        notes, marks = SqlNotes.on_file(Path(folder) / "costs.db"), [time.perf_counter()]
        table = read_table(data, name)
        marks.append(time.perf_counter())
        read = read_prices(table, ListReading(guess_mapping(table.header)), TODAY)
        marks.append(time.perf_counter())
        notes.append(price_notes(read, Provenance("bench"), "list"))
        marks.append(time.perf_counter())
        assert len(list_prices(notes)) == ROWS
        marks.append(time.perf_counter())
        take_back(notes, "list", Provenance("bench"))
        assert not list_prices(notes)
        marks.append(time.perf_counter())
        notes.close()
    stages = ("unpacked", "checked", "kept", "listed", "taken back")
    seconds = {stage: round(b - a, 2) for stage, a, b in zip(stages, marks, marks[1:], strict=False)}
    return {**seconds, "import": round(marks[3] - marks[0], 2)}


def bad_rows_named(data: bytes) -> int:
    """How many problems are named once every 5,000th price is below 0; nothing may be kept."""
    lines = data.decode().splitlines()
    for row in range(ROWS // BAD_ROWS, ROWS + 1, ROWS // BAD_ROWS):
        cells = lines[row].split(",")
        lines[row] = ",".join([cells[0], "-1", *cells[2:]])
    table = read_table("\n".join(lines).encode(), "list.csv")
    read = read_prices(table, ListReading(guess_mapping(table.header)), TODAY)
    try:
        price_notes(read, Provenance("bench"))
    except InvalidInput as refused:
        return len(refused.problems)
    raise AssertionError("a list with bad rows was kept")


def main() -> None:
    prices = made_up_prices()
    as_csv = prices_as_csv(prices).encode()
    result = {
        "rows": ROWS, "csv_seconds": timed(as_csv, "list.csv"),
        "xlsx_seconds": timed(prices_as_xlsx(prices), "list.xlsx"), "bad_rows_named": bad_rows_named(as_csv),
    }  # fmt: skip
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
