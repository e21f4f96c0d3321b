"""Prices, shelf, rates: which price is used, and what a deposit really costs."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from graph.catalogue.model import Catalogue, Part
from graph.costing.applied import costed_catalogue
from graph.costing.currency import amount_hundredths, currency_of
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.price_import import PriceList, price_notes
from graph.costing.prices import Price, StockItem, find_source, is_stale
from graph.costing.rates import Rate, get_rate, surcharge_hundredths
from graph.costing.shop import list_rates, list_stock, list_sublets, rate_note, stock_note, sublet_note, take_back
from graph.costing.store import SqlNotes
from graph.errors import Conflict, InvalidInput, NotFound
from graph.exact import NotExact

TODAY = date(2026, 6, 30)
BENCH = Provenance("bench 1", "typed in", "2026-06-30T10:00:00+00:00")


def price(cash: int = 13500, dated: date = date(2026, 6, 1), **more: Any) -> Price:
    fields = {"part": "disc", "currency": "EUR", "condition": "new", **more}
    return Price(cash_hundredths=cash, dated=dated, **fields)


def test_a_core_deposit_costs_its_odds_of_being_lost() -> None:
    exchange = price(80000, condition="reconditioned", deposit_hundredths=25000, deposit_lost=Fraction(1, 10))

    assert exchange.expected_hundredths == 82500


def test_a_shelf_comes_first_at_book_value() -> None:
    shelf = [StockItem(part="disc", quantity=1, book_hundredths=2000, currency="EUR", place="rack 3")]

    source = find_source("disc", [price(1500)], shelf, "EUR", TODAY)

    assert source is not None
    assert (source.cash_hundredths, source.in_stock, source.lead_days) == (2000, True, 0)
    assert "rack 3" in source.why


def test_a_fresh_price_comes_before_a_cheaper_stale_one() -> None:
    fresh, stale = price(13500), price(9000, date(2025, 6, 1), supplier="other counter")

    assert is_stale(stale, TODAY) and not is_stale(fresh, TODAY)
    source = find_source("disc", [stale, fresh], [], "EUR", TODAY)
    assert source is not None and source.cash_hundredths == 13500


def test_a_stale_price_is_flagged_when_there_is_no_other() -> None:
    source = find_source("disc", [price(9000, date(2025, 6, 1))], [], "EUR", TODAY)

    assert source is not None and source.stale and "STALE, 394 days old: ask again" in source.why


def test_an_older_price_of_the_same_supplier_is_history() -> None:
    source = find_source("disc", [price(9000, date(2026, 5, 1)), price(13500)], [], "EUR", TODAY)

    assert source is not None and source.cash_hundredths == 13500


def test_a_price_in_another_currency_is_never_converted() -> None:
    assert find_source("disc", [price(currency="USD")], [], "EUR", TODAY) is None


@pytest.mark.parametrize(("value", "currency"), [("-1", "EUR"), ("1.005", "EUR"), ("10.50", "JPY"), ("dear", "EUR")])
def test_an_impossible_amount_is_refused(value: str, currency: str) -> None:
    with pytest.raises(NotExact):
        amount_hundredths(value, currency)


def test_only_codes_of_iso_4217_are_currencies() -> None:
    # ISO 4217 keeps XXX and XTS for "no currency" and tests; the metals are not payment either.
    assert currency_of("jpy") == "JPY"
    for wrong in ("EURO", "XXX", "XAU", "$", ""):
        with pytest.raises(NotExact, match="ISO 4217"):
            currency_of(wrong)


def test_a_negative_price_is_refused_however_it_comes() -> None:
    with pytest.raises(InvalidInput, match=r"disc\.cash: expected a price of 0 or more"):
        price(-1)


def test_the_catalogue_takes_the_shops_own_price_and_says_what_is_stale() -> None:
    catalogue = Catalogue(currency="EUR", parts={
        "disc": Part(id="disc", label="clutch disc", kind="clutch-disc", cash_hundredths=1),
        "plate": Part(id="plate", label="plate", kind="adapter-plate", cash_hundredths=32000),
    })  # fmt: skip
    stale = price(13500, date(2025, 1, 1), lead_days=Fraction(3))
    notes = MemoryNotes(price_notes(PriceList((stale,), ()), BENCH))

    costed = costed_catalogue(catalogue, notes, TODAY)

    assert costed.catalogue.parts["disc"].cash_hundredths == 13500 and costed.catalogue.parts["disc"].days == 3
    assert costed.catalogue.parts["plate"] is catalogue.parts["plate"]
    assert "STALE" in costed.told_of["disc"][0] and costed.told == costed.told_of["disc"]


def test_work_at_another_rate_keeps_its_hours_and_carries_the_difference() -> None:
    rates = [Rate("bench", 6000, "EUR"), Rate("machining", 8500, "EUR")]

    extra = surcharge_hundredths(rates, "machining", 150)

    assert Fraction(extra, 100) + Fraction(60 * 150, 100) == Fraction(85 * 150, 100)
    with pytest.raises(NotFound, match="machining"):
        get_rate(rates, "machinning")


@pytest.mark.parametrize("kept", ["memory", "sqlite"])
def test_rates_shelf_and_sublet_work_are_kept_and_taken_back(kept: str, tmp_path: Path) -> None:
    notes = MemoryNotes() if kept == "memory" else SqlNotes.on_file(tmp_path / "costs.db")
    shelf = stock_note("housing", {"quantity": 1, "book": "40", "currency": "EUR", "place": "shelf"}, BENCH)
    notes.append([shelf, rate_note("bench", {"per_hour": "60", "currency": "EUR"}, BENCH)])
    notes.append([rate_note("bench", {"per_hour": "65", "currency": "EUR"}, BENCH)])
    notes.append([sublet_note("reface", {"cash": "45", "currency": "EUR", "lead_days": 2}, BENCH)])

    assert list_rates(notes) == [Rate("bench", 6500, "EUR")]
    assert list_sublets(notes)[0].lead_days == 2
    assert list_stock(notes)[0].quantity == 1

    take_back(notes, shelf.batch, BENCH, "counted wrongly")

    assert list_stock(notes) == []
    assert len(notes.list_notes(kind="stock")) == 1  # nothing is ever lost
    with pytest.raises(Conflict, match="taken back already"):
        take_back(notes, shelf.batch, BENCH)


def test_a_rate_in_an_unknown_currency_is_refused() -> None:
    with pytest.raises(InvalidInput, match=r"rate\.bench: expected an ISO 4217 currency code"):
        rate_note("bench", {"per_hour": "60", "currency": "EURO"}, BENCH)


def test_notes_are_kept_all_or_none(tmp_path: Path) -> None:
    notes = SqlNotes.on_file(tmp_path / "costs.db")
    first = rate_note("bench", {"per_hour": "60", "currency": "EUR"}, BENCH)
    notes.append([first])

    with pytest.raises(Conflict, match="nothing was kept"):
        notes.append([rate_note("machining", {"per_hour": "80", "currency": "EUR"}, BENCH), first])

    assert [rate.kind for rate in list_rates(notes)] == ["bench"]
