"""From next to nothing to an answer that is proven: what a shop gets that has just begun to write down.

How long an answer takes is measured by hand; no test asserts a time.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.answer.asking import answer_question
from graph.answer.assumed import TELLING, shortly
from graph.answer.model.answer import Answer
from graph.answer.status import IF_IT_HOLDS, PROVEN
from graph.answer.text import answer_as_text
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.reading import CatalogueIndex, Question
from graph.search.result import NO_ROUTE
from tests.api.test_notes_change_answers import PREFIXES, note

BARE = """
shop:bare-box a lay:Part ; rdfs:label "Bare box" ; lay:kind kind:gearbox ; lay:madeFor kind:clutch-and-propshaft .
shop:bare-engine a lay:Part ; rdfs:label "Bare engine" ; lay:kind kind:engine ; lay:madeFor kind:clutch-and-propshaft .
shop:silent-box a lay:Part ; rdfs:label "Silent box" ; lay:kind kind:gearbox .
"""
NEARLY_KNOWN = {
    "gearbox": "tansy-5r", "engine": "whimbrel-30", "alternatives": 0,
    "context": {"torque_nm": 180, "tools": ["press", "puller", "lathe"], "duty": "road", "year": 1990},
}  # fmt: skip


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> CatalogueIndex:
    file = tmp_path_factory.mktemp("bare") / "bare.ttl"
    file.write_text(PREFIXES + BARE)
    return CatalogueIndex(load_catalogue([DEMO_FACTS, file]))


@pytest.fixture(scope="module")
def nothing_known(bare: CatalogueIndex) -> Answer:
    return answer_question(bare, Question(gearbox="bare-box", engine="bare-engine"))


def test_two_units_with_a_kind_of_job_and_nothing_else_get_a_range_and_where_to_begin(nothing_known: Answer) -> None:
    """Once it was "direct; proven cheapest 0.00; it goes straight on"."""
    route = nothing_known.routes[0]

    assert nothing_known.status == IF_IT_HOLDS
    assert route.if_all_holds is not None
    assert 0 < route.if_all_holds < route.expected <= route.p90
    assert f"; begin here: {nothing_known.measure_first[0].label}" in nothing_known.headline
    assert all(look.readings for look in nothing_known.measure_first)


def test_the_ten_most_telling_unknowns_stand_one_by_one_and_the_rest_is_counted(nothing_known: Answer) -> None:
    assumptions = nothing_known.routes[0].assumptions
    shown = shortly(assumptions)

    assert [line.fault != "" for line in shown[:TELLING]] == [True] * TELLING
    assert len(shown) == TELLING + 2  # what tells less, and what nobody has said anything of
    assert sum(len(line.picks) for line in shown) >= len(assumptions)
    assert shown[0].text == "engine face: nobody has stated whether block of Bare engine, not known and " \
                            "bell housing of Bare box, not known close"  # fmt: skip


def test_what_is_assumed_of_a_dimension_is_not_told_once_more_as_not_known(nothing_known: Answer) -> None:
    assert nothing_known.to_measure == ("crankshaft end float: nothing is known of it for these parts; measure it",)


def test_no_word_of_certainty_stands_where_nothing_is_known(nothing_known: Answer) -> None:
    text = answer_as_text(nothing_known)

    assert not any(word in text for word in ("direct", "straight on", "proven"))


def test_a_unit_of_which_only_its_kind_is_known_gets_a_question_back(bare: CatalogueIndex) -> None:
    answer = answer_question(bare, Question(gearbox="silent-box", engine="ouzel-20"))

    assert answer.status not in (PROVEN, IF_IT_HOLDS)
    assert answer.asks[0].startswith("Nobody has stated what Silent box was made for.")


def test_what_no_plan_can_open_does_not_say_that_nothing_could_change_it(bare: CatalogueIndex) -> None:
    """Once: "no route, 5 things stay open, measure ..." beside "no missing measurement could change the answer"."""
    answer = answer_question(bare, Question(gearbox="hollin-5", engine="dunlin-25d"))

    assert answer.status == NO_ROUTE
    assert all(line.opens for line in answer.open)


def entry_for(look: dict[str, Any]) -> str:
    """A note that the pair which the look is about was tried, and fits."""
    doubt = look["about"]
    first, second = doubt["parts"]
    return (
        f"shop:tried-{doubt['joint']} a lay:Fits ; lay:source shop:{first} ; lay:target shop:{second} ;"
        f" lay:joint kind:{doubt['joint']} .\n"
    )


def first_to_settle(answer: dict[str, Any]) -> dict[str, Any]:
    """The first look that settles what the best route assumes, with the joint and the pair that the route picked."""
    best = answer["routes"][0]
    for look in answer["measure_first"]:
        for line in best["assumptions"]:
            if look["inspection"] in {one["inspection"] for one in line["settles"]}:
                (link,) = [pick["id"] for pick in line["picks"]]
                pair = link.removesuffix(" not known").split("/", 1)[1].split("+")
                return {"label": look["label"], "about": {"joint": line["joint"], "parts": pair}}
    raise AssertionError("nothing to look at")


def test_following_measure_first_makes_what_holds_if_proven_in_three_entries(tmp_path: Path) -> None:
    with opened_service(tmp_path, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as shop:
        answer = shop.post("/routes", json=NEARLY_KNOWN).json()
        statuses = [answer["status"]]
        while statuses[-1] == IF_IT_HOLDS and len(statuses) <= 3:
            shop.post("/notes", json=note(entry_for(first_to_settle(answer)))).raise_for_status()
            answer = shop.post("/routes", json=NEARLY_KNOWN).json()
            statuses.append(answer["status"])

    assert statuses[0] == IF_IT_HOLDS
    assert statuses[-1] == PROVEN
    assert answer["routes"][0]["assumptions"] == []


def test_every_piece_of_work_that_is_no_visit_is_called_for_by_a_kind_of_joint_place_or_job(
    bare: CatalogueIndex,
) -> None:
    """Once fifteen of thirty-one were called for by none, the road test among them; edges name what is sent out."""
    known = bare.catalogue
    waiting = [task for joint in known.joint_kinds.values() for task in (*joint.tasks, *joint.via_tasks)]
    waiting += [task for place in known.position_kinds.values() for task in place.fit_tasks]
    waiting += [task for job in known.assemblies.values() for task in (*job.every_job, *job.comes_apart_by)]
    called: set[str] = set()
    while waiting:
        task = waiting.pop()
        if task not in called:
            called.add(task)
            waiting += known.tasks[task].after

    idle = {task.id for task in known.tasks.values() if task.id not in called and not task.only_for}
    assert idle == {"flywheel-reface-visit", "machine-shop-visit", "mount-made", "prop-shop-visit"}
