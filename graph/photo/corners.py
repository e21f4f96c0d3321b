"""The sheet in a picture: its corners to a fraction of a point, how smeared the picture is, and what stands against it.

What is refused is said with what to do: no sheet, two sheets, too few corners, too blurred, bent or not lying flat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem
from graph.photo.lens import Camera, fit_camera
from graph.photo.model import Printed
from graph.photo.sheet import ACROSS_MM, ALONG_MM, COLUMNS, CORNERS, SQUARE_MM, board, corner_places, cv

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]
PATH = "photo"
LOOK_PX = 2000  # the sheet is looked for in a picture of at most this size
LEAST_CORNERS = 20
MOST_BLUR_MM, MOST_RESIDUAL_MM, LEAST_PX_PER_MM = 0.45, 0.12, 2.5
BLURRED_PX = 3.2  # of the sharpest edges of a picture of LOOK_PX
ALIKE = 3.0  # how many corners share a fault, as drawn photos show it
WINDOW, SMOOTH_PX = (
    0.12,
    1.2,
)  # of a square: the markers begin at 0.125; smoothed first, noise moves corners half as far
LEAST_CONTRAST = 0.25  # of the sheet's best: what is darker counts no less than as this
CORNER_PX = 0.08  # how surely a corner is found in a sharp picture; more where it is smeared
MOST_SPREAD = 0.25  # of the sheet's length: corners in one strip tell nothing across it


@dataclass(frozen=True, slots=True)
class SheetFound:
    """The sheet: the `camera`, how many `corners` were used, `blur_px` and `blur_mm`, `residual_mm`, points per mm.

    `bow_mm`: the part of the residual that neighbouring corners have in common: bent paper, or a lens not modelled.
    """

    camera: Camera
    corners: int
    blur_px: float
    blur_mm: float
    residual_mm: float
    px_per_mm: float
    bow_mm: float


def refuse(said: str) -> InvalidInput:
    """What is wrong with the photo, and what to do."""
    return InvalidInput([Problem(PATH, said)])


def find_sheet(grey: Grey, printed: Printed) -> SheetFound:
    """The sheet in the picture. Raises InvalidInput with what is wrong and what to do."""
    cv2 = cv()
    numbers, points, unsure = _corners(grey)
    drawn = corner_places()[numbers]
    places = drawn * np.array([printed.across_mm / ACROSS_MM, printed.along_mm / ALONG_MM])
    if np.ptp(drawn, axis=0).min() < MOST_SPREAD * COLUMNS * SQUARE_MM:
        raise refuse("only a strip of the sheet can be seen: uncover it, or lay it where all of it shows")
    homography, inside = cv2.findHomography(places, points, cv2.RANSAC, 6.0)
    if homography is None or int(inside.sum()) < LEAST_CORNERS:
        raise refuse(_FEW.format(found=0 if homography is None else int(inside.sum())))
    px_per_mm = _px_per_mm(homography)
    if px_per_mm < LEAST_PX_PER_MM:
        said = f"the sheet is small in the picture ({px_per_mm:.1f} points a millimetre; at least {LEAST_PX_PER_MM:g})"
        raise refuse(f"{said}: go nearer, or photograph with more points")
    blur_px = _blur(grey, numbers, points)
    if blur_px / px_per_mm > MOST_BLUR_MM:
        said = f"the picture is blurred: edges are smeared over {2 * blur_px / px_per_mm:.1f} mm"
        raise refuse(f"{said}; hold the camera still, tap on the sheet to focus, use more light")
    kept = inside.ravel().astype(bool)
    sigma = CORNER_PX + 0.04 * blur_px
    size = (grey.shape[1], grey.shape[0])
    camera, used = fit_camera(places[kept], points[kept], size, homography, sigma * unsure[kept])
    residual = camera.rms_px / px_per_mm
    if residual > MOST_RESIDUAL_MM or used.sum() < 0.8 * len(numbers):
        said = f"the sheet's corners do not lie in one plane ({residual:.2f} mm off, at most {MOST_RESIDUAL_MM:g} mm)"
        raise refuse(
            f"{said}: it is bent, or the picture is crooked; tape it flat to the face or stick it on flat"
            " stiff card, and use the whole photo (uncropped, no panorama, not edited)"
        )
    bow_px = _in_common(numbers[kept][used], camera.to_picture(places[kept][used]) - points[kept][used])
    # Least squares takes each corner's fault for its own; what neighbours share counts as often as they are many.
    camera = replace(camera, covariance=camera.covariance * (1 + ALIKE * (bow_px / sigma) ** 2))
    return SheetFound(
        camera, int(used.sum()), blur_px, blur_px / px_per_mm, residual, px_per_mm, bow_px / px_per_mm
    )  # fmt: skip


_NONE = (
    "no sheet is found in the picture: print the sheet of this page, lay it flat on the face, have it wholly in the"
    " picture, without glare or deep shadow on it; not mirrored"
)
_FEW = (
    f"only {{found}} of the sheet's {CORNERS} corners can be seen, at least {LEAST_CORNERS} are needed: "
    "uncover the sheet, avoid glare on it, and have it wholly in the picture"
)


def _corners(grey: Grey) -> tuple[NDArray[np.intp], Floats, Floats]:
    """The numbers of the corners that are seen, where in the picture, and how unsure each is against the clearest."""
    cv2 = cv()
    scale = max(1.0, max(grey.shape) / LOOK_PX)
    small = grey if scale == 1 else cv2.resize(grey, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
    found, ids, _ = cv2.aruco.ArucoDetector(board().getDictionary()).detectMarkers(small)
    if ids is None or len(ids) < 3:
        raise refuse(_nothing(small, _NONE))
    _check_one_sheet(found, ids.ravel())
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(board()).detectBoard(small, markerCorners=found, markerIds=ids)
    if numbers is None or len(numbers) < LEAST_CORNERS:
        raise refuse(_nothing(small, _FEW.format(found=0 if numbers is None else len(numbers))))
    points = np.asarray((corners.reshape(-1, 2) + 0.5) * scale - 0.5, dtype=np.float32)
    square = float(np.median(_apart(points.astype(np.float64), numbers.ravel())))
    reach = int(np.clip(square * WINDOW, 3, 25))
    ends = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.005)
    smooth = cv2.GaussianBlur(grey, (0, 0), SMOOTH_PX)
    fine = cv2.cornerSubPix(smooth, points.reshape(-1, 1, 2).copy(), (reach, reach), (-1, -1), ends).reshape(-1, 2)
    moved = np.linalg.norm(fine - points, axis=1) < max(4.0, 0.2 * square)
    fine = np.asarray(fine[moved], dtype=np.float64)
    return numbers.ravel()[moved], fine, _unsure(smooth, fine, reach)


def _unsure(smooth: Grey, points: Floats, reach: int) -> Floats:
    """How unsure each corner is, 1 for the clearest: noise moves one the farther the less it stands out (shade)."""
    high, wide = smooth.shape
    contrast = np.empty(len(points))
    for number, (x, y) in enumerate(np.round(points).astype(int)):
        window = smooth[max(0, y - reach) : min(high, y + reach + 1), max(0, x - reach) : min(wide, x + reach + 1)]
        dark, light = np.percentile(window, (5, 95))
        contrast[number] = light - dark
    best = float(np.percentile(contrast, 90))
    return np.asarray(1 / np.clip(contrast / max(best, 1.0), LEAST_CONTRAST, 1.0))


def _nothing(small: Grey, otherwise: str) -> str:
    """Why the sheet is not found: blur where even the sharpest edges are smeared, else as said."""
    cv2 = cv()
    even = cv2.GaussianBlur(small, (0, 0), 1.2).astype(np.float32)
    slope = np.hypot(cv2.Sobel(even, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(even, cv2.CV_32F, 0, 1, scale=1 / 8))
    contrast = float(np.percentile(even, 98) - np.percentile(even, 2))
    smeared_px = contrast / max(1e-6, 2.5 * float(np.percentile(slope, 99.7)))  # a smeared step's slope: Gauss
    if contrast > 25 and smeared_px > BLURRED_PX:
        return "the sheet cannot be made out, the picture is blurred: hold the camera still, tap on the sheet to focus"
    return otherwise


def _check_one_sheet(found: Any, ids: NDArray[np.intp]) -> None:
    """Raises InvalidInput where the same marker is seen at two places."""
    for number in np.unique(ids):
        middles = [
            np.asarray(one).reshape(4, 2).mean(axis=0) for one, name in zip(found, ids, strict=True) if name == number
        ]
        if any(np.linalg.norm(middle - middles[0]) > 20 for middle in middles[1:]):
            raise refuse("more than one sheet is in the picture: leave one, take the others away")


def _apart(points: Floats, numbers: NDArray[np.intp]) -> Floats:
    """How far neighbours in a row lie apart, in points."""
    at = dict(zip(numbers.tolist(), points, strict=True))
    found = [
        float(np.linalg.norm(at[n + 1] - at[n])) for n in at if n % (COLUMNS - 1) != COLUMNS - 2 and n + 1 in at
    ]  # fmt: skip
    return np.array(found or [10.0])


def _in_common(numbers: NDArray[np.intp], off: Floats) -> float:
    """The residual that neighbours share, root mean square: chance makes each its own, a bend makes them alike."""
    at = dict(zip(numbers.tolist(), off, strict=True))
    shared = [
        float(at[number] @ at[number + step])
        for number in at for step, last in ((1, number % (COLUMNS - 1) == COLUMNS - 2), (COLUMNS - 1, False))
        if not last and number + step in at
    ]  # fmt: skip
    return float(np.sqrt(max(0.0, float(np.mean(shared))))) if shared else 0.0


def _px_per_mm(homography: Floats) -> float:
    grid = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 1.0], [0.0, 1.0, 1.0]]) @ homography.T
    flat = grid[:, :2] / grid[:, 2:]
    return float(min(np.linalg.norm(flat[1] - flat[0]), np.linalg.norm(flat[2] - flat[0])))


def _blur(grey: Grey, numbers: NDArray[np.intp], points: Floats) -> float:
    """How far an edge is smeared, standard deviation in points: off the edges between neighbouring corners."""
    at = dict(zip(numbers.tolist(), points, strict=True))
    spreads = []
    for number, here in at.items():
        for step, last in ((1, number % (COLUMNS - 1) == COLUMNS - 2), (COLUMNS - 1, False)):
            if not last and number + step in at:
                spreads.append(_edge_spread(grey, here, at[number + step]))
    known = [spread for spread in spreads if spread > 0]
    return float(np.percentile(known, 30)) if known else 99.0  # a corner that is half hidden smears nothing


def _edge_spread(grey: Grey, here: Floats, there: Floats) -> float:
    along = there - here
    square = float(np.hypot(*along))
    across = np.array([-along[1], along[0]]) / square
    reach = square * 0.11  # the marker begins 2.5 mm from its square's edge
    steps = np.arange(-reach, reach + 0.01, 0.5)
    middle = here + along * np.array([[0.44], [0.5], [0.56]])
    where = middle[:, None, :] + steps[None, :, None] * across
    columns = np.clip(where[..., 0], 0, grey.shape[1] - 1).astype(np.float32)
    rows = np.clip(where[..., 1], 0, grey.shape[0] - 1).astype(np.float32)
    profile = cv().remap(grey, columns, rows, cv().INTER_LINEAR).astype(np.float64).mean(axis=0)
    slope = np.abs(np.diff(profile))
    if np.ptp(profile) < 40:
        return 0.0
    low = slope < 0.12 * slope.max()  # the edge alone: what lies beyond the first flat place is the marker
    top = int(slope.argmax())
    first = top - int(np.argmax(np.append(low[top::-1], True)))
    last = top + int(np.argmax(np.append(low[top:], True)))
    weight = np.where((np.arange(len(slope)) > first) & (np.arange(len(slope)) < last), slope, 0.0)
    place = (steps[1:] + steps[:-1]) / 2
    mean = float((weight * place).sum() / weight.sum())
    return float(np.sqrt((weight * (place - mean) ** 2).sum() / weight.sum()))
