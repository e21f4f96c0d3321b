"""Questions in, answers out, over the workshop that is worked by hand (figures: tests/answer/shop.ttl)."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.documents import HAND_EXAMPLE
from api.shapes import shape
from graph.answer.model.answer import Answer

QUESTION: dict[str, Any] = {"gearbox": "birch-4", "engine": "alder-20", "context": {"torque_nm": 180}}


def ask(client: TestClient, **changes: Any) -> dict[str, Any]:
    response = client.post("/routes", json={**QUESTION, **changes})
    assert response.status_code == 200, response.text
    found: dict[str, Any] = response.json()
    return found


def test_the_cheapest_route_is_the_one_worked_by_hand(client: TestClient) -> None:
    answer = ask(client)

    best, second = answer["routes"][:2]
    assert (answer["status"], answer["verdict"]) == ("proven", "bolt-on with parts")
    assert (best["cash"], best["hours"], best["total"], best["expected"]) == (245, 6.1, 611, 874.2)
    assert (second["total"], second["expected"]) == (870, 895.2)
    assert answer["look_first"]["expected"] == 786.85


def test_the_steps_add_up_and_the_parts_are_named(client: TestClient) -> None:
    best = ask(client)["routes"][0]

    assert round(sum(step["cash"] for step in best["steps"]), 2) == best["cash"]
    assert round(sum(step["hours"] for step in best["steps"]), 2) == best["hours"]
    assert {part["part"] for part in best["parts"]} == {"disc-other", "bush-long"}
    assert best["weakest_evidence"] == "hearsay"
    assert sum(best["split"].values()) == pytest.approx(best["expected"])


def test_the_answer_has_the_documented_shape(client: TestClient) -> None:
    shape(Answer).model_validate(ask(client))
    shape(Answer).model_validate(ask(client, avoid=["disc-other", "shaft-long"]))


def test_a_demand_that_nobody_can_compute_is_unknown_and_says_what_to_find_out(client: TestClient) -> None:
    answer = ask(client, demands=["first gear at least 3.3"])

    (line,) = answer["routes"][0]["demands"]
    assert (answer["status"], line["verdict"]) == ("if it holds", "unknown")
    assert "first gear ratio of Birch 4" in line["words"]


def test_a_demand_that_cannot_be_read_is_refused_at_its_field(client: TestClient) -> None:
    response = client.post("/routes", json={**QUESTION, "demands": ["first gear at least 3.3", "quick"]})

    assert response.status_code == 422
    (problem,) = response.json()["problems"]
    assert problem["path"] == "demands[1]"
    assert "first gear at least 3.3" in problem["message"]


def test_a_part_in_hand_costs_nothing(client: TestClient) -> None:
    best = ask(client, own=["bush-long"])["routes"][0]

    assert best["cash"] == 135
    assert next(part for part in best["parts"] if part["part"] == "bush-long")["in_hand"]


def test_a_condition_the_context_does_not_settle_is_to_confirm(client: TestClient) -> None:
    assert not ask(client)["routes"][0]["provisional"]

    answer = ask(client, context={})

    assert answer["status"] == "proven on what is known"
    assert answer["routes"][0]["picks"]["at-input-shaft"] == "at-input-shaft/shaft-long"
    assert any("up to 240 Nm" in route["to_confirm"] for route in answer["routes"])


def test_a_condition_that_fails_leaves_the_part_out_and_says_so(client: TestClient) -> None:
    answer = ask(client, context={"torque_nm": 300})

    assert answer["routes"][0]["picks"]["at-input-shaft"] == "at-input-shaft/shaft-long"
    assert any("up to 240 Nm" in out["why"] for out in answer["left_out"])


def test_no_route_is_an_answer_with_a_reason(client: TestClient) -> None:
    answer = ask(client, avoid=["disc-other", "shaft-long"])

    assert answer["status"] == "no route"
    assert answer["routes"] == []
    line = next(line for line in answer["open"] if line["kind"] == "joint")
    assert line["why"]
    assert "allowing again" in line["opens"]


def test_a_conversion_document_solves_to_the_same_routes(client: TestClient) -> None:
    document = client.post("/conversions", json=QUESTION)
    solved = client.post("/solve", content=document.content, headers={"content-type": "application/json"})

    assert (document.status_code, solved.status_code) == (200, 200)
    best = solved.json()["routes"][0]
    assert (best["total"], best["expected"]) == (611, 874.2)


def test_the_documented_example_of_solve_gives_the_sums_of_the_route_definition(client: TestClient) -> None:
    found = client.post("/solve", params={"objective": "expected", "alternatives": 1}, json=HAND_EXAMPLE).json()

    best, second = found["routes"]
    assert (best["total"], best["expected"]) == (581, 844.2)  # 581 + 752 p at p = 0.35
    assert (second["total"], second["expected"]) == (870, 895.2)  # 870 + 72 p
    assert found["look_first"]["inspections"] == ["road test"]
    assert found["look_first"]["expected"] == 767.35  # 641 + 361 p
    low, high = found["look_first"]["odds_range"]["worn ring"]
    assert (round(low, 3), round(high, 3)) == (0.153, 0.792)


def test_parts_are_listed_by_kind_and_text_in_pages(client: TestClient) -> None:
    discs = client.get("/parts", params={"kind": "clutch-disc"}).json()
    page = client.get("/parts", params={"limit": 2, "offset": 1}).json()

    assert [part["id"] for part in discs["parts"]] == ["disc-20", "disc-30", "disc-other"]
    assert (page["total"], len(page["parts"]), page["parts"][0]["id"]) == (11, 2, "birch-4")
    found = client.get("/parts", params={"text": "OTHER hub"}).json()
    assert [part["id"] for part in found["parts"]] == ["disc-other"]


def test_a_part_shows_its_kind_and_everything_known_of_it(client: TestClient) -> None:
    part = client.get("/parts/disc-other").json()
    edges = client.get("/parts/disc-other/edges").json()

    assert (part["part"]["cash"], part["part"]["number"]) == (135, "B-135")
    assert [(edge["id"], edge["kind"]) for edge in edges["edges"]] == [("fit-disc", "fits"), ("swap-disc", "replaces")]
    assert edges["labels"]["shaft-short"] == "Birch input shaft"


def test_with_and_without_a_part_stand_side_by_side(client: TestClient) -> None:
    found = client.get("/parts/bush-long/alternatives", params={"gearbox": "birch-4", "engine": "alder-20"}).json()

    assert found["with_part"]["routes"][0]["expected"] == 874.2
    assert found["without_part"]["routes"][0]["expected"] == 895.2
    assert found["extra_expected"] == 21
    assert all("bush-long" in {part["part"] for part in route["parts"]} for route in found["with_part"]["routes"])


def test_a_part_that_cannot_be_used_says_why(client: TestClient) -> None:
    found = client.get("/parts/disc-30/alternatives", params={"gearbox": "birch-4", "engine": "alder-20"}).json()

    assert found["with_part"]["status"] == "no route"
    assert any(line["kind"] == "part" and line["what"] == "disc-30" for line in found["with_part"]["open"])
    assert found["extra_expected"] is None


def test_the_health_check_says_what_is_loaded(client: TestClient) -> None:
    assert client.get("/healthz").json() == {"status": "ok", "parts": 11, "edges": 17}


def test_the_same_question_gives_the_same_bytes(client: TestClient) -> None:
    assert client.post("/routes", json=QUESTION).content == client.post("/routes", json=QUESTION).content
