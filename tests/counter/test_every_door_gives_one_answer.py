"""One question has one answer, whoever asks: API, page, command, alternatives, one to many, estimate.

Shops are made by chance over the demo (all invented): prices, rates, shelf, a closed job, notes that join and part.
Each is then asked by every way there is, and all must agree to the cent.
"""

from __future__ import annotations

import json
import re
from datetime import date
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from api.service import opened_service
from api.settings import Settings
from graph.answer.words import money
from graph.cli.main import main
from graph.cli.question import DEMO_QUESTION
from tests.api.test_notes_change_answers import DISC, JOIN, note
from tests.papers.reading import squeezed, text_by_pypdf

PAIRS = (("tansy-5", "pipit-16"), ("hollin-5", "ouzel-20"), ("sedge-4a", "pipit-16"))
BOUGHT = ("disc-tansy-225", "bush-extended", "case-hollin-late", "bearing-6309", "shaft-hollin-long")
FAULT = "ring-hollin-worn"
SIDES = ("gearbox", "engine")

cents = st.integers(100, 60_000).map(lambda hundredths: f"{hundredths / 100:.2f}")
shops = st.fixed_dictionaries(
    {
        "rate": st.none() | cents,
        "prices": st.dictionaries(st.sampled_from(BOUGHT), cents, max_size=4),
        "shelf": st.dictionaries(st.sampled_from(BOUGHT), cents, max_size=2),
        "job": st.booleans(),
        "notes": st.sampled_from([(), (DISC,), (DISC, JOIN)]),
        "pair": st.sampled_from(PAIRS),
    }
)


def post(client: TestClient, path: str, body: dict[str, Any], status: int = 200) -> dict[str, Any]:
    response = client.post(path, json=body)
    assert response.status_code == status, response.text
    found: dict[str, Any] = response.json()
    return found


def fill(client: TestClient, shop: dict[str, Any]) -> None:
    """Puts in what the shop knows, by the doors that people use."""
    for said in shop["notes"]:
        post(client, "/notes", note(said), 201)
    if shop["rate"]:
        post(client, "/shop/rates", {"author": "bench", "kind": "bench", "per_hour": shop["rate"], "currency": "EUR"})
    for part, book in shop["shelf"].items():
        counted = {"part": part, "quantity": 1, "book": book, "currency": "EUR", "condition": "used-tested"}
        post(client, "/shop/stock", {"author": "bench", **counted})
    if shop["prices"]:
        rows = "".join(f"{part},{price},EUR,new,{date.today()}\n" for part, price in shop["prices"].items())
        file = {"file": ("list.csv", ("part,price,currency,condition,date\n" + rows).encode(), "text/csv")}
        assert client.post("/prices/import", files=file, data={"author": "bench"}).status_code == 200
    if shop["job"]:
        question = {"gearbox": DEMO_QUESTION.gearbox, "engine": DEMO_QUESTION.engine}
        post(client, "/jobs", {"author": "bench", "question": question, "title": "pick-up", "number": "J-1"})
        post(client, "/jobs/J-1/hours", {"author": "bench", "step": 1, "hours": "2.5"})
        post(client, "/jobs/J-1/closing", {"author": "bench", "outcome": "done"})


def typed(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    capsys.readouterr()
    assert main(words) == 0
    return json.loads(capsys.readouterr().out)


def sums(route: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(route[name] for name in ("cash", "hours", "total", "expected", "days"))


CHEAP_IF_IT_FITS = {
    "rate": None, "prices": {"disc-tansy-225": "1.00"}, "shelf": {}, "job": False, "notes": (),
    "pair": ("sedge-4a", "pipit-16"),
}  # fmt: skip


@given(shop=shops)
@example(shop=CHEAP_IF_IT_FITS)
@settings(max_examples=2, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_way_of_asking_gives_the_same_answer_to_the_cent(
    shop: dict[str, Any], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("LAYSHAFT_DATA", "LAYSHAFT_FACTS", "LAYSHAFT_DATABASE"):
        monkeypatch.delenv(name, raising=False)
    with TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        with opened_service(data, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as client:
            fill(client, shop)
            asked = dict(zip(SIDES, shop["pair"], strict=True))

            answer = post(client, "/routes", asked)

            agree(client, capsys, data, asked, answer["routes"], answer["currency"])


def agree(
    client: TestClient, capsys: pytest.CaptureFixture[str], data: Path, asked: dict[str, str],
    routes: list[dict[str, Any]], currency: str,
) -> None:  # fmt: skip
    """Every other way gives the same best route."""
    best = routes[0]
    words = (asked["gearbox"], asked["engine"], "--data", str(data))
    assert sums(typed(capsys, "ask", *words, "--json")["routes"][0]) == sums(best)
    assert typed(capsys, "cost", *words, "--json")["total"] == best["total"]
    assert post(client, "/routes/cost", {"question": asked})["expected"] == best["expected"]
    solved = post(client, "/solve", post(client, "/conversions", asked))["routes"]
    assert sums(best) in [sums(one) for one in solved]
    if sums(solved[0]) != sums(best):  # what is cheaper rests on what nobody has stated, and the answer says so
        assumes = [bool(one["assumptions"]) for one in routes if sums(one) == sums(solved[0])]
        assert assumes and all(assumes) and not best["assumptions"]

    both = client.get("/parts/plate-20/alternatives", params=asked).json()
    firsts = [route for side in ("with_part", "without_part") for route in both[side]["routes"][:1]]
    assert min(route["expected"] for route in firsts) == best["expected"]

    for side, unit in asked.items():
        lines = client.post("/reach", json={**asked, side: "", "limit": 1000}).text.splitlines()
        found = {one["unit"]: one for one in map(json.loads, lines) if "unit" in one}
        assert sums(found[unit]) == sums(best)

    page = client.get("/route", params=asked).text
    total = money(Fraction(str(best["total"])), currency)  # a half of a hundredth is rounded up, as on every page
    assert total in amounts(page)
    paper = post_paper(client, {"question": asked, "details": {"number": "J-2"}})
    assert squeezed(total) in squeezed(text_by_pypdf(paper))
    assert squeezed(total) in squeezed(text_by_pypdf(client.get("/paper/estimate.pdf", params=asked).content))


def amounts(page: str) -> list[str]:
    """The amounts of money that a page shows."""
    return re.findall(r"[\d.]+ [A-Z]{3}", re.sub(r"[\u202f\s]+(?=\d{3}\b)", "", page.replace("\u00a0", " ")))


def post_paper(client: TestClient, body: dict[str, Any]) -> bytes:
    response = client.post("/papers/estimate.pdf", json=body)
    assert response.status_code == 200, response.text
    return bytes(response.content)
