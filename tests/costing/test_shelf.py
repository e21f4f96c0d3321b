"""What jobs take off the shelf: noted when they are closed, undone when the closing is taken back (kit car)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from graph.catalogue.model import Part
from graph.costing.jobs.closing import close_job
from graph.costing.jobs.entries import as_built_entry
from graph.costing.jobs.job import AsBuilt, get_job
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.prices import priced_part
from graph.costing.shelf import FromShelf, parts_used
from graph.costing.shop import list_stock, stock_note, take_back
from tests.costing.kit_car import answer

BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")


def counted(quantity: int, place: str = "rack 2", book: str = "100") -> dict[str, object]:
    return {"quantity": quantity, "book": book, "currency": "EUR", "place": place}


@pytest.fixture
def notes() -> MemoryNotes:
    """A shelf with two discs; jobs J-1 and J-2 are planned to use one each."""
    kept = MemoryNotes([stock_note("disc-28-hub", counted(2), BENCH)])
    for number in ("J-1", "J-2"):
        plan(kept, number)
    return kept


def plan(notes: MemoryNotes, number: str) -> None:
    asked = answer()
    route = asked.routes[0]
    parts = tuple(replace(part, in_stock=part.part == "disc-28-hub") for part in route.parts)
    open_job(notes, plan_job(asked, replace(route, parts=parts), "kit car", BENCH, number))


def close(notes: MemoryNotes, number: str, outcome: str = "done") -> str:
    """Closes the job and hands back the closing's batch."""
    made = close_job(get_job(notes, number), outcome, BENCH, list_stock(notes))
    notes.append(made)
    return made[0].batch


def pieces(notes: MemoryNotes) -> list[int]:
    return [item.quantity for item in list_stock(notes)]


def test_a_closed_job_takes_what_it_used_off_the_shelf(notes: MemoryNotes) -> None:
    close(notes, "J-1")

    assert pieces(notes) == [1]


def test_taking_one_closing_back_leaves_what_another_job_took(notes: MemoryNotes) -> None:
    first = close(notes, "J-1")
    close(notes, "J-2")
    assert pieces(notes) == [0]

    take_back(notes, first, BENCH)

    assert pieces(notes) == [1], "2 counted, 1 taken by J-2"


def test_a_later_count_speaks_for_itself(notes: MemoryNotes) -> None:
    close(notes, "J-1")
    notes.append([stock_note("disc-28-hub", counted(5), BENCH)])

    assert pieces(notes) == [5]


def test_an_abandoned_job_takes_nothing(notes: MemoryNotes) -> None:
    close(notes, "J-1", "abandoned")

    assert pieces(notes) == [2]


def test_what_was_built_overrules_what_was_planned(notes: MemoryNotes) -> None:
    position = next(p.position for p in answer().routes[0].parts if p.part == "disc-28-hub")
    notes.append([stock_note("disc-23-hub", counted(3), BENCH)])
    notes.append([as_built_entry(get_job(notes, "J-1"), AsBuilt(position, "disc-23-hub"), BENCH)])

    close(notes, "J-1")

    assert {item.part: item.quantity for item in list_stock(notes)} == {"disc-28-hub": 2, "disc-23-hub": 2}


def test_the_cheapest_of_several_is_taken_as_it_was_priced(notes: MemoryNotes) -> None:
    notes.append([stock_note("disc-28-hub", counted(1, "rack 9", "40"), BENCH)])

    close(notes, "J-1")

    assert {item.place: item.quantity for item in list_stock(notes)} == {"rack 2": 2, "rack 9": 0}


def test_a_shelf_that_is_empty_meanwhile_does_not_keep_a_job_open(notes: MemoryNotes) -> None:
    notes.append([stock_note("disc-28-hub", counted(0), BENCH)])

    close(notes, "J-1")

    assert get_job(notes, "J-1").outcome == "done" and pieces(notes) == [0]


def test_a_part_that_nobody_counted_is_not_taken() -> None:
    notes = MemoryNotes()
    plan(notes, "J-1")

    close(notes, "J-1")

    assert list_stock(notes) == []


def test_positions_are_compared_whatever_the_case() -> None:
    assert parts_used([FromShelf("plate-20", "Plate")], [("plate", "plate-15")]) == ["plate-15"]


def test_the_last_piece_gone_the_part_is_no_longer_in_stock(notes: MemoryNotes) -> None:
    disc = Part(id="disc-28-hub", label="disc", kind="clutch-disc", cash_hundredths=13500, in_stock=True)
    close(notes, "J-1")
    close(notes, "J-2")

    priced, told = priced_part(disc, [], list_stock(notes, disc.id), "EUR", date(2026, 6, 30))

    assert not priced.in_stock and priced.cash_hundredths == 13500
    assert priced.price_source == "none left on the shelf, the facts' price" and told == ""
