"""Made parts over HTTP, on the page and by command: a bush between the Pipit's crankshaft and the Sedge."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from ezdxf.filemanagement import read, readfile
from fastapi.testclient import TestClient

from api.app import create_app
from api.pages.asked import address
from api.pages.made_parts import MadeView
from api.routers.made_parts import MadeKindsAnswer, MadePartAnswer
from graph.catalogue.load import load_catalogue
from graph.cli.main import main
from graph.cli.question import DEMO_FACTS
from graph.reading.question import Question
from tests.demo.shop import SETTLED
from tests.derive.test_made_parts_from_rates import BUSH, CHEAP, facts
from tests.pages.templates import undocumented

PAIR = {"a": "crank-pipit", "b": "shaft-sedge"}
UNITS = {"gearbox": "sedge-4a", "engine": "pipit-16"}
DEPTH = {"readings": {"crank-bore-depth": "20 mm +/- 0.05 mm"}}


@pytest.fixture(scope="module")
def demo() -> Iterator[TestClient]:
    with TestClient(create_app(load_catalogue([DEMO_FACTS])), raise_server_exceptions=False) as client:
        yield client


@pytest.fixture(scope="module")
def rated() -> Iterator[TestClient]:
    with TestClient(create_app(facts(BUSH, CHEAP)), raise_server_exceptions=False) as client:
        yield client


def test_what_is_not_measured_is_named_and_the_chains_choose_the_rest(demo: TestClient) -> None:
    """Overlap 148 - 140 + r at least 12, shoulder 140 - 126 - r at least 2: r from 4 to 12."""
    found = MadePartAnswer.model_validate(demo.get("/made-parts/pilot-bush.json", params=PAIR | UNITS).json())

    assert found.verdict == "to measure" and found.design is not None
    assert found.design["measure"] == ["crank bore depth of Pipit crankshaft"]
    assert (found.design["window"]["low_mm"], found.design["window"]["high_mm"]) == (4.0, 12.0)
    assert found.design["chosen"].startswith("rear face 8.000 mm behind the block's rear face, chosen within 4.000 mm")


def test_a_reading_given_here_counts_and_is_not_kept(demo: TestClient) -> None:
    found = demo.post("/made-parts/pilot-bush.json", json=PAIR | UNITS | DEPTH).json()

    assert found["verdict"] == "designed"
    sizes = {one["name"]: (one["low_mm"], one["high_mm"]) for one in found["design"]["sizes"]}
    assert sizes["length"] == (27.95, 28.05)
    assert sizes["outside diameter"] == (28.016, 28.045)
    assert demo.get("/made-parts/pilot-bush.json", params=PAIR | UNITS).json()["verdict"] == "to measure"


def test_every_drawing_comes_over_http(demo: TestClient) -> None:
    asked = PAIR | UNITS | DEPTH

    drawn = {form: demo.post(f"/made-parts/pilot-bush.{form}", json=asked) for form in ("dxf", "pdf", "svg")}

    assert {form: one.headers["content-type"] for form, one in drawn.items()} == {
        "dxf": "image/vnd.dxf", "pdf": "application/pdf", "svg": "image/svg+xml"
    }  # fmt: skip
    assert read(io.StringIO(drawn["dxf"].text)).audit().errors == []
    assert drawn["pdf"].content.startswith(b"%PDF")
    refused = demo.get("/made-parts/pilot-bush.dxf", params=PAIR | UNITS)
    assert refused.status_code == 422 and "cannot be drawn before this is known" in refused.text


@pytest.mark.parametrize(
    ("kind", "body", "path"),
    [
        ("pilot-bush", {"a": "shaft-sedge", "b": "crank-pipit"}, "a"),
        ("pilot-bush", {"size": "a bit"}, "size"),
        ("pilot-bush", {"readings": {"crank-bore": "28 mm"}}, "readings.crank-bore"),
        ("pilot-bush", {"readings": {"journal-diameter": "28 mm +/- 0.01 mm"}}, "readings.journal-diameter"),
        ("pilot-bush", {"readings": {"crank-bore": "wide +/- 0.01 mm"}}, "readings.crank-bore"),
        ("bearing-sleeve-on-shaft", {"a": "bearing-6309"}, "a, b"),
    ],
)
def test_what_cannot_be_read_is_told_by_its_field(
    demo: TestClient, kind: str, body: dict[str, object], path: str
) -> None:
    answer = demo.post(f"/made-parts/{kind}.json", json=body)

    assert answer.status_code == 422
    assert path in {one["path"] for one in answer.json()["problems"]}


def test_what_is_not_there_is_not_found(demo: TestClient) -> None:
    assert demo.get("/made-parts/doorknob.json").status_code == 404
    assert demo.get("/made-parts/pilot-bush.json", params={"a": "nobody"}).status_code == 404
    assert demo.get("/made-parts/pilot-bush.json", params=PAIR | {"engine": "nobody"}).status_code == 404


def test_a_length_outside_its_window_is_refused_with_the_limit(demo: TestClient) -> None:
    found = demo.get("/made-parts/pilot-bush.json", params=PAIR | UNITS | {"size": "80 mm"}).json()

    assert found["verdict"] == "refused"
    assert "shoulder to pilot bearing wants at most" in found["reasons"][0]["what"]


@pytest.mark.parametrize("size", ["12.1 mm", "19 mm", "30 mm"])
def test_a_length_between_two_windows_suits_no_choice_of_parts(demo: TestClient, size: str) -> None:
    """4 to 12 behind the Sedge's own shaft; with others of the demo 47 to 55: what lies between serves none."""
    found = demo.get("/made-parts/pilot-bush.json", params=PAIR | UNITS | {"size": size}).json()

    assert found["verdict"] == "refused"
    what = found["reasons"][0]["what"]
    assert all(limit in what for limit in ("4.000 mm", "12.000 mm", "47.000 mm", "55.000 mm", "suits no choice"))
    assert demo.get("/made-parts/pilot-bush.json", params=PAIR | UNITS | {"size": "50 mm"}).json()["design"]


def test_a_depth_says_from_where_and_one_that_the_chains_contradict_is_named(demo: TestClient) -> None:
    """The chains have the bottom of the Pipit's bore 20 ahead of the block's rear face."""
    wrong = {"readings": {"crank-bore-depth": "30 mm +/- 0.1 mm"}}

    found, right = (
        demo.post("/made-parts/pilot-bush.json", json=PAIR | UNITS | readings).json()["design"]
        for readings in (wrong, DEPTH)
    )

    doubt = "29.900 to 30.100 mm, but the length chains have it 20.000 mm ahead of the block's rear face"
    assert doubt in found["cautions"][0]
    assert not any("length chains have it" in one for one in right["cautions"])
    (length,) = (one for one in right["sizes"] if one["name"] == "length")
    assert "ahead of the block's rear face" in length["taken"]
    shown = demo.get("/made", params={"kind": "pilot-bush"} | PAIR).text
    assert "crank bore depth (crankshaft), ahead of the block" in shown


def test_what_the_check_lacks_is_to_measure_and_may_be_typed(demo: TestClient) -> None:
    pair = {"a": "case-hollin-late", "b": "bearing-6308"}

    found = demo.get("/made-parts/bearing-sleeve-in-housing.json", params=pair).json()
    taken = demo.post(
        "/made-parts/bearing-sleeve-in-housing.json",
        json=pair | {"readings": {"bearing-outside-diameter": "90 mm +/- 0.004 mm"}},
    ).json()

    assert found["verdict"] == "to measure"
    assert any("bearing outside diameter" in one for one in found["design"]["measure"])
    wanted = taken["design"]["measure"] if taken["design"] else [taken["reasons"][0]["what"]]
    assert not any("outside diameter" in one for one in wanted)
    assert "bearing outside diameter" in demo.get("/made", params={"kind": "bearing-sleeve-in-housing"} | pair).text


def test_a_sleeve_takes_what_the_check_decided_and_none_is_made_where_none_is_wanted(demo: TestClient) -> None:
    wanted = {"a": "bearing-6309", "b": "shaft-tansy-25"}

    found = demo.get("/made-parts/bearing-sleeve-on-shaft.json", params=wanted).json()

    assert found["verdict"] == "refused" and "no bearing sleeve is wanted here" in found["reasons"][0]["what"]


def test_the_kinds_are_listed(demo: TestClient) -> None:
    kinds = MadeKindsAnswer.model_validate(demo.get("/made-parts").json()).kinds

    assert {"pilot-bush", "flywheel-spacer", "bearing-spacer"} <= {one["kind"] for one in kinds}


def test_the_page_leads_from_the_kind_to_the_drawings(rated: TestClient) -> None:
    units = {"gearbox": "hollin-5", "engine": "ouzel-20"}
    asked = {"kind": "pilot-bush", "a": "crank-ouzel", "b": "shaft-hollin-short"} | units

    first = rated.get("/made").text
    chosen = rated.get("/made", params={"kind": "pilot-bush"}).text
    shown = rated.get("/made", params=asked).text

    assert "What is to be made" in first and "First part" not in first
    assert "First part" in chosen and "reading-crank-bore" in chosen
    assert "28.016 to 28.045" in shown and "/made-parts/pilot-bush.dxf?a=crank-ouzel" in shown
    assert "0.284 kg of bearing bronze at 25.00: 7.10" in shown and "local rules decide" in shown.lower()


def test_the_page_tells_what_is_wrong_in_the_form(rated: TestClient) -> None:
    bush = {"kind": "pilot-bush"}
    for more in (
        {"kind": "<b>"},
        bush | {"a": "nobody"},
        bush | {"reading-crank-bore": "x"},
        bush | {"reading-journal-diameter": "28 mm +/- 0.01 mm"},
    ):
        answer = rated.get("/made", params=more)

        assert answer.status_code == 200 and 'role="alert"' in answer.text and "<b>" not in answer.text


def test_an_answer_with_a_made_bush_shows_it_and_leads_to_its_drawings(rated: TestClient) -> None:
    asked = Question(gearbox="hollin-5", engine="ouzel-20", context=SETTLED, most_assumed=0)

    page = rated.get(address("/route", asked)).text

    assert "Pilot bush, 28.0 x 17.0 x 39.0 mm, made" in page
    assert "Sizes and drawings of the made part" in page and "/made?kind=pilot-bush" in page


def test_every_field_of_the_view_is_documented() -> None:
    assert [one for one in undocumented(MadeView) if one.split(".")[0] in ("MadeView", "ReadingField")] == []


def test_the_command_designs_and_writes_drawings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dxf, pdf, svg = (tmp_path / f"bush.{ending}" for ending in ("dxf", "pdf", "svg"))
    on = ["--facts", str(DEMO_FACTS), "--reading", "crank-bore-depth=20 mm +/- 0.05 mm"]
    out = [word for file in (dxf, pdf, svg) for word in ("--out", str(file))]

    units = ["--gearbox", "sedge-4a", "--engine", "pipit-16"]
    assert main(["made-part", "pilot-bush", *PAIR.values(), *units, *on, *out]) == 0

    said = capsys.readouterr().out
    assert "length: 27.950 to 28.050" in said and "CAUTION: Press work" in said
    assert "price of" in said or "price: no price from rates" in said
    assert readfile(dxf).audit().errors == [] and pdf.read_bytes().startswith(b"%PDF") and svg.exists()
    assert main(["made-part", "pilot-bush", *PAIR.values(), "--size", "8 mm", "--json", *on]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "designed"
    assert main(["made-part"]) == 0
    assert "flywheel-spacer: flywheel spacer of steel" in capsys.readouterr().out
