"""The answer side by side, one route in full, its papers, and what the pages say where there is no route."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from api.pages.asked import address
from api.pages.first_run import LOOKS_IMPOSSIBLE, NO_ROUTE, PLATE_QUESTION
from api.pages.question_view import avoiding
from graph.answer import words
from graph.answer.model.fit import DIRECT
from graph.answer.plain import sum_words, verdict_sentence
from graph.answer.section_drawing import section_drawing
from graph.cli.question import DEMO_QUESTION
from graph.lookups.index import CatalogueIndex
from graph.section.sheet import lines_of
from tests.pages.answered import shop_answer
from tests.pages.html import Page

pytestmark = pytest.mark.takes_turns(2)

TOURED = (DEMO_QUESTION, PLATE_QUESTION, LOOKS_IMPOSSIBLE)
EVERY_PAGE = (
    "/", "/ask", "/tour", *(address(path, question) for question in TOURED for path in ("/compare", "/route")),
    address("/compare", NO_ROUTE), address("/compare", DEMO_QUESTION, [("changes", "yes")]),
    "/compare?gearbox=nothing&engine=like-it",
)  # fmt: skip


def shown(pages: TestClient, where: str) -> Page:
    return Page(pages.get(where).text)


def test_the_routes_stand_side_by_side_with_the_answers_own_numbers(pages: TestClient, demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, DEMO_QUESTION)

    text = shown(pages, address("/compare", DEMO_QUESTION)).text

    assert verdict_sentence(answer, answer.routes[0]) in text and sum_words(answer, answer.routes[0]) in text
    for route in answer.routes:
        for value in (route.expected, route.total, route.p90):
            assert words.money(value, answer.currency) in text
        assert words.hours(route.hours_hundredths) in text and words.days(route.days) in text


def test_the_hand_example_of_the_demo_is_on_the_page(pages: TestClient) -> None:
    """195 cash + 9.3 h at 60 = 753; expected 1028.80; looking first 981.70 (tests/demo works them by hand)."""
    text = shown(pages, address("/compare", DEMO_QUESTION)).text

    assert "753.00 EUR" in text and "1028.80 EUR expected" in text and "Expected 981.70 EUR" in text


def test_the_bars_say_in_words_what_they_show(pages: TestClient, demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, PLATE_QUESTION)

    page = shown(pages, address("/compare", PLATE_QUESTION))

    told = [svg["aria-label"] for svg in page.all("svg") if svg.get("role") == "img"]
    assert len(told) == len(answer.routes)
    for route, label in zip(answer.routes, told, strict=True):
        for amount in (route.split.parts, route.split.bench, route.split.likely_faults):
            assert words.money(amount, answer.currency) in label


def test_without_the_plate_is_one_click_from_the_plate(pages: TestClient, demo: CatalogueIndex) -> None:
    before = shown(pages, address("/compare", PLATE_QUESTION))

    where = before.link("Without any adapter plate")
    after = shown(pages, where)

    assert where.endswith("avoid=adapter-plate")
    best = words.money(shop_answer(demo, PLATE_QUESTION).routes[0].expected, "EUR")
    assert f"There is no way without adapter plate; with it the best route is {best}" in after.text
    assert after.link("allow it again") == address("/compare", PLATE_QUESTION)


def test_without_any_plate_takes_no_other_plate_instead(demo: CatalogueIndex) -> None:
    """It used to leave out that one plate, and took the next."""
    asked = avoiding(demo, replace(PLATE_QUESTION, own=("plate-15",), avoid=("plate-20",)), "adapter-plate")
    answer = shop_answer(demo, asked)

    assert asked.own == () and asked.avoid == ("adapter-plate",)
    kinds = [demo.kinds_of(part.kind) for route in answer.routes for part in route.parts]
    assert all("adapter-plate" not in kind for kind in kinds)


def test_a_part_in_hand_that_is_to_be_avoided_is_no_longer_in_hand(pages: TestClient) -> None:
    own = replace(PLATE_QUESTION, own=("plate-15",))

    where = shown(pages, address("/compare", own)).link("Without any adapter plate")

    assert "own=" not in where and pages.get(where).status_code == 200


def test_what_would_change_the_answer_is_said_in_sentences_when_it_is_asked_for(pages: TestClient) -> None:
    where = shown(pages, address("/compare", DEMO_QUESTION)).link("Work it out")

    text = shown(pages, where).text

    assert "Odds of Hollin second gear synchro ring worn (now 35 %): above 57.3 %" in text


def test_no_route_says_what_stays_open_and_what_would_open_it(pages: TestClient, demo: CatalogueIndex) -> None:
    answer = shop_answer(demo, NO_ROUTE)

    text = shown(pages, address("/compare", NO_ROUTE)).text

    assert answer.open and not answer.routes
    for line in answer.open:
        assert line.label in text and line.opens in text


def test_a_route_lists_every_step_with_its_cautions_in_order(pages: TestClient, demo: CatalogueIndex) -> None:
    route = shop_answer(demo, LOOKS_IMPOSSIBLE).routes[0]

    page = shown(pages, address("/route", LOOKS_IMPOSSIBLE))

    assert [item["value"] for item in page.all("li") if "value" in item] == [str(step.number) for step in route.steps]
    assert "Why the steps stand in this order" in page.text and "Must be open: 6" in page.text
    for step in route.steps:
        assert step.text in page.text
        assert all(caution in page.text for caution in step.cautions)
    assert all(effect.label in page.text.lower() for effect in route.side_effects)


@pytest.mark.parametrize("question", TOURED)
def test_the_page_draws_before_and_after_and_says_the_same_in_words(
    pages: TestClient, demo: CatalogueIndex, question: object
) -> None:
    route = shop_answer(demo, question).routes[0]  # type: ignore[arg-type]
    assert route.section is not None

    where = address("/route", question)  # type: ignore[arg-type]
    page = pages.get(where).text
    alone = pages.get(where.replace("/route", "/section.svg"))

    assert len(re.findall(r'<svg [^>]*data-units-per-mm="', page)) == len(route.section.cuts()) > 0
    for cut in route.section.cuts():
        assert all(line.strip() in Page(page).text for line in lines_of(cut))
    assert alone.headers["content-type"].startswith("image/svg+xml")
    assert alone.text == section_drawing(route)


@pytest.mark.parametrize("question", TOURED)
def test_what_a_route_joins_stands_in_words_with_every_fitted_part(
    pages: TestClient, demo: CatalogueIndex, question: object
) -> None:
    route = shop_answer(demo, question).routes[0]  # type: ignore[arg-type]

    page = Page(pages.get(address("/route", question)).text).text  # type: ignore[arg-type]

    for joint in route.joints:
        if joint.verdict != DIRECT:
            first = joint.via[0] if joint.via else joint.parts[1]
            assert re.search(rf"{re.escape(joint.parts[0].label)} - [a-z ]+: {re.escape(joint.label)} - "
                             rf"{re.escape(first.label)}", page)  # fmt: skip


def test_a_computed_fit_shows_its_working_line_by_line(pages: TestClient) -> None:
    """The late case takes the ISO 15 bearing 6309 by a transition fit; what was wanted stands there too."""
    text = shown(pages, address("/route", LOOKS_IMPOSSIBLE)).text

    assert "input bearing in housing: holds" in text
    assert "housing 99.985 mm, transition fit, wanted K7 or M7 or N7" in text


def test_the_estimate_is_of_the_same_question_and_adds_up_to_the_same_total(
    pages: TestClient, demo: CatalogueIndex
) -> None:
    route = shop_answer(demo, PLATE_QUESTION).routes[0]

    where = shown(pages, address("/route", PLATE_QUESTION)).link("Estimate")
    estimate, printed = pages.get(where), pages.get(where.replace("/estimate", "/estimate.pdf"))

    assert estimate.status_code == 200 and words.money(route.total).rstrip() in Page(estimate.text).text
    assert printed.headers["content-type"] == "application/pdf" and printed.content.startswith(b"%PDF-")


def test_a_rank_that_the_answer_does_not_have_is_said_on_a_page(pages: TestClient) -> None:
    answer = pages.get(address("/route", DEMO_QUESTION, [("rank", "9")]))

    assert answer.status_code == 404 and "no route of the answer with the id '9'" in Page(answer.text).text


def test_the_tour_leads_to_answers(pages: TestClient) -> None:
    stops = [where for _, where in shown(pages, "/tour").links if where.startswith("/compare")]

    assert len(stops) == 5
    assert [pages.get(where).status_code for where in stops] == [200] * 5


@pytest.mark.parametrize("where", EVERY_PAGE)
def test_a_page_is_whole_small_and_asks_no_outside_host(pages: TestClient, where: str) -> None:
    answer = pages.get(where)
    page = Page(answer.text)

    assert answer.headers["content-type"].startswith("text/html")
    assert "script-src 'self'; style-src 'self'" in answer.headers["content-security-policy"]
    assert page.unbalanced == [] and page.open == []
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert len(page.all("h1")) == len(page.all("main")) == 1
    loaded = [one.get("src") or one.get("href", "") for tag in ("script", "link", "img") for one in page.all(tag)]
    assert all(one.startswith(("/static/", "data:,")) for one in loaded)
    assets = sum(len(pages.get(one).content) for one in loaded if one.startswith("/"))
    assert len(answer.content) + assets < 100_000


def test_long_work_is_folded_on_its_own_page_and_short_work_is_not(pages: TestClient) -> None:
    long = pages.get("/route?gearbox=tansy-5r&engine=whimbrel-30&vehicle=sorrel-pick-up").text
    short = pages.get("/route?gearbox=hollin-5&engine=ouzel-20").text

    assert "The work after that, to step" in long and "The work after that, to step" not in short


HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


@pytest.mark.parametrize(
    "field", ["gearbox", "engine", "vehicle", "avoid", "known.tools", "deadline", "evidence_floor", "assembly"]
)
@pytest.mark.parametrize("path", ["/ask", "/answer", "/compare", "/route"])
@pytest.mark.parametrize(
    "text", [HOSTILE, "\u202eabc\u0001\u0007", "x" * 10_000], ids=["markup", "right to left", "long"]
)
def test_hostile_text_in_the_address_shows_as_text(pages: TestClient, path: str, field: str, text: str) -> None:
    asked = {"gearbox": "hollin-5", "engine": "ouzel-20"} | {field: text}

    answer = pages.get(path, params=asked)

    assert answer.status_code in (200, 303, 404, 422)
    assert "<script>alert" not in answer.text and "<img src=x" not in answer.text
    assert len(answer.content) < 100_000


def test_static_files_are_kept_for_a_year_under_their_fingerprint(pages: TestClient) -> None:
    style = shown(pages, "/ask").all("link")[1]["href"]

    assert "immutable" in pages.get(style).headers["cache-control"]
    assert pages.get("/static/base.css").headers["cache-control"] == "no-cache"
