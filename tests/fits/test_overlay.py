"""The overlay of two faces: valid XML, no script, everything in words (WCAG 2.2: 1.1.1 text alternative, 1.4.1 not by
colour alone; ISO 6410 for the open ring of a thread)."""

import re

from defusedxml import ElementTree
from hypothesis import given
from hypothesis import strategies as st

from graph.fits.overlay import list_rows, overlay_svg
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER
from graph.fits.pattern_match import Clocking, list_clockings
from graph.fits.svg import Drawing
from tests.fits.test_pattern import face, hole

SVG = "{http://www.w3.org/2000/svg}"
ENGINE = face("engine", [
    hole("1", 200, 10), hole("2", -50, 180), hole("3", -150, -60), hole("4", 100, -150), hole("d1", 190, 60, DOWEL, 12),
])  # fmt: skip
BOX = face("box", [
    hole("1", 200, 10, CLEARANCE, 11), hole("2", -50, 180.5, CLEARANCE, 11), hole("3", -152, -60, CLEARANCE, 11),
    hole("d1", 190, 60, DOWEL, 12), hole("oil", 0, -150, OTHER, 8),
])  # fmt: skip


def best() -> Clocking:
    return list_clockings(ENGINE, BOX)[0]


def test_every_pair_miss_and_lonely_hole_is_told_in_words_and_millimetres() -> None:
    rows = list_rows(ENGINE, BOX, best())

    assert {row.state for row in rows} == {"lines up", "cannot tell", "misses", "alone"}
    assert sum(row.state == "lines up" for row in rows) == 2  # bolt 1 and the dowel
    assert all(re.search(r"\d\.\d\d mm apart", row.text) for row in rows if row.state != "alone")
    assert any("0.50 mm allowed; measure the places more closely" in row.text for row in rows)
    assert any(row.text == "thread 4 of engine: alone, no hole opposite" for row in rows)


def test_the_drawing_is_valid_xml_with_title_and_description_and_no_script() -> None:
    markup = overlay_svg(ENGINE, BOX, best())

    root = ElementTree.fromstring(markup)
    assert root.tag == f"{SVG}svg"
    assert [root[0].tag, root[1].tag] == [f"{SVG}title", f"{SVG}desc"]
    assert root.get("aria-labelledby") == f"{root[0].get('id')} {root[1].get('id')}"
    assert {element.tag.removeprefix(SVG) for element in root} <= {
        "title", "desc", "line", "circle", "polygon", "path", "text",
    }  # fmt: skip
    assert not re.search(r"script|href|onload|#[0-9a-f]{3}|rgb\(", markup)
    for row in list_rows(ENGINE, BOX, best()):
        assert any(row.text in (text.text or "") for text in root.iter(f"{SVG}text"))
        assert row.text in (root[1].text or "")


def test_faces_dowels_threads_and_misses_differ_by_form() -> None:
    root = ElementTree.fromstring(overlay_svg(ENGINE, BOX, best()))

    circles = list(root.iter(f"{SVG}circle"))
    assert sum(circle.get("stroke-dasharray") is None for circle in circles) == len(ENGINE.holes)
    assert sum(circle.get("stroke-dasharray") is not None for circle in circles) == len(BOX.holes)
    assert len(list(root.iter(f"{SVG}polygon"))) == 2  # a square about each dowel hole
    assert len(list(root.iter(f"{SVG}path"))) == 4  # an open ring about each thread


@given(st.text(max_size=40))
def test_any_words_stay_valid_xml(words: str) -> None:
    drawing = Drawing(100, 100, words, words)
    drawing.text(1, 1, words)

    root = ElementTree.fromstring(drawing.markup())

    assert len(root) == 3


def test_holes_stay_within_the_picture_whatever_the_turn() -> None:
    for angle in (0, 37, 180):
        markup = overlay_svg(ENGINE, BOX, Clocking(angle, (), (), ENGINE.holes, BOX.holes, 0, 50_000))
        root = ElementTree.fromstring(markup)
        width = float(root.get("viewBox", "").split()[2])
        for circle in root.iter(f"{SVG}circle"):
            assert 0 < float(circle.get("cx", "0")) < width
            assert 0 < float(circle.get("cy", "0")) < 560
