"""Photos before they are kept: decoded, turned upright and written anew, without what the camera says besides.

A photo off a phone says where it was taken (EXIF GPS, CIPA DC-008), when and with whose device. Of a picture only its
points and their colour profile are kept, so none of it is ever stored. What cannot be decoded, or has more points than
a bench needs, is refused before memory is taken for it. Papers (PDF) are kept as they are.
"""

from __future__ import annotations

import threading
from io import BytesIO
from typing import Any

from PIL import ImageFile, ImageOps
from PIL.JpegImagePlugin import JpegImageFile

from graph.errors import InvalidInput, Problem
from graph.guarded.pictures import OPENS, open_picture, telling_of_pictures
from graph.ledger.attachments import Attachment, check, keep
from graph.ledger.book import Ledger

THUMBNAIL_POINTS = 320
QUALITY = 90
_FORMATS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
_COLOURS = {
    "image/jpeg": ("icc_profile",),
    "image/png": ("icc_profile", "transparency"),
    "image/webp": ("icc_profile",),
}
_ORIENTATION = 0x0112  # EXIF, CIPA DC-008
_one_at_a_time = threading.Lock()  # a decoded photo is a hundred times the file


def keep_photo(ledger: Ledger, content: bytes, stated_type: str, name: str) -> Attachment:
    """Keeps a picture without its metadata, or a paper as it is; a second time changes nothing.

    Raises InvalidInput for a wrong type, size or name, and for what is no picture.
    """
    media_type = check(content, stated_type, name)
    return keep(ledger, cleaned(content, media_type), "", name)


def cleaned(content: bytes, media_type: str) -> bytes:
    """The picture upright and without metadata, in the same format; anything else as it is. Raises InvalidInput."""
    if media_type not in OPENS:
        return content
    with _one_at_a_time, telling_of_pictures():
        picture = open_picture(content, media_type)
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
    if media_type not in OPENS:
        raise InvalidInput([Problem("body", "a paper has no small picture")])
    with _one_at_a_time, telling_of_pictures():
        small = open_picture(content, media_type)
        small.draft("RGB", (2 * THUMBNAIL_POINTS, 2 * THUMBNAIL_POINTS))  # a JPEG is decoded at a fraction of its size
        small.thumbnail((THUMBNAIL_POINTS, THUMBNAIL_POINTS))
        made = BytesIO()
        small.convert("RGB").save(made, "JPEG", quality=80)
        return made.getvalue()
