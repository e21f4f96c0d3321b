"""The printed sheet: a chessboard with coded markers in its white squares, the same on A4 and Letter.

180 mm by 220 mm of 20 mm squares: 80 inner corners, each known by the markers about it, so that a sheet half hidden
still tells where it lies. Two check lines say what the printer made of a millimetre, across and along.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem

if TYPE_CHECKING:
    from types import ModuleType

Floats = NDArray[np.float64]
COLUMNS, ROWS, SQUARE_MM, MARKER_MM = 9, 11, 20.0, 15.0
WIDE_MM, HIGH_MM = COLUMNS * SQUARE_MM, ROWS * SQUARE_MM
CORNERS = (COLUMNS - 1) * (ROWS - 1)
ACROSS_MM, ALONG_MM = 140.0, 140.0  # the check lines: a workshop's calliper opens to 150 mm (common practice)
PACKAGE = "opencv-python-headless"
MISSING = (
    f"reading faces from photos needs the package {PACKAGE}, which is not installed here: "
    f"install it (pip install {PACKAGE}, or layshaft[photo]) and start again; a face can be solved by hand without it"
)


def cv() -> ModuleType:
    """The library that works on pictures, on one thread. Raises InvalidInput with what to install."""
    try:
        import cv2
    except ImportError:
        raise InvalidInput([Problem("photo", MISSING)]) from None
    cv2.setNumThreads(1)
    return cv2


@cache
def board() -> Any:
    """The chessboard as the library knows it, in mm from its upper left corner, y down."""
    cv2 = cv()
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return cv2.aruco.CharucoBoard((COLUMNS, ROWS), SQUARE_MM, MARKER_MM, words)


def corner_places() -> Floats:
    """Where each inner corner lies as drawn: x, y in mm from the sheet's middle, y up, by the corner's number."""
    places = np.asarray(board().getChessboardCorners(), dtype=np.float64)[:, :2]
    return np.column_stack([places[:, 0] - WIDE_MM / 2, HIGH_MM / 2 - places[:, 1]])


def dark_squares() -> list[tuple[float, float, float]]:
    """Everything black on the board: left, top (mm from its upper left corner, y down) and size of each square."""
    cv2 = cv()
    found = [
        (column * SQUARE_MM, row * SQUARE_MM, SQUARE_MM)
        for row in range(ROWS) for column in range(COLUMNS) if (row + column) % 2 == 0
    ]  # fmt: skip
    bits = board().getDictionary().markerSize + 2  # one bit of black border each side
    bit_mm = MARKER_MM / bits
    for number, corners in zip(board().getIds().ravel(), board().getObjPoints(), strict=True):
        left, top = float(corners[0][0]), float(corners[0][1])
        drawn = cv2.aruco.generateImageMarker(board().getDictionary(), int(number), bits)
        found += [
            (left + column * bit_mm, top + row * bit_mm, bit_mm)
            for row in range(bits) for column in range(bits) if drawn[row, column] == 0
        ]  # fmt: skip
    return found
