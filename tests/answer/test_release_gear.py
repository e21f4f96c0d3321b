"""What goes with a release bearing or a concentric slave and stands on no list is said to be unknown.

Common practice: a concentric slave wants a line through the housing and bleeding and no fork; a release bearing wants a
fork on a pivot, and something that moves it.
"""

from __future__ import annotations

import pytest

from graph.answer.asking import ask_index
from graph.answer.goes_with import goes_with
from graph.reading import Question
from tests.demo.shop import index

LINE, FORK, MOVES = "hydraulic line to the concentric slave", "fork, pivot and boot", "what moves the fork"


@pytest.mark.parametrize(
    ("gearbox", "engine", "vehicle", "said"),
    [
        ("tansy-5", "dunlin-25d", "", {LINE}),  # its own slave; nobody has stated what works the clutch
        ("tansy-5", "ouzel-20", "sorrel-pick-up", set()),  # the vehicle's actuation is stated, bleeding is a step
        ("tansy-5", "pipit-16", "", {FORK, MOVES}),  # the Hollin's release bearing in place of the slave
        ("hollin-5", "ouzel-20", "", set()),  # fork and pivot are those that are there
    ],
)
def test_release_gear_that_nobody_has_stated_is_to_be_confirmed(
    gearbox: str, engine: str, vehicle: str, said: set[str]
) -> None:
    route = ask_index(index(), Question(gearbox=gearbox, engine=engine, vehicle=vehicle)).answer.routes[0]
    told = [line for line in route.to_confirm if line.startswith("release gear")]

    assert {one for one in (LINE, FORK, MOVES) if any(one in line for line in told)} == said
    assert bool(vehicle) == any("hydraulics opened and bled" in step.text for step in route.steps)


def test_the_table_speaks_of_places_and_kinds_that_there_are() -> None:
    known = index().catalogue

    for row in goes_with():
        assert row.at in known.position_kinds and row.fitted in known.part_kinds and row.words and row.source
        assert row.in_place_of in ("", *known.part_kinds) and row.unless_stated in ("", *known.position_kinds)
