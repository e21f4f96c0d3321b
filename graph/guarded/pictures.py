"""Pictures of strangers: which formats are taken, how many points at most, and what of a broken one is said.

The type is judged by how the content begins, never by what the sender says; the size stands in the head of the file and
is looked at before memory is taken for the points.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from io import BytesIO

from PIL import ImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from graph.errors import InvalidInput, Problem

MOST_POINTS = 64_000_000  # some 200 MB once decoded; phones take 12 to 50 million
# How a file of the type begins. Sources: JPEG (ISO/IEC 10918-1, SOI marker), PNG (ISO/IEC 15948, 5.2),
# WebP (RFC 9649, 2.4), PDF (ISO 32000-1, 7.5.2).
_BEGINNINGS: Sequence[tuple[str, bytes, int, bytes]] = (
    ("image/jpeg", b"\xff\xd8\xff", 0, b""),
    ("image/png", b"\x89PNG\r\n\x1a\n", 0, b""),
    ("image/webp", b"RIFF", 8, b"WEBP"),
    ("application/pdf", b"%PDF-", 0, b""),
)
# Opened by their own readers: which one is asked follows from how the file begins, which was looked at before.
OPENS: Mapping[str, Callable[[BytesIO], ImageFile.ImageFile]] = {
    "image/jpeg": JpegImageFile, "image/png": PngImageFile, "image/webp": WebPImageFile,
}  # fmt: skip
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)


def find_media_type(content: bytes) -> str | None:
    """The media type that the content itself shows, of the few that are taken."""
    for media_type, begins, offset, holds in _BEGINNINGS:
        if content.startswith(begins) and content[offset : offset + len(holds)] == holds:
            return media_type
    return None


def open_picture(content: bytes, media_type: str, path: str = "body") -> ImageFile.ImageFile:
    """The picture, not decoded yet. Raises InvalidInput for one that has too many points."""
    picture = OPENS[media_type](BytesIO(content))
    wide, high = picture.size
    if wide * high > MOST_POINTS:
        told = f"{wide:,} by {high:,} points; at most {MOST_POINTS:,} in all are taken: photograph it smaller"
        raise InvalidInput([Problem(path, told)])
    return picture


@contextmanager
def telling_of_pictures(path: str = "body") -> Iterator[None]:
    """Says of whatever the readers of pictures stumble over that it is no picture."""
    try:
        yield
    except InvalidInput:
        raise
    except _BROKEN as fault:
        told = f"begins as a picture and cannot be read as one ({fault}): damaged, or cut off on the way"
        raise InvalidInput([Problem(path, told[:300])]) from None
