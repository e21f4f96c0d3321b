"""Costing and papers over HTTP, on the demo workshop (all of it invented)."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from pypdf import PdfReader

from api.app import create_app
from api.routers import costing
from api.shapes import shape
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS, DEMO_QUESTION
from graph.costing.asking import RouteCost
from graph.costing.store import SqlNotes
from graph.lookups.index import CatalogueIndex

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

QUESTION = {
    "gearbox": DEMO_QUESTION.gearbox, "engine": DEMO_QUESTION.engine, "vehicle": DEMO_QUESTION.vehicle,
    "context": dict(DEMO_QUESTION.context),
}  # fmt: skip
DETAILS = {"number": "J-1", "address": "https://shop.example/records/J-1", "dated": "2026-06-30"}
HEAD = "part,price,currency,condition,date\n"


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO_FACTS]))


@pytest.fixture
def client(index: CatalogueIndex, tmp_path: Path) -> Iterator[TestClient]:
    app = create_app(index)
    costing.install(app, SqlNotes.on_file(tmp_path / "costs.db"))
    with TestClient(app, raise_server_exceptions=False) as made:
        yield made


def post(client: TestClient, path: str, **body: Any) -> dict[str, Any]:
    response = client.post(path, json=body)
    assert response.status_code == 200, response.text
    found: dict[str, Any] = response.json()
    return found


def upload(client: TestClient, path: str, text: str, **fields: str) -> Any:
    return client.post(path, files={"file": ("list.csv", text.encode(), "text/csv")}, data=fields)


def test_a_routes_cost_has_the_documented_shape_and_the_answers_sums(client: TestClient) -> None:
    answer = client.post("/routes", json=QUESTION).json()["routes"][0]

    cost = post(client, "/routes/cost", question=QUESTION, limit="1500")

    shape(RouteCost).model_validate(cost)
    assert (cost["total"], cost["expected"]) == (answer["total"], answer["expected"])
    assert (cost["p50"], cost["p90"]) == (answer["p50"], answer["p90"])
    assert 0 <= cost["exceeds"] <= 1 and cost["points"][-1]["not_above"] == 1


def test_hours_with_low_usual_and_high_widen_the_spread(client: TestClient) -> None:
    steps = client.post("/routes", json=QUESTION).json()["routes"][0]["steps"]
    task = next(step for step in steps if step["source_kind"] == "task")
    hours = [{"operation": task["source"], "low": task["hours"], "usual": task["hours"], "high": task["hours"] + 4}]

    cost = post(client, "/routes/cost", question=QUESTION, hours=hours)

    assert cost["with_hours_p90"] > cost["p90"]


def test_the_spread_is_drawn(client: TestClient) -> None:
    response = client.post("/routes/spread.svg", json={"question": QUESTION, "limit": "1500"})

    assert response.headers["content-type"] == "image/svg+xml" and response.text.startswith("<svg")


def test_a_price_list_is_previewed_kept_used_and_taken_back(client: TestClient) -> None:
    part = client.post("/routes", json=QUESTION).json()["routes"][0]["parts"][0]["part"]
    text = HEAD + f"{part},0.01,{currency(client)},new,2026-06-01\n"
    before = post(client, "/routes/cost", question=QUESTION)["total"]

    preview = upload(client, "/prices/preview", text).json()
    assert (preview["rows"], preview["problems"]) == (1, [])
    assert post(client, "/routes/cost", question=QUESTION)["total"] == before

    kept = upload(client, "/prices/import", text).json()
    assert post(client, "/routes/cost", question=QUESTION)["total"] < before
    assert client.get("/prices", params={"part": part}).json()["prices"][0]["cash"] == 0.01
    assert part in client.get("/prices.csv").text
    assert client.get("/prices.xlsx").content[:2] == b"PK"

    post(client, f"/batches/{kept['batch']}/retraction", reason="wrong list")
    assert post(client, "/routes/cost", question=QUESTION)["total"] == before


def test_a_price_list_with_a_key_that_is_sent_again_is_kept_once(client: TestClient) -> None:
    file = {"file": ("list.csv", f"{HEAD}disc-tansy-225,90,EUR,new,2026-06-01\n".encode(), "text/csv")}

    sent = [client.post("/prices/import", files=file, headers={"Idempotency-Key": "list-1"}).json() for _ in range(2)]

    assert sent[0] == sent[1]
    prices = client.get("/prices", params={"part": "disc-tansy-225"}).json()["prices"]
    assert [price["cash"] for price in prices].count(90) == 1


def currency(client: TestClient) -> str:
    found: str = client.post("/routes", json=QUESTION).json()["currency"]
    return found


def test_a_list_with_a_bad_row_is_refused_whole_by_line_and_column(client: TestClient) -> None:
    response = upload(
        client, "/prices/import", HEAD + "disc-ouzel,1,EUR,new,2026-06-01\ndisc-pipit,-1,EUR,new,2026-06-01\n"
    )

    assert response.status_code == 422
    assert response.json()["problems"] == [
        {"path": "line 3, column price", "message": "expected a price of 0 or more, found -1"}
    ]
    assert client.get("/prices").json()["total"] == 0


@pytest.mark.parametrize(
    ("path", "body", "field", "said"),
    [
        ("/shop/stock", {"part": "disc-ouzl", "quantity": 1, "book": "1", "currency": "EUR"}, "part", "disc-ouzel"),
        ("/shop/stock", {"part": "disc-ouzel", "quantity": 1, "book": "1", "currency": "USD"}, "currency", "in EUR"),
        ("/shop/rates", {"kind": "weldin", "per_hour": "60", "currency": "EUR"}, "kind", "welding"),
        ("/shop/sublets", {"id": "machine-shop-visi", "label": "x", "cash": "1", "currency": "EUR"}, "id",
         "machine-shop-visit"),
        ("/shop/sublets", {"id": "gear-train-out-and-in", "label": "x", "cash": "1", "currency": "EUR"}, "id",
         "not sent out"),
        ("/jobs/J-1/findings", {"fault": "worn-nothing", "laid_open": True, "worn": True}, "fault", "no fault"),
        ("/jobs/J-1/as-built", {"position": "clutch disk", "part": "disc-ouzel"}, "position", "clutch disc"),
        ("/jobs/J-1/as-built", {"position": "at-clutch-disc", "part": "disc-ouzl"}, "part", "disc-ouzel"),
        ("/jobs/J-1/as-built", {"position": "at-clutch-disc", "part": "plate-20"}, "part", "takes a clutch disc"),
        ("/shop/sublets", {"id": "gearbox-out", "label": "x", "cash": "1", "currency": "EUR"}, "id", "more"),
    ],
)  # fmt: skip
def test_a_name_that_nobody_knows_is_refused_with_what_looks_like_it(
    client: TestClient, path: str, body: dict[str, object], field: str, said: str
) -> None:
    if "J-1" in path:
        post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")

    response = client.post(path, json=body)

    assert response.status_code == 422, response.text
    [problem] = response.json()["problems"]
    assert problem["path"] == field and said in problem["message"]


def test_a_list_with_unknown_parts_or_foreign_money_is_told_of_before_and_refused_or_left_out(
    client: TestClient,
) -> None:
    text = HEAD + "disc-ouzel,1,EUR,new,2026-06-01\nelbow-9,1,EUR,new,2026-06-01\n"

    told = upload(client, "/prices/preview", text).json()["problems"]
    refused = upload(client, "/prices/import", text)
    foreign = upload(client, "/prices/import", HEAD + "disc-ouzel,1,USD,new,2026-06-01\n")
    kept = upload(client, "/prices/import", text, unknown_parts="leave out").json()

    assert refused.status_code == foreign.status_code == 422
    assert told == refused.json()["problems"] and told[0]["path"] == "line 3, column part"
    assert foreign.json()["problems"][0]["path"] == "line 2, column currency"
    assert (kept["notes"], kept["left_out"]) == (1, 1)
    again = upload(client, "/prices/preview", client.get("/prices.csv").text).json()
    assert again["problems"] == [] and again["rows"] == 1


def test_a_list_may_name_parts_by_their_exact_names(client: TestClient, index: CatalogueIndex) -> None:
    label = index.catalogue.parts["disc-ouzel"].label

    upload(client, "/prices/import", HEAD + f'"{label.upper()}",77,EUR,new,2026-06-01\n').raise_for_status()

    assert client.get("/prices", params={"part": "disc-ouzel"}).json()["total"] == 1


def test_every_fault_of_work_sent_out_is_told_at_once(client: TestClient) -> None:
    wrong = {"id": "machine-shop-visi", "label": "x", "cash": "1", "currency": "XYQ"}

    problems = client.post("/shop/sublets", json=wrong).json()["problems"]

    assert ["machine-shop-visit" in one["message"] for one in problems] == [True, False]
    assert "XYQ" in problems[1]["message"]


def test_a_closed_job_says_that_it_is_closed(client: TestClient) -> None:
    """It was titled "Someone else was faster"."""
    post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")
    post(client, "/jobs/J-1/closing", outcome="abandoned")

    late = client.post("/jobs/J-1/remarks", json={"words": "one more"})
    twice = client.post("/jobs", json={"question": QUESTION, "title": "again", "number": "J-1"})

    assert (late.status_code, late.json()["title"]) == (409, "It is closed")
    assert (twice.status_code, twice.json()["title"]) == (409, "It clashes with what is there already")


def test_the_record_of_a_job_speaks_in_names_under_the_workshop_s_name(client: TestClient) -> None:
    job = post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")
    fault = job["faults"][0]
    post(client, "/jobs/J-1/as-built", position="at-clutch-disc", part="disc-ouzel", condition="used-tested")
    found = post(client, "/jobs/J-1/findings", fault=fault, laid_open=True, worn=False)

    paper = client.post("/papers/build-record.html", json={"question": QUESTION, "details": DETAILS, "job": "J-1"})

    words = [one["words"] for one in found["entries"]]
    assert not any("disc-ouzel" in one or fault in one for one in words), words
    assert paper.status_code == 200, paper.text
    assert "disc-ouzel" not in paper.text and f">{fault}<" not in paper.text
    assert "Brookend Works" in paper.text


def test_what_was_built_takes_the_place_of_the_plan_however_the_place_is_named(client: TestClient) -> None:
    """Named by the place's id, as pages do, the planned part stays on the shelf; it was taken off too, before."""
    job = post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")
    assert job["id"] == "J-1"
    for said in ("at-clutch-disc", "Clutch disc"):
        built = post(client, "/jobs/J-1/as-built", position=said, part="disc-ouzel")["as_built"]
        assert [one["position"] for one in built] == ["clutch disc"]


def test_a_bench_rate_of_the_shop_takes_the_place_of_the_facts(client: TestClient) -> None:
    before = post(client, "/routes/cost", question=QUESTION)["total"]

    post(client, "/shop/rates", kind="bench", per_hour="500", currency=currency(client))

    assert post(client, "/routes/cost", question=QUESTION)["total"] > before
    assert client.get("/shop").json()["rates"][0]["kind"] == "bench"


def test_a_job_from_plan_to_follow_up_teaches_the_odds(client: TestClient) -> None:
    fault = next(line["fault"] for line in client.get("/odds").json()["odds"])
    job = post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")
    post(client, "/jobs/J-1/hours", step=1, hours="9")
    post(client, "/jobs/J-1/findings", fault=fault, laid_open=True, worn=True)
    post(client, "/jobs/J-1/measurements", what="bore", reading="1-1/2 in", datum="flange")
    post(client, "/jobs/J-1/as-built", position="input shaft", part="shaft-tansy-25")
    post(client, "/jobs/J-1/remarks", words="dowels were missing")

    closed = post(client, "/jobs/J-1/closing", outcome="done")
    odds = {line["fault"]: line for line in client.get("/odds").json()["odds"]}[fault]
    assert (odds["opened"], odds["worn"]) == (1, 1) and "only 1 box opened" in odds["words"]
    assert len(closed["steps"]) == len(job["steps"]) and closed["outcome"] == "done"
    assert post(client, "/jobs/J-1/follow-ups", months=24, good=True)["follow_ups"] == [{"months": 24, "good": True}]

    reopened = post(client, "/jobs/J-1/reopening", reason="hours of another job")
    slip = next(one["id"] for one in reopened["entries"] if one["words"].startswith("step 1:"))
    assert reopened["outcome"] == "" and reopened["steps"][0]["actual"] == 9
    assert post(client, f"/jobs/J-1/entries/{slip}/retraction")["steps"][0]["actual"] is None
    post(client, "/jobs/J-1/hours", step=1, hours="1.5")
    closed = post(client, "/jobs/J-1/closing", outcome="done")
    assert closed["steps"][0]["actual"] == 1.5
    assert {line["fault"]: line for line in client.get("/odds").json()["odds"]}[fault]["opened"] == 1

    post(client, f"/batches/{closed['closing']}/retraction")
    assert {line["fault"]: line for line in client.get("/odds").json()["odds"]}[fault]["opened"] == 0


@pytest.mark.parametrize("kind", ["estimate", "job-sheet", "build-record", "declaration"])
def test_papers_are_printed_as_html_and_pdf(client: TestClient, kind: str) -> None:
    body = {"question": QUESTION, "details": DETAILS, "limit": "1500"}
    route = client.post("/routes", json=QUESTION).json()["routes"][0]
    # The customer and the inspector read what is fitted, the bench and the record every step.
    bought = kind in ("estimate", "declaration")
    wanted = [part["label"] for part in route["parts"]] if bought else [s["text"] for s in route["steps"]]

    html = client.post(f"/papers/{kind}.html", json=body)
    pdf = client.post(f"/papers/{kind}.pdf", json=body)

    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf.content)).pages)
    squeezed = "".join(text.split())
    assert "sha256-" in html.headers["content-security-policy"]
    for said in wanted:
        assert "".join(said.split()) in squeezed


def test_signs_known_before_opening_move_the_odds(client: TestClient) -> None:
    plain = post(client, "/routes/cost", question=QUESTION)["odds"]

    signed = post(client, "/routes/cost", question=QUESTION, signs={"mileage class": "high"})["odds"]

    assert len(plain) == len(signed)
    assert any(after["odds"] > before["odds"] for before, after in zip(plain, signed, strict=True))


def test_an_unknown_sign_is_refused_with_what_is_near(client: TestClient) -> None:
    response = client.post("/routes/cost", json={"question": QUESTION, "signs": {"milage class": "high"}})

    assert response.status_code == 422
    assert "mileage class" in response.json()["detail"]


@pytest.mark.parametrize(
    ("path", "body", "status"),
    [
        ("/routes/cost", {"question": QUESTION, "rank": 99}, 404),
        ("/routes/cost", {"question": QUESTION, "limit": "-1"}, 422),
        ("/shop/rates", {"kind": "bench", "per_hour": "60", "currency": "XXX"}, 422),
        ("/shop/stock", {"part": "housing", "quantity": -1, "book": "1", "currency": "EUR"}, 422),
        ("/jobs/J-9/hours", {"step": 1, "hours": "1"}, 404),
        ("/papers/poster.pdf", {"question": QUESTION, "details": DETAILS}, 422),
        ("/papers/estimate.pdf", {"question": QUESTION, "details": {"number": ""}}, 422),
        ("/batches/none/retraction", {}, 404),
    ],
)
def test_what_cannot_be_is_a_problem_in_the_one_shape(
    client: TestClient, path: str, body: dict[str, object], status: int
) -> None:
    response = client.post(path, json=body)

    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
