"""The section at every door: service, command and papers draw the same."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree as ET

import pypdfium2
import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from graph.answer.asking import answer_question
from graph.answer.model.answer import Answer
from graph.catalogue.load import load_catalogue
from graph.cli.main import main
from graph.lookups.index import CatalogueIndex
from graph.papers.build_record import build_record
from graph.papers.cut import CUT
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.job_sheet import job_sheet
from graph.papers.pdf import as_pdf
from graph.reading.question import Question
from tests.demo.shop import SETTLED
from tests.papers.reading import squeezed, text_by_pdfium
from tests.section.reading import read_sheet

DEMO = Path(__file__).parents[2] / "facts" / "demo"
ASKED = {"gearbox": "tansy-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}
DETAILS = Details(number="J-1", dated="2026-06-30")


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO]))


@pytest.fixture(scope="module")
def answer(index: CatalogueIndex) -> Answer:
    return answer_question(index, Question(**ASKED, alternatives=0))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def service(index: CatalogueIndex) -> Iterator[TestClient]:
    with TestClient(create_app(index), base_url="http://127.0.0.1") as client:
        yield client


def test_the_service_draws_it_and_gives_the_same_as_numbers(service: TestClient) -> None:
    route = service.post("/routes", json=ASKED).json()["routes"][0]

    drawn = service.post("/routes/section.svg?which=after", json=ASKED)

    assert drawn.headers["content-type"].startswith("image/svg+xml")
    sheet = read_sheet(drawn.text)
    for gap in route["section"]["after"]["gaps"]:
        shape = sheet.one("after", "gap", gap["chain"])
        assert abs(shape.long_mm - abs(gap["value_mm"])) < sheet.pixel_mm / 20


def test_a_rank_that_is_not_there_and_an_unknown_half_are_refused_in_words(service: TestClient) -> None:
    assert service.post("/routes/section.svg?rank=900", json=ASKED).status_code == 404
    assert service.post("/routes/section.svg?which=sideways", json=ASKED).status_code == 422


def test_the_command_writes_the_drawing_or_says_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "cut.svg"
    asked = ["section", "tansy-5", "ouzel-20", "--vehicle", "sorrel-pick-up", "--facts", str(DEMO)]

    assert main([*asked, "--out", str(file)]) == 0
    assert main([*asked, "--in-words", "--which", "after"]) == 0

    assert ET.fromstring(file.read_text(encoding="utf-8")).get("role") == "img"
    assert "pilot overlap" in capsys.readouterr().out


def test_the_build_record_shows_it_and_the_job_sheet_says_where_it_is(answer: Answer) -> None:
    paper = build_record(answer, answer.routes[0], DETAILS)
    sheet = as_html(job_sheet(answer, answer.routes[0], DETAILS))

    printed = as_pdf(paper)

    assert CUT in as_html(paper) and "data-units-per-mm" in as_html(paper)
    assert CUT not in sheet and "on the build record" in sheet
    text = squeezed(text_by_pdfium(printed))
    assert squeezed(CUT) in text and squeezed("starter rest gap") in text


def test_the_printed_drawing_has_colour_and_fits_its_sheet(answer: Answer) -> None:
    """Somewhere the green of a margin that holds (27, 127, 59), and nothing in the margins of the sheet."""
    with contextlib.closing(pypdfium2.PdfDocument(as_pdf(build_record(answer, answer.routes[0], DETAILS)))) as document:
        pages = [page.render(scale=1.0).to_pil().convert("RGB") for page in document]

    drawn = [page for page in pages if any(near(colour) for _, colour in page.getcolors(1 << 20) or [])]

    assert len(drawn) == 1
    edge = drawn[0].convert("L").crop((0, 0, 30, drawn[0].height))
    assert edge.getextrema()[0] > 200


def near(colour: tuple[int, ...]) -> bool:
    return all(abs(one - other) < 12 for one, other in zip(colour, (27, 127, 59), strict=True))


def test_where_there_is_no_route_it_says_so_and_why(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing of the demo joins the Tansy and the Whimbrel."""
    code = main(["section", "tansy-5", "whimbrel-30"])

    said = capsys.readouterr().err
    assert code and "there is no route: " in said and "with the id" not in said
    assert len(said.split("there is no route: ")[1]) > 20


@pytest.fixture(scope="module")
def with_a_made_bush() -> Answer:
    from tests.derive.test_made_parts_from_rates import BUSH, CHEAP, facts

    asked = Question(gearbox="hollin-5", engine="ouzel-20", context=SETTLED, alternatives=0, most_assumed=0)
    return answer_question(facts(BUSH, CHEAP), asked)


def test_the_job_sheet_tells_the_machine_shop_what_a_made_bush_is(with_a_made_bush: Answer) -> None:
    paper = as_html(job_sheet(with_a_made_bush, with_a_made_bush.routes[0], DETAILS))

    sketch = paper.split("Sketch for work sent out: pilot bush")[1]
    for words in ("bearing bronze; soft", "axis of the outside diameter", "outside diameter 28.016 to 28.045 mm",
                  "length 38.950 to 39.050 mm", "all broken 0.500 mm", "Due date", "guard and eye shield"):  # fmt: skip
        assert words in sketch
    (fitted,) = (step for step in with_a_made_bush.routes[0].steps if step.text.startswith("Fit Pilot bush"))
    assert "Press work: guard and eye shield." in fitted.checks


def test_a_made_bush_is_drawn_as_long_as_it_is_made(with_a_made_bush: Answer) -> None:
    """Its seat is read 20 ahead of the block's face; its length is that and where its rear face stands (by hand)."""
    route = with_a_made_bush.routes[0]

    assert route.section is not None
    (pilot,) = (piece for piece in route.section.after.pieces if piece.part.startswith("computed-made-pilot-bush"))
    assert pilot.from_um == -20_000 and pilot.to_um is not None and "not stated" not in pilot.brief
