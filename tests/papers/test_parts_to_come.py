"""Parts that a job must have and nobody has named stand on its papers with what is known of them: common practice."""

from __future__ import annotations

import pytest

from graph.answer.asking import ask_index
from graph.answer.model import Answer
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
