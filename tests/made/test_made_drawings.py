"""Drawings of made parts, read back by others: DXF by ezdxf's auditor, the 1:1 PDF rendered by PDFium and measured."""

from __future__ import annotations

import io
import re
from math import sqrt
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read

from graph.errors import InvalidInput
from graph.made.dxf import made_dxf
from graph.made.kinds import FLYWHEEL_SPACER, PILOT_BUSH
from graph.made.model import DISC, INSIDE, OPENING, OUTSIDE, MadePart
from graph.made.picture import made_svg
from graph.made.profile import section_of
from graph.made.sheet import made_pdf, paper_words
from tests.made.parts import ALL_PARTS, MM, a_bush, a_spacer, design, flange, reading, whole

DPI = 300


def read_back(part: MadePart) -> Drawing:
    return read(io.StringIO(made_dxf(part).decode("utf-8")))


@pytest.mark.parametrize("name", ALL_PARTS)
def test_the_dxf_is_read_back_without_a_fault_and_to_a_micrometre(name: str) -> None:
    part = ALL_PARTS[name]()

    document = read_back(part)

    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.units == units.MM and document.header["$MEASUREMENT"] == 1
    assert {"CUT", "DRILL", "TAP", "ENGRAVE", "DIMENSIONS"} <= {layer.dxf.name for layer in document.layers}
    halves = [one for one in document.modelspace().query("LWPOLYLINE") if isinstance(one, LWPolyline)]
    assert len(halves) == 2 and all(half.closed for half in halves)
    points = [point for half in halves for point in half.get_points("xy")]
    across = max(y for _, y in points) - min(y for _, y in points)
    long = max(x for x, _ in points) - min(x for x, _ in points)
    assert across == pytest.approx(part.size(OUTSIDE).middle_nm / MM, abs=0.001)
    wanted = part.along.middle_nm / MM + (part.size("spigot height").middle_nm / MM if part.kind.shape == DISC else 0)
    assert long == pytest.approx(wanted, abs=0.001)
    inner = OPENING if part.kind.shape == DISC else INSIDE
    assert 2 * min(abs(y) for _, y in points) == pytest.approx(part.size(inner).middle_nm / MM, abs=0.001)


def test_a_disc_is_cut_as_closed_circles_and_drilled_where_the_flange_has_its_threads() -> None:
    part = a_spacer()

    space = read_back(part).modelspace()

    cut = space.query('*[layer=="CUT"]')
    assert {one.dxftype() for one in cut} == {"CIRCLE"} and len(cut) == 2
    sizes = sorted(2 * one.dxf.radius for one in cut)
    assert sizes == pytest.approx(sorted(part.size(name).middle_nm / MM for name in (OUTSIDE, OPENING)), abs=0.001)
    drilled = sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in space.query('CIRCLE[layer=="DRILL"]'))
    wanted = sorted((one.x_nm / MM, one.y_nm / MM, one.drill_nm / MM) for one in part.holes)
    assert len(drilled) == len(wanted) == 6
    for found, meant in zip(drilled, wanted, strict=True):
        assert found == pytest.approx(meant, abs=0.001)


@pytest.mark.parametrize("name", ALL_PARTS)
def test_every_size_stands_as_a_dimension_with_its_limits(name: str) -> None:
    part = ALL_PARTS[name]()

    dimensions = list(read_back(part).modelspace().query("DIMENSION"))

    drawn = sorted(one.get_measurement() for one in dimensions)
    own = [one for one in part.sizes if one.name != "seat on the nose"]  # that one is the shaft's
    assert drawn == pytest.approx(sorted(one.middle_nm / MM for one in own), abs=0.001)
    texts = " ".join(one.dxf.text for one in dimensions)
    for size in own:
        assert size.low_nm is not None and f"{size.low_nm / MM:.3f}"[:-1] in texts


def rendered(data: bytes, page: int) -> np.ndarray:
    document = pypdfium2.PdfDocument(data)
    try:
        return np.asarray(document[page].render(scale=DPI / 72, grayscale=True).to_numpy()).squeeze()
    finally:
        document.close()


def test_the_pdf_is_at_one_to_one_when_it_is_measured() -> None:
    """The sleeve's section: its outline's outer edges lie as far apart as its outside diameter, within 0.1 mm."""
    part = ALL_PARTS["sleeve"]()

    data = made_pdf(part)

    document = pypdfium2.PdfDocument(data)
    last = len(document) - 1
    document.close()
    picture = 255.0 - rendered(data, last)
    middle = round((14 + (210 - 28) / 2) / 25.4 * DPI)  # the middle of the sheet is the middle of the section
    column = picture[:, middle - 3 : middle + 4].mean(axis=1)
    dark = np.flatnonzero(column > 100) / DPI * 25.4
    inside = dark[(dark > 16) & (dark < 14 + 12 + 105 + 3)]
    assert inside.max() - inside.min() == pytest.approx(part.size(OUTSIDE).middle_nm / MM, abs=0.5)
    edges = [float(np.mean(group)) for group in np.split(inside, np.flatnonzero(np.diff(inside) > 0.5) + 1)]
    assert edges[-1] - edges[0] == pytest.approx(part.size(OUTSIDE).middle_nm / MM, abs=0.1)
    assert made_pdf(part) == data


def test_the_pdf_says_every_size_with_its_source_and_the_price() -> None:
    data = made_pdf(a_spacer(), ("0.62 kg of steel at 4.00: 2.50",))

    document = pypdfium2.PdfDocument(data)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()

    for words in ("H7", "ISO 286-2", "109.000 to 109.200", "0.62 kg of steel", "comes loose kills", "ISO 273"):
        assert words in text


def a_large_spacer() -> MadePart:
    """Register and spigot of 150, M10 on a circle of 120: a rim of 273 and more, wider than A4."""
    readings = {"crank-register": reading(150 * MM, 5_000), "flywheel-bore": reading(150 * MM, 5_000)}
    return whole(design(FLYWHEEL_SPACER, readings, size_nm=8 * MM, face=flange(radius_mm=120)))


def test_what_is_wider_than_a_sheet_is_drawn_on_several_and_measures_right_across_them() -> None:
    """The sheets laid cross on cross, 172 mm from one to the next (210 less margins of 14 and 10 of overlap): the rim,
    seen from the gearbox, lies as far apart along the axis as its diameter, within 0.1 mm (check: PDFium's picture)."""
    part = a_large_spacer()

    data = made_pdf(part)

    document = pypdfium2.PdfDocument(data)
    texts = [page.get_textpage().get_text_range() for page in document]
    document.close()
    shown = [n for n, text in enumerate(texts) if "seen from the gearbox; sheet row" in text]
    assert paper_words(part) == (
        f"at 1:1: {len(texts) - 1} sheets of A4 to be laid cross on cross (section {len(texts) - 1 - len(shown)}, seen "
        f"from the gearbox {len(shown)}); whole on A2"
    )
    across = part.size(OUTSIDE).middle_nm / MM
    row = round((14 + across / 2 + 12 - 10) / 25.4 * DPI)  # 10 mm above the axis, where no cross and no hole is
    rim = []
    for page in shown:
        found = re.search(r"row (\d+), column (\d+)", texts[page])
        assert found is not None
        if found[1] == "1":
            dark = np.flatnonzero((255.0 - rendered(data, page))[row] > 100) / DPI * 25.4
            rim += [172 * (int(found[2]) - 1) + x for x in dark[(dark > 15) & (dark < 195)]]
    line = 0.4
    assert max(rim) - min(rim) == pytest.approx(2 * sqrt((across / 2) ** 2 - 10**2) + line, abs=0.1)
    assert made_pdf(part, paper="A2").startswith(b"%PDF") and paper_words(part, "A2") == "at 1:1: 2 sheets of A2"


def test_unknown_paper_is_refused() -> None:
    with pytest.raises(InvalidInput):
        made_pdf(a_bush(), paper="A5")


def test_a_part_with_a_size_that_is_not_known_is_not_drawn() -> None:
    found = design(PILOT_BUSH, {"crank-bore": reading(28 * MM, 5_000)})

    assert isinstance(found, MadePart)
    for draw in (made_dxf, made_svg, made_pdf):
        with pytest.raises(InvalidInput, match="cannot be drawn"):
            draw(found)


@pytest.mark.parametrize("name", ALL_PARTS)
def test_the_picture_says_every_size_to_who_cannot_see_it(name: str) -> None:
    part = ALL_PARTS[name]()

    root = ET.fromstring(made_svg(part))

    description = root.find("{http://www.w3.org/2000/svg}desc")
    assert description is not None and description.text
    for one in section_of(part).measures:
        assert one.size.low_nm is not None
        assert f"{one.size.name} {one.size.low_nm / MM:.3f}"[:-2] in description.text


def test_a_bush_of_49_mm_fits_on_a4() -> None:
    """Two dimension lines of 9 mm on either side of it at the most: 49 + 2 x 22 of 182 mm."""
    readings = {
        "crank-bore": reading(28 * MM, 5_000), "nose-diameter": reading(17 * MM, 5_000),
        "crank-bore-depth": reading(30 * MM, 50_000),
    }  # fmt: skip

    assert made_pdf(whole(design(PILOT_BUSH, readings, size_nm=19 * MM))).startswith(b"%PDF")
