"""The assembly cut along its axis, on papers that stay with the job: the drawing, and its pieces as a table."""

from __future__ import annotations

from graph.answer.model.route import AnsweredRoute
from graph.papers.model import Picture, Points, Section, Table, Text
from graph.section.sheet import section_svg

CUT = "The assembly, cut along its axis"
TOLD = "To scale down the sheet, from the block's rear face; across it nothing is to scale. Hatched: no length stated."


def cut_section(route: AnsweredRoute) -> Section | None:
    """Before and after; one sentence where no length is known. None for a plan that was kept before it had one."""
    section = route.section
    if section is None:
        return None
    cuts = section.cuts()
    if not cuts:
        return Section(CUT, (Text(section.says),))
    remarks = tuple(Text(f"{one.title}: {remark}") for one in cuts for remark in one.remarks)
    rows = tuple(
        (piece.name, f"{piece.label}{' (fitted)' if piece.fitted else ''}", piece.words)
        for piece in section.after.pieces
    )
    table = Table(("Piece", "Part", "Length or place"), rows, (34, 70, 78))
    changes = section.changes if len(cuts) > 1 else ()
    differs = (Text("What changes along the axis:"), Points(changes)) if changes else ()
    return Section(CUT, (Picture(section_svg(cuts, section.after.title), TOLD), *remarks, *differs, table))
