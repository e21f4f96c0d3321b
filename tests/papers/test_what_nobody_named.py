"""What the fitter has to know of a paper: what nobody named, which shaft goes along, which words are the shop's.

Common practice: a build record says of each place what is there or that nobody looked; the delivery note of a part that
is sent out names it; what is not known is never left out as though it were nothing.
"""

from __future__ import annotations

import io
from typing import cast

from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from graph.answer.asking import ask_index
from graph.answer.model.answer import Answer
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.lookups.index import CatalogueIndex
from graph.papers.build_record import build_record
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.pdf import as_pdf
from graph.reading.question import Question
from tests.answer.test_order_of_work import torn
from tests.demo.shop import catalogue
from tests.papers.reading import Outline

DETAILS = Details(number="2026-0001", dated="2026-11-30")


def asked(**fields: str) -> Answer:
    return ask_index(CatalogueIndex(catalogue()), Question(**fields)).answer  # type: ignore[arg-type]


def test_a_build_record_names_the_places_of_which_nobody_has_said_what_is_there() -> None:
    index, question = torn(6, "clutch-and-propshaft")
    answer = ask_index(index, question).answer

    told = Outline(as_html(build_record(answer, answer.routes[0], DETAILS))).text

    assert "as found, not named: release bearing of Hollin 5" in told
    assert "no crankshaft sensor in Ouzel 20, two litres, petrol, as far as is known" in told


def test_a_visit_names_the_shaft_that_goes_along() -> None:
    routes = asked(gearbox="hollin-5", engine="whimbrel-30", vehicle="sorrel-pick-up").routes

    visits = {step.text for route in routes for step in route.steps if step.source == "prop-shop-visit"}

    assert visits == {"One visit to the propshaft shop: Sorrel propshaft, four bolts on 75"}


def test_the_first_line_speaks_of_kinds_of_job_in_words() -> None:
    index = CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo", FACTS_FOLDER / "yard"]))

    headline = ask_index(index, Question(gearbox="drake-2", engine="ouzel-20")).answer.headline

    assert "clutch and propshaft" in headline and "clutch-and-propshaft" not in headline


def test_a_pdf_has_language_title_and_an_outline_of_its_sections() -> None:
    """ISO 32000-1, 12.3.3 (outline), 14.9.2 (language), 12.2 (DisplayDocTitle)."""
    answer = asked(gearbox="hollin-5", engine="ouzel-20")
    paper = build_record(answer, answer.routes[0], DETAILS)

    read = PdfReader(io.BytesIO(as_pdf(paper)))

    assert [one.title for one in read.outline] == [section.heading for section in paper.sections]  # type: ignore[union-attr]
    root = cast(DictionaryObject, read.trailer["/Root"])
    assert root["/Lang"] == "en" and cast(DictionaryObject, root["/ViewerPreferences"])["/DisplayDocTitle"]
    assert read.metadata is not None and str(read.metadata.title).startswith("Build record 2026-0001: Hollin 5")
