"""Each thing that an answer takes for given has the form that settles it, and the form leads back to the answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.pages.note_app import hidden, paged_app
from tests.pages.test_new_parts_and_sheets import KNOWN, NOTHING_YET
from tests.workbook.books import SMALL, filled, saved

ASKED = "/route?gearbox=linnet-4&engine=wren-13&assembly=clutch-and-propshaft"
WHO = {"author": "bench 2", "evidence": "measured-on-these-parts"}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder: Path = tmp_path_factory.mktemp("shop")
    (folder / "shop.ttl").write_text(NOTHING_YET, encoding="utf-8")
    with paged_app(folder / "data", folder / "shop.ttl") as (made, _), TestClient(made) as client:
        assert client.post("/workbook", params=WHO, content=saved(filled(SMALL))).status_code == 201
        yield client


@pytest.fixture(scope="module")
def lines(client: TestClient) -> list[str]:
    page = client.get(ASKED).text
    assumed = page[page.index('id="assumed"') :]
    return re.findall(r"<li>(.*?)</li>", assumed[: assumed.index("</section>")], re.DOTALL)


def links(line: str) -> list[str]:
    return [unescape(address) for address in re.findall(r'href="([^"]+)"', line)]


def test_every_line_of_what_is_assumed_leads_to_a_form_that_leads_back(client: TestClient, lines: list[str]) -> None:
    alone = [line for line in lines if " more that " not in line]
    assert len(alone) > 70 and all(links(line) for line in alone), [one for one in alone if not links(one)]
    for address in sorted({links(line)[0].partition("#")[0] for line in alone})[:12]:
        page = client.get(address)
        assert page.status_code == 200, address
        assert address.startswith("/ask") or "Back to the answer" in page.text, address


@pytest.mark.parametrize(
    ("said", "to", "place"),
    [
        ("gear-position signal: nobody has said", "/unit/wren-13", "#at.at-engine-management"),
        ("concentricity and dowels", "/unit/wren-13", "#at.at-crank"),
        ("pilot overlap: not every length", "/unit/", ""),
        ("up to 240 Nm", "/ask?gearbox=linnet-4", ""),
        ("no crankshaft sensor in Wren 13", "/unit/wren-13", "#at.at-crank-sensor"),
    ],
)
def test_a_place_is_said_on_the_sheet_of_its_unit_and_a_condition_in_the_question(
    lines: list[str], said: str, to: str, place: str
) -> None:
    line = next(one for one in lines if said in unescape(one) and " more that " not in one)

    assert links(line)[0].startswith(to) and links(line)[0].endswith(place), links(line)


def test_what_has_no_price_leads_to_the_page_that_takes_it_and_back(client: TestClient, lines: list[str]) -> None:
    addresses = [one for line in lines for one in links(line)]
    part = next(one for one in addresses if one.startswith("/new-part?kind=clutch-disc"))
    fields = hidden(client.get(part).text) | KNOWN | {"name": "Wren disc", "kind": "clutch-disc", "price": "88"}

    kept = client.post("/new-part", data=fields, follow_redirects=False)

    assert kept.status_code == 303 and "back=" in kept.headers["location"], kept.text
    assert "Back to the answer" in client.get(kept.headers["location"]).text


def test_the_answer_says_the_same_as_json(client: TestClient) -> None:
    asked = {"gearbox": "linnet-4", "engine": "wren-13", "assembly": "clutch-and-propshaft"}
    route = client.post("/routes", json=asked).json()["routes"][0]

    assert all(line["takes_result"] for line in route["assumptions"])
    places = {place["at"]["id"] for line in route["assumptions"] for place in line["places"]}
    assert {"at-crank", "at-engine-management", "at-gear-position-sensor"} <= places
