"""Trying another rate, odds or price on an answer: the sum moves, nothing is written down, and all can be put back."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from urllib.parse import parse_qsl, urlsplit

import pytest
from fastapi.testclient import TestClient

from graph.answer.best_alone import BestAlone
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.plain import sum_words
from graph.counter.shop import Shop
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from tests.pages.answered import shop_answer
from tests.pages.html import Page

ASKED = {"gearbox": "tansy-5", "engine": "pipit-16"}
CASE = "price.case-hollin-late"  # 210.00 in the demo, and on the best route
RING = "odds.tansy-second-ring-tired"  # 40 % in the demo
HOPE = "odds.doubt/clutch-spline/shaft-tansy-23"  # 70 %


def tried(pages: TestClient, **changed: str) -> str:
    return Page(pages.get("/try", params={**ASKED, **changed, "moving": "yes"}).text).text


def test_the_fields_hold_what_counts_and_sent_back_unchanged_try_nothing(pages: TestClient) -> None:
    shown = pages.get("/compare", params=ASKED).text
    answer = pages.get("/try", params={**ASKED, CASE: "210", RING: "40", HOPE: "70,00", "rate": "60.00"})

    assert f'name="{CASE}" value="210"' in shown and f'name="{RING}" value="40"' in shown
    assert dict(parse_qsl(urlsplit(answer.headers["location"]).query)) == ASKED
    assert "Change a value to see what it does" in Page(shown).text


def test_a_price_moves_the_sum_by_what_it_is_less_and_says_so(pages: TestClient) -> None:
    """By hand: the case costs 210.00 and is on the best route of 1838.00; at 10.00 that route costs 1638.00."""
    told = tried(pages, **{CASE: "10"})

    assert "1638.00 EUR" in told and "1838.00 EUR" in told and "200.00 EUR less" in told
    assert "The same route stays best" in told
    assert "price of Late Hollin case, front seat 100 x 25: 10.00 EUR (known: 210.00 EUR)" in told


def test_odds_move_the_sum_and_the_rate_does(pages: TestClient) -> None:
    assert "odds of Tansy second gear synchro ring tired: 0 % (known: 40 %)" in tried(pages, **{RING: "0"})
    assert "90.00 EUR a bench hour (known: 60.00 EUR)" in tried(pages, rate="90")


def test_where_another_route_is_best_then_it_is_named(pages: TestClient) -> None:
    """By hand: the extended bush is 100.00 of the best route's sum; at 9000.00 any way without it is cheaper."""
    other = {"gearbox": "hollin-5", "engine": "ouzel-20", "price.bush-extended": "9000"}

    assert "Another route is best then" in tried(pages, **other)


def test_what_is_tried_stands_on_the_answer_with_a_way_to_put_it_back(pages: TestClient) -> None:
    moved = pages.get("/try", params={**ASKED, CASE: "10", RING: "40"}).headers["location"]
    shown = pages.get(moved).text

    assert dict(parse_qsl(urlsplit(moved).query)) == {**ASKED, CASE: "10"}
    assert "tried: Late Hollin case, front seat 100 x 25 at 10.00 EUR" in Page(shown).text
    assert "Put back" in shown and "Tried, not known" in Page(shown).text


def test_no_paper_and_no_job_is_made_of_what_is_tried(pages: TestClient) -> None:
    shown = pages.get("/compare", params={**ASKED, CASE: "10"}).text
    refused = pages.get("/paper/estimate", params={**ASKED, CASE: "10"})

    links = [one for one in shown.split('"') if one.startswith(("/paper/", "/new-job"))]
    assert links and not any("price." in one for one in links)
    assert refused.status_code == 422 and "is only tried" in Page(refused.text).text


def test_what_cannot_be_tried_is_refused_by_name(pages: TestClient) -> None:
    for wrong, told in (
        ({"price.case-hollin-lote": "10"}, "case-hollin-late"), ({"odds.tansy-second-ring-tird": "10"}, "ring-tired"),
        ({RING: "140"}, "odds.tansy-second-ring-tired"), ({CASE: "ten"}, "expected a number"),
    ):  # fmt: skip
        answer = pages.get("/compare", params={**ASKED, **wrong})
        assert answer.status_code in (404, 422) and told in Page(answer.text).text, wrong


def test_the_api_tries_the_same_and_the_ledger_keeps_none_of_it(pages: TestClient, demo: CatalogueIndex) -> None:
    body = {**ASKED, "prices": {"case-hollin-late": 10}, "odds": {"tansy-second-ring-tired": 0.4}}
    answer = pages.post("/routes", json=body).json()

    assert answer["question"]["prices"] == {"case-hollin-late": 10}
    assert answer["routes"][0]["expected"] == 1638
    assert pages.post("/routes", json=ASKED).json()["routes"][0]["expected"] == 1838
    assert demo.catalogue.parts["case-hollin-late"].cash_hundredths == 21_000


def test_changing_the_question_keeps_what_is_tried(pages: TestClient) -> None:
    form = pages.get("/ask", params={**ASKED, CASE: "10", RING: "20"}).text

    assert f'type="hidden" name="{CASE}" value="10"' in form and f'type="hidden" name="{RING}" value="20"' in form


def random_tries(answer: Answer, seed: int) -> Iterator[Question]:
    """Each sort of value by itself, then all at once: of the best route, and of faults that only others have."""
    chance, question = random.Random(seed), answer.question
    best = answer.routes[0]
    priced = [part.part for part in best.parts if part.price_hundredths and not part.in_hand]
    feared = sorted({fault for route in answer.routes for fault in odds_of(route)})
    prices = {part: chance.randrange(0, 60_000) for part in chance.sample(priced, min(2, len(priced)))}
    odds = {fault: Fraction(chance.randrange(0, 101), 100) for fault in chance.sample(feared, min(2, len(feared)))}
    asked = Question(gearbox=str(question["gearbox"]), engine=str(question["engine"]))
    rate, objective = chance.randrange(0, 15_000), chance.choice(("expected", "total", "cash", "hours"))
    yield replace(asked, rate_hundredths=rate, objective=objective)
    yield replace(asked, prices_hundredths=prices)
    yield replace(asked, odds=odds)
    yield replace(asked, rate_hundredths=rate, prices_hundredths=prices, odds=odds, objective=objective)


def odds_of(route: AnsweredRoute) -> set[str]:
    assumed = (line.fault for line in route.assumptions if line.fault and line.odds is not None)
    return {*(line.fault for line in route.faults), *assumed}


@pytest.mark.parametrize(("gearbox", "engine"), [
    ("tansy-5", "pipit-16"), ("tansy-5s", "ouzel-20"), ("hollin-5", "ouzel-20"), ("sedge-4b", "pipit-16"),
])  # fmt: skip
def test_what_moves_is_of_the_very_answer_that_the_api_gives(demo: CatalogueIndex, gearbox: str, engine: str) -> None:
    """The fragment searches for the best route alone; a shop that has been asked nothing yet works out the whole."""
    warm = Shop(demo)
    for asked in random_tries(warm.ask(Question(gearbox=gearbox, engine=engine)), seed=len(gearbox + engine)):
        cold = shop_answer(CatalogueIndex(demo.catalogue), asked)
        moved = warm.ask_best(asked)

        assert moved == BestAlone.of(cold)
        assert moved.route is not None and sum_words(moved, moved.route) == sum_words(cold, cold.routes[0])


def test_where_what_is_tried_leaves_no_route_the_fragment_says_so(pages: TestClient) -> None:
    """No gearbox of that family goes behind the diesel in the demo, whatever an hour costs."""
    body = {"gearbox": "sedge-4a", "engine": "dunlin-25d", "rate": 90}

    assert "No route with what is tried" in Page(pages.get("/try", params={**body, "moving": "yes"}).text).text
    assert pages.post("/routes", json=body).json()["routes"] == []
