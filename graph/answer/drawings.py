"""What was designed, as the file that somebody asks for: `dxf`, `pdf` (at 1:1, with its words) or `svg`.

Texts are SVG, bytes the others. The libraries behind them take a while to load; only drawings need them.
"""

from __future__ import annotations

from graph.answer.made_asking import MadeFound
from graph.answer.plate_asking import PlateFound
from graph.answer.redrill_asking import RedrillFound
from graph.errors import InvalidInput, Problem


def made_drawing(found: MadeFound, form: str, paper: str) -> bytes | str:
    """Of a made part. Raises InvalidInput where there is none, or a size of it is not known."""
    from graph.made.dxf import made_dxf
    from graph.made.picture import made_svg
    from graph.made.sheet import made_pdf

    part = found.design
    if form == "pdf":
        return made_pdf(part, found.price, paper)
    return made_dxf(part) if form == "dxf" else made_svg(part)


def redrill_drawing(found: RedrillFound, form: str, paper: str) -> bytes | str:
    """Of new holes. Raises InvalidInput where they cannot be drawn, with the reasons or what is missing."""
    from graph.plates.redrill_drawn import redrill_dxf, redrill_pdf, redrill_svg

    design = found.design
    if form == "pdf":
        return redrill_pdf(design, found.price, paper)
    return redrill_dxf(design) if form == "dxf" else redrill_svg(design)


def plate_drawing(found: PlateFound, form: str, paper: str, piece: int = 1) -> bytes | str:
    """Of one piece of a plate, counted from 1; as PDF of all. Raises InvalidInput for no plate or no such piece."""
    from graph.plates.dxf import piece_dxf
    from graph.plates.picture import piece_svg
    from graph.plates.sheets import plate_pdf

    design = found.design
    if form == "pdf":
        return plate_pdf(design, found.title, paper)
    if piece > len(design.pieces):
        raise InvalidInput([Problem("piece", f"this plate has {len(design.pieces)} piece, found {piece}")])
    chosen = design.pieces[piece - 1]
    return piece_dxf(design, chosen) if form == "dxf" else piece_svg(chosen)
