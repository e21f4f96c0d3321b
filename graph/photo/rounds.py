"""Places in a picture where a round hole may be: dark spots at several thresholds that are nearly round on the face.

Nothing is decided here. A spot's outline is carried to the plane of the face, where a circle is a circle whatever the
tilt, and kept where it is near one; `rim.py` then looks at its edge in the full picture and says what it is worth.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graph.photo.corners import SheetFound
from graph.photo.sheet import HIGH_MM, WIDE_MM, cv

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]
LOOK_PX = 2000
LEAST_MM, MOST_MM = 4.0, 220.0
BLOCKS_MM = (10.0, 28.0, 70.0)  # what a spot is darker than: the mean about it, over so much
LEVELS = (0.35, 0.55, 0.75)  # and parts of the face's usual brightness, for large bores
DARKER = 9  # grey levels
ROUGH = 0.1  # of the radius: how far an outline may lie from a circle to be looked at
MOST_SPOTS = 400
PAPER_MM = 4.0  # about the pattern: a spot there is print or the paper's edge


@dataclass(frozen=True, slots=True)
class Spot:
    """A nearly round dark outline on the face: middle and radius in mm, and how far it lies from a circle."""

    x_mm: float
    y_mm: float
    radius_mm: float
    rough_mm: float


def find_spots(grey: Grey, sheet: SheetFound, z_mm: float) -> tuple[list[Spot], int]:
    """The spots, roundest first, and how many dark ones the picture's border cuts off."""
    cv2 = cv()
    scale = max(1.0, max(grey.shape) / LOOK_PX)
    small = grey if scale == 1 else cv2.resize(grey, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (3, 3), 0)
    outlines: list[tuple[Floats, bool]] = []
    for mask in _masks(small, sheet.px_per_mm / scale):
        for one in cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]:
            outline = _outline(one.reshape(-1, 2), small.shape, sheet.px_per_mm / scale)
            if outline is not None:
                outlines.append(outline)
    if not outlines:
        return [], 0
    points = np.concatenate([outline for outline, _ in outlines])
    places = sheet.camera.to_plane((points + 0.5) * scale - 0.5, z_mm)  # of all at once: a call for each takes longer
    ends = np.cumsum([len(outline) for outline, _ in outlines])[:-1]
    found = [_spot(each, edge) for each, (_, edge) in zip(np.split(places, ends), outlines, strict=True)]
    return _distinct([spot for spot, _ in found if spot])[:MOST_SPOTS], sum(is_cut for _, is_cut in found)


def _masks(small: Grey, px_per_mm: float) -> Iterator[Grey]:
    cv2 = cv()
    for block_mm in BLOCKS_MM:
        block = max(5, int(block_mm * px_per_mm) | 1)
        about = cv2.blur(small, (block, block))
        yield ((small.astype(np.int16) < about.astype(np.int16) - DARKER) * 255).astype(np.uint8)
    usual = float(np.percentile(small[::8, ::8], 70))
    for level in LEVELS:
        yield ((small < usual * level) * 255).astype(np.uint8)


def _outline(outline: NDArray[np.int32], shape: tuple[int, ...], px_per_mm: float) -> tuple[Floats, bool] | None:
    """Points of an outline that may be a round thing's, and whether it runs along the border; None for any other."""
    if len(outline) < 12:
        return None
    low, high = outline.min(axis=0), outline.max(axis=0)
    wide, tall = (high - low + 1).astype(float)
    if not 0.6 * LEAST_MM * px_per_mm < min(wide, tall) or max(wide, tall) > 1.5 * MOST_MM * px_per_mm:
        return None
    if not 0.4 < wide / tall < 2.5 or len(outline) > 5 * (wide + tall):
        return None
    edge = bool(low.min() <= 1 or high[0] >= shape[1] - 2 or high[1] >= shape[0] - 2)
    if edge:  # what runs along the border is none of its own outline
        inner = (outline > 1) & (outline < np.array([shape[1] - 2, shape[0] - 2]))
        outline = outline[inner.all(axis=1)]
        if len(outline) < 12:
            return None
    return outline[:: max(1, len(outline) // 120)].astype(np.float64), edge


def _spot(places: Floats, edge: bool) -> tuple[Spot | None, bool]:
    """The spot of an outline on the plane where it is nearly round; and whether the border of the picture cuts a round
    one off."""
    x, y, radius, rough = circle_through(places)
    if not np.isfinite(radius) or not LEAST_MM / 2 <= radius <= MOST_MM / 2 or _on_sheet(x, y, radius):
        return None, False
    if edge:
        return None, rough < 0.5 * ROUGH * radius and np.ptp(places, axis=0).max() > radius
    return (Spot(x, y, radius, rough) if rough < ROUGH * radius else None), False


def _on_sheet(x: float, y: float, radius: float) -> bool:
    """Lies its middle on the printed pattern?"""
    return abs(x) < WIDE_MM / 2 + PAPER_MM and abs(y) < HIGH_MM / 2 + PAPER_MM


def circle_through(places: Floats, weights: Floats | None = None) -> tuple[float, float, float, float]:
    """Middle, radius and root mean square miss of the circle nearest to the places (Taubin's algebraic fit)."""
    weight = np.ones(len(places)) if weights is None else weights
    total = weight.sum()
    middle = (places * weight[:, None]).sum(axis=0) / total
    flat = places - middle
    square = (flat**2).sum(axis=1)
    mean = float((square * weight).sum() / total)
    if mean <= 0:
        return float(middle[0]), float(middle[1]), float("nan"), float("inf")
    lifted = np.column_stack([(square - mean) / (2 * np.sqrt(mean)), flat]) * np.sqrt(weight)[:, None]
    _, _, turned = np.linalg.svd(lifted, full_matrices=False)
    a = turned[-1]
    lead = a[0] / (2 * np.sqrt(mean))
    if abs(lead) < 1e-12:
        return float(middle[0]), float(middle[1]), float("nan"), float("inf")
    centre = -a[1:] / (2 * lead)
    radius = float(np.sqrt(max(0.0, (centre**2).sum() + mean)))
    miss = np.hypot(*(flat - centre).T) - radius
    rough = float(np.sqrt((weight * miss**2).sum() / total))
    return float(centre[0] + middle[0]), float(centre[1] + middle[1]), radius, rough


def _distinct(found: list[Spot]) -> list[Spot]:
    """One of those that lie about the same circle: the roundest."""
    kept: list[Spot] = []
    for spot in sorted(found, key=lambda one: one.rough_mm / one.radius_mm):
        if not any(_same(spot, other) for other in kept):
            kept.append(spot)
    return kept


def _same(a: Spot, b: Spot) -> bool:
    apart = float(np.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm))
    return apart < 0.35 * max(a.radius_mm, b.radius_mm) and 0.8 < a.radius_mm / b.radius_mm < 1.25
