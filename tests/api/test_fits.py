"""Fits over HTTP: what-if, identification, faces over each other, workings, measurements, what to measure next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from api.app import create_app
from api.routers import fits_answers as answers
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS


@pytest.fixture(scope="module")
def demo() -> Iterator[TestClient]:
    with TestClient(create_app(load_catalogue([DEMO_FACTS])), raise_server_exceptions=False) as client:
        yield client


def square(label: str, size: str, use: str, seen_from: str = "rear", offset: float = 0.0) -> dict[str, Any]:
    places = [(100, 100), (-100, 100), (-100, -100), (100, -100), (0, 130)]
    holes = [
        {"id": f"h{n}", "x": f"{x + offset} mm", "y": f"{y} mm", "diameter": size, "use": use}
        for n, (x, y) in enumerate(places)
    ]
    return {"label": label, "axis": "crank axis", "seen_from": seen_from, "uncertainty": "0.05 mm", "holes": holes}


def test_a_check_is_tried_and_nothing_is_kept(demo: TestClient) -> None:
    before = demo.get("/parts/shaft-tansy-25/measurements").json()

    body = {"inputs": {"width": "25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.02 mm from the shoulder"}}
    found = demo.post("/fit-checks/axial-location", json=body).json()

    assert found["verdict"] == "holds with work"
    assert found["work"][0]["amount"] == {"value": 2, "unit": "mm", "text": "2.000 mm"}
    assert demo.get("/parts/shaft-tansy-25/measurements").json() == before


def test_the_checks_are_listed_with_what_they_take(demo: TestClient) -> None:
    found = demo.get("/fit-checks").json()

    assert {"axial-location", "spline", "register", "length-chains"} <= set(found)
    assert found["spline"]["inputs"]["hub_form"]["words"] == ["straight", "involute"]


def test_the_documented_examples_run(demo: TestClient) -> None:
    schemas = demo.get("/openapi.json").json()["components"]["schemas"]
    for name, path in (
        ("CheckBody", "/fit-checks/axial-location"),
        ("IdentifyBody", "/identify"),
        ("OverlayBody", "/patterns/overlay"),
    ):
        (example,) = schemas[name]["examples"]
        assert demo.post(path, json=example).status_code == 200, name


def test_a_unit_is_identified_by_what_was_read(demo: TestClient) -> None:
    body = {"family": "tansy", "observations": {"stick-out": "147.1 mm +/- 0.1 mm", "sensor-boss": "no boss"}}

    found = demo.post("/identify", json=body).json()

    assert found["variants"][0]["variant"] == "tansy-5r"
    assert sum(one["probability"] for one in found["variants"]) + found["something_else"] == pytest.approx(1, abs=1e-5)


def test_two_faces_are_laid_over_each_other_with_a_drawing(demo: TestClient) -> None:
    body = {"a": square("block", "10 mm", "thread"), "b": square("bell", "11 mm", "clearance", offset=0.2)}

    found = demo.post("/patterns/overlay", json=body).json()

    assert found["result"]["verdict"] == "holds with work"  # dowels, dialled in
    assert [row["state"] for row in found["rows"]] == ["lines up"] * 5
    assert ET.fromstring(found["svg"]).tag.endswith("svg")


def test_measured_faces_of_parts_can_be_named(demo: TestClient) -> None:
    body = {"a": "block-pipit", "b": "bell-tansy-spare", "lean_deg": 2}

    found = demo.post("/patterns/overlay", json=body).json()

    assert found["result"]["verdict"] == "fails"


def test_a_computed_edge_is_explained(demo: TestClient) -> None:
    edge = "computed-clutch-spline--disc-unlabelled--shaft-hollin-short"

    found = demo.get(f"/edges/{edge}/working").json()

    assert (found["standing"], found["edge"]["evidence"]) == ("computed", "calculated")
    assert any("28.700 - 28.5496" in line["numbers"] for line in found["result"]["working"])


def test_the_edges_of_an_answer_can_all_be_explained(demo: TestClient) -> None:
    asked = {"gearbox": "hollin-5", "engine": "ouzel-20", "own": ["disc-unlabelled"]}

    route = demo.post("/routes", json=asked).json()["routes"][0]

    edges = {edge for joint in route["joints"] for edge in joint["edges"] if edge.startswith("computed-")}
    assert len(edges) == 3
    assert all(demo.get(f"/edges/{edge}/working").status_code == 200 for edge in edges)


def test_measurements_come_out_as_read_and_settled(demo: TestClient) -> None:
    found = demo.get("/parts/shaft-hollin-short/measurements").json()

    major = next(one for one in found["measurements"] if one["quantity"] == "spline-major")
    settled = next(one for one in found["settled"] if one["quantity"] == "spline-major")
    assert (major["reading"], settled["value"]["nominal_mm"]) == ("1.124 in", 28.5496)
    assert found["disputes"] == []


def test_what_to_measure_next_is_ranked(demo: TestClient) -> None:
    asked = {"gearbox": "hollin-5", "engine": "ouzel-20", "own": ["disc-half-measured"]}

    first, *_ = demo.post("/measure-next", json=asked).json()["first"]

    # Four minutes at a loose disc, nothing opened: 0.07 h at 60.
    assert ([one["quantity"] for one in first["readings"]], first["cost"]) == (["spline-minor"], 4.2)
    assert first["changes"] == "the route"


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("POST", "/fit-checks/no-such-check", {"inputs": {}}, 404),
        ("POST", "/fit-checks/axial-location", {"inputs": {"width": "25"}}, 422),
        ("POST", "/fit-checks/axial-location", {"inputs": {"width": 25}}, 422),
        ("POST", "/fit-checks/axial-location", {"input": {}}, 422),
        ("POST", "/identify", {"family": "no-such-family"}, 404),
        ("POST", "/identify", {"family": "tansy", "observations": {"stick-out": "7"}}, 422),
        ("POST", "/patterns/overlay", {"a": "block-pipit", "b": "bell-hollin"}, 404),
        ("POST", "/patterns/overlay", {"a": square("a", "10", "thread"), "b": "bell-tansy-spare"}, 422),
        ("GET", "/edges/no-such-edge/working", None, 404),
        ("GET", "/parts/no-such-part/measurements", None, 404),
        ("POST", "/measure-next", {"gearbox": "hollin", "engine": "ouzel-20"}, 422),
    ],
)
def test_what_cannot_be_done_is_a_problem_with_its_reason(
    demo: TestClient, method: str, path: str, body: Any, status: int
) -> None:
    response = demo.request(method, path, json=body)

    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    assert response.json()["detail"]


SHAFT_SEAT = {"inputs": {"side": "shaft", "bearing": "6209", "seat": "40.00 mm +/- 0.005 mm"}}
HALF_MEASURED = {"gearbox": "hollin-5", "engine": "ouzel-20", "own": ["disc-half-measured"]}


@pytest.mark.parametrize(
    ("method", "path", "body", "described"),
    [
        ("GET", "/fit-checks", None, dict[str, answers.CheckKindAnswer]),
        ("POST", "/fit-checks/bearing-seat", SHAFT_SEAT, answers.CheckAnswer),
        ("POST", "/fit-checks/axial-location", {"inputs": {}}, answers.CheckAnswer),
        ("POST", "/identify", {"family": "tansy"}, answers.IdentificationAnswer),
        ("POST", "/patterns/overlay", {"a": "block-pipit", "b": "bell-tansy-spare"}, answers.OverlayAnswer),
        ("GET", "/edges/case-hollin-late-fits-bearing-6309/working", None, answers.WorkingAnswer),
        ("GET", "/parts/shaft-hollin-short/measurements", None, answers.MeasurementsAnswer),
        ("POST", "/measure-next", HALF_MEASURED, answers.MeasurePlanAnswer),
    ],
)
def test_every_answer_is_what_its_description_says(
    demo: TestClient, method: str, path: str, body: Any, described: Any
) -> None:
    found = demo.request(method, path, json=body)

    assert found.status_code == 200
    TypeAdapter(described).validate_json(found.content, strict=True)


def test_the_description_names_the_schema_of_each_answer(demo: TestClient) -> None:
    paths = demo.get("/openapi.json").json()["paths"]

    schema = paths["/fit-checks/{kind}"]["post"]["responses"]["200"]["content"]["application/json"]["schema"]
    assert schema == {"$ref": "#/components/schemas/CheckAnswer"}


def test_a_check_with_work_comes_with_its_sketch(demo: TestClient) -> None:
    (sketch,) = demo.post("/fit-checks/bearing-seat", json=SHAFT_SEAT).json()["sketches"]

    assert any("outside diameter 45.000 mm k5" in line for line in sketch["lines"])
    assert ET.fromstring(sketch["svg"]).tag.endswith("svg")
