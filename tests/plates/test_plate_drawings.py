"""The drawings of a plate, read back by others: DXF by ezdxf's auditor, the 1:1 PDF rendered by PDFium and measured."""

from __future__ import annotations

import io
from math import hypot, pi
from typing import Any

import numpy as np
import pypdfium2
import pytest
from ezdxf import path, units
from ezdxf.bbox import extents
from ezdxf.document import Drawing
from ezdxf.entities.dimension import Dimension
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read
from ezdxf.math import Vec2, is_point_in_polygon_2d

from graph.errors import InvalidInput, LimitExceeded
from graph.fits.pattern import CLEARANCE, THREAD
from graph.plates.dxf import piece_dxf, plain
from graph.plates.model import PlateDesign
from graph.plates.outline import area_mm2
from graph.plates.picture import piece_svg
from graph.plates.sheets import ALONG_MM, MARGIN, plate_pdf, tiles
from tests.plates.made import face, hole, ring
from tests.plates.test_plate_design import designed

TWO = {
    "engine": face("block", *ring(THREAD, 6, 160, 10, thread="M10")),
    "gearbox": face("bell", *ring(CLEARANCE, 6, 160, 11, first=5)),
}
DPI = 300


def read_back(design: PlateDesign, number: int) -> Drawing:
    return read(io.StringIO(piece_dxf(design, design.pieces[number]).decode("utf-8")))


@pytest.mark.parametrize(
    ("wanted", "number"), [({"register_um": 125_000, "spigot_um": 140_000}, 0), (TWO, 0), (TWO, 1)]
)
def test_the_dxf_is_read_back_without_a_fault_and_to_a_micrometre(wanted: dict[str, Any], number: int) -> None:
    design = designed(**wanted)
    piece = design.pieces[number]

    document = read_back(design, number)

    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.units == units.MM and document.header["$MEASUREMENT"] == 1
    assert {"CUT", "DRILL", "TAP", "ENGRAVE", "DIMENSIONS"} <= {layer.dxf.name for layer in document.layers}
    drilled = [
        (c.dxf.layer, c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius)
        for c in document.modelspace().query("CIRCLE") if c.dxf.layer in ("DRILL", "TAP")
    ]  # fmt: skip
    wanted_circles = [
        ("TAP" if one.use == "tapped" else "DRILL", one.x_um / 1000, one.y_um / 1000, size / 1000)
        for one in piece.holes for size in (one.drill_um, one.head_um) if size
    ]  # fmt: skip
    assert len(drilled) == len(wanted_circles)
    for found, meant in zip(sorted(drilled), sorted(wanted_circles), strict=True):
        assert found[0] == meant[0] and found[1:] == pytest.approx(meant[1:], abs=0.001)


def test_what_is_cut_is_closed_and_encloses_what_the_design_says() -> None:
    design = designed()

    cut = read_back(design, 0).modelspace().query('*[layer=="CUT"]')

    (outline,) = [one for one in cut if isinstance(one, LWPolyline)]
    (bore,) = [one for one in cut if one.dxftype() == "CIRCLE"]
    assert outline.closed and len(cut) == 2
    assert 2 * bore.dxf.radius == design.pieces[0].bore_um / 1000
    points = [(p.x, p.y) for p in path.make_path(outline).flattening(0.001)]
    enclosed = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2)
    assert enclosed == pytest.approx(area_mm2(design.pieces[0].outline), rel=1e-4)


def test_two_sizes_stand_as_dimensions() -> None:
    design = designed()

    dimensions = [one for one in read_back(design, 0).modelspace().query("DIMENSION") if isinstance(one, Dimension)]
    found = sorted(one.get_measurement() for one in dimensions)

    across = 2 * (160 + 15)  # holes of both patterns at 0 and 30 degrees: the discs on the x axis reach furthest
    assert found[-1] == pytest.approx(across, abs=0.01) and len(found) == 2


def test_names_from_outside_cannot_end_a_line_of_the_file() -> None:
    odd = face("block", *[hole(f"a\n0\nEOF{n}%%c", 160 - n * 320, 0, 10, THREAD, "M10") for n in (0, 1)])
    design = designed(engine=odd, gearbox=face("bell", *ring(CLEARANCE, 2, 160, 11, first=90)))

    document = read_back(design, 0)

    assert document.audit().errors == []
    assert plain("a\n0\nEOF%%c") == "a 0 EOF% %c"


def rendered(data: bytes, page: int) -> np.ndarray:
    """A page in grey, one row of numbers for each row of points, at DPI."""
    document = pypdfium2.PdfDocument(data)
    try:
        return np.asarray(document[page].render(scale=DPI / 72, grayscale=True).to_numpy()).squeeze()
    finally:
        document.close()


def mm_of(points: float) -> float:
    return points / DPI * 25.4


def centre_of_line(dark: np.ndarray) -> float:
    """The middle of a thin line along one row or column, weighed by its darkness."""
    return float((np.arange(len(dark)) * dark).sum() / dark.sum())


def test_the_check_scale_is_200_mm_long_when_it_is_measured() -> None:
    data = plate_pdf(designed(), "Plate")
    picture = 255.0 - rendered(data, first_sheet(data))
    column = round((MARGIN - 5 + 1.5) / 25.4 * DPI)  # across the ticks, beside the line

    told = picture[round((297 - MARGIN - 18 + 5) / 25.4 * DPI) : round((297 - MARGIN - 18 + 9) / 25.4 * DPI)]
    assert told[:, round((MARGIN + 103) / 25.4 * DPI) :].max() > 128  # the words beside the scale can be read

    strip = picture[:, column - 3 : column + 4].sum(axis=1)
    ends = [centre(strip, (MARGIN + at) / 25.4 * DPI) for at in (0, ALONG_MM)]

    assert mm_of(ends[1] - ends[0]) == pytest.approx(200, abs=0.1)


def centre(strip: np.ndarray, near: float) -> float:
    start = round(near) - 8
    return start + centre_of_line(strip[start : start + 17])


def first_sheet(data: bytes) -> int:
    """The first page with a drawing: those before only tell."""
    document = pypdfium2.PdfDocument(data)
    try:
        texts = [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()
    return next(n for n, text in enumerate(texts) if "sheet row 1, column 1" in text)


def test_a_hole_is_drawn_at_its_size() -> None:
    """The opening of 100 lies on one sheet: its rim is met left and right on the row of its centre."""
    small = {
        "engine": face("e", *ring(CLEARANCE, 4, 70, 9, first=45)), "gearbox": face("g", *ring(CLEARANCE, 4, 70, 9)),
        "bore_um": 100_000,
    }  # fmt: skip
    design = designed(**small)
    (tile,) = tiles(design.pieces[0], "A4")
    data = plate_pdf(design, "Plate")
    picture = 255.0 - rendered(data, first_sheet(data))
    x0, y0 = (MARGIN - tile.left_mm) / 25.4 * DPI, (MARGIN + tile.top_mm + 12) / 25.4 * DPI  # 12 mm below the centre

    row = picture[round(y0)]
    half = (50**2 - mm_of(round(y0) + 0.5 - (MARGIN + tile.top_mm) / 25.4 * DPI) ** 2) ** 0.5 / 25.4 * DPI
    left, right = (centre(row, x0 + sign * half) for sign in (-1, 1))

    assert mm_of(right - left) == pytest.approx(2 * mm_of(half), abs=0.05)


def test_as_many_sheets_as_the_plate_wants_cover_it() -> None:
    """350 mm by 350 on A4 (182 x 251 of it, 10 over each other): 3 columns and 2 rows."""
    design = designed()
    found = tiles(design.pieces[0], "A4")

    assert {(one.row, one.column) for one in found} == {(row, column) for row in (0, 1) for column in (0, 1, 2)}
    data = plate_pdf(design, "Plate")
    document = pypdfium2.PdfDocument(data)
    assert len(document) == first_sheet(data) + len(found)
    document.close()
    assert plate_pdf(design, "Plate") == data


def test_an_unknown_paper_and_too_many_sheets_are_refused() -> None:
    far = face("e", *ring(CLEARANCE, 8, 1900, 9)), face("g", *ring(CLEARANCE, 8, 1900, 9, first=20))

    with pytest.raises(InvalidInput):
        plate_pdf(designed(), "Plate", "A5")
    with pytest.raises(LimitExceeded):
        plate_pdf(designed(engine=far[0], gearbox=far[1]), "Plate")


def test_the_picture_names_every_hole() -> None:
    picture = piece_svg(designed().pieces[0])

    assert all(picture.count(one.id) >= 2 for one in designed().pieces[0].holes)  # beside it, and for who cannot see


def test_the_outline_of_a_plain_ring_of_holes_is_as_long_as_a_string_about_it() -> None:
    """Convex hull of n equal discs of radius r on a polygon: its perimeter and 2 pi r (Steiner's formula)."""
    piece = designed().pieces[0]
    found = read_back(designed(), 0).modelspace().query("LWPOLYLINE")[0]
    points = [(p.x, p.y) for p in path.make_path(found).flattening(0.0005)]
    length = sum(hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(points, [*points[1:], points[0]], strict=True))

    corners = sorted(
        (round(one.x_um / 1000, 3), round(one.y_um / 1000, 3)) for one in piece.holes if one.use != "dowel"
    )
    assert len(corners) == 12
    side = 2 * 160 * np.sin(pi / 12)
    assert length == pytest.approx(12 * side + 2 * pi * 15, rel=1e-4)


def test_the_paper_has_the_tolerances_of_the_dxf() -> None:
    document = pypdfium2.PdfDocument(plate_pdf(designed(), "Plate"))
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()

    assert "+/- 0.100" in text and "within 0.1 of the axis" in text


def test_every_name_is_engraved_on_the_plate_and_not_beside_it() -> None:
    """The corners of each text, as ezdxf sets it, against the outline as ezdxf flattens it."""
    design = designed()
    document = read(io.StringIO(piece_dxf(design, design.pieces[0]).decode("utf-8")))
    space = document.modelspace()
    (outline,) = space.query("LWPOLYLINE")
    rim = [Vec2(point) for point in path.make_path(outline).flattening(0.01)]

    names = [text for text in space.query('TEXT[layer=="ENGRAVE"]') if text.dxf.text != "UP"]

    assert len(names) == len(design.pieces[0].holes)
    for text in names:
        box = extents([text])
        corners = [Vec2(x, y) for x in (box.extmin.x, box.extmax.x) for y in (box.extmin.y, box.extmax.y)]
        assert all(is_point_in_polygon_2d(corner, rim) >= 0 for corner in corners), text.dxf.text
        assert all(corner.magnitude >= design.pieces[0].bore_um / 2000 for corner in corners), text.dxf.text
