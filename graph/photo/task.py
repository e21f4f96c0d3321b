"""A photo off the wire to holes in millimetres, in a child process with bounds: what strangers send is decoded there.

At most 64 million points are taken; more than 16 million are read at a half or a quarter of their size, for more tells
nothing about holes.
"""

from __future__ import annotations

import atexit
import base64
from collections.abc import Iterator, Mapping
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem
from graph.guarded.bounds import Bounds
from graph.guarded.children import Children
from graph.guarded.pictures import OPENS, find_media_type, open_picture, telling_of_pictures
from graph.guarded.reader import read
from graph.photo.model import PhotoFound, Printed, found_as_json, found_of
from graph.photo.sheet import cv

PATH = "photo"
ENOUGH_POINTS = 16_000_000
MOST_BYTES = 25_000_000  # as photos on notes
LEAST_SIDE = 600
BOUNDS = Bounds(memory_bytes=900 << 20, cpu_s=12, wall_s=90, output_bytes=8 << 20, items=10)

# Children of their own, for OpenCV's threads reserve more memory than a table or a note may take. One is kept warm:
# starting it and its libraries anew is a third of a second of processor time.
_READERS = Children(at_once=2, wait_s=20.0, most_idle=1)
atexit.register(_READERS.close)


def read_photo(content: bytes, printed: Printed, name: str = "the photo") -> PhotoFound:
    """The photo, read by a child. Raises InvalidInput, LimitExceeded, Busy, each with what to do."""
    cv()  # where it is not installed, that is said before a child is asked
    given = {"across_mm": printed.across_mm, "along_mm": printed.along_mm, "line_u_mm": printed.line_u_mm,
             "under_mm": printed.under_mm}  # fmt: skip
    if not 0 < len(content) <= MOST_BYTES:
        told = f"{len(content):,} bytes; expected 1 to {MOST_BYTES:,}: send the photo as the camera made it, as JPEG"
        raise InvalidInput([Problem(PATH, told)])
    said = next(iter(read(photo_task, content, name, given, BOUNDS, among=_READERS)))
    return found_of(said["found"], base64.b64decode(said["view"]))


def photo_task(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[Any]:
    """What is found in the photo, as plain values and the straightened picture. Runs in the child."""
    from graph.photo.reading import read_grey

    printed = Printed(**{name: float(given[name]) for name in ("across_mm", "along_mm", "line_u_mm", "under_mm")})
    found = read_grey(decoded(file.read(MOST_BYTES + 1)), printed)
    yield {"found": found_as_json(found), "view": base64.b64encode(found.view).decode()}


def decoded(content: bytes) -> NDArray[np.uint8]:
    """The picture in grey, upright. Raises InvalidInput for what is no picture, too large, too small."""
    from PIL import Image, ImageOps

    media_type = find_media_type(content)
    if media_type is None or media_type not in OPENS:
        told = "expected a JPEG, PNG or WebP photo"
        raise InvalidInput([Problem(PATH, f"{told}; a PDF, a film or a raw file is none: save it as JPEG")])
    with telling_of_pictures(PATH):
        picture = open_picture(content, media_type, PATH)
        wide, high = picture.size
        if min(wide, high) < LEAST_SIDE:
            told = (
                f"{wide:,} by {high:,} points; at least {LEAST_SIDE} each way: send the photo itself, not a small copy"
            )
            raise InvalidInput([Problem(PATH, told)])
        if wide * high > ENOUGH_POINTS:
            picture.draft("L", (wide // 2, high // 2))  # a JPEG is decoded at a fraction of its size
        else:
            picture.draft("L", (wide, high))
        grey: Image.Image = picture.convert("L")
        grey = ImageOps.exif_transpose(grey) or grey
        if grey.size[0] * grey.size[1] > ENOUGH_POINTS:
            grey = grey.reduce(2 if grey.size[0] * grey.size[1] <= 4 * ENOUGH_POINTS else 4)
    return np.asarray(grey, dtype=np.uint8)
