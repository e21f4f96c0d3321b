"""Workbooks and lists made to break their reader: each is refused in words, none takes more than its child has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from graph.costing.tables import read_table
from graph.errors import InvalidInput, LimitExceeded
from graph.guarded.bounds import LOOK
from graph.ledger.foreign import read_preview
from tests.hostile.tables import BOOKS, LINES, row, workbook

WORDS = {
    "entities in the sheet": "declares XML entities",
    "a sheet of 300 MB of nothing": "refused as a bomb",
    "a row beyond all rows": "has rows beyond",
    "a formula": "row 2 cell 1: is a formula",
    "a formula as a text": "row 2 cell 1: is a formula",
    "values from another book": "takes values from other workbooks",
    "a zip of 60,000 files": "refused as a bomb",
    "3,000 columns": "more than 200 columns",
    "a cell of 5 MB": "characters in cell 1",
    "a million columns": "columns beyond 16,384",
    "a million empty rows": "rows beyond 1,048,576",
    "a million texts": "more than 500,000 texts",
    "line ends without lines": "rows beyond 1,048,576",
    "bytes of nothing": "found a binary file",
    "half a character": "not UTF-8",
    "one line of 3 MB": "not readable as a row",
    "columns of one name": "id",
}


@pytest.mark.parametrize("name", [name for name in WORDS if name in BOOKS or name in LINES])
def test_a_bomb_is_refused_in_words_that_say_what_it_is(name: str) -> None:
    ending, make = ("xlsx", BOOKS[name]) if name in BOOKS else ("csv", LINES[name])

    with pytest.raises((InvalidInput, LimitExceeded), match=WORDS[name]):
        read_table(make(), f"list.{ending}", LOOK)


def test_more_rows_than_are_allowed_are_refused() -> None:
    """The corpus of hostile bodies sends 250,000, which take ten seconds to be refused."""
    book = workbook("".join(row(n, "a", "b") for n in range(2, 3_002)))

    with pytest.raises(LimitExceeded, match="more than"):
        read_table(book, "list.xlsx", replace(LOOK, items=2_000))


def test_the_same_workbook_without_the_bomb_is_read() -> None:
    data = workbook(row(2, "disc", "a disc", "disc", "9", "EUR", "new", "2026-06-01"))

    assert read_table(data, "list.xlsx", LOOK).rows[0].cells[0] == "disc"
    assert "id -> id (string): disc" in read_preview(
        "list.xlsx", data, dict.fromkeys(("part", "price", "currency", "condition", "date"), ""), LOOK
    )
