"""What a reader meets first of an answer, in the trade's words; and no name of the program's own reaches anybody."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pypdfium2
import pytest
from fastapi.testclient import TestClient

from api.pages.asked import address
from api.pages.first_run import LOOKS_IMPOSSIBLE, PLATE_QUESTION
from graph.answer.effects import shares
from graph.answer.model.fit import Shift
from graph.answer.plain import first_to_do, sum_words, verdict_sentence
from graph.cli.question import DEMO_QUESTION
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from tests.pages.answered import shop_answer
from tests.pages.html import Page

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

# What only a program says: names with underscores, ids of the demo's parts, a missing value, a head without a number.
INTERNAL = re.compile(r"\b[a-z]+_[a-z_]+\b|\bNone\b(?!,)|- -|No -|\bbits\b|\bplate-15\b|\bnote-[a-z]+-[a-z]+")
PAGES = (
    "/", "/ask", "/tour", "/reach", "/identify?family=gearbox", "/words", "/used-box", "/plates", "/odds",
    "/fault-finding?complaint=clutch-slips", "/ask/in-words?words=tansy+5+behind+pipit,+not+without+a+plate,+-180+Nm",
    *(f"{path}gearbox=tansy-5&engine=pipit-16&rate=70&price.case-hollin-late=10&odds.tansy-second-ring-tired=10"
      for path in ("/compare?", "/try?moving=yes&")),
    *(address(path, question) for question in (DEMO_QUESTION, PLATE_QUESTION, LOOKS_IMPOSSIBLE)
      for path in ("/compare", "/route", "/paper/estimate", "/paper/job-sheet", "/paper/build-record")),
)  # fmt: skip


@pytest.mark.parametrize("where", PAGES)
def test_no_internal_name_reaches_a_screen_or_a_paper(pages: TestClient, where: str) -> None:
    answer = pages.get(where, headers={"accept": "text/html"})

    text = Page(re.sub(r"<style>.*?</style>", "", answer.text, flags=re.DOTALL)).text
    assert answer.status_code == 200
    assert INTERNAL.findall(text) == []


def test_the_verdict_is_one_sentence_with_what_it_rests_on(demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, LOOKS_IMPOSSIBLE)

    said = verdict_sentence(answer, answer.routes[0])

    assert said.startswith(
        "It fits once parts are machined; if the Tansy 5 and the Pipit clutch cover carry the torque"
    )
    assert "which nobody has stated, on what is known no way is cheaper" in said
    assert "the weakest word it rests on: " in said and "." not in said


def test_the_sum_is_a_range_only_where_something_is_assumed(demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, LOOKS_IMPOSSIBLE)
    known, hoped = answer.routes[0], answer.routes[-1]

    assert hoped.assumptions and not known.assumptions
    assert sum_words(answer, known) == "1838.00 EUR"
    assert sum_words(answer, hoped) == "1788.00 to 1924.00 EUR"  # all holds; nine in ten


def test_a_range_is_never_upside_down(demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, LOOKS_IMPOSSIBLE)
    odd = replace(answer.routes[-1], if_all_holds=Fraction(300), expected=Fraction(310), p90=Fraction(250))

    assert sum_words(answer, odd) == "300.00 to 310.00 EUR"


def test_what_to_confirm_stands_before_the_steps_on_both_pages(pages: TestClient, demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, PLATE_QUESTION)
    first = first_to_do(answer, answer.routes[0])

    for where in ("/compare", "/route"):
        text = Page(pages.get(address(where, PLATE_QUESTION)).text).text
        assert first and all(line in text for line in first)
        assert text.index(first[0]) < text.index("The work, step by step") < text.index("Take care")


def test_what_a_dimension_is_made_of_adds_up() -> None:
    told = shares(4_000, (Shift("bell", "bell housing", -150_000), Shift("plate", "plate", 15_000)))

    amounts = [float(line.split(" mm")[0]) for line in told]
    assert sum(amounts) == 4.0 and told[0] == "139.0 mm of what stays"


def test_one_margin_reads_the_same_side_by_side_and_on_the_job_sheet(pages: TestClient, demo: CatalogueIndex) -> None:
    effects = shop_answer(demo, PLATE_QUESTION).routes[0].side_effects

    compared = Page(pages.get(address("/compare", PLATE_QUESTION)).text).text
    sheet = Page(pages.get(address("/paper/job-sheet", PLATE_QUESTION)).text).text

    for words in {effect.how_surely for effect in effects}:
        assert words in compared and words in sheet


@pytest.mark.parametrize("question", [LOOKS_IMPOSSIBLE, PLATE_QUESTION], ids=["machining", "plate"])
@pytest.mark.parametrize(("kind", "most"), [("estimate", 2), ("job-sheet", 4)])
def test_the_papers_of_the_demo_are_short(pages: TestClient, question: Question, kind: str, most: int) -> None:
    printed = pages.get(address(f"/paper/{kind}.pdf", question))

    assert len(pypdfium2.PdfDocument(printed.content)) <= most
