"""Workbooks that are wrong: every fault says sheet, row and column, all of them together, and nothing is taken in."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime

import pytest
from openpyxl import Workbook

from graph.errors import InvalidInput, LimitExceeded
from graph.ledger.notebook import Notebook
from graph.workbook.batches import preview, take_in
from tests.workbook.books import Rows, empty_workshop, filled, saved, sent

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    with empty_workshop(tmp_path_factory.mktemp("shop")) as opened:
        yield opened.notebook


def faults(notebook: Notebook, data: bytes) -> list[str]:
    """What is wrong with it, and that nothing came of it."""
    position = notebook.ledger.head().position
    with pytest.raises(InvalidInput) as refused:
        take_in(notebook, sent(data))
    assert notebook.ledger.head().position == position
    return [str(one) for one in refused.value.problems]


CASE = {"name": "Linnet case", "kind": "gearbox case"}
ROWS: dict[str, tuple[Rows, str]] = {
    "a date for a number": ({"Parts": [CASE | {"cash": date(2026, 4, 3)}]},
                            "sheet 'Parts' row 2 column C (cash): is a date (2026-04-03), expected a number"),
    "a date for a text": ({"Parts": [CASE | {"part number": datetime(2026, 4, 3)}]}, "(part number): is a date"),
    "words for a number": ({"Parts": [CASE | {"cash": "dear"}]}, "column C (cash): expected a number such as 12.50"),
    "less than nothing": ({"Parts": [CASE | {"cash": -5}]}, "sheet 'Parts' row 2 column C (cash): cash is one amount"),
    "an unknown kind": ({"Parts": [CASE | {"kind": "gearbox cose"}]},
                        "row 2 column B (kind): nothing is named 'gearbox cose'; did you mean 'gearbox case'"),
    "one name twice": ({"Parts": [CASE, CASE]}, "sheet 'Parts' row 3: has the name of sheet 'Parts' row 2"),
    "one id twice": ({"Parts": [CASE | {"id": "a"}, CASE | {"id": "a", "name": "Other"}]}, "row 3: is the same as"),
    "an id with spaces": ({"Parts": [CASE | {"id": "my case"}]}, "expected letters, digits, - . _ without spaces"),
    "a row that says not what it is": ({"Joints known": [{"part": "x", "meets": "y"}]},
                                       "sheet 'Joints known' row 2 column A (what): say what it is: one of fits"),
    "a part that is nowhere": ({"What is in what": [{"what": "contains", "unit": "Nobody 5"}]},
                               "sheet 'What is in what' row 2 column B (unit): nothing is named 'Nobody 5'"),
    "no kind": ({"Parts": [{"name": "Thing"}]}, "sheet 'Parts' row 2 column B (kind): say with 'kind'"),
    "yes or maybe": ({"Parts": [CASE | {"in stock": "maybe"}]}, "expected yes or no, found 'maybe'"),
    "a test without words": ({"Parts": [CASE | {"condition": "torque 240"}]}, "expected a test and its words"),
    "another currency": ({"Workshop": [{"name": "Theirs", "currency": "SEK", "bench rate": 60}]},
                         "sheet 'Workshop' row 2 column B (currency): prices are in SEK, this workshop reckons in EUR"),
    "a hole without its face": ({"Holes": [{"hole name": "a1"}]}, "sheet 'Holes' row 2: name the bolt face"),
    "a rate in no money": ({"Rates": [{"kind of work": "bench", "an hour": 60, "currency": "XX"}]},
                           "sheet 'Rates' row 2: the money 'XX' is no code of ISO 4217"),
    "a price of a day to come": ({"Parts": [CASE], "Price list": [
        {"part": "Linnet case", "cash": 5, "condition": "new", "given on": date(2999, 1, 1)}]},
        "sheet 'Price list' row 2: the day lies in the future"),
    "a price without its day": ({"Price list": [{"part": "Nothing", "cash": 5}]},
                                "sheet 'Price list' row 2 column E (given on): is needed; fill it in"),
    "nothing": ({"Parts": []}, "nothing to take in"),
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_a_wrong_cell_is_named(name: str, notebook: Notebook) -> None:
    rows, words = ROWS[name]

    told = faults(notebook, saved(filled(rows)))

    assert any(words in one for one in told), told


def test_every_fault_of_a_workbook_is_told_at_once(notebook: Notebook) -> None:
    rows = {"Parts": [CASE | {"cash": "dear", "days": "soon"}], "Units": [{"name": "Linnet 4", "kind": "boat"}]}

    assert len(faults(notebook, saved(filled(rows)))) == 3


def test_faults_of_cells_and_of_rules_are_told_in_one_round(notebook: Notebook) -> None:
    """Before, "kind is missing" was told only after the words in the cell for money were mended."""
    rows = {
        "Parts": [CASE | {"cash": "dear"}, {"name": "Kindless"}],
        "Units": [{"name": "Linnet 4", "kind": "gearbox"}],
        "What is in what": [{"what": "contains", "unit": "Linnet 4", "position": "angle drive", "part": "Linnet case"}],
    }

    told = faults(notebook, saved(filled(rows)))

    assert any("row 2 column C (cash)" in one for one in told), told
    assert any("row 3 column B (kind): say with 'kind'" in one for one in told), told


def test_faults_name_things_as_the_sheets_name_them(notebook: Notebook) -> None:
    rows = {
        "Parts": [CASE], "Units": [{"name": "Linnet 4", "kind": "gearbox"}],
        "What is in what": [{"what": "contains", "unit": "Linnet 4", "position": "clutch disc", "part": "Linnet case"}],
    }  # fmt: skip

    told = faults(notebook, saved(filled(rows)))

    assert told
    assert not any("lay:" in one or "at-clutch-disc" in one or "gearbox-case" in one for one in told), told


def test_merged_cells_and_formulas_are_named_by_their_place(notebook: Notebook) -> None:
    book = filled({"Parts": [CASE | {"cash": "=6*7"}], "Units": [{"name": "Linnet"}]})
    book["Units"].merge_cells("A2:B3")

    told = faults(notebook, saved(book))

    assert "sheet 'Units' cells A2:B3: are merged; unmerge them, and fill in each cell by itself" in told
    assert "sheet 'Parts' row 2 column C (cash): is a formula; paste its value" in told


def test_what_is_wrong_with_cells_stands_among_all_other_faults_in_the_order_of_the_sheets(notebook: Notebook) -> None:
    lid = {"name": "Linnet lid", "kind": "gearbox case", "cash": "=6*7"}
    book = filled({"Units": [{"name": "Linnet 4", "kind": "boat"}], "Parts": [CASE | {"days": "soon"}, lid]})
    book["Parts"].merge_cells("A6:B7")
    book["Parts"]["A8"] = "Kindless"
    book.create_sheet("Pricelist").append(["part", "cash"])
    readings = book.create_sheet("Readings")
    readings.append(["Linnet case", "a bore", "45.01 mm"])
    readings.append(["Linnet lid", "a bore", "45.02 mm"])

    told = faults(notebook, saved(book))

    places = [one.partition(": ")[0] for one in told]
    assert places == [
        "sheet 'Units' row 2 column B (kind)", "sheet 'Parts' row 2 column E (days)",
        "sheet 'Parts' row 3 column C (cash)", "sheet 'Parts' cells A6:B7", "sheet 'Parts' row 8 column B (kind)",
        "sheet 'Pricelist'", "sheet 'Readings'",
    ], told  # fmt: skip
    assert "did you mean 'Price list'?" in told[5] and "row 1 holds no header of this sheet" in told[6]


def test_a_wrong_sheet_and_a_wrong_header_come_with_what_was_meant(notebook: Notebook) -> None:
    book = filled({"Parts": [CASE], "Units": [{"name": "Linnet 4"}]})
    book["Units"].title = "Unitz"
    book["Parts"]["C1"] = "csah"
    book["Parts"]["D1"] = "kind"

    told = faults(notebook, saved(book))

    assert "sheet 'Unitz': is none of this workbook's sheets; did you mean 'Units'? rename it or delete it" in told
    assert any(
        "row 1 column C (csah): no column is headed so on this sheet; did you mean 'cash'?" in one for one in told
    )
    assert any("row 1 column D (kind): two columns have this header" in one for one in told)


def test_a_million_empty_rows_are_told_at_once_and_not_read(notebook: Notebook) -> None:
    data, padded = io.BytesIO(), False
    with (
        zipfile.ZipFile(io.BytesIO(saved(filled({"Parts": [CASE]})))) as old,
        zipfile.ZipFile(data, "w") as new,
    ):
        for member in old.infolist():
            content = old.read(member)
            if not padded and b"</sheetData>" in content and member.filename.endswith("sheet1.xml"):
                rows = b'<row r="10"/>' * 1_000_000
                content, padded = content.replace(b"</sheetData>", rows + b"</sheetData>"), True
            new.writestr(member.filename, content, zipfile.ZIP_DEFLATED, 1)
    assert padded

    with pytest.raises((InvalidInput, LimitExceeded), match="rows, empty ones counted: delete those below"):
        preview(notebook, sent(data.getvalue()))


@pytest.mark.parametrize("data", [b"", b"id,name\n1,2\n", b"PK\x03\x04 and nothing"], ids=["empty", "CSV", "torn"])
def test_what_is_no_workbook_is_refused_in_words(data: bytes, notebook: Notebook) -> None:
    with pytest.raises(InvalidInput, match="XLSX"):
        preview(notebook, sent(data))


def test_a_number_that_a_spreadsheet_made_inexact_is_read_as_it_is_shown(notebook: Notebook) -> None:
    """0.1 + 0.2 is kept as 0.30000000000000004 in the file and shown as 0.3 (IEEE 754, binary64)."""
    book = filled({"Parts": [CASE | {"cash": 0.1 + 0.2, "part number": 6309}]})

    shown = preview(notebook, sent(saved(book)))

    assert shown.problems == ()


def test_a_sheet_of_another_program_with_the_headers_alone_is_taken(notebook: Notebook) -> None:
    """Whoever has a list of parts needs no template: the title, and the headers that are known."""
    book = Workbook()
    page = book.worksheets[0]
    page.title = "parts"
    page.append(["Name", "Kind", "Part number"])
    page.append(["Linnet lid", "gearbox case", "L-1"])

    assert preview(notebook, sent(saved(book))).counts == {"Parts": {"new": 1}}
