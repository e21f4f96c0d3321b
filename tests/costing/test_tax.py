"""Tax: a percentage that the shop states. Unsaid is unsaid, never 0 %."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.costing.hours import HoursRecord, ShopHours
from graph.costing.notes import MemoryNotes, Provenance, retraction
from graph.costing.tax import Tax, find_tax, tax_note
from graph.errors import InvalidInput
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.html import as_html
from graph.papers.making import with_tax
from tests.costing.kit_car import answer
from tests.papers.reading import Outline

BENCH = Provenance("owner", "typed", "2026-06-30T10:00:00+00:00")


def printed(*percents: str) -> str:
    found, notes = answer(), MemoryNotes()
    notes.append([tax_note(percent, BENCH) for percent in percents])
    details = with_tax(Details(number="J-1", dated="2026-06-30"), notes)
    return Outline(as_html(estimate(found, found.routes[0], details))).text


def test_the_newest_rate_holds_and_is_taken_back_like_any_note() -> None:
    notes = MemoryNotes()
    assert find_tax(notes) is None

    first, second = tax_note("7", BENCH), tax_note("19", BENCH)
    notes.append([first, second])
    assert find_tax(notes) == Tax(Fraction(19))

    notes.append([retraction(notes, second.batch, BENCH)])
    assert find_tax(notes) == Tax(Fraction(7))


@pytest.mark.parametrize("said", ["-1", "101", "ten", "1e9", "7.12345"])
def test_what_is_no_percentage_is_refused_at_its_field(said: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        tax_note(said, BENCH)

    assert [one.path for one in refused.value.problems] == ["percent"]


@given(hundredths=st.integers(0, 10**10), percent=st.integers(0, 10_000))
def test_the_tax_is_the_nearest_hundredth(hundredths: int, percent: int) -> None:
    """Half up, as money is rounded (common practice): off by at most half a hundredth, never below it at a half."""
    exact = Fraction(percent, 100) * hundredths / 100

    found = Tax(Fraction(percent, 100)).on(hundredths)

    assert exact - Fraction(1, 2) < found <= exact + Fraction(1, 2)


def test_an_estimate_shows_the_total_the_tax_and_the_total_with_it() -> None:
    """581.00 is the kit car's route with nothing found; 19 % of it are 110.39 by hand."""
    assert answer().routes[0].total == 581

    text = printed("7", "19")

    assert "581.00" in text and "110.39" in text and "691.39" in text


@pytest.mark.parametrize("percent", ["7.77", "19.95", "0.05", "8.125", "20", "100"])
def test_the_rate_is_printed_as_it_was_stated(percent: str) -> None:
    """7.77 % was printed as 7.8 %, 19.95 % as 20 % and 0.05 % as 0.1 %, beside the right sum."""
    assert f"Tax, {percent} %" in printed(percent)


def test_an_estimate_without_a_stated_tax_says_so_and_a_stated_nought_is_printed() -> None:
    assert "No tax is stated" in printed()
    assert "Total with tax" in printed("0")


def test_hours_learnt_say_by_how_much_and_from_how_many_jobs() -> None:
    shop = ShopHours.of([HoursRecord("out", 400, 800, "J-1"), HoursRecord("in", 400, 800, "J-1")])

    assert "learnt from 1 job, a small sample: 1." in shop.words
    assert ShopHours.of([HoursRecord("out", 400, 400, "J-1")]).words.count("1.00 times") == 1
