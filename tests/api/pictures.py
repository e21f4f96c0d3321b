"""Pictures made for tests: plain ones, and one as a phone takes it, with the place in it."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825  # tags of EXIF (CIPA DC-008)


def png(size: tuple[int, int], shade: int = 120) -> bytes:
    """A grey picture."""
    made = BytesIO()
    Image.new("L", size, shade).save(made, "PNG")
    return made.getvalue()


def photo(form: str = "JPEG", size: tuple[int, int] = (64, 48)) -> bytes:
    """A photo taken on its side: red above, blue below once it stands upright; place and device are said in it."""
    lying = Image.new("RGB", size, "blue")
    lying.paste("red", (0, 0, size[0] // 2, size[1]))
    exif = lying.getexif()
    exif[ORIENTATION], exif[MAKE] = 6, "a phone in Rushy Lane"  # 6: turn it a quarter clockwise to see it
    exif[GPS] = {1: "N", 2: (52.0, 12.0, 30.5), 3: "E", 4: (0.0, 7.0, 12.25)}
    made = BytesIO()
    lying.save(made, form, exif=exif, quality=95)
    return made.getvalue()


def points_of(content: bytes) -> bytes:
    """The points of a picture, decoded."""
    with Image.open(BytesIO(content)) as found:
        return found.tobytes()
