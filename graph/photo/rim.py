"""The rim of a hole: looked for ray by ray in the full picture, carried to the face, and fitted by a circle.

Along each ray the steepest step from dark (inside) to light is the rim. A circle is drawn through those that agree; how
many do, and how well, says whether it is a hole's rim, one partly hidden, or something else that is dark.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graph.photo.corners import SheetFound
from graph.photo.lens import rotation
from graph.photo.model import HIDDEN_WORDS
from graph.photo.rounds import Spot, circle_through
from graph.photo.sheet import cv

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]
RAYS = 96
LEAST_AGREE, SURE_AGREE = 0.45, 0.85  # of the rays
MOST_AXES, SURE_AXES = 1.08, 1.035  # long to short axis
LEAST_DARKER, SURE_DARKER = 12.0, 30.0  # grey levels between outside and inside
MOST_UNEVEN = 0.2  # of the step at the rim, between the lightest and darkest of the inside
CORNERED = 0.016  # of the radius: a hexagon's distance swings by 0.048 either way (geometry)
MOST_WALL = 0.8  # of the same step: a wall lighter than that is no wall in the hole's shade
SHIFTS = (0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8)  # radii
RING_END = 1.5
OVAL, WALL_MM = 0.001, 0.5  # of the radius: how round drilled holes are (common practice); how far a wall shows
SHARED = 1.4  # two rays side by side share a fault
MOST_ROUGH = 0.035  # of the radius, beside half a point


@dataclass(frozen=True, slots=True)
class Rim:
    """A rim. `middle_mm`: standard deviation of its middle; `agree`: part of the rays; `rough_mm`: how far off they are

    `ring_mm`: how far outwards another edge lies, 0 for none; `corners`: as a polygon has, 0 for a round one.
    `axes`: long to short; `axes_left`: the same without what a wall that is seen explains; `darker`: grey levels from
    inside to outside; `uneven`: of the inside, against `darker`.
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    middle_mm: float
    agree: float
    rough_mm: float
    axes: float
    axes_left: float
    darker: float
    uneven: float
    ring_mm: float
    corners: int

    def doubts(self) -> tuple[str, ...]:
        """What speaks against it being a whole, round, open hole."""
        said = []
        if self.agree < SURE_AGREE:
            said.append(f"{HIDDEN_WORDS} ({100 * self.agree:.0f} %) is seen as a circle: partly hidden, or no hole")
        if self.axes > SURE_AXES:
            said.append(f"not quite round ({self.axes:.2f} long to short): a slot, a stain, or not in the face")
        if self.corners:
            said.append(f"its edge has {self.corners} corners: a nut, or a bolt's head")
        if self.darker < SURE_DARKER:
            said.append("hardly darker than the face: a shallow mark, or no hole")
        if self.uneven > MOST_UNEVEN:
            said.append("not evenly dark inside: a screw's head, a stud, a step, or a shallow bottom")
        return tuple(said)

    def remarks(self) -> tuple[str, ...]:
        """What to know of it that speaks not against it."""
        if not self.ring_mm:
            return ()
        way = "outside" if self.ring_mm > 0 else "inside"
        return (f"a second edge {abs(self.ring_mm):.1f} mm {way} this one (chamfer, step, wall): measure its diameter",)


def find_rim(grey: Grey, sheet: SheetFound, spot: Spot, z_mm: float) -> Rim | None:
    """The rim about a spot, None where there is no circle."""
    x, y, radius = spot.x_mm, spot.y_mm, spot.radius_mm
    px_mm = 1 / sheet.px_per_mm
    found: tuple[Floats, NDArray[np.bool_], NDArray[np.bool_]] | None = None
    for reach in (0.35, 0.2, 0.12):
        steps = _steps(radius, reach, px_mm, sheet.blur_px)
        profile = _profile(grey, sheet, x, y, steps, z_mm)
        edges, known = _edges(profile, steps, radius, sheet.blur_px)
        places = np.column_stack([x + edges * np.cos(_ANGLES), y + edges * np.sin(_ANGLES)])
        fitted = _agreed(places, known, radius, px_mm * (0.8 + 0.4 * sheet.blur_px))
        if fitted is None:
            return None
        x, y, radius, agreed = fitted
        found = places, agreed, known
    assert found is not None
    places, agreed, known = found
    if agreed.mean() < LEAST_AGREE:
        return None
    axes = _axes(places[agreed] - np.array([x, y]))
    x, y, radius, settled = _settled(places[agreed], (x, y, radius), _foot(sheet, x, y), px_mm)
    rough = settled.rough_mm
    corners = _corners(places[known] - np.array([x, y]), radius, px_mm)
    whole = _profile(grey, sheet, x, y, np.linspace(0.05, RING_END, 59) * radius, z_mm)
    darker, uneven = _inside(whole, _foot(sheet, x, y))
    if axes > MOST_AXES or darker < LEAST_DARKER or rough > MOST_ROUGH * radius + 0.5 * px_mm:
        return None
    return Rim(x, y, radius, settled.middle_mm, float(agreed.mean()), rough, axes, settled.axes, darker, uneven,
               _second_ring(whole, radius, darker, sheet), corners)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Settled:
    """What a fit leaves: standard deviation of the middle, roughness, long to short axis."""

    middle_mm: float
    rough_mm: float
    axes: float


def _settled(
    places: Floats, circle: tuple[float, float, float], foot: Floats, px_mm: float
) -> tuple[float, float, float, _Settled]:
    """The circle anew, with the wall that a camera sees aslant: there the edge of the dark lies inside the rim.

    A bottom moved towards the camera's foot by `wall` takes `wall` times the cosine off the distances on the far side;
    that pulls a plain circle by half of it. Fitted with it are a small oval, all held by prior observations, so that
    the middle is the less sure the less the two can be told apart.
    """
    x, y, radius = circle
    flat = places - np.array([x, y])
    far = np.hypot(*flat.T)
    ways = flat / far[:, None]
    double = 2 * np.arctan2(ways[:, 1], ways[:, 0])
    wall = -np.maximum(0.0, -(ways @ foot))
    rows = np.column_stack([ways, np.ones(len(far)), np.cos(double), np.sin(double), wall])
    prior = np.array([np.inf, np.inf, np.inf, OVAL * radius, OVAL * radius, WALL_MM])
    off, sigma = far - radius, max(2 * float((far - radius).std()), px_mm / 10)
    for _ in range(2):  # the second time with the roughness that the first one leaves
        weighed = np.diag(1 / prior**2) + rows.T @ rows / sigma**2
        found = np.linalg.solve(weighed, rows.T @ off / sigma**2)
        if found[5] < 0:  # there is no wall the other way
            held = np.linalg.solve(weighed[:5, :5], rows[:, :5].T @ off / sigma**2)
            found = np.append(held, 0.0)
        rough = float(np.sqrt(((off - rows @ found) ** 2).mean()))
        sigma = max(SHARED * rough, px_mm / 20)
    covariance = np.linalg.inv(weighed)[:2, :2]
    moved = flat - found[5] * wall[:, None] * ways - found[:2]
    middle = float(np.sqrt(np.linalg.eigvalsh(covariance)[-1]))
    return x + float(found[0]), y + float(found[1]), radius + float(found[2]), _Settled(middle, rough, _axes(moved))


_ANGLES = np.arange(RAYS) * (2 * np.pi / RAYS)


def _foot(sheet: SheetFound, x: float, y: float) -> Floats:
    """The way on the face from a hole to the point that the camera stands above, of length 1."""
    theta = sheet.camera.theta
    eye = -rotation(theta[:3]).T @ theta[3:6]
    way = eye[:2] - np.array([x, y])
    return np.asarray(way / max(1e-9, float(np.hypot(*way))))


def _steps(radius: float, reach: float, px_mm: float, blur_px: float) -> Floats:
    wide = max(reach * radius, (3 + 2 * blur_px) * px_mm)
    wide = min(wide, 0.8 * radius)
    count = int(np.clip(2 * wide / (0.4 * px_mm), 16, 160))
    return np.linspace(radius - wide, radius + wide, count)


def _profile(grey: Grey, sheet: SheetFound, x: float, y: float, steps: Floats, z_mm: float) -> Floats:
    """Grey along each ray, a row each."""
    ways = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])
    places = np.array([x, y]) + ways[:, None, :] * steps[None, :, None]
    points = sheet.camera.to_picture(places.reshape(-1, 2), z_mm).reshape(RAYS, len(steps), 2).astype(np.float32)
    seen = cv().remap(grey, points[..., 0], points[..., 1], cv().INTER_LINEAR, borderMode=cv().BORDER_REPLICATE)
    return np.asarray(seen, dtype=np.float64)


def _edges(profile: Floats, steps: Floats, radius: float, blur_px: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Where each ray steps up most steeply, to a part of a step, and whether it does so clearly."""
    smooth = cv().GaussianBlur(profile, (0, 0), 1.5 + 0.5 * blur_px, sigmaY=0.01)
    slope = np.gradient(smooth, axis=1)
    width = steps[-1] - steps[0]
    near = np.exp(-(((steps - radius) / (0.4 * width)) ** 2))
    best = np.argmax(slope * near, axis=1)
    best = np.clip(best, 1, len(steps) - 2)
    row = np.arange(len(best))
    left, middle, right = slope[row, best - 1], slope[row, best], slope[row, best + 1]
    bend = left - 2 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    clear = (middle > 0.35 * np.median(np.maximum(middle, 0))) & (middle > 0.4)
    return steps[best] + np.clip(shift, -0.5, 0.5) * (steps[1] - steps[0]), clear


def _agreed(
    places: Floats, known: NDArray[np.bool_], radius: float, least: float
) -> tuple[float, float, float, NDArray[np.bool_]] | None:
    """The circle that most rays agree on, and which. Begins with circles through three rays far apart."""
    if known.sum() < 0.4 * RAYS:
        return None
    within = max(least, 0.018 * radius)
    best, agreed = 0, known
    numbers = np.flatnonzero(known)
    third = max(1, len(numbers) // 3)
    for start in range(0, third, max(1, third // 16)):
        three = places[numbers[[start, start + third, (start + 2 * third) % len(numbers)]]]
        x, y, size, _ = circle_through(three)
        if not np.isfinite(size) or not 0.6 * radius < size < 1.5 * radius:
            continue
        near = known & (np.abs(np.hypot(places[:, 0] - x, places[:, 1] - y) - size) < 1.5 * within)
        if near.sum() > best:
            best, agreed = int(near.sum()), near
    for _ in range(4):
        if agreed.sum() < 0.3 * RAYS:
            return None
        x, y, size, _ = circle_through(places[agreed])
        if not np.isfinite(size):
            return None
        agreed = known & (np.abs(np.hypot(places[:, 0] - x, places[:, 1] - y) - size) < within)
    if agreed.sum() < 0.3 * RAYS:
        return None
    x, y, size, _ = circle_through(places[agreed])
    return x, y, size, agreed


def _inside(whole: Floats, foot: Floats) -> tuple[float, float]:
    """How much darker the inside is than the face about it, and how uneven it is against that, by area.

    Seen aslant a hole shows its wall: a crescent, light or dark, on the side away from the camera's foot, beside the
    dark that is the rim moved towards it. `foot`: the way there. Only what no such crescent explains is uneven.
    """
    even = cv().blur(whole, (3, 3))
    rings = np.linspace(0.05, RING_END, whole.shape[1])
    outside = float(np.median(whole[:, (rings > 1.1) & (rings < 1.35)]))
    inner = rings < 0.88
    values, weight = even[:, inner].ravel(), np.tile(rings[inner], RAYS)
    x, y = (np.outer(wave, rings[inner]).ravel() for wave in (np.cos(_ANGLES), np.sin(_ANGLES)))
    order = np.argsort(values)
    values, weight, x, y = values[order], weight[order], x[order], y[order]
    best = (0.0, np.inf)
    for shift in SHIFTS:
        within = np.hypot(x - shift * foot[0], y - shift * foot[1]) < 0.88
        found, so_far = values[within], weight[within].cumsum()
        low, middle, high = (float(found[np.searchsorted(so_far, part * so_far[-1])]) for part in (0.05, 0.5, 0.95))
        darker = outside - middle
        wall = 0.0 if within.all() else float(np.average(values[~within], weights=weight[~within])) - middle
        uneven = (high - low) / max(darker, 1.0)
        if uneven < best[1] and wall < MOST_WALL * max(darker, 1.0):
            best = (darker, uneven)
    return best


def _axes(flat: Floats) -> float:
    """Long to short axis of the places about their middle: the second harmonic of their distance, by least squares."""
    angle, far = np.arctan2(flat[:, 1], flat[:, 0]), np.hypot(*flat.T)
    waves = np.column_stack([np.ones(len(angle)), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)])
    found = np.linalg.lstsq(waves, far, rcond=None)[0]
    swing = float(np.hypot(found[3], found[4]) / found[0])
    return (1 + swing) / max(1e-6, 1 - swing)


def _corners(flat: Floats, radius: float, px_mm: float) -> int:
    """How many corners the places have about their middle: the strongest wave of 3 to 8 in their distance, by least
    squares, where it is more than a round edge has; 0 for none."""
    angle, far = np.arctan2(flat[:, 1], flat[:, 0]), np.hypot(*flat.T)
    near = np.abs(far - radius) < 0.16 * radius
    if near.sum() < 0.7 * RAYS:
        return 0
    turns = np.arange(1, 9)
    waves = np.column_stack([np.ones(int(near.sum())), *(np.cos(k * angle[near]) for k in turns),
                             *(np.sin(k * angle[near]) for k in turns)])  # fmt: skip
    fitted = np.linalg.lstsq(waves, far[near], rcond=None)[0]
    swing = np.hypot(fitted[1:9], fitted[9:17])[2:]
    return int(np.argmax(swing)) + 3 if swing.max() > CORNERED * radius + 0.06 * px_mm else 0


def _second_ring(whole: Floats, radius: float, darker: float, sheet: SheetFound) -> float:
    """How far from the rim another step of the mean profile lies, in mm, outwards; 0 where there is none."""
    mean = np.median(whole, axis=0)
    slope = np.gradient(mean)
    places = np.linspace(0.05, RING_END, len(mean))
    apart = (places - 1) * radius
    smear = (2.5 * sheet.blur_px + 1.5) / sheet.px_per_mm
    other = (np.abs(apart) > smear) & (np.abs(slope) > 0.35 * np.abs(slope).max()) & (np.abs(slope) > 0.08 * darker)
    return float(min(apart[other], key=abs)) if other.any() else 0.0
