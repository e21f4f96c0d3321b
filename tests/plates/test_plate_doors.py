"""Plates over HTTP, on the page and by command, on the demo: the Pipit's block and the spare Tansy bell."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from ezdxf.filemanagement import read, readfile
from fastapi.testclient import TestClient

from api.app import create_app
from api.pages.plates import PlateView, WhichView
from api.routers.plates import PlateAnswer, WhichAnswer
from graph.catalogue.load import load_catalogue
from graph.cli.main import main
from graph.cli.question import DEMO_FACTS
from tests.pages.templates import undocumented

PAIR = {"a": "block-pipit", "b": "bell-tansy-spare"}
UNITS = {"gearbox": "tansy-5", "engine": "pipit-16"}


@pytest.fixture(scope="module")
def demo() -> Iterator[TestClient]:
    with TestClient(create_app(load_catalogue([DEMO_FACTS])), raise_server_exceptions=False) as client:
        yield client


def test_the_window_of_the_length_chains_decides_the_thickness(demo: TestClient) -> None:
    """Worked example of the 4x4: T 14.0 (release gap) to 15.5 (starter rest gap), so the 15 mm plate it is."""
    found = PlateAnswer.model_validate(demo.get("/plates/design.json", params=PAIR | UNITS).json())

    assert found.design is not None
    window = found.design.window
    assert (window["low_mm"], window["high_mm"]) == (14.0, 15.5)
    assert (window["low_by"], window["high_by"]) == ("release gap", "starter rest gap")
    assert found.design.thickness_mm == 15.0
    assert "release gap +15.000 mm" in found.moves and "pilot overlap -15.000 mm" in found.moves


def test_a_plate_outside_the_window_is_refused_with_the_limit_to_move(demo: TestClient) -> None:
    found = demo.get("/plates/design.json", params=PAIR | UNITS | {"thickness": "20 mm"}).json()

    assert found["verdict"] == "refused" and found["design"] is None
    assert "starter rest gap" in found["reasons"][0]["what"]


def test_every_drawing_comes_over_http(demo: TestClient) -> None:
    drawings = {form: demo.get(f"/plates/design.{form}", params=PAIR) for form in ("dxf", "pdf", "svg")}

    assert {form: one.headers["content-type"] for form, one in drawings.items()} == {
        "dxf": "image/vnd.dxf", "pdf": "application/pdf", "svg": "image/svg+xml"
    }  # fmt: skip
    assert read(io.StringIO(drawings["dxf"].text)).audit().errors == []
    assert drawings["pdf"].content.startswith(b"%PDF")


def test_faces_given_hole_by_hole_and_published_ones_are_taken(demo: TestClient) -> None:
    places = [("0 mm", "190 mm"), ("0 mm", "-190 mm"), ("190 mm", "0 mm")]
    holes = [{"id": f"h{n}", "x": x, "y": y, "diameter": "11 mm"} for n, (x, y) in enumerate(places)]
    mine = {"label": "mine", "axis": "shaft axis", "seen_from": "rear", "uncertainty": "0.05 mm", "holes": holes}

    found = demo.post("/plates/design.json", json={"a": "sae:3", "b": mine, "engine_thread": "M10"}).json()

    assert found["verdict"] == "designed" and found["engine"] == "housing SAE No. 3"


@pytest.mark.parametrize(
    ("asked", "path", "said"),
    [
        ({"a": PAIR["b"], "b": PAIR["a"]}, "a", "exchange a and b"),
        (PAIR | {"gearbox": UNITS["engine"], "engine": UNITS["gearbox"]}, "gearbox", "exchanged?"),
        (PAIR | {"engine_thread": "M10 or so"}, "engine_thread", "metric thread"),
        (PAIR | {"gearbox_thread": "M10x7"}, "gearbox_thread", "gauge the pitch"),
    ],
)
def test_what_stands_on_the_wrong_side_or_is_no_screw_is_refused(
    demo: TestClient, asked: dict[str, str], path: str, said: str
) -> None:
    """Each would have been a plate: the mirror image, another window, a screw that nobody asked for."""
    answer = demo.get("/plates/design.json", params=asked)

    assert answer.status_code == 422
    told = {one["path"]: one["message"] for one in answer.json()["problems"]}
    assert said in told[path]


@pytest.mark.parametrize(
    ("more", "path"),
    [({"thickness": "a bit"}, "thickness"), ({"lean": "400"}, "lean"), ({"opening": "-3 mm"}, "opening"),
     ({"force": "3 stone"}, "force"), ({"joint": "nowhere"}, "joint"), ({"a": "sae:3"}, "engine_thread")],
)  # fmt: skip
def test_what_cannot_be_read_is_told_by_its_field(demo: TestClient, more: dict[str, str], path: str) -> None:
    answer = demo.get("/plates/design.json", params=PAIR | more)

    assert answer.status_code == 422
    assert path in {one["path"] for one in answer.json()["problems"]}


def test_an_unknown_face_is_not_found_and_a_drawing_of_no_plate_says_why(demo: TestClient) -> None:
    assert demo.get("/plates/design.json", params=PAIR | {"b": "nobody"}).status_code == 404

    refused = demo.get("/plates/design.dxf", params=PAIR | {"thickness": "10 mm"})

    assert refused.status_code == 422 and "14.000 mm is wanted" in refused.json()["problems"][0]["message"]


def test_the_page_shows_the_design_with_links_to_its_drawings(demo: TestClient) -> None:
    page = demo.get("/plates", params=PAIR | UNITS).text

    assert "/plates/design.dxf?joint=engine-face&amp;a=block-pipit" in page and "/plates/design.pdf?" in page
    assert "ISO 273, medium series" in page
    assert "Prove the length chains with depth readings" in page and "local rules decide" in page


def test_the_page_says_why_there_is_no_plate(demo: TestClient) -> None:
    page = demo.get("/plates", params=PAIR | {"thickness": "10 mm"}).text

    assert "No plate can be made as asked" in page and "14.000 mm is wanted" in page


@pytest.mark.parametrize("more", [{"thickness": "a bit"}, {"a": "nobody"}, {"joint": "<b>"}])
def test_the_page_tells_what_is_wrong_in_the_form(demo: TestClient, more: dict[str, str]) -> None:
    answer = demo.get("/plates", params=PAIR | more)

    assert answer.status_code == 200 and 'role="alert"' in answer.text and "<b>" not in answer.text


def test_every_field_of_the_views_is_documented() -> None:
    own = ("PlateView", "PieceView", "WhichView", "LikenessView")

    assert [one for one in undocumented(PlateView) + undocumented(WhichView) if one.split(".")[0] in own] == []


def test_a_face_is_known_over_http_and_on_the_page(demo: TestClient) -> None:
    found = WhichAnswer.model_validate(demo.post("/patterns/which", json={"face": "bell-tansy-spare"}).json())
    typed = "48; 183\n-48; 183\n155,0; 90\n-155; 90 mm"
    page = demo.get("/plates/which", params={"holes": typed}).text

    assert found.patterns[0]["known"] == "bell-tansy-spare/engine-face" and found.patterns[0]["certain"]
    assert "Tansy bell housing off a broken box" in page and "4 of 4 measured holes, the pattern has 8" in page
    assert 'role="alert"' in demo.get("/plates/which", params={"holes": "48 183"}).text


def test_the_command_designs_and_writes_drawings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dxf, pdf = tmp_path / "plate.dxf", tmp_path / "plate.pdf"
    facts = ["--facts", str(DEMO_FACTS)]

    out = ["--out", str(dxf), "--out", str(pdf)]

    assert main(["plate", *PAIR.values(), "--thickness", "14 mm to 15.5 mm", *out, *facts]) == 0

    said = capsys.readouterr().out
    assert "plate 15 mm" in said and "CAUTION: Print the drawing at 1:1" in said
    assert readfile(dxf).audit().errors == [] and pdf.read_bytes().startswith(b"%PDF")
    assert main(["plate", *PAIR.values(), "--thickness", "10 mm", "--json", *facts]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "refused"
    assert main(["pattern", "bell-tansy-spare", *facts]) == 0
    assert "the same, 8 of 8 holes" in capsys.readouterr().out


def test_what_making_it_costs_is_told_and_what_has_no_rate_is_named(demo: TestClient) -> None:
    found = demo.get("/plates/design.json", params=PAIR).json()

    assert found["price"][0].startswith("no price from rates: the shop has none for plate: a kilogram of blank")
    assert found["price"][1] == "Adapter plate made, with bolts and dowels, whatever it is like: 340.00, 0.80 h"


def test_a_tractors_plate_is_warned_of_unasked() -> None:
    """Both housings of a tractor carry it: a unit made for that says so."""
    facts = load_catalogue([DEMO_FACTS])
    pipit = replace(facts.parts["pipit-16"], made_for=("tractor-split",))
    with TestClient(create_app(replace(facts, parts={**facts.parts, pipit.id: pipit}))) as client:
        warned, plain = (
            client.get("/plates/design.json", params=PAIR | units).json()["design"]["cautions"] for units in (UNITS, {})
        )

    assert any("part of the machine's frame" in one for one in warned)
    assert not any("part of the machine's frame" in one for one in plain)
