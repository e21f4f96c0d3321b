"""Photos before they are kept: decoded, turned upright and written anew, without what the camera says besides.

A photo off a phone says where it was taken (EXIF GPS, CIPA DC-008), when and with whose device. Of a picture only its
points and their colour profile are kept, so none of it is ever stored. What cannot be decoded, or has more points than
a bench needs, is refused before memory is taken for it. Papers (PDF) are kept as they are.
"""

from __future__ import annotations

import struct
import threading
import zlib
from collections.abc import Callable, Mapping
from io import BytesIO

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
    with _one_at_a_time:
        picture = _decoded(content, media_type)
        upright = ImageOps.exif_transpose(picture)
        colours = picture.info.get("icc_profile")
        same = upright.size == picture.size and picture.getexif().get(0x0112, 1) == 1
        bare = upright.copy()
        bare.info = {}
        options: dict[str, object] = {"icc_profile": colours} if isinstance(colours, bytes) else {}
        if "transparency" in picture.info and media_type == "image/png":
            options["transparency"] = picture.info["transparency"]
        if media_type != "image/png":
            options["quality"] = QUALITY
        if media_type == "image/jpeg" and same and isinstance(picture, JpegImageFile):
            options |= {"qtables": picture.quantization}
        made = BytesIO()
        bare.save(made, _FORMATS[media_type], **options)
        return made.getvalue()


def thumbnail(content: bytes, media_type: str) -> bytes:
    """The picture as a small JPEG, at most THUMBNAIL_POINTS either way. Raises InvalidInput for what is no picture."""
    if media_type not in _OPENS:
        raise InvalidInput([Problem("body", "a paper has no small picture")])
    with _one_at_a_time:
        small = _decoded(content, media_type, rough=True)
        small.thumbnail((THUMBNAIL_POINTS, THUMBNAIL_POINTS))
        made = BytesIO()
        small.convert("RGB").save(made, "JPEG", quality=80)
        return made.getvalue()


def _decoded(content: bytes, media_type: str, *, rough: bool = False) -> ImageFile.ImageFile:
    """The picture in memory; its size is looked at before. `rough`: a JPEG may be decoded at a fraction of it."""
    try:
        picture = _OPENS[media_type](BytesIO(content))
        wide, high = picture.size
        if wide * high > MOST_POINTS:
            told = f"{wide:,} by {high:,} points; at most {MOST_POINTS:,} in all are taken: photograph it smaller"
            raise InvalidInput([Problem("body", told)])
        if rough:
            picture.draft("RGB", (2 * THUMBNAIL_POINTS, 2 * THUMBNAIL_POINTS))
        picture.load()
    except _BROKEN as fault:
        told = f"begins as a picture and cannot be read as one ({fault}): damaged, or cut off on the way"
        raise InvalidInput([Problem("body", told[:300])]) from None
    return picture
