"""Every figure that a paper prints is worked out again from the numbers printed beside it. Arithmetic, by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from graph.answer.asking import ask_index
from graph.answer.model.answer import Answer
from graph.answer.model.fit import SideEffect
from graph.conversion.document import Candidate, Conversion, Fault, Position, Task
from graph.costing.found import found_options
from graph.costing.jobs.stops import stops_of
from graph.costing.spread import spread_of_route
from graph.papers.build_record import build_record
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.html import as_html
from graph.papers.job_sheet import job_sheet
from graph.reading import Question
from tests.costing.kit_car import PICKS, answer, conversion
from tests.demo.shop import index
from tests.papers.reading import Outline

DETAILS = Details(number="J-1", dated="2026-06-30", shop="The shop", limit_hundredths=90000)
RATE = 60


def rows(paper: str, units: str = "both") -> list[list[str]]:
    return printed(paper, units).rows


def printed(paper: str, units: str = "both") -> Outline:
    details, found = replace(DETAILS, units=units), answer()
    route = replace(found.routes[0], side_effects=tuple(map(uncertain, found.routes[0].side_effects)))
    if paper == "estimate":
        document = conversion()
        options = found_options(document, PICKS, route.tasks)
        made = estimate(found, route, details, options, spread_of_route(document, PICKS, route.tasks, route.total))
    else:
        made = (job_sheet if paper == "job sheet" else build_record)(found, route, details)
    return Outline(as_html(made))


def uncertain(effect: SideEffect) -> SideEffect:
    return replace(effect, worst_case_um=600, rss_um=300)


def number(text: str) -> float:
    found = re.search(r"-?\d+(?:\.\d+)?", text)
    return float(found[0]) if found else 0.0


def table(found: list[list[str]], first: str) -> list[dict[str, str]]:
    """The rows below the head that begins with that cell, by its columns."""
    start = next(n for n, row in enumerate(found) if row and row[0] == first)
    head, below = found[start], found[start + 1 :]
    return [dict(zip(head, row, strict=True)) for row in below if len(row) == len(head)]


def test_the_amounts_of_the_estimate_add_up_to_its_total() -> None:
    lines = table(rows("estimate"), "What")
    amounts = {line["What"]: number(line["Amount"]) for line in lines}
    total = amounts.pop("Total")
    (labour,) = (said for said in amounts if said.startswith("Labour"))

    assert amounts[labour] == pytest.approx(number(labour.partition(",")[2]) * RATE, abs=0.01)
    assert total == pytest.approx(sum(amounts.values()))


def test_what_may_be_found_follows_from_its_odds_and_price() -> None:
    paper = printed("estimate")
    (line,) = table(paper.rows, "If found worn")

    def told(label: str) -> str:
        return paper.text.partition(label)[2].strip().split("\n")[0]

    later = number(line["Later, opened once more"])
    expected = number(told("Total, if nothing is worn")) + number(line["Likely"]) / 100 * later
    assert number(told("Expected, with likely faults")) == pytest.approx(expected)
    assert number(told("Chance of exceeding it")) == number(line["Likely"])  # 581 within 900, 1333 beyond


@pytest.mark.parametrize("paper", ["job sheet", "build record"])
@pytest.mark.parametrize("units", ["metric", "inch"])
def test_a_margin_is_the_way_to_the_nearer_limit_and_says_how_surely(paper: str, units: str) -> None:
    lines = [line for line in table(rows(paper, units), "Length") if re.search(r"\d (mm|in)$", line["Reckoned"])]

    assert lines
    for line in lines:
        reckoned, margin = number(line["Reckoned"]), line["Margin, and how surely"]
        ways = [abs(reckoned - float(limit)) for limit in re.findall(r"-?\d+\.\d+", line["Allowed"])]
        assert number(margin) == pytest.approx(min(ways), abs=0.0011)
        assert "either way" in margin and "RSS" in margin
        assert any(word in margin for word in ("holds", "thin", "not sure"))


def two_faults(odds: str, other: str, shows: bool) -> Conversion:
    """Two faults behind one strip; the first may show once it is open, the second shows."""
    tasks = (Task("out", "Out", (), 0, 450), Task("strip", "Strip", ("out",), 11000, 500))
    positions = tuple(
        Position(name, name, name, (Candidate(id=f"{name}-in-it", label=name, part=name, as_found=True),))
        for name in ("ring", "seal")
    )
    faults = (
        Fault("ring-worn", "ring", "ring", Fraction(odds), 4800, 40, ("strip",), shows),
        Fault("seal-leaks", "seal", "seal", Fraction(other), 900, 20, ("strip",), True),
    )
    return Conversion("box", "engine", 6000, tasks=tasks, positions=positions, faults=faults)


def expected(document: Conversion, opened: bool, renew: str = "") -> Fraction:
    """Brute force over all states: done now if opened, else found later and everything off once more."""
    total = Fraction(410 if opened else 0)
    for states in product((0, 1), repeat=len(document.faults)):
        chance, cost, again = Fraction(1), Fraction(0), False
        for fault, worn in zip(document.faults, states, strict=True):
            repair = Fraction(fault.cash_hundredths, 100) + Fraction(fault.hours_hundredths * 6000, 10_000)
            chance *= fault.odds if worn else 1 - fault.odds
            if fault.id == renew:
                cost += repair
            elif worn:
                cost += repair
                again |= not (opened and fault.shows)
        total += chance * (cost + (680 if again else 0))
    return total


@pytest.mark.parametrize(("other", "shows"), [("0.2", True), ("0.2", False), ("0.7", True), ("0.05", False)])
def test_now_pays_above_is_where_the_route_s_own_expected_costs_meet(other: str, shows: bool) -> None:
    picks = {"ring": "ring-in-it", "seal": "seal-in-it"}
    option = next(o for o in found_options(two_faults("0.3", other, shows), picks, ("out",)) if o.fault == "ring-worn")
    renew = "" if shows else "ring-worn"

    if 0 < option.break_even < 1:
        at = two_faults(str(option.break_even), other, shows)
        assert expected(at, True, renew) == expected(at, False)
    for odds, opening_pays in (
        (option.break_even + Fraction(1, 50), True),
        (option.break_even - Fraction(1, 50), False),
    ):
        if 0 < odds < 1:
            near = two_faults(str(odds), other, shows)
            assert (expected(near, True, renew) < expected(near, False)) is opening_pays


def test_the_worked_example_s_figure_is_that_of_the_openings() -> None:
    """Kit car: the strip 410 against the gearbox out and in again and the strip, 680."""
    found: Answer = answer()
    (option,) = found_options(conversion(), PICKS, found.routes[0].tasks)

    assert option.break_even == Fraction(410, 680)


def test_the_demos_papers_say_one_sum_why_a_ring_is_new_and_print_limits_that_are_known() -> None:
    """Tansy behind Pipit, sums as in tests/demo: ring 52.00 and bearing 38.00 are ordered before anything comes off."""
    found = ask_index(index(), Question(gearbox="tansy-5", engine="pipit-16")).answer

    customer = as_html(estimate(found, found.routes[0], DETAILS))
    tasks = index().catalogue.tasks
    bench = as_html(job_sheet(found, found.routes[0], DETAILS, known=tasks))
    stops = [stop.label for stop in stops_of(found.routes[0].tasks, tasks)]

    assert "What may be found, and what it would cost" in customer
    assert "likely at 40 % in such a gearbox, and reached anyway; the new part is in the price" in customer
    assert "One sum: nothing likely is known that adds to it" in customer and "Low, expected" not in customer
    assert "300.00 EUR, and 90.00 EUR for what is ordered by then" in customer
    assert bench.count("3.0 mm (0.118 in) to 5.0 mm (0.197 in)") == 2  # the release gap: as a length and as a setting
    assert "end float 0.05 to 0.15 mm after the case is changed" in bench
    set_at = next(step.number for step in found.routes[0].steps if "set end float" in step.text)
    assert f">step {set_at}<" in bench  # where it is set, not where the case that it follows from is fitted
    assert "tractor" not in bench and "tractor" not in customer
    assert "Before anything is ordered" in stops and all(f"{stop} (" in bench for stop in stops)  # as on the job's page
