"""Sublet sketches. What one must carry: list in the trade notes (common practice). k6 on 30 to 50 mm is +2 to +18
micrometres, H7 on 80 to 120 mm is 0 to +35 (ISO 286-2). Example: a bearing seat 2 mm further back (common practice
case: housing bored for a 100 x 25 bearing, shaft located for 23 mm width, needs 2 mm off the shoulder)."""

import re
from dataclasses import replace

import pytest
from defusedxml import ElementTree

from graph.errors import InvalidInput
from graph.fits.pattern import CLEARANCE, THREAD
from graph.fits.sketch import (
    BORED_HOUSING,
    KINDS,
    PLACES,
    PLATE,
    SHAFT_SHOULDER,
    SLEEVE,
    Sketch,
    SketchDimension,
    sketch_text,
)
from graph.fits.sketch_svg import sketch_svg
from tests.fits.test_pattern import face, hole

MM = 1_000_000
SVG = "{http://www.w3.org/2000/svg}"


def dimension(
    place: str, nominal: float, upper_um: int, lower_um: int, fit: str = "", remove_nm: int | None = None
) -> SketchDimension:
    return SketchDimension(
        place=place, nominal_nm=round(nominal * MM), upper_nm=upper_um * 1000, lower_nm=lower_um * 1000, fit=fit,
        remove_nm=remove_nm,
    )  # fmt: skip


SHAFT = Sketch(
    kind=SHAFT_SHOULDER, part="input shaft", operation="turn shoulder back", material="case-hardened steel",
    hardness="hard: carbide or grind", datum="rear bearing shoulder", radius_nm=MM, runout_nm=30_000,
    dimensions=(
        dimension("seat diameter", 40, 18, 2, "k6"), dimension("datum to shoulder", 23, 0, -50, remove_nm=2 * MM),
        dimension("shoulder diameter", 49, 0, -100),
    ),
    leave_alone=("spline", "seal land"), mating_part="bearing", due="Friday", contact="the shop", quantity=1,
)  # fmt: skip
HOUSING = Sketch(
    kind=BORED_HOUSING, part="gearbox case", operation="bore for the bearing", material="aluminium casting",
    hardness="soft", datum="front mounting face", leave_alone=("front mounting face", "dowel holes"),
    dimensions=(dimension("bore diameter", 100, 35, 0, "H7"), dimension("bore depth", 25, 100, 0)), heat_limit="120 C",
)  # fmt: skip
RING = Sketch(
    kind=SLEEVE, part="pilot sleeve", operation="make sleeve", material="steel", hardness="soft", datum="bore axis",
    dimensions=(dimension("outside diameter", 38.1, 50, 10), dimension("inside diameter", 35, -10, -50),
                dimension("length", 16, 0, -200)), leave_alone=("crank bore",),
)  # fmt: skip
ADAPTER = Sketch(
    kind=PLATE, part="adapter plate", operation="drill and bore", material="aluminium plate", hardness="soft",
    datum="engine side face",
    dimensions=(dimension("thickness", 15, 50, -50), dimension("register diameter", 140, 40, 0, "H7")),
    leave_alone=("engine side face",),
    face=face("plate", [hole("1", 100, 0, CLEARANCE, 11), hole("2", -60, 90, THREAD, 10)]),
)  # fmt: skip
SKETCHES = {SHAFT_SHOULDER: SHAFT, BORED_HOUSING: HOUSING, SLEEVE: RING, PLATE: ADAPTER}


def test_the_words_carry_all_that_a_machinist_asks() -> None:
    text = sketch_text(SHAFT)

    for words in (
        "turn shoulder back: input shaft", "case-hardened steel; hard: carbide", "datum: rear bearing shoulder",
        "A: seat diameter 40.000 mm k6 (40.002 mm to 40.018 mm)",
        "B: datum to shoulder 23.000 mm (22.950 mm to 23.000 mm); take 2.000 mm off",
        "leave radius 1.000 mm at the shoulder", "run-out to the datum at most 0.030 mm",
        "do not touch: spline, seal land", "mating part sent along: bearing", "wanted by: Friday",
    ):  # fmt: skip
        assert words in text


@pytest.mark.parametrize("kind", KINDS)
def test_each_drawing_is_valid_xml_with_its_words_and_no_script(kind: str) -> None:
    sketch = SKETCHES[kind]

    root = ElementTree.fromstring(sketch_svg(sketch))

    texts = [element.text or "" for element in root.iter(f"{SVG}text")]
    assert [root[0].tag, root[1].tag] == [f"{SVG}title", f"{SVG}desc"]
    assert all(any(line == text for text in texts) for line in sketch_text(sketch).splitlines())
    assert not re.search(r"script|href|onload", sketch_svg(sketch))
    for index, place in enumerate(PLACES[kind]):
        letter = chr(ord("A") + index)
        drawn = any(re.match(rf"{letter} \d", text) for text in texts)
        assert drawn == any(item.place == place for item in sketch.dimensions)


def test_what_stands_on_the_drawing_stays_inside_it() -> None:
    for sketch in SKETCHES.values():
        root = ElementTree.fromstring(sketch_svg(sketch))
        width, height = map(float, root.get("viewBox", "").split()[2:])
        for element in root.iter():
            across, down = dict.fromkeys(("x", "x1", "x2", "cx"), width), dict.fromkeys(("y", "y1", "y2", "cy"), height)
            for name, limit in (across | down).items():
                assert 0 <= float(element.get(name, "0")) <= limit


def test_every_hole_of_a_plate_is_named_with_its_place() -> None:
    text = sketch_text(ADAPTER)

    assert "hole 1: 100.000 mm right, 0.000 mm up, diameter 11.000 mm, clearance" in text
    assert "hole 2: -60.000 mm right, 90.000 mm up" in text


@pytest.mark.parametrize(
    ("sketch", "changes", "words"),
    [
        (SHAFT, {"dimensions": (dimension("seat diameter", 40, 0, 0),)}, "a size without its fit cannot be made"),
        (SHAFT, {"datum": " "}, "is empty"),
        (SHAFT, {"radius_nm": None}, "a sharp corner breaks shafts"),
        (SHAFT, {"leave_alone": ()}, "must not be touched"),
        (SHAFT, {"dimensions": ()}, "say what to make"),
        (SHAFT, {"dimensions": (dimension("bore depth", 3, 1, 0),)}, "a turned shaft shoulder has"),
        (SHAFT, {"runout_nm": 0}, "run-out of zero"),
        (SHAFT, {"kind": "casting"}, "expected turned shaft shoulder"),
        (SHAFT, {"dimensions": (dimension("seat diameter", 40, 18, 2), dimension("shoulder diameter", 39, 0, -9))},
         "shoulder's diameter is not larger"),
        (RING, {"dimensions": (dimension("outside diameter", 35, 9, 0), dimension("inside diameter", 38, 9, 0))},
         "are they exchanged"),
        (RING, {"dimensions": (dimension("length", -3, 9, 0),)}, "above zero"),
        (ADAPTER, {"face": None}, "needs its holes"),
        (RING, {"quantity": 0}, "at least 1"),
    ],
)  # fmt: skip
def test_a_sketch_that_leaves_a_matter_open_is_refused(sketch: Sketch, changes: dict[str, object], words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        replace(sketch, **changes)  # type: ignore[arg-type]
