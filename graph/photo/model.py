"""What is read off a photo: the sheet as it was found, and round holes about its middle.

Places are millimetres in the sheet's frame: x to the right and y up as the sheet's arrow points, from its middle. An
uncertainty is how far the true place may lie from the stated one, any way, in 95 of 100 cases (JCGM 100: expanded).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

HIDDEN_WORDS, FAR_WORDS = "only a part of its edge", "too far from the sheet"  # how these two doubts begin


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """What the sheet's check lines measure on this print, in mm, how surely, and what lies between sheet and face.

    `across_mm`, `along_mm`: the two lines; `line_u_mm`: of either; `under_mm`: paper and what it is stuck to.
    """

    across_mm: float
    along_mm: float
    line_u_mm: float
    under_mm: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenHole:
    """A round hole. `u_mm`: of its centre; `random_mm`: the part of `u_mm` that another photo would draw anew;
    `doubts`: why it is not ticked beforehand, empty for one that nothing speaks against; `remarks`: what else to know.
    """

    number: int
    x_mm: float
    y_mm: float
    u_mm: float
    random_mm: float
    diameter_mm: float
    diameter_u_mm: float
    beside_sheet_mm: float
    doubts: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def sure(self) -> bool:
        """Does nothing speak against it?"""
        return not self.doubts


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFound:
    """A photo, read. `corners` of `corners_of`: of the sheet; `residual_mm`: how far they lie from the model's, root
    mean square; `blur_mm`: how wide an edge is smeared; `tilt_deg`: camera from square; `notes`: what to know.

    `view_mm`: left, bottom, right, top of the straightened picture (`view`, a JPEG) in the sheet's frame.
    """

    holes: tuple[SeenHole, ...]
    corners: int
    corners_of: int
    residual_mm: float
    blur_mm: float
    tilt_deg: float
    points_per_mm: float
    notes: tuple[str, ...]
    view_mm: tuple[float, float, float, float]
    view: bytes = b""


def found_as_json(found: PhotoFound) -> dict[str, Any]:
    """The photo as plain values, without its straightened picture."""
    said = asdict(found)
    said.pop("view")
    for hole, one in zip(said["holes"], found.holes, strict=True):
        hole["ticked"] = one.sure
    return said


def found_of(said: dict[str, Any], view: bytes) -> PhotoFound:
    """The same again."""
    holes = tuple(_hole_of(hole) for hole in said["holes"])
    rest = {name: value for name, value in said.items() if name not in ("holes", "notes", "view_mm")}
    left, low, right, top = said["view_mm"]
    return PhotoFound(holes=holes, notes=tuple(said["notes"]), view_mm=(left, low, right, top), view=view, **rest)


def _hole_of(said: dict[str, Any]) -> SeenHole:
    lists: dict[str, Any] = {name: tuple(said[name]) for name in ("doubts", "remarks")}
    return SeenHole(**{name: value for name, value in said.items() if name != "ticked"} | lists)
