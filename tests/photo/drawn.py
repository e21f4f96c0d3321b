"""Photos drawn by an independent renderer: a known face, a known sheet on it, a known camera; nothing of graph/photo.

The camera is a pinhole with the library's own distortion (`cv2.undistortPoints`: two radial, two tangential terms, a
middle that is off), the face a texture in millimetres. The sheet is drawn by the library's own board, not by ours.
Holes have depth: seen aslant, their lit wall shows. Nothing here asks how the service reads a photo.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

PX = 8.0  # texture points per mm
HALF = 275.0  # mm the texture reaches either way
COLUMNS, ROWS, SQUARE, MARKER = 9, 11, 20.0, 15.0  # as the printed sheet is described in the README


@contextmanager
def coarse(px: float = 6.0, half: float = 190.0) -> Iterator[None]:
    """A smaller and coarser texture while it lasts, for pictures that are smaller themselves."""
    global PX, HALF
    before = PX, HALF
    PX, HALF = px, half
    try:
        yield
    finally:
        PX, HALF = before


@dataclass
class Drawn:
    """What to draw. Places in mm about the sheet's middle, y up, on a perfect print of it."""

    seed: int = 0
    size: tuple[int, int] = (4000, 3000)
    tilt_deg: float = 8.0
    roll_deg: float = 5.0
    blur_px: float = 0.9
    noise: float = 4.0
    shadow: float = 0.0  # how much darker the shaded half is
    bend_mm: float = 0.0
    sheet_at: tuple[float, float] = (0.0, 0.0)  # of the face's middle, seen from the sheet's
    across: float = 1.0  # what the printer made of a millimetre
    along: float = 1.0
    distortion: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    middle_off: tuple[float, float] = (0.0, 0.0)
    focal: float = 0.85  # of the diagonal
    fill: float = 0.92  # of the picture's height by the face
    reach_mm: float = 220.0  # half of what must be seen
    holes: list[tuple[float, float, float]] = field(default_factory=list)  # x, y, diameter
    chamfer: float = 0.0
    clutter: int = 0
    cover: float = 0.0  # how much of the sheet a dark rag hides
    sheets: int = 1
    depth: float = 12.0
    heads: list[tuple[float, float, float, str]] = field(default_factory=list)  # things that are no holes


def draw(wanted: Drawn) -> NDArray[np.uint8]:
    """The photo, grey."""
    chance = np.random.default_rng(wanted.seed)
    view = _Camera(wanted, chance)
    texture = _texture(wanted, chance, view)
    x, y = view.plane()
    columns = (x + HALF) * PX - 0.5
    rows = (HALF - y) * PX - 0.5
    photo = cv2.remap(texture, columns.astype(np.float32), rows.astype(np.float32), cv2.INTER_LINEAR, borderValue=70.0)
    if wanted.bend_mm and wanted.sheets:
        photo = _bent_sheet(wanted, view, np.asarray(photo, dtype=np.float32))
    wide, high = wanted.size
    if wanted.shadow:
        angle = chance.uniform(0, 2 * np.pi)
        across = (np.arange(wide)[None, :] - wide / 2) * np.cos(angle) + (np.arange(high)[:, None] - high / 2) * np.sin(
            angle
        )
        photo = photo * (1 - wanted.shadow / (1 + np.exp(-across / (wide * 0.02))))
    glow = 1 - 0.15 * ((np.arange(wide)[None, :] / wide - 0.5) ** 2 + (np.arange(high)[:, None] / high - 0.5) ** 2)
    photo = cv2.GaussianBlur((photo * glow).astype(np.float32), (0, 0), wanted.blur_px)
    photo = photo + chance.normal(0, wanted.noise, photo.shape)
    shown: NDArray[np.uint8] = np.clip(photo, 0, 255).astype(np.uint8)
    return shown


class _Camera:
    def __init__(self, wanted: Drawn, chance: np.random.Generator) -> None:
        wide, high = wanted.size
        diagonal = float(np.hypot(wide, high))
        focal = wanted.focal * diagonal
        self.size = wanted.size
        self.matrix = np.array([[focal, 0, wide / 2 + wanted.middle_off[0] * diagonal],
                                [0, focal, high / 2 + wanted.middle_off[1] * diagonal], [0, 0, 1.0]])  # fmt: skip
        self.bent = np.array(wanted.distortion)
        far = focal * 2 * wanted.reach_mm / (wanted.fill * min(wide, high))
        lean, turn = np.radians(wanted.tilt_deg), chance.uniform(0, 2 * np.pi)
        axis = np.array([np.cos(turn), np.sin(turn), 0.0]) * lean
        roll = np.array([0.0, 0.0, np.radians(wanted.roll_deg)])
        flip = np.diag([1.0, -1.0, -1.0])
        self.turn = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(roll)[0] @ flip
        middle = np.array([wanted.sheet_at[0], wanted.sheet_at[1], 0.0])
        self.place = np.array([0.0, 0.0, far]) - self.turn @ middle  # the face's middle stands before the camera

    def plane(self, z: float = 0.0) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """x and y in the plane for each point of the picture."""
        wide, high = self.size
        step = 4
        grid_x, grid_y = np.meshgrid(
            np.arange(0, wide + step, step, dtype=float), np.arange(0, high + step, step, dtype=float)
        )
        points = np.column_stack([grid_x.ravel(), grid_y.ravel()])
        sharp = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 60, 1e-12)
        flat = cv2.undistortPoints(points[:, None, :], self.matrix, self.bent, criteria=sharp)[:, 0]
        rays = np.column_stack([flat, np.ones(len(flat))]) @ self.turn
        start = self.turn.T @ self.place
        reach = (z + start[2]) / rays[:, 2]
        found = rays[:, :2] * reach[:, None] - start[:2]
        fine_x, fine_y = np.meshgrid(np.arange(wide, dtype=np.float32) / step, np.arange(high, dtype=np.float32) / step)
        return tuple(
            cv2.remap(found[:, k].reshape(grid_x.shape), fine_x, fine_y, cv2.INTER_LINEAR).astype(float) for k in (0, 1)
        )  # type: ignore[return-value]

    def slope_at(self, x: float, y: float) -> NDArray[np.float64]:
        """By how much a point a millimetre lower seems to move in the plane, as seen from the camera."""
        eye = -self.turn.T @ self.place
        way = np.array([x, y, 0.0]) - eye
        return np.asarray(way[:2] / way[2], dtype=np.float64)


def _texture(wanted: Drawn, chance: np.random.Generator, view: _Camera) -> NDArray[np.float32]:
    side = int(2 * HALF * PX)
    base = cv2.resize(chance.normal(0, 1, (side // 40, side // 40)).astype(np.float32), (side, side)) * 6
    texture = np.asarray(base + 165, dtype=np.float32)
    for _ in range(wanted.clutter):
        _scratch(texture, chance)
    for x, y, across, what in wanted.heads:
        _head(texture, x, y, across, what, chance)
    for x, y, across in wanted.holes:
        rim = across + 2 * wanted.chamfer
        if wanted.chamfer:
            _disc(texture, x, y, rim, 205.0)
        _disc(texture, x, y, across, 95.0)  # the lit wall
        shift = wanted.depth * view.slope_at(x, y)
        _disc(texture, x, y, across, 24.0, (x + shift[0], y + shift[1], across))
    for number in range(wanted.sheets):
        _sheet(texture, wanted, (number * 0.0, 0.0 + number * 260.0))
    if wanted.cover:
        _rag(texture, wanted, chance)
    return texture


def _disc(texture: NDArray[np.float32], x: float, y: float, across: float, grey: float,
          within: tuple[float, float, float] | None = None) -> None:  # fmt: skip
    """A filled circle with exact coverage at its edge; `within`: only where this second one covers too."""
    box = _box(x, y, across / 2 + 1)
    rows, columns = box
    at_x, at_y = _at(rows, columns)
    alpha = np.clip((across / 2 - np.hypot(at_x - x, at_y - y)) * PX + 0.5, 0, 1)
    if within is not None:
        alpha = np.minimum(
            alpha, np.clip((within[2] / 2 - np.hypot(at_x - within[0], at_y - within[1])) * PX + 0.5, 0, 1)
        )
    texture[rows, columns] = texture[rows, columns] * (1 - alpha) + grey * alpha


def _box(x: float, y: float, reach: float) -> tuple[slice, slice]:
    left, right = int((x - reach + HALF) * PX), int((x + reach + HALF) * PX) + 2
    top, low = int((HALF - y - reach) * PX), int((HALF - y + reach) * PX) + 2
    most = int(2 * HALF * PX)
    return slice(max(0, top), min(most, low)), slice(max(0, left), min(most, right))


def _at(rows: slice, columns: slice) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return np.meshgrid(
        (np.arange(columns.start, columns.stop) + 0.5) / PX - HALF, HALF - (np.arange(rows.start, rows.stop) + 0.5) / PX
    )


def _polygon(texture: NDArray[np.float32], corners: NDArray[np.float64], grey: float) -> None:
    points = np.column_stack([(corners[:, 0] + HALF) * PX - 0.5, (HALF - corners[:, 1]) * PX - 0.5])
    cv2.fillPoly(
        texture, [np.round(points * 16).astype(np.int32)], grey, cv2.LINE_AA if texture.dtype == np.uint8 else 8, 4
    )


def _head(
    texture: NDArray[np.float32], x: float, y: float, across: float, what: str, chance: np.random.Generator
) -> None:
    turn = chance.uniform(0, 2 * np.pi)
    angles = np.arange(6) * np.pi / 3 + turn
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    if what == "hexagon":
        _polygon(texture, np.array([x, y]) + ring * across / 2, chance.uniform(35, 90))
    elif what == "bolt":  # bright head on a bright washer with a dark gap between
        _disc(texture, x, y, across * 1.7, 190.0)
        _disc(texture, x, y, across * 1.25, 70.0)
        _polygon(texture, np.array([x, y]) + ring * across / 2 * 1.15, 200.0)
    elif what == "cap":  # a black cap screw with its hexagon socket
        _disc(texture, x, y, across, 60.0)
        _polygon(texture, np.array([x, y]) + ring * across * 0.28, 20.0)
        _disc(texture, x - across * 0.3, y + across * 0.25, across * 0.15, 130.0)
    elif what == "ellipse":
        long = chance.uniform(1.12, 1.6)
        angle = np.linspace(0, 2 * np.pi, 120)
        flat = np.column_stack([np.cos(angle) * across / 2 * long, np.sin(angle) * across / 2])
        spun = flat @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        _polygon(texture, np.array([x, y]) + spun, chance.uniform(20, 60))
    elif what == "coin":
        _disc(texture, x, y, across, 225.0)
    elif what == "slot":
        way = np.array([np.cos(turn), np.sin(turn)])
        for step in np.linspace(-0.35, 0.35, 24):
            _disc(texture, x + way[0] * across * step, y + way[1] * across * step, across * 0.8, 25.0)
    elif what == "stain":
        angle = np.linspace(0, 2 * np.pi, 60)
        reach = across / 2 * (1 + 0.25 * np.sin(2 * angle + turn) + 0.15 * np.sin(3 * angle + 2 * turn))
        _polygon(
            texture, np.column_stack([x + reach * np.cos(angle), y + reach * np.sin(angle)]), chance.uniform(40, 90)
        )
    else:
        raise ValueError(what)


def _scratch(texture: NDArray[np.float32], chance: np.random.Generator) -> None:
    start = chance.uniform(-200, 200, 2)
    points = start + np.cumsum(chance.normal(0, 12, (8, 2)), axis=0)
    places = np.column_stack([(points[:, 0] + HALF) * PX, (HALF - points[:, 1]) * PX]).astype(np.int32)
    cv2.polylines(texture, [places], False, float(chance.uniform(60, 230)), int(chance.integers(2, 14)))


def _sheet(texture: NDArray[np.float32], wanted: Drawn, at: tuple[float, float]) -> None:
    fine = 2
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    board = cv2.aruco.CharucoBoard((COLUMNS, ROWS), SQUARE, MARKER, words)
    wide, high = COLUMNS * SQUARE * wanted.across, ROWS * SQUARE * wanted.along
    plain = board.generateImage((int(COLUMNS * SQUARE * PX * fine), int(ROWS * SQUARE * PX * fine)), marginSize=0)
    rows, columns = _box(at[0], at[1], max(wide, high) / 2 + 20)
    at_x, at_y = _at(rows, columns)
    u = (at_x - at[0]) / wide + 0.5
    v = 0.5 - (at_y - at[1]) / high
    paper = (np.abs(at_x - at[0]) < wide / 2 + 12) & (np.abs(at_y - at[1]) < high / 2 + 30)
    on = (u >= 0) & (u < 1) & (v >= 0) & (v < 1)
    drawn = cv2.remap(
        cv2.GaussianBlur(plain, (0, 0), fine * 0.45), (u * plain.shape[1] - 0.5).astype(np.float32),
        (v * plain.shape[0] - 0.5).astype(np.float32), cv2.INTER_LINEAR,
    )  # fmt: skip
    patch = texture[rows, columns]
    patch[paper] = 232.0
    patch[on] = (drawn[on] / 255.0) * 205 + 27
    texture[rows, columns] = patch


def _bent_sheet(wanted: Drawn, view: _Camera, flat: NDArray[np.float32]) -> NDArray[np.float32]:
    """The sheet as a cylinder standing off the face in its middle: drawn by walking its height to a fixed point."""
    fresh = Drawn(**{**wanted.__dict__, "holes": [], "heads": [], "clutter": 0, "bend_mm": 0.0})
    texture = _texture(fresh, np.random.default_rng(1), view)
    low, high = view.plane(0.0), view.plane(wanted.bend_mm)
    x, y = low
    for _ in range(4):
        lift = np.clip(1 - (x / 90.0) ** 2, 0, 1)
        x = low[0] + (high[0] - low[0]) * lift
        y = low[1] + (high[1] - low[1]) * lift
    seen = cv2.remap(
        texture,
        ((x + HALF) * PX - 0.5).astype(np.float32),
        ((HALF - y) * PX - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
    )
    on = (np.abs(x) < 102) & (np.abs(y) < 140)
    return np.where(on, seen, flat).astype(np.float32)


def _rag(texture: NDArray[np.float32], wanted: Drawn, chance: np.random.Generator) -> None:
    """Something dark over one side of the sheet."""
    wide, high = COLUMNS * SQUARE, ROWS * SQUARE
    side = chance.integers(4)
    part = wanted.cover
    left, right, low, top = -wide / 2 - 20, wide / 2 + 20, -high / 2 - 40, high / 2 + 40
    if side == 0:
        right = -wide / 2 + wide * part
    elif side == 1:
        left = wide / 2 - wide * part
    elif side == 2:
        top = -high / 2 + high * part
    else:
        low = high / 2 - high * part
    edge = np.array([[left, low], [right, low], [right, top], [left, top]]) + chance.normal(0, 4, (4, 2))
    _polygon(texture, edge, 110.0)


def random_photo(seed: int, size: tuple[int, int] = (4000, 3000)) -> Drawn:
    """A photo by chance: a face of 400 mm with its holes, the sheet somewhere on it, a camera as phones have them."""
    chance = np.random.default_rng(seed + 1000)
    sheet_at = (float(chance.uniform(-60, 60)), float(chance.uniform(-45, 45)))
    free: list[tuple[float, float, float]] = []  # taken up already: x, y, radius
    holes, heads = [], []

    def room(x: float, y: float, radius: float) -> bool:
        face_x, face_y = x - sheet_at[0], y - sheet_at[1]
        if max(abs(face_x), abs(face_y)) > 200 - radius - 3:
            return False
        if abs(x) < 104 + radius and abs(y) < 142 + radius:
            return False
        return all(np.hypot(x - a, y - b) > radius + r + 4 for a, b, r in free)

    def put(across: float) -> tuple[float, float] | None:
        for _ in range(400):
            x, y = chance.uniform(-200, 200, 2) + np.array(sheet_at)
            if room(x, y, across * 0.9):
                free.append((float(x), float(y), across * 0.9))
                return float(x), float(y)
        return None

    for across in (float(chance.uniform(25, 50)), *chance.choice([6.6, 8.5, 10.2, 10.5, 11.0, 12.0, 13.5, 17.0], 9)):
        if (place := put(float(across))) is not None:
            holes.append((*place, float(across)))
    for what in chance.choice(["hexagon", "bolt", "cap", "ellipse", "coin", "slot", "stain"], 5):
        across = float(chance.uniform(9, 18))
        if (place := put(across)) is not None:
            heads.append((*place, across, str(what)))
    brown = (chance.uniform(-0.1, 0.1), chance.uniform(-0.03, 0.03), chance.normal(0, 3e-4), chance.normal(0, 3e-4))
    return Drawn(
        seed=seed, size=size, tilt_deg=float(chance.uniform(0, 17)), roll_deg=float(chance.uniform(-25, 25)),
        blur_px=float(chance.uniform(0.6, 2.2)) * size[0] / 4000, noise=float(chance.uniform(2, 8)),
        shadow=float(chance.choice([0, 0.3, 0.5])), sheet_at=sheet_at, across=float(chance.uniform(0.985, 1.01)),
        along=float(chance.uniform(0.985, 1.01)), distortion=tuple(float(one) for one in brown),  # type: ignore[arg-type]
        middle_off=(float(chance.normal(0, 0.005)), float(chance.normal(0, 0.005))),
        focal=float(chance.uniform(0.65, 1.2)), holes=holes, heads=heads,
        chamfer=float(chance.choice([0, 0, 0, 0.6])), clutter=int(chance.integers(0, 14)),
        cover=float(chance.choice([0, 0, 0.25, 0.4])), depth=float(chance.choice([0, 6, 15])),
    )  # fmt: skip


BELL = [(150.0, 12.0, 60.0), (128.0, 96.0, 11.0), (168.0, -74.0, 11.0), (52.0, -137.5, 11.0), (-70.0, 146.0, 11.0),
        (84.0, 146.0, 12.0)]  # fmt: skip


def bell(**changed: object) -> Drawn:
    """A small photo of a face with a bore, four bolt holes and a dowel's, the sheet beside the bore."""
    said: dict[str, object] = {
        "size": (2000, 1500), "reach_mm": 172.0, "sheet_at": (30.0, 5.0), "blur_px": 0.6, "noise": 3.0, "depth": 0.0,
        "holes": list(BELL), "fill": 0.96, "tilt_deg": 6.0, "distortion": (0.04, -0.01, 0.0, 0.0),
    }  # fmt: skip
    return Drawn(**said | changed)  # type: ignore[arg-type]
