"""What a machine shop must be told of a part that the route has made: one sheet for each, with all that is known."""

from __future__ import annotations

from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import PartLine
from graph.derive.made_places import kind_of_made
from graph.fits.model import show_nm
from graph.made.model import MadeKind
from graph.papers.model import Facts, Points, Section, Text

GIVEN = "Never give a size without its fit or its plus and minus. The drawing at 1:1: on the page Made part."


def made_sketches(route: AnsweredRoute) -> list[Section]:
    """One for each part of the route that is made for a place of its own, such as a pilot bush."""
    made = ((part, kind_of_made(part.part)) for part in route.parts)
    return [_sketch(route, part, kind) for part, kind in made if kind is not None]


def _sketch(route: AnsweredRoute, part: PartLine, kind: MadeKind) -> Section:
    begins = f"make a {kind.label} of {kind.material}: "
    sizes = [line.removeprefix(begins) for line in route.to_confirm if line.startswith(begins)]
    rows = [
        ("Part", part.label), ("Material, hard or soft", f"{kind.material}; {kind.hardness}"),
        ("Datum", kind.datum), *(("Size", size) for line in sizes for size in line.split(", ")),
        ("Edges", f"all broken {show_nm(kind.edge_break_nm)}"), ("Surface", kind.surface),
        ("Run-out to the datum", ""), ("Quantity", "1"), ("Due date; price cap", ""),
        ("Mating part sent along; who answers questions", ""),
    ]  # fmt: skip
    return Section(
        f"Sketch for work sent out: {kind.label}",
        (Text(GIVEN), Facts(tuple(rows)), Text("When it is fitted:"), Points((*kind.to_confirm, *kind.cautions))),
    )
