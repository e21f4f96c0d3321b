"""The documented examples run against the demo workshop, and the answer keeps its own rules there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.shapes import shape
from graph.answer.model.answer import Answer
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS

PAIRS = [("hollin-5", "ouzel-20"), ("sedge-4a", "pipit-16"), ("tansy-5", "dunlin-25d"), ("tansy-5r", "ouzel-20")]


@pytest.fixture(scope="module")
def demo() -> Iterator[TestClient]:
    with TestClient(create_app(load_catalogue([DEMO_FACTS]))) as client:
        yield client


def test_the_documented_question_has_a_route(demo: TestClient) -> None:
    described = demo.get("/openapi.json").json()
    (question,) = described["components"]["schemas"]["QuestionBody"]["examples"]

    answer = demo.post("/routes", json=question).json()

    assert answer["status"] == "proven"
    assert answer["routes"][0]["steps"]


def test_the_documented_document_solves(demo: TestClient) -> None:
    described = demo.get("/openapi.json").json()
    content = described["paths"]["/solve"]["post"]["requestBody"]["content"]["application/json"]
    for example in content["examples"].values():
        assert demo.post("/solve", json=example["value"]).json()["status"] == "optimal"


def test_the_documented_part_is_there(demo: TestClient) -> None:
    described = demo.get("/openapi.json").json()
    for path in ("/parts/{id}", "/parts/{id}/edges"):
        (name,) = (p for p in described["paths"][path]["get"]["parameters"] if p["name"] == "id")
        example = name["schema"]["examples"][0]
        assert demo.get(path.format(id=example)).status_code == 200


@pytest.mark.parametrize(("gearbox", "engine"), PAIRS)
def test_every_route_adds_up_and_is_documented(demo: TestClient, gearbox: str, engine: str) -> None:
    answer: dict[str, Any] = demo.post(
        "/routes", json={"gearbox": gearbox, "engine": engine, "vehicle": "sorrel-pick-up"}
    ).json()

    shape(Answer).model_validate(answer)
    assert answer["routes"] or answer["open"]
    for route in answer["routes"]:
        assert round(sum(step["cash"] for step in route["steps"]), 2) == route["cash"]
        assert round(sum(step["hours"] for step in route["steps"]), 2) == route["hours"]
        assert sum(route["split"].values()) == pytest.approx(route["expected"])
        assert [step["number"] for step in route["steps"]] == list(range(1, len(route["steps"]) + 1))
        assert all(effect["margin_mm"] is None or effect["margin_mm"] >= 0 for effect in route["side_effects"])


def test_the_adapter_plate_and_what_works_instead_stand_side_by_side(demo: TestClient) -> None:
    asked = {"gearbox": "tansy-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}

    found = demo.get("/parts/plate-15/alternatives", params=asked).json()

    assert "plate-15" in {part["part"] for part in found["with_part"]["routes"][0]["parts"]}
    assert "plate-15" not in {part["part"] for route in found["without_part"]["routes"] for part in route["parts"]}
    assert found["extra_expected"] > 0
