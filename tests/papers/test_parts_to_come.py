"""Parts that a job must have and nobody has named stand on its papers with what is known of them: common practice."""

from __future__ import annotations

import pytest

from graph.answer.asking import ask_index
from graph.answer.model.answer import Answer
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.html import as_html
from graph.papers.job_sheet import job_sheet
from graph.reading import CatalogueIndex, Question
from tests.papers.reading import Outline

DETAILS = Details(number="J-1", dated="2026-06-30", shop="The shop")


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo", FACTS_FOLDER / "yard"]))


@pytest.fixture(scope="module")
def manual_for_automatic(index: CatalogueIndex) -> Answer:
    question = Question(gearbox="hollin-5", engine="plover-30a", assembly="clutch-and-propshaft")
    return ask_index(index, question).answer


def test_a_disc_and_a_cover_to_be_ordered_stand_on_both_papers(manual_for_automatic: Answer) -> None:
    route = manual_for_automatic.routes[0]

    priced = {row[0]: row[1:] for row in Outline(as_html(estimate(manual_for_automatic, route, DETAILS))).rows}
    to_get = {row[0]: row for row in Outline(as_html(job_sheet(manual_for_automatic, route, DETAILS))).rows}

    assert priced["clutch disc to suit"] == ["118.00 EUR"]
    assert priced["clutch cover to suit"] == ["not stated"]
    assert "Machining and work sent out" not in priced
    assert {"clutch disc to suit", "clutch cover to suit"} <= set(to_get)


def test_what_the_work_uses_up_and_no_price_names_is_told_as_not_included(manual_for_automatic: Answer) -> None:
    paper = Outline(as_html(estimate(manual_for_automatic, manual_for_automatic.routes[0], DETAILS))).text

    assert "Asked for by the work, no price stated" in paper and "gearbox oil and new bolts" in paper
    assert "if at least" not in paper


def test_the_estimate_says_of_which_part_a_limit_is(index: CatalogueIndex) -> None:
    answer = ask_index(index, Question(gearbox="hollin-5", engine="ouzel-20")).answer
    route = next(one for one in answer.routes if "up to 240 Nm" in one.to_confirm)

    text = Outline(as_html(estimate(answer, route, DETAILS))).text

    assert "Disc 228 with the Hollin hub: up to 240 Nm" in text
