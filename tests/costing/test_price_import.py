"""Price lists in and out: every bad row by line and column, nothing half kept, nothing that executes."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Sequence
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from graph.costing.cells import date_of, number_of
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.price_export import neutral, prices_as_csv, prices_as_xlsx
from graph.costing.price_import import ListReading, guess_mapping, preview_prices, price_notes, read_prices
from graph.costing.prices import Price
from graph.costing.shop import list_prices, take_back
from graph.costing.tables import read_table
from graph.errors import InvalidInput, LimitExceeded
from graph.exact import NotExact

TODAY = date(2026, 6, 30)
HEAD = "part,price,currency,condition,date,supplier,lead days,deposit,deposit lost\n"
GOOD = (
    HEAD + 'disc,135.00,EUR,new,2026-06-01,counter,2,0,0\nbox,"800",EUR,reconditioned,2026-05-20,exchange,5,250,15 %\n'
)
BAD = (
    "bush,-5,EUR,new,2026-06-01,,,,\nring,48,EURO,new,2026-06-01,,,,\n"
    "seal,22,EUR,nearly new,2027-01-01,,,,\n"
)  # fmt: skip
HEADER = ["part", "price", "currency", "condition", "date"]
BENCH = Provenance("counter", "price list", "2026-06-30T10:00:00+00:00")


def problems_of(text: str, date_order: str = "") -> list[str]:
    table = read_table(text.encode(), "list.csv")
    read = read_prices(table, ListReading(guess_mapping(table.header), date_order=date_order), TODAY)
    return [str(problem) for problem in read.problems]


def workbook(rows: Sequence[Sequence[str | float | date]]) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.worksheets[0].append(tuple(row))
    book.save(out)
    return out.getvalue()


def test_a_list_is_previewed_with_its_mapping_before_anything_is_kept() -> None:
    preview = preview_prices(read_table(GOOD.encode(), "list.csv"), None, TODAY)

    assert preview.mapping["cash"] == "price" and preview.mapping["deposit_lost"] == "deposit lost"
    assert (preview.rows, preview.problems, preview.missing) == (2, (), ())
    assert preview.first[1].deposit_lost == Fraction(15, 100)


def test_a_list_without_a_currency_column_says_what_is_missing() -> None:
    preview = preview_prices(read_table(b"item,price,remark\ndisc,135,ok\n", "list.csv"), None, TODAY)

    assert preview.missing == ("currency", "condition", "dated")
    assert preview.unused == ("remark",)


def test_defaults_stand_in_for_columns_that_are_not_there() -> None:
    reading = ListReading(
        {"part": "item", "cash": "price"}, {"currency": "EUR", "condition": "new", "dated": "2026-06-01"}
    )

    read = read_prices(read_table(b"item;price\ndisc;135,50\n", "list.csv"), reading, TODAY)

    assert read.prices[0].cash_hundredths == 13550


def test_bad_rows_are_reported_by_line_and_column_and_none_is_kept() -> None:
    notes = MemoryNotes()
    table = read_table((GOOD + BAD).encode(), "list.csv")
    read = read_prices(table, ListReading(guess_mapping(table.header)), TODAY)

    with pytest.raises(InvalidInput):
        notes.append(price_notes(read, BENCH))

    said = [str(problem) for problem in read.problems]
    assert said[0] == "line 4, column price: expected a price of 0 or more, found -5"
    assert said[1].startswith("line 5, column currency: expected an ISO 4217 currency code")
    assert "line 6, column condition: expected one of new" in said[2] and "in the future" in said[3]
    assert list_prices(notes) == []


def test_an_import_is_undone_as_one() -> None:
    notes = MemoryNotes()
    table = read_table(GOOD.encode(), "list.csv")
    notes.append(price_notes(read_prices(table, ListReading(guess_mapping(table.header)), TODAY), BENCH, "list-1"))
    assert len(list_prices(notes)) == 2

    take_back(notes, "list-1", BENCH, "wrong list")

    assert list_prices(notes) == []


def test_dates_in_two_orders_are_refused() -> None:
    rows = "disc,1,EUR,new,25/12/2025,,,,\nbox,1,EUR,new,12/25/2025,,,,\n"

    assert "dates in two orders: line 2 is day first, line 3 month first" in problems_of(HEAD + rows)[0]


def test_an_ambiguous_date_is_refused_until_the_order_is_said() -> None:
    row = "disc,1,EUR,new,03/04/2026,,,,\n"

    wanted = "may be 2026-04-03 or 2026-03-04: say whether dates are day first or month first"
    assert wanted in problems_of(HEAD + row)[0]
    assert problems_of(HEAD + row, date_order="day first") == []
    assert date_of("03.04.2026", "day first") == date(2026, 4, 3)
    assert date_of("03/04/2026", "month first") == date(2026, 3, 4)


@pytest.mark.parametrize(
    ("text", "mark", "wanted"),
    [("1.250,50", "", "1250.50"), ("1,250.50", "", "1250.50"), ("12,5", "", "12.5"), ("1 250,00", "", "1250"),
     ("1,250", ".", "1250"), ("1,250", ",", "1.250"), ("1.250.000", "", "1250000"), ("-3", "", "-3")],
)  # fmt: skip
def test_numbers_are_read_with_either_decimal_mark(text: str, mark: str, wanted: str) -> None:
    assert number_of(text, mark) == Fraction(wanted)


@pytest.mark.parametrize("text", ["1,250", "1.250", "12,34,56", "=1+1", "1.2.3,4,5", "dear", "", "NaN", "1e400"])
def test_a_number_that_may_mean_two_things_or_nothing_is_refused(text: str) -> None:
    with pytest.raises(NotExact):
        number_of(text)


def test_two_prices_for_one_part_and_day_are_refused() -> None:
    rows = "disc,1,EUR,new,2026-06-01,a,,,\ndisc,2,EUR,new,2026-06-01,a,,,\n"

    assert problems_of(HEAD + rows) == ["line 3: another price of disc for the same day stands on line 2"]


def test_xlsx_is_read_with_its_own_dates_and_numbers() -> None:
    data = workbook([HEADER, ["disc", 135.5, "EUR", "new", date(2026, 6, 1)]])
    table = read_table(data, "list.xlsx")

    read = read_prices(table, ListReading(guess_mapping(table.header)), TODAY)

    assert read.prices[0].cash_hundredths == 13550 and read.prices[0].dated == date(2026, 6, 1)


def test_a_formula_for_a_price_is_refused() -> None:
    data = workbook([HEADER, ["disc", "=100+35", "EUR", "new", date(2026, 6, 1)]])

    with pytest.raises(InvalidInput, match="list.xlsx row 2 cell 2: is a formula; paste its value"):
        read_table(data, "list.xlsx")


def test_a_formula_in_a_text_list_is_refused_as_a_price() -> None:
    assert (
        "found the formula '=100+35'; paste its value" in problems_of(HEAD + "disc,=100+35,EUR,new,2026-06-01,,,,\n")[0]
    )


def bombed(member: str, text: str) -> bytes:
    """A workbook of which one member is replaced."""
    source, out = zipfile.ZipFile(io.BytesIO(workbook([["part"], ["disc"]]))), io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in source.namelist():
            packed.writestr(name, text if name == member else source.read(name))
    return out.getvalue()


@pytest.mark.parametrize("member", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "[Content_Types].xml"])
def test_an_xml_bomb_in_a_workbook_is_refused(member: str) -> None:
    # The nested-entity expansion known as "billion laughs"; preceded by filler so that a look at the start misses it.
    layers = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
    for filler in ("", " " * 9000):
        bomb = f'<?xml version="1.0"?>{filler}<!DOCTYPE x [<!ENTITY a0 "ha">{layers}]><x>&a9;</x>'

        with pytest.raises(InvalidInput, match=r"entities|not a readable XLSX"):
            read_table(bombed(member, bomb), "list.xlsx")


def test_a_workbook_that_unpacks_to_too_much_is_refused() -> None:
    with pytest.raises(InvalidInput, match="refused as a bomb"):
        read_table(bombed("xl/worksheets/sheet1.xml", "<x>" + "0" * (257 << 20)), "list.xlsx")


@given(st.binary(max_size=300))
@settings(max_examples=300, deadline=None)
def test_no_bytes_at_all_bring_the_reader_down(data: bytes) -> None:
    for start in (b"", b"PK\x03\x04", HEAD.encode()):
        try:
            table = read_table(start + data, "list")
            preview_prices(table, None, TODAY)
        except (InvalidInput, LimitExceeded) as refused:
            assert str(refused)


@given(st.integers(0, 4000), st.integers(0, 255))
@settings(max_examples=150, deadline=None)
def test_no_damaged_workbook_brings_the_reader_down(at: int, byte: int) -> None:
    data = bytearray(workbook([["part", "price"], ["disc", 135.5]]))
    data[at % len(data)] = byte
    try:
        read_table(bytes(data), "list")
    except (InvalidInput, LimitExceeded) as refused:
        assert str(refused)


EVIL = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\tx", "plain"]


def evil_prices() -> list[Price]:
    return [
        Price(part=text, cash_hundredths=100, currency="EUR", condition="new", dated=TODAY, supplier=text)
        for text in EVIL
    ]


def test_no_cell_of_a_csv_export_starts_a_formula() -> None:
    rows = list(csv.reader(io.StringIO(prices_as_csv(evil_prices()), newline="")))

    for row in rows:
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)
    assert rows[6][0] == "plain" and rows[1][0] == "'" + EVIL[0]


def test_no_cell_of_an_xlsx_export_is_a_formula() -> None:
    sheet = load_workbook(io.BytesIO(prices_as_xlsx(evil_prices()))).worksheets[0]

    cells = [cell for row in sheet.iter_rows(min_row=2) for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert [sheet.cell(row, 1).value for row in range(2, 6)] == EVIL[:4]
    assert all(sheet.cell(row, 1).quotePrefix for row in range(2, 6))


@given(st.text(max_size=20))
def test_what_is_neutral_stays_as_it_was(text: str) -> None:
    assert neutral(text).lstrip("'").startswith(text.lstrip("'")) or text.startswith("'")
    assert not neutral(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_a_list_exported_and_read_again_is_the_same_list() -> None:
    table = read_table(GOOD.encode(), "list.csv")
    prices = read_prices(table, ListReading(guess_mapping(table.header)), TODAY).prices

    for again in (read_table(prices_as_csv(prices).encode(), "a"), read_table(prices_as_xlsx(prices), "b")):
        assert read_prices(again, ListReading(guess_mapping(again.header)), TODAY).prices == prices
