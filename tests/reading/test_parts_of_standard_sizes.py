"""A standard bearing is replaced by, and stands beside, hundreds of parts; those that belong here are still found."""

from __future__ import annotations

from graph.reading.found import COMMON
from graph.reading.model import REPLACEMENT
from tests.reading.bench import Bench, link, parts_at

MANY = COMMON + 40


def test_of_hundreds_that_replace_a_standard_bearing_the_one_for_these_parts_is_found() -> None:
    bench = Bench().closed()
    for number in range(MANY):
        bench.part(f"odd-{number}", "bearing", cash_hundredths=3000)
        bench.part(f"other-case-{number}", "case")
        bench.replaces(f"odd-{number}", "bearing-1", cash_hundredths=250)
        bench.fits(f"other-case-{number}", f"odd-{number}", "seat")
    bench.fits("case-1", "odd-42", "seat")
    bench.fits("odd-42", "shaft-1", "journal")

    reading = bench.read()

    assert parts_at(reading, "bearing") == ["bearing-1", "odd-42"]
    found = reading.candidates["at-bearing/odd-42"]
    assert (found.how, [edge.id for edge in found.edges]) == (REPLACEMENT, ["odd-42-replaces-bearing-1"])


def test_of_hundreds_of_sleeves_beside_a_standard_bearing_the_one_for_this_case_is_found() -> None:
    bench = Bench().closed()
    bench.part("case-2", "case")
    bench.fits("housing-1", "case-2", "flange")
    for number in range(MANY):
        bench.part(f"sleeve-{number}", "sleeve", cash_hundredths=1800)
        bench.fits(f"sleeve-{number}", "bearing-1", "seat")
    bench.fits("case-2", "sleeve-7", "seat")

    reading = bench.read()

    through = link(reading, "seat/case-2+sleeve-7+bearing-1")
    assert (through.kind, through.via, through.cash_hundredths) == ("fits through", ("sleeve-7",), 1800)


def test_a_sleeve_between_two_standard_parts_is_found() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft")
    bench.fits("disc-1", "shaft-2", "spline")
    for number in range(MANY):
        bench.part(f"sleeve-{number}", "sleeve")
        bench.fits(f"sleeve-{number}", "bearing-1", "journal")
        bench.part(f"bush-{number}", "sleeve")
        bench.fits(f"bush-{number}", "shaft-2", "journal")
    bench.fits("shaft-2", "sleeve-9", "journal")

    assert "shaft-2" in parts_at(bench.read(), "shaft")
