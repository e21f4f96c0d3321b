"""QR codes (ISO/IEC 18004) as a matrix of dark and light, and as SVG."""

from __future__ import annotations

import segno

from graph.errors import InvalidInput, Problem

QUIET = 4  # light modules around the code that ISO/IEC 18004 asks for


def matrix(address: str) -> tuple[tuple[bool, ...], ...]:
    """Rows of modules, True for dark, the quiet zone included. Raises InvalidInput for too long an address."""
    try:
        code = segno.make(address, error="m", micro=False)
    except segno.DataOverflowError:
        raise InvalidInput([Problem("address", f"{len(address):,} characters do not fit in a QR code")]) from None
    return tuple(tuple(bool(module) for module in row) for row in code.matrix_iter(border=QUIET))


def as_svg(address: str) -> str:
    """The code as an SVG document of one path, without script or style."""
    rows = matrix(address)
    size = len(rows)
    path = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" width="160" height="160" role="img" '
        f'aria-label="QR code"><rect width="{size}" height="{size}" fill="#fff"/><path d="{path}" fill="#000"/></svg>'
    )
