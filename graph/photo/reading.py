"""A photo read: the sheet, the holes in their order, each with its uncertainty and what speaks against it."""

from __future__ import annotations

from math import hypot

import numpy as np
from numpy.typing import NDArray

from graph.photo.corners import SheetFound, find_sheet
from graph.photo.model import FAR_WORDS, PhotoFound, Printed, SeenHole
from graph.photo.rim import Rim, find_rim
from graph.photo.rounds import Spot, find_spots
from graph.photo.sheet import ACROSS_MM, ALONG_MM, CORNERS, HIGH_MM, WIDE_MM, cv

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]
TWO_AXES, ONE_AXIS = 2.45, 1.96  # 95 of 100: of a place in the plane (chi-squared, 2 degrees), of a length
LENS_MM, RIM_PX, LENS_DIAMETER_MM = 0.015, 0.12, 0.03  # what the model leaves out, each a standard deviation
BOW = 2.4  # drawn sheets that bow by 1 to 3 mm put holes off by up to 6 times what their corners are: two sigma
ROUND, HIDDEN = 1.012, 0.12  # long to short axis of a round rim as seen; of the radius, by what is hidden squared
MOST_HOLES = 120
FAR_MM = 450.0  # from the sheet's middle; further out nothing is measured
APART = 0.01  # by which the print's two scales may differ; printers draw both alike, common practice
VIEW_PX = 1100
MOST_U_MM = 0.5  # less sure than that is doubtful: M10 in its hole of 11 mm (ISO 273, medium) has 0.5 mm to each side


def read_grey(grey: Grey, printed: Printed) -> PhotoFound:
    """The sheet and the holes of a grey picture. Raises InvalidInput with what is wrong and what to do."""
    sheet = find_sheet(grey, printed)
    z_mm = -printed.under_mm
    spots, cut = find_spots(grey, sheet, z_mm)
    rims = _one_each([(rim, spot) for spot in spots if (rim := find_rim(grey, sheet, spot, z_mm)) is not None])
    near = [rim for rim in rims if hypot(rim.x_mm, rim.y_mm) <= FAR_MM]
    beyond, rims = len(rims) - len(near[:MOST_HOLES]), near[:MOST_HOLES]
    rims.sort(key=lambda rim: (-round(rim.y_mm / 10), rim.x_mm))
    holes = tuple(_hole(number, rim, sheet, printed) for number, rim in enumerate(rims, start=1))
    box = _view_box(grey, sheet)
    return PhotoFound(
        holes=holes, corners=sheet.corners, corners_of=CORNERS, residual_mm=round(sheet.residual_mm, 4),
        blur_mm=round(sheet.blur_mm, 4), tilt_deg=round(sheet.camera.tilt_deg, 2),
        points_per_mm=round(sheet.px_per_mm, 2),
        notes=(*_of_print(printed, beyond), *_notes(holes, sheet, cut)), view_mm=box,
        view=_view(grey, sheet, box, z_mm),
    )  # fmt: skip


def _one_each(found: list[tuple[Rim, Spot]]) -> list[Rim]:
    """Of circles about one middle the outermost whole one: a hole's rim lies about what is seen inside it."""
    kept: list[Rim] = []
    for rim, _ in sorted(found, key=lambda pair: (pair[0].agree < 0.7, -pair[0].radius_mm)):
        if not any(hypot(rim.x_mm - one.x_mm, rim.y_mm - one.y_mm) < max(one.radius_mm, rim.radius_mm) for one in kept):
            kept.append(rim)
    return kept


def _hole(number: int, rim: Rim, sheet: SheetFound, printed: Printed) -> SeenHole:
    px_mm = 1 / sheet.px_per_mm
    unround = 0.5 * rim.radius_mm * max(0.0, rim.axes_left - ROUND)  # half of what the axes differ by may be one side's
    hidden = max((1 - rim.agree) * 0.1, HIDDEN * rim.radius_mm * (1 - rim.agree) ** 2)
    random = hypot(rim.middle_mm, RIM_PX * px_mm, hidden, unround)
    point = sheet.camera.to_picture(np.array([[rim.x_mm, rim.y_mm]]), -printed.under_mm)[0]
    lens = sheet.camera.spread_of(point, -printed.under_mm)
    height = 0.5 * printed.under_mm * np.tan(np.radians(sheet.camera.tilt_deg))
    scale = hypot(rim.x_mm / ACROSS_MM, rim.y_mm / ALONG_MM) * printed.line_u_mm / ONE_AXIS
    sigma = hypot(random, lens, LENS_MM, height, scale, BOW * sheet.bow_mm)
    wide = hypot(
        2 * random, 0.35 * px_mm, LENS_DIAMETER_MM, 0.3 * abs(rim.ring_mm), 2 * rim.radius_mm * sheet.residual_mm / 100
    )
    said = list(rim.doubts())
    u_mm = TWO_AXES * sigma
    if u_mm > MOST_U_MM:
        said.append(f"{FAR_WORDS} to be placed well (within {u_mm:.1f} mm): lay the sheet nearer to it")
    beside = hypot(max(0.0, abs(rim.x_mm) - WIDE_MM / 2), max(0.0, abs(rim.y_mm) - HIGH_MM / 2))
    return SeenHole(
        number=number, x_mm=round(rim.x_mm, 3), y_mm=round(rim.y_mm, 3), u_mm=round(u_mm, 3),
        random_mm=round(TWO_AXES * random, 3), diameter_mm=round(2 * rim.radius_mm, 3),
        diameter_u_mm=round(ONE_AXIS * wide, 3), beside_sheet_mm=round(beside, 1), doubts=tuple(said),
        remarks=rim.remarks(),
    )  # fmt: skip


def _of_print(printed: Printed, beyond: int) -> list[str]:
    """What to know of the sheet's print, and what of the face was not measured."""
    said = []
    across, along = printed.across_mm / ACROSS_MM, printed.along_mm / ALONG_MM
    if abs(across / along - 1) > APART:
        said.append(
            f"by its check lines the sheet was printed {across:.1%} wide and {along:.1%} high; printers seldom make the"
            " two so unlike: measure both lines again, for every place and size follows from them"
        )
    if beyond:
        said.append(
            f"{beyond} round things were not measured, too many or further than {FAR_MM:.0f} mm from the sheet's"
            " middle: lay the sheet nearer to them, in a second photo"
        )
    return said


def _notes(holes: tuple[SeenHole, ...], sheet: SheetFound, cut: int) -> list[str]:
    """What to know of this photo, besides its holes."""
    said = []
    if len(holes) < 3:
        said.append(
            f"{len(holes)} round holes are found, and three at least make a pattern: have the whole face in the"
            " picture, clean the holes' edges, take bolts out"
        )
    if cut:
        said.append(
            "something dark and round is cut off by the picture's border: if it is a hole of the face, step back"
        )
    if sheet.corners < CORNERS:
        said.append(f"{CORNERS - sheet.corners} of the sheet's {CORNERS} corners are hidden; the rest did")
    if sheet.camera.tilt_deg > 25:
        said.append(f"taken {sheet.camera.tilt_deg:.0f} degrees from square on: straighter is surer")
    if any(hole.beside_sheet_mm > 60 for hole in holes):
        said.append(
            "holes far beside the sheet are less sure, as their figures say; a second photo with the sheet laid nearer"
            " to them makes them surer"
        )
    return said


def _view_box(grey: Grey, sheet: SheetFound) -> tuple[float, float, float, float]:
    """What of the face the picture shows, as a rectangle about the sheet, at most FAR_MM out."""
    high, wide = grey.shape
    edge = np.array([[0, 0], [wide / 2, 0], [wide, 0], [wide, high / 2], [wide, high], [wide / 2, high], [0, high],
                     [0, high / 2]], dtype=float)  # fmt: skip
    places = np.clip(sheet.camera.to_plane(edge), -FAR_MM, FAR_MM)
    (left, low), (right, top) = places.min(axis=0), places.max(axis=0)
    return round(float(left), 1), round(float(low), 1), round(float(right), 1), round(float(top), 1)


def _view(grey: Grey, sheet: SheetFound, box: tuple[float, float, float, float], z_mm: float) -> bytes:
    """The face straightened: a JPEG in which every millimetre is as long."""
    cv2 = cv()
    left, low, right, top = box
    scale = VIEW_PX / max(right - left, top - low)
    columns, rows = round((right - left) * scale), round((top - low) * scale)
    step = 8  # the lens is smooth: every eighth point is worked out, those between follow
    x, y = np.meshgrid(left + np.arange(0, columns + step, step) / scale, top - np.arange(0, rows + step, step) / scale)
    points = sheet.camera.to_picture(np.column_stack([x.ravel(), y.ravel()]), z_mm).astype(np.float32)
    at_x, at_y = np.meshgrid(np.arange(columns, dtype=np.float32) / step, np.arange(rows, dtype=np.float32) / step)
    fine = [cv2.remap(points[:, k].reshape(x.shape), at_x, at_y, cv2.INTER_LINEAR) for k in (0, 1)]
    smooth = cv2.blur(grey, (max(1, int(sheet.px_per_mm / scale)),) * 2)
    done, coded = cv2.imencode(".jpg", cv2.remap(smooth, *fine, cv2.INTER_LINEAR, borderValue=255),
                               [cv2.IMWRITE_JPEG_QUALITY, 80])  # fmt: skip
    assert done
    return bytes(coded)
