"""POST /reach and POST /reach/stock as a caller sees them, on the demo workshop."""

from __future__ import annotations

import html
import json
import time
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.routers import costing
from api.settings import Settings
from api.stock_jobs import MOST_WAITING
from graph.catalogue.load import load_catalogue
from graph.costing.notes import MemoryNotes
from graph.reach.stocking import Opened, parts_that_open, rank_parts
from graph.reading import CatalogueIndex, Question
from tests.api.processes import running

pytestmark = pytest.mark.takes_turns(2)

DEMO = Path(__file__).parents[2] / "facts" / "demo"


class LocalClient(TestClient):
    """A client of an app in this process."""

    def finished(self, job: str) -> dict[str, Any]:
        """The stock job once it has ended."""
        for _ in range(600):
            found: dict[str, Any] = self.get(f"/reach/stock/{job}").json()
            if found["state"] not in ("waiting", "running"):
                return found
            time.sleep(0.1)
        raise AssertionError(found)


@pytest.fixture(scope="module")
def client() -> Iterator[LocalClient]:
    app = create_app(load_catalogue([DEMO]), Settings(searches_at_once=1))
    with LocalClient(app, base_url="http://127.0.0.1") as client:
        yield client


def _lines(text: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in text.splitlines()]


def test_gearboxes_behind_an_engine_come_a_line_each_cheapest_first(client: LocalClient) -> None:
    response = client.post("/reach", json={"engine": "ouzel-20", "limit": 3})

    *found, summary = _lines(response.text)
    assert response.headers["content-type"].startswith("application/x-ndjson")
    assert len(found) == 3 and summary["complete"]
    assert [one["expected"] for one in found] == sorted(one["expected"] for one in found)


def test_a_demand_leaves_out_the_boxes_that_fail_it_and_says_which_are_not_known(client: LocalClient) -> None:
    """35/20 x 32/16 = 3.5 in the Hollin 5; 35/20 x 31/17 = 3.19 with close ratios; nobody has counted the Tansy's."""
    asked = {"engine": "ouzel-20", "demands": ["first gear at least 3.3"], "context": {"torque_nm": 180}}

    *found, summary = _lines(client.post("/reach", json=asked).text)

    status = {one["unit"]: one["status"] for one in found}
    assert summary["complete"]
    assert "hollin-5" in status and "hollin-5c" not in status
    assert status["tansy-5"] == "if it holds"


def test_each_line_names_what_it_assumes_and_what_has_no_price_as_the_answer_does(client: LocalClient) -> None:
    """A line that looks cheap because nobody has stated something says so, and what; it stands behind what is known."""
    *found, _ = _lines(client.post("/reach", json={"engine": "ouzel-20", "limit": 100}).text)

    holds = [one for one in found if one["status"] == "if it holds"]
    assert holds and found[-len(holds) :] == holds
    for one in holds:
        asked = {"gearbox": one["unit"], "engine": "ouzel-20", "alternatives": 0}
        best = client.post("/routes", json=asked).json()["routes"][0]
        assert one["assumptions"] == [line["text"] for line in best["assumptions"]]
        assert one["unpriced"] == best["unpriced"] and one["sums_at_least"] == best["at_least"]
        assert one["told"][0].startswith(f"assumes {len(one['assumptions'])} thing")
        assert (len(one["told"]) == 2) is one["sums_at_least"]
    page = client.get("/reach?engine=ouzel-20&list=whole&limit=100").text
    assert all(html.escape(told, quote=False) in page for one in holds for told in one["told"])
    assert all(not one["told"] for one in found if one not in holds)


def test_each_line_is_what_routes_says_of_that_pair(client: LocalClient) -> None:
    *found, _ = _lines(client.post("/reach", json={"gearbox": "hollin-5", "objective": "total"}).text)
    assert found
    for one in found:
        asked = {"gearbox": "hollin-5", "engine": one["unit"], "objective": "total", "alternatives": 0}
        best = client.post("/routes", json=asked).json()["routes"][0]

        assert (one["total"], one["cash"], one["hours"]) == (best["total"], best["cash"], best["hours"])


def test_the_lines_follow_the_shops_own_record_as_answers_do() -> None:
    app = create_app(load_catalogue([DEMO]))
    costing.install(app, MemoryNotes())
    with LocalClient(app, base_url="http://127.0.0.1") as client:
        before = {one["unit"]: one for one in _lines(client.post("/reach", json={"engine": "ouzel-20"}).text)[:-1]}
        rate = {"kind": "bench", "per_hour": "90", "currency": load_catalogue([DEMO]).currency}
        client.post("/shop/rates", json=rate).raise_for_status()
        after = {one["unit"]: one for one in _lines(client.post("/reach", json={"engine": "ouzel-20"}).text)[:-1]}
        unit = next(iter(after))
        best = client.post("/routes", json={"gearbox": unit, "engine": "ouzel-20"}).json()["routes"][0]

    assert before != after
    assert {name: best[name] for name in ("expected", "total", "cash", "hours", "days")} == {
        name: after[unit][name] for name in ("expected", "total", "cash", "hours", "days")
    }


def test_with_progress_it_says_on_the_way_how_far_it_is(client: LocalClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.routers.reach.PROGRESS_EVERY_S", 0.0)
    monkeypatch.setattr("api.reaching.A_MOMENT_S", 0.0)

    lines = _lines(client.post("/reach", json={"engine": "ouzel-20", "progress": True}).text)

    told, last = [line for line in lines if "unit" not in line], lines[-1]
    assert len(told) > 2 and [line["ended"] for line in told] == [False] * (len(told) - 1) + [True]
    assert [line["looked_at"] for line in told] == sorted(line["looked_at"] for line in told)
    assert last["complete"] and last["looked_at"] == last["units"] and last["at_least"] is None
    for place, line in enumerate(lines):
        if "unit" in line:
            for earlier in lines[:place]:
                assert earlier.get("at_least", 0) <= line["value"]


def test_out_of_time_the_last_line_says_what_the_rest_costs_at_least(client: LocalClient) -> None:
    (last,) = _lines(client.post("/reach", json={"engine": "ouzel-20", "seconds": 1e-6}).text)

    assert last["ended"] and not last["complete"] and last["at_least"] is not None


def test_it_stops_when_the_client_goes_away_and_meanwhile_others_are_answered(tmp_path: Path) -> None:
    body = json.dumps({"engine": "ouzel-20", "limit": 1000, "progress": True}).encode()
    head = f"POST /reach HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {len(body)}"
    with running(tmp_path / "data", searches_at_once=1) as service:
        for _ in range(8):
            service.connect(f"{head}\r\n\r\n".encode(), body)
        service.hang_up()

        answer = service.post("/routes", json={"gearbox": "hollin-5", "engine": "ouzel-20"})

        assert answer.status_code == 200
        for _ in range(200):
            if "layshaft_requests_under_way 1.0\n" in service.get("/metrics").text:
                return
            time.sleep(0.1)
    raise AssertionError("somebody is still served who has gone")


def test_an_unknown_engine_is_a_problem_and_no_broken_stream(client: LocalClient) -> None:
    response = client.post("/reach", json={"engine": "ouzel-21"})

    assert response.status_code == 404
    assert "ouzel-20" in response.json()["near"]


def test_the_parts_that_open_most_are_found_by_a_job(client: LocalClient) -> None:
    index = CatalogueIndex(load_catalogue([DEMO]))
    boxes = [unit for unit in index.units("gearbox") if not index.catalogue.parts[unit].abstract]
    questions = [{"gearbox": box, "engine": "ouzel-20", "objective": "total"} for box in boxes]

    started = client.post("/reach/stock", json={"questions": questions, "budget": 700})
    job = client.finished(started.json()["job"])

    asked = (Question(gearbox=box, engine="ouzel-20", objective="total") for box in boxes)
    by_hand = rank_parts(dict(enumerate(parts_that_open(index, one, budget=Fraction(700)) for one in asked)))
    assert started.status_code == 202
    assert job["state"] == "done", job
    assert job["parts"]
    assert [(one["part"], tuple(one["opens"])) for one in job["parts"]] == [(s.part, s.questions) for s in by_hand[:50]]


def test_parts_are_ranked_by_how_many_questions_they_open() -> None:
    question = Question(gearbox="g", engine="e")
    opened = [Opened(question, False, ("disc", "plate")), Opened(question, True), Opened(question, False, ("plate",))]

    assert [(one.part, one.questions) for one in rank_parts(dict(enumerate(opened)))] == [
        ("plate", (0, 2)),
        ("disc", (0,)),
    ]


def test_an_unknown_job_is_not_found(client: LocalClient) -> None:
    for answer in (client.get("/reach/stock/none"), client.delete("/reach/stock/none")):
        assert answer.status_code == 404
        assert "the last ones are kept" in answer.json()["detail"]


def test_a_job_can_be_stopped_and_what_it_found_stays(client: LocalClient) -> None:
    question = {"gearbox": "hollin-5", "engine": "ouzel-20"}
    long, waiting = (client.post("/reach/stock", json={"questions": [question] * 1000}).json() for _ in range(2))

    stopped = [client.delete(f"/reach/stock/{job['job']}").json() for job in (waiting, long)]

    assert [one["state"] for one in stopped] == ["cancelled", "cancelled"]
    assert stopped[0]["worked_out"] == 0 and stopped[1]["worked_out"] < 1000
    again = client.post("/reach/stock", json={"questions": [question]}).json()
    assert client.finished(again["job"])["state"] == "done"
    assert client.delete(f"/reach/stock/{again['job']}").json()["state"] == "done"


def test_too_many_jobs_at_once_are_refused_and_old_ones_forgotten(client: LocalClient) -> None:
    body = {"questions": [{"gearbox": "hollin-5", "engine": "ouzel-20"}] * 500}

    answers = [client.post("/reach/stock", json=body) for _ in range(MOST_WAITING + 1)]

    started = [answer.json()["job"] for answer in answers[:-1]]
    assert answers[-1].status_code == 422
    for job in started:
        assert client.delete(f"/reach/stock/{job}").status_code == 200


def test_the_metrics_name_routes_by_template_and_count_what_was_asked(client: LocalClient) -> None:
    before = client.get("/metrics").text
    client.get("/parts/disc-hollin-228")
    client.get("/parts/no-such-part")

    text = client.get("/metrics").text

    assert client.get("/metrics").headers["content-type"].startswith("text/plain; version=0.0.4")
    assert 'layshaft_requests_total{method="GET",route="/parts/{id}",status="404"}' in text, text
    assert "no-such-part" not in text
    assert "process_resident_memory_bytes" in before
    for line in text.splitlines():
        assert line.startswith("#") or float(line.rsplit(" ", 1)[1]) >= 0


def test_ready_means_there_is_something_to_ask_about(client: LocalClient) -> None:
    assert client.get("/readyz").json() == {"status": "ready", "lacking": []}
    with TestClient(create_app(load_catalogue([]))) as empty:
        response = empty.get("/readyz")

        assert response.status_code == 503
        assert response.json()["lacking"] == ["gearbox", "engine"]
