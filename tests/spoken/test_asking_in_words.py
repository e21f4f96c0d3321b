"""A question in words where people ask it: on the first page, over HTTP, at the command line."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from tests.spoken.table import demo, understood, written

ROOT = Path(__file__).parents[2]
SAID = "tansy five speed behind a pipit, no plate, 180 Nm, under 900"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(demo()), base_url="http://127.0.0.1", follow_redirects=False) as made:
        yield made


def test_post_ask_says_what_was_understood_and_what_is_doubtful(client: TestClient) -> None:
    found = client.post("/ask", json={"words": SAID}).json()

    assert {chip["field"]: chip["value"] for chip in found["chips"]} == {
        "engine": "pipit-16", "avoid": "adapter-plate", "context.torque_nm": "180", "instead": "900.00",
    }  # fmt: skip
    assert [choice["value"] for choice in found["doubts"][0]["choices"]] == ["tansy-5", "tansy-5r", "tansy-5s"]
    assert (found["ready"], found["missing"]) == (False, ["gearbox"])
    assert "gearbox" not in found["question"]


def test_what_post_ask_makes_of_the_words_post_routes_answers(client: TestClient) -> None:
    question = client.post("/ask", json={"words": "tansy 5 behind a pipit"}).json()["question"]

    answered = client.post("/routes", json=question)

    assert answered.status_code == 200
    assert answered.json()["question"]["gearbox"] == "tansy-5"


@pytest.mark.parametrize("body", [{"words": ""}, {"words": "tansy " * 20_000}, {"words": 5}, {"says": "tansy"}, {}])
def test_what_are_no_words_is_refused_with_its_place(client: TestClient, body: dict[str, object]) -> None:
    refused = client.post("/ask", json=body)

    assert refused.status_code == 422
    assert refused.headers["content-type"] == "application/problem+json"


def test_post_ask_is_described_with_an_example(client: TestClient) -> None:
    described = client.get("/openapi.json").json()

    assert "post" in described["paths"]["/ask"]
    assert described["components"]["schemas"]["WordsBody"]["examples"] == [{"words": SAID}]


@pytest.mark.parametrize("address", ["/", "/ask"])
def test_the_first_pages_have_a_field_for_words(client: TestClient, address: str) -> None:
    shown = client.get(address).text

    assert 'action="/ask/in-words"' in shown and 'name="words"' in shown


def test_the_page_shows_chips_to_correct_and_asks_what_is_doubtful(client: TestClient) -> None:
    shown = client.get("/ask/in-words", params={"words": SAID}).text

    assert 'name="avoid" value="adapter-plate" checked' in shown
    assert 'name="known.torque_nm" value="180" checked' in shown
    assert 'type="radio" name="gearbox" value="tansy-5"' in shown
    assert "checked" not in shown[shown.index('type="radio"') :].split(">")[0]


def test_ticks_and_choices_lead_to_the_answer(client: TestClient) -> None:
    shown = client.get("/ask/in-words", params={"words": SAID}).text
    ticked = re.findall(r'type="checkbox" name="([^"]+)" value="([^"]+)" checked', shown)

    sent = client.get("/answer", params=[*ticked, ("gearbox", "tansy-5")])

    assert sent.status_code == 303
    assert sent.headers["location"].startswith("/compare?gearbox=tansy-5&engine=pipit-16&")
    assert "known.torque_nm=180" in sent.headers["location"] and "avoid=adapter-plate" in sent.headers["location"]


def test_a_unit_that_was_not_named_is_chosen_and_words_not_understood_are_listed(client: TestClient) -> None:
    shown = client.get("/ask/in-words", params={"words": "tansy 5 behind a <b>zebra</b>"}).text

    assert '<select id="engine" name="engine"' in shown
    assert "<bdi>zebra</bdi>" in shown and "<b>zebra" not in shown


@pytest.mark.parametrize(
    ("words", "address", "told"),
    [
        ("what gearbox fits the dunlin", "/reach?engine=dunlin-25d", "gearboxes go behind"),
        ("which engines take a tansy 5", "/reach?gearbox=tansy-5", "engines take"),
    ],
)
def test_one_unit_named_leads_to_the_list_of_what_goes_with_it(
    client: TestClient, words: str, address: str, told: str
) -> None:
    page = client.get("/ask/in-words", params={"words": words}).text

    assert f'href="{address}' in page and told in page
    assert "/reach?" not in client.get("/ask/in-words", params={"words": "tansy 5 behind pipit"}).text


def test_pounds_feet_and_miles_an_hour_are_those_of_the_tables(client: TestClient) -> None:
    """NIST SP 811, appendix B.8: 1 lbf ft = 1.355 818 N m (to more digits 1.3558179483), 1 mile = 1609.344 m, exact.

    A torque is rounded up to a hundredth, since more is on the safe side.
    """
    said = {"words": "tansy 5 behind ouzel, 1000 lbf ft, at 75 mph at most 3000 rpm"}

    chips = {chip["field"]: chip["value"] for chip in client.post("/ask", json=said).json()["chips"]}

    assert chips["context.torque_nm"] == "1355.82"
    assert 0 <= Fraction(chips["context.torque_nm"]) - 1000 * Fraction("1.3558179483") < Fraction(1, 100)
    assert Fraction(chips["demands"].split(" ")[0]) == 75 * Fraction("1609.344") / 1000


def test_a_text_too_long_for_the_page_is_told_so(client: TestClient) -> None:
    shown = client.get("/ask/in-words", params={"words": "tansy " * 500})

    assert shown.status_code == 422 and "characters" in shown.text


def ask(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "graph", "ask", "--facts", "facts/demo", *words]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_the_command_answers_words_that_are_certain_and_asks_where_they_are_not() -> None:
    certain = ask("--json", "--words", "tanzy 5 behind pipit, no plate", "--objective", "cash")
    doubtful = ask("--words", "tansy behind a zebra")

    question = json.loads(certain.stdout)["question"]
    assert (question["gearbox"], question["avoid"], question["objective"]) == ("tansy-5", ["adapter-plate"], "cash")
    assert 'from "tanzy 5"' in certain.stderr
    assert doubtful.returncode == 2 and "tansy-5r" in doubtful.stderr and "no engine was understood" in doubtful.stderr


def test_words_left_over_for_one_reason_are_told_as_one_stretch() -> None:
    """And what a unit that is left out means is said in words that help: where to see which would do."""
    far = understood("tansy-5 pipit-16 under 900 km qwxzv plonk")
    other = understood("any gearbox but tansy 5 behind a pipit 16")

    assert [one.word for one in far.left_over] == ["under 900 km", "qwxzv", "plonk"]
    assert [one.word for one in other.left_over] == ["but tansy 5"]
    assert "Where to" in other.left_over[0].reason


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("tansy-5 pipit-16, it must not cost more than 1.500,50 €", "instead=1500.50"),
        ("tansy-5 pipit-16, it shouldn't exceed 900 EUR", "instead=900.00"),
        ("hollin 5 ouzel 20 in hand: plate 20, bell bolts", "own=plate-20; own=bolts-bell-long"),
        ("hollin 5 ouzel 20, plate 20 in hand", "own=plate-20"),
    ],
)
def test_a_most_said_with_a_no_and_a_list_after_a_colon(words: str, said: str) -> None:
    assert written(understood(words)).endswith(f"; {said}")
    assert "own=ouzel-20" not in written(understood(words))
