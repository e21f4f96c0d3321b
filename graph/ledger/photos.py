"""Photos before they are kept: decoded, turned upright and written anew, without what the camera says besides.

A photo off a phone says where it was taken (EXIF GPS, CIPA DC-008), when and with whose device. Of a picture only its
points and their colour profile are kept, so none of it is ever stored. What cannot be decoded, or has more points than
a bench needs, is refused before memory is taken for it. Papers (PDF) are kept as they are.
"""

from __future__ import annotations

import struct
import threading
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import BytesIO
from typing import Any

from PIL import ImageFile, ImageOps
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from graph.errors import InvalidInput, Problem
from graph.ledger.attachments import Attachment, check, keep
from graph.ledger.book import Ledger

MOST_POINTS = 64_000_000  # some 200 MB once decoded; phones take 12 to 50 million
THUMBNAIL_POINTS = 320
QUALITY = 90
# Opened by their own readers: which one is asked follows from how the file begins, which was looked at before.
_OPENS: Mapping[str, Callable[[BytesIO], ImageFile.ImageFile]] = {
    "image/jpeg": JpegImageFile, "image/png": PngImageFile, "image/webp": WebPImageFile,
}  # fmt: skip
_FORMATS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
_COLOURS = {
    "image/jpeg": ("icc_profile",),
    "image/png": ("icc_profile", "transparency"),
    "image/webp": ("icc_profile",),
}
_ORIENTATION = 0x0112  # EXIF, CIPA DC-008
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
_one_at_a_time = threading.Lock()  # a decoded photo is a hundred times the file


def keep_photo(ledger: Ledger, content: bytes, stated_type: str, name: str) -> Attachment:
    """Keeps a picture without its metadata, or a paper as it is; a second time changes nothing.

    Raises InvalidInput for a wrong type, size or name, and for what is no picture.
    """
    media_type = check(content, stated_type, name)
    return keep(ledger, cleaned(content, media_type), "", name)


def cleaned(content: bytes, media_type: str) -> bytes:
    """The picture upright and without metadata, in the same format; anything else as it is. Raises InvalidInput."""
    if media_type not in _OPENS:
        return content
    with _one_at_a_time, _told():
        picture = _opened(content, media_type)
        picture.load()
        bare = (ImageOps.exif_transpose(picture) or picture).copy()
        bare.info = {}
        made = BytesIO()
        bare.save(made, _FORMATS[media_type], **_kept_besides(picture, media_type))
        return made.getvalue()


def _kept_besides(picture: ImageFile.ImageFile, media_type: str) -> dict[str, Any]:
    """What is kept of a picture besides its points: what its colours mean, and how finely a JPEG was coded."""
    kept: dict[str, Any] = {name: picture.info[name] for name in _COLOURS[media_type] if name in picture.info}
    if isinstance(picture, JpegImageFile) and picture.getexif().get(_ORIENTATION, 1) == 1:
        return kept | {"qtables": picture.quantization}
    return kept if media_type == "image/png" else kept | {"quality": QUALITY}


def thumbnail(content: bytes, media_type: str) -> bytes:
    """The picture as a small JPEG, at most THUMBNAIL_POINTS either way. Raises InvalidInput for what is no picture."""
    if media_type not in _OPENS:
        raise InvalidInput([Problem("body", "a paper has no small picture")])
    with _one_at_a_time, _told():
        small = _opened(content, media_type)
        small.draft("RGB", (2 * THUMBNAIL_POINTS, 2 * THUMBNAIL_POINTS))  # a JPEG is decoded at a fraction of its size
        small.thumbnail((THUMBNAIL_POINTS, THUMBNAIL_POINTS))
        made = BytesIO()
        small.convert("RGB").save(made, "JPEG", quality=80)
        return made.getvalue()


def _opened(content: bytes, media_type: str) -> ImageFile.ImageFile:
    """The picture, not decoded yet. Raises InvalidInput for one that has too many points."""
    picture = _OPENS[media_type](BytesIO(content))
    wide, high = picture.size
    if wide * high > MOST_POINTS:
        told = f"{wide:,} by {high:,} points; at most {MOST_POINTS:,} in all are taken: photograph it smaller"
        raise InvalidInput([Problem("body", told)])
    return picture


@contextmanager
def _told() -> Iterator[None]:
    """Says of whatever the readers of pictures stumble over that it is no picture."""
    try:
        yield
    except InvalidInput:
        raise
    except _BROKEN as fault:
        told = f"begins as a picture and cannot be read as one ({fault}): damaged, or cut off on the way"
        raise InvalidInput([Problem("body", told[:300])]) from None
