"""The bench: readings in mm, inch and thou with a verdict, dial readings, the plate's window, faces, identification.

Figures: the worked 4x4 example of the trade notes (plate window 14.0 to 15.5 mm; dial readings 0, +9, +14, +5 thou),
as in the tests of the checks themselves; parts and readings are those of the invented demo workshop.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest
from fastapi.testclient import TestClient
from httpx import Response
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput, Problem
from graph.fits.quantity import quantity_of
from graph.ledger.notebook import Notebook
from graph.notes.readings import with_unit
from graph.what_if.kinds import WHAT_IFS
from tests.pages.note_app import paged_app

DEMO = Path(__file__).parents[2] / "facts" / "demo"


@pytest.fixture(scope="module", autouse=True)
def units_loaded() -> None:
    """The registry of units is read when a text first names one it has to look for: no example's own doing."""
    with pytest.raises(InvalidInput):
        quantity_of("1 g")


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Notebook]]:
    with paged_app(tmp_path_factory.mktemp("bench"), DEMO) as (made, notebook), TestClient(made) as client:
        yield client, notebook


@pytest.fixture(scope="module")
def client(app: tuple[TestClient, Notebook]) -> TestClient:
    return app[0]


def words(client: TestClient, address: str, **query: str) -> str:
    """The page's words without its markup and drawings."""
    answer = client.get(address, params=query or None)
    assert answer.status_code == 200, answer.text
    plain = re.sub(r"<[^>]+>", " ", re.sub(r"<svg.*?</svg>", " ", answer.text, flags=re.S))
    return re.sub(r"\s+", " ", unescape(plain))


def test_two_measured_parts_are_judged_as_they_stand(client: TestClient) -> None:
    text = words(client, "/bench/joint", a="disc-unlabelled", b="shaft-hollin-short")

    assert "✓ Holds" in text
    assert "tooth count: 10 on both" in text
    assert "28.550 mm (1.1240 in)" in text  # 1.124 in x 25.4 = 28.5496 mm


@pytest.mark.parametrize(
    ("reading", "unit"), [("1.14 in", "mm"), ("1.14", "in"), ("1140 thou", "mm"), ("28.956", "mm"), ("1140", "thou")]
)
def test_a_reading_in_any_unit_changes_the_verdict_at_once(client: TestClient, reading: str, unit: str) -> None:
    """1.14 in = 28.956 mm over the shaft's teeth, 28.70 mm over the hub's roots: it does not go in."""
    query = {"r1.spline-major": reading, "u1.spline-major": "0.02 mm", "unit": unit}

    text = words(client, "/bench/joint", a="disc-unlabelled", b="shaft-hollin-short", **query)

    assert "× Does not hold" in text
    assert "28.956 mm (1.1400 in)" in text


def test_what_nobody_has_measured_is_asked_for(client: TestClient) -> None:
    text = words(client, "/bench/joint", joint="pilot-in-crank")

    assert "? Not known yet" in text
    assert "measure crank bore" in text


def test_bare_parts_are_judged_by_readings_alone(client: TestClient) -> None:
    """Bronze bush pressed into the crank, 0.0004 to 0.002 in of interference (clutch education page)."""
    tight = {"r0.crank-bore": "1.500 in", "r1.pilot-outside": "1.501 in"}
    spread = {"u0.crank-bore": "0.1 thou", "u1.pilot-outside": "0.1 thou"}

    text = words(client, "/bench/joint", joint="pilot-in-crank", **tight, **spread)
    loose = words(client, "/bench/joint", joint="pilot-in-crank", **tight | {"r1.pilot-outside": "1.499 in"}, **spread)

    assert "✓ Holds" in text
    assert "✓ Holds interference" not in loose


def test_a_reading_that_cannot_be_read_is_told_at_its_field(client: TestClient) -> None:
    text = words(client, "/bench/joint", joint="pilot-in-crank", **{"r0.crank-bore": "about an inch"})

    assert "expected a number" in text


def written_down(client: TestClient, address: str, **fields: str) -> Response:
    """The answer to the button under the form: all its fields as they stand, those in the address among them."""
    page = client.get(address)
    token = re.search(r'name="form_token" value="([^"]+)" formmethod="post"', page.text)
    assert token
    sent = dict(parse_qsl(urlsplit(address).query)) | fields | {"form_token": token[1]}
    answer: Response = client.post("/bench/measurements", data=sent, follow_redirects=False)
    return answer


def test_a_decimal_comma_is_a_decimal_mark_at_the_bench(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app

    answer = written_down(client, "/bench/joint?a=shaft-tansy-25", **{"r0.stick-out": "189,9"}, author="bench 2")

    assert answer.status_code == 303, answer.text
    known = notebook.catalogue().measurements.values()
    assert [one.reading for one in known if one.of == "shaft-tansy-25" and "189,9" in one.reading] == ["189,9 mm"]


def test_one_reading_that_cannot_be_taken_keeps_all_from_being_written_and_is_told_at_the_top(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    before = notebook.ledger.head().position
    typed = {"r0.stick-out": "189,9,1", "r0.spline-major": "28,6"}

    answer = written_down(client, "/bench/joint?a=shaft-tansy-25", **typed, author="bench 2", text="by lamp light")

    assert answer.status_code == 422
    assert notebook.ledger.head().position == before
    told = answer.text.index('<a class="target" href="#r0.stick-out">')
    assert told < answer.text.index('id="r0.stick-out"')
    for value in ("189,9,1", "28,6", "bench 2"):
        assert f'value="{value}"' in answer.text
    assert ">by lamp light</textarea>" in answer.text


def test_half_a_tooth_is_refused_at_its_field_and_by_a_program(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    before = notebook.ledger.head().position

    form = written_down(client, "/bench/joint?a=shaft-tansy-25", **{"r0.spline-teeth": "23,5"}, author="bench 2")
    statements = """@prefix lay: <https://layshaft.example/vocabulary#> .
        @prefix kind: <https://layshaft.example/kinds/> .
        [] a lay:Measurement ; lay:quantity kind:spline-teeth ; lay:reading "23,5 teeth" ; lay:subject "unit" ;
           lay:measuredOn <BASEshaft-tansy-25> ; lay:evidence kind:measured-on-these-parts ."""
    note = {
        "text": "counted",
        "author": "bench 2",
        "evidence": "measured-on-these-parts",
        "statements": statements.replace("BASE", notebook.ledger.base),
    }
    program = client.post("/notes", json=note)

    assert form.status_code == program.status_code == 422, program.text
    fault = re.search(r'id="k0.spline-teeth"><strong><bdi>(.*?)</bdi>', form.text)
    assert fault and "is counted, so it is a whole number" in fault[1]
    assert any("is counted" in one["message"] for one in program.json()["problems"])
    assert notebook.ledger.head().position == before


def test_where_a_diameter_is_measured_is_drawn_beside_its_field(client: TestClient) -> None:
    page = client.get("/bench/joint?joint=input-bearing-on-shaft").text

    field = page[page.index('id="r1.journal-diameter"') :]
    drawn = field[field.index("<svg") : field.index("</svg>")]
    assert "Where to measure: journal diameter" in drawn and "turned shaft shoulder" in drawn
    assert "With: micrometer" in field[: field.index("</figcaption>")]
    assert len(set(re.findall(r'id="(where-[^"]+)"', page))) == page.count('id="where-')


def test_give_or_take_without_a_reading_and_a_reading_of_no_part_are_told(client: TestClient) -> None:
    beside = written_down(client, "/bench/joint?a=shaft-tansy-25", **{"u0.stick-out": "0.05"}, author="bench 2")
    nobody = written_down(
        client, "/bench/joint?joint=pilot-in-crank&a=crank-ouzel", **{"r1.bush-outside": "25"}, author="bench 2"
    )
    elsewhere = written_down(client, "/bench/joint?a=shaft-tansy-25", **{"r1.nothing-such": "3"}, author="bench 2")

    assert beside.status_code == nobody.status_code == elsewhere.status_code == 422
    assert "stands beside it, but no reading" in beside.text
    assert "nothing is measured on this page" in elsewhere.text


def test_readings_are_written_down_as_a_note_and_count_from_then_on(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    address = "/bench/joint?joint=pilot-in-crank&a=crank-ouzel&b=bush-unlabelled&unit=in"
    before = words(client, address)

    answer = written_down(
        client, address, **{"r0.crank-bore": "0.9843", "u0.crank-bore": "0.0004", "t0.crank-bore": "bore gauge"},
        author="bench 2", job="221", subject="variant",
    )  # fmt: skip

    assert answer.status_code == 303, answer.text
    known = notebook.catalogue().measurements.values()
    fact = next(one for one in known if (one.of, one.quantity) == ("crank-ouzel", "crank-bore"))
    assert (fact.reading, fact.uncertainty, fact.tool) == ("0.9843 in", "0.0004 in", "bore gauge")
    assert fact.subject == "variant"
    note = notebook.catalogue().notes[fact.note]
    assert (note.author, note.job, note.text) == ("bench 2", "221", "crank bore of Ouzel crankshaft: 0.9843 in")
    after = words(client, answer.headers["location"])
    assert "25.001 mm (0.9843 in)" in after and "25.001 mm" not in before
    assert "0.9843 in" in client.get("/part/crank-ouzel").text


def test_dial_readings_give_offset_dowel_and_drawing(client: TestClient) -> None:
    """0, +9, +14, +5 thou: high by 7 and to 9 o'clock by 2, TIR 14.56; dowels of 7 turned 16 degrees leave 0.56."""
    page = client.get("/bench/check/register?h12=0&h3=9&h6=14&h9=5&dowel_1=7&unit=thou").text
    text = words(client, "/bench/check/register?h12=0&h3=9&h6=14&h9=5&dowel_1=7&unit=thou")

    assert "✓ + Holds with work TIR 0.370 mm (14.56 thou)" in text
    assert "bore high by 0.178 mm (7 thou), towards 9 o'clock by 0.051 mm (2 thou)" in text
    assert "turned 16 deg from vertical" in text and "0.014 mm (0.56 thou)" in text
    assert "Looking from the gearbox" in text and "<desc" in page


def test_dial_readings_that_do_not_close_are_rejected(client: TestClient) -> None:
    text = words(client, "/bench/check/register?h12=0&h3=9&h6=14&h9=11&unit=thou")

    assert "? Not known yet readings rejected" in text
    assert "full circle" not in client.get("/bench/check/register?h12=0&h3=9&h6=14&h9=11&unit=thou").text


def test_the_plate_window_follows_from_readings_in_both_units(client: TestClient) -> None:
    """Bell depth 6.496 in and stick-out 7.480 in among millimetres: window 14.0 to 15.5 mm, but for the rounding."""
    text = words(client, "/bench/check/length-chains?example=1")

    assert "window: plate 14.0016 mm (release gap) to 15.500 mm (starter rest gap)" in text
    assert "164.998 mm (6.4960 in)" in text


def test_a_chain_without_readings_says_what_to_measure(client: TestClient) -> None:
    text = words(client, "/bench/check/length-chains?bell_depth=165&stick_out=190")

    assert "? Not known yet" in text
    assert "measure crank flange from block rear face" in text


@pytest.mark.parametrize("kind", ["bearing-seat", "pilot", "clutch-torque", "critical-speed", "spline", "bearing-life"])
def test_every_check_has_a_form_that_says_what_it_wants(client: TestClient, kind: str) -> None:
    empty = words(client, f"/bench/check/{kind}")
    typed = dict.fromkeys(WHAT_IFS[kind].fields, "no such")
    nonsense = client.get(f"/bench/check/{kind}", params=typed)

    assert "Check" in empty
    assert nonsense.status_code == 200


def test_the_working_of_a_clutch_is_shown(client: TestClient) -> None:
    """Uniform wear: T = mu F n (Ro + Ri) / 2 = 0.3 x 5000 x 2 x (0.115 + 0.075) / 2 = 285 N m (design handbooks)."""
    query = {"clamp_n": "5000", "outer": "230 mm", "inner": "150 mm", "engine_nm": "200"}

    assert "285 N m" in words(client, "/bench/check/clutch-torque", **query)


def test_two_faces_are_laid_over_each_other_hole_by_hole(client: TestClient) -> None:
    page = client.get("/bench/faces?joint=housing-to-case&a=case-tansy&b=bell-tansy-spare").text
    text = words(client, "/bench/faces?joint=housing-to-case&a=case-tansy&b=bell-tansy-spare")

    assert "6 of 6 load bolts and 0 dowels line up" in text
    assert text.count("lines up : ") == 6
    assert page.count("<circle") >= 12


def test_faces_that_do_not_meet_are_drawn_all_the_same(client: TestClient) -> None:
    page = client.get("/bench/faces?a=block-pipit&b=bell-tansy-spare").text

    assert "Does not hold" in page
    assert page.count("<circle") >= 16
    assert "alone, no hole opposite" in page


@pytest.mark.parametrize("turn", ["nan", "200", "-1", "a little"])
def test_a_turn_that_makes_no_sense_is_told(client: TestClient, turn: str) -> None:
    query = {"joint": "housing-to-case", "a": "case-tansy", "b": "bell-tansy-spare", "turn": turn}

    assert "degrees" in words(client, "/bench/faces", **query)


def test_a_unit_is_identified_by_what_is_measured_in_inches(client: TestClient) -> None:
    """Stick-out 7.480 in = 189.992 mm is the Tansy 5's alone among the demo's gearboxes."""
    before = words(client, "/identify")
    after = words(client, "/identify", **{"o.stick-out": "7.480", "unit": "in"})

    assert "10 of 10 variants remain possible" in before
    assert "189.992 mm (7.4800 in)" in after
    first = after[after.index("Variants, likeliest first") :]
    assert first.index("Tansy 5") < first.index("Hollin 5 ")
    assert "stick-out 189.992 mm +/- 0.050 mm, of this variant 147.000 mm" in after


def test_identification_names_the_next_thing_to_find_out(client: TestClient) -> None:
    text = words(client, "/identify", family="tansy")

    assert "What to find out next" in text
    assert " min, " in text


@pytest.mark.parametrize(
    ("address", "names"),
    [
        ("/bench/joint", "a b joint unit r0.crank-bore"),
        ("/bench/check/register", "unit give h12"),
        ("/identify", "unit o.stick-out family"),
        ("/bench/faces", "a b turn"),
    ],
)
def test_hostile_text_in_the_address_shows_as_text(client: TestClient, address: str, names: str) -> None:
    hostile = "<script>alert(1)</script>\u202e" + "x" * 60

    page = client.get(address, params=dict.fromkeys(names.split(), hostile))

    assert page.status_code in (200, 422)
    assert "<script>alert" not in page.text


UNITS = st.sampled_from(["mm", "in", "thou"])


@given(st.decimals(min_value="0.001", max_value="900", places=3), UNITS)
def test_a_bare_number_takes_the_form_s_unit_and_any_other_text_keeps_its_own(number: object, unit: str) -> None:
    assert quantity_of(with_unit(str(number), unit)) == quantity_of(f"{number} {unit}")
    assert with_unit(f"{number} mm", unit) == f"{number} mm"


@given(st.text(max_size=30), UNITS)
def test_any_text_is_read_or_refused_but_never_breaks_the_form(text: str, unit: str) -> None:
    try:
        quantity_of(with_unit(text, unit))
        problems: tuple[Problem, ...] = ()
    except InvalidInput as error:
        problems = error.problems

    assert all(problem.message for problem in problems)
