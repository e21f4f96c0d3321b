"""What can go where, and which part to stock, as a reader without scripts meets them."""

from __future__ import annotations

import json
import re
import time
from html import unescape

import pytest
from fastapi.testclient import TestClient

from api.pages.reach import ReachView
from api.pages.stock import StockView
from graph.lookups.index import CatalogueIndex
from tests.pages.html import Page
from tests.pages.templates import faults_of, undocumented

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name


@pytest.mark.parametrize(("template", "view"), [("reach.html", ReachView), ("stock.html", StockView)])
def test_the_templates_read_only_documented_fields(template: str, view: type) -> None:
    assert faults_of(template, view) == []
    assert undocumented(view) == []


def test_the_list_names_every_gearbox_behind_an_engine_cheapest_first_with_its_answer(pages: TestClient) -> None:
    page = Page(pages.get("/reach?engine=ouzel-20&list=whole&limit=100&known.torque_nm=180").text)
    asked = {"engine": "ouzel-20", "context": {"torque_nm": 180}, "limit": 100}
    lines = [json.loads(line) for line in pages.post("/reach", json=asked).text.splitlines()]

    answers = [address for _, address in page.links if address.startswith("/compare")]
    assert answers == [f"/compare?gearbox={one['unit']}&engine=ouzel-20&known.torque_nm=180" for one in lines[:-1]]
    assert f"{lines[0]['expected']:.2f} EUR expected" in page.text
    assert f"Looked at all {lines[-1]['units']} gearboxes: there is no further one." in page.text


def test_a_line_says_what_the_answer_it_leads_to_says(pages: TestClient) -> None:
    page = Page(pages.get("/reach?gearbox=hollin-5&list=whole&limit=1").text)

    answer = pages.get(next(address for _, address in page.links if address.startswith("/compare")))

    figure = re.search(r"([\d.]+ EUR expected)", page.text)
    assert figure and figure[1] in Page(answer.text).text
    assert "each of the others costs at least" in page.text


def test_out_of_time_it_says_so_and_offers_more_time(pages: TestClient) -> None:
    page = Page(pages.get("/reach?engine=ouzel-20&list=whole&seconds=0.000001").text)

    assert "Not finished: looked at" in page.text
    assert "seconds=5.0" in page.link("Go on with more time")


def test_a_budget_leaves_out_what_costs_more(pages: TestClient) -> None:
    page = Page(pages.get("/reach?engine=ouzel-20&list=whole&objective=total&budget=400").text)

    amounts = [float(one) for one in re.findall(r"([\d.]+) EUR if nothing is worn", page.text)]
    assert amounts and max(amounts) <= 400
    assert "no further one within 400.00 EUR" in page.text


def test_without_the_list_the_page_is_ready_at_once_and_says_how_to_get_it(pages: TestClient) -> None:
    answer = pages.get("/reach?engine=ouzel-20&rate=55.50&deadline=9&own=plate-15&known.tools=press,lathe")
    page = Page(answer.text)

    (section,) = [one for one in page.all("section") if one.get("id") == "reached"]
    body = json.loads(unescape(section["data-body"]))
    assert pages.post("/reach", json=body).status_code == 200
    assert (body["rate"], body["deadline"], body["own"]) == ("55.50", "9", ["plate-15"])
    assert body["context"] == {"tools": ["press", "lathe"]}
    assert "list=whole" in page.link("Show the list")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("engine=ouzel-21", "ouzel-20"),
        ("engine=ouzel-20&gearbox=hollin-5", "name a gearbox or an engine"),
        ("engine=ouzel-20&limit=0", "limit"),
        ("engine=ouzel-20&budget=much", "budget"),
    ],
)
def test_what_cannot_be_asked_is_told(pages: TestClient, asked: str, told: str) -> None:
    answer = pages.get(f"/reach?{asked}")

    assert answer.status_code in (404, 422)
    assert told in Page(answer.text).text


def test_a_list_of_pairs_becomes_a_job_whose_page_names_the_parts(pages: TestClient, demo: CatalogueIndex) -> None:
    form = Page(pages.get("/reach/stock?engine=ouzel-20").text)
    token = next(one["value"] for one in form.all("input") if one.get("name") == "form_token")
    boxes = [unit for unit in demo.units("gearbox") if not demo.catalogue.parts[unit].abstract]
    assert all(f"{box}, ouzel-20" in form.text for box in boxes)
    sent = {"pairs": "\n".join(f"{box}, ouzel-20" for box in boxes), "budget": "700", "objective": "total"}

    started = pages.post("/reach/stock/new", data={**sent, "form_token": token})
    page = _ended(pages, started.headers["location"])

    assert started.status_code == 303
    assert f"{len(boxes)} of {len(boxes)} questions worked out" in page.text
    assert "opens 3" in page.text
    answer = pages.get(page.link("Tansy 5 behind"))
    assert "own=" in page.link("Tansy 5 behind") and answer.status_code == 200


def _ended(pages: TestClient, address: str) -> Page:
    for _ in range(600):
        page = Page(pages.get(address).text)
        if "Look again" not in page.text:
            return page
        time.sleep(0.1)
    raise AssertionError(page.text)


def test_what_is_wrong_with_the_list_is_told_line_by_line_and_nothing_typed_is_lost(pages: TestClient) -> None:
    form = Page(pages.get("/reach/stock").text)
    token = next(one["value"] for one in form.all("input") if one.get("name") == "form_token")
    pairs = "hollin-5, ouzel-20\nholin 5, ouzel-20\nonly one"

    answer = pages.post("/reach/stock/new", data={"pairs": pairs, "budget": "much", "form_token": token})

    told = Page(answer.text).text
    assert answer.status_code == 422
    assert "line 2:" in told and "did you mean hollin-5" in told and "line 3:" in told and "only one" in told


def test_a_form_from_elsewhere_starts_nothing(pages: TestClient) -> None:
    answer = pages.post("/reach/stock/new", data={"pairs": "hollin-5, ouzel-20", "form_token": "guessed"})

    assert answer.status_code == 403


def test_the_kind_of_finished_job_can_be_named_and_is_asked_with(pages: TestClient) -> None:
    page = Page(pages.get("/reach?engine=ouzel-20&assembly=transaxle").text)

    jobs = next(one for one in page.all("select") if one.get("id") == "assembly")
    (section,) = [one for one in page.all("section") if one.get("id") == "reached"]
    assert jobs["name"] == "assembly"
    assert json.loads(unescape(section["data-body"]))["assembly"] == "transaxle"
    assert "assembly=transaxle" in section["data-answer"]
