"""`section GEARBOX ENGINE`: the finished assembly of a route, cut along its axis, as an SVG or in words."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from graph.answer.model.route import AnsweredRoute
from graph.answer.section_drawing import section_drawing
from graph.cli.out_files import asked_file, write_file
from graph.cli.question import question_of
from graph.cli.shop import shop_of
from graph.costing.asking import route_at
from graph.section.sheet import lines_of


def run(arguments: Namespace) -> int:
    """Prints or writes it. Raises NotFound for a rank that the answer has not, Conflict where nothing is known."""
    file = None
    if arguments.out:
        file = Path(arguments.out) if arguments.in_words else asked_file(arguments.out, (".svg",))
    with shop_of(arguments) as shop:
        route = route_at(shop.ask(question_of(arguments)), arguments.rank)
    drawn = section_drawing(route, arguments.which)
    said = _in_words(route, arguments.which) if arguments.in_words else drawn
    if file:
        write_file(file, f"{said}\n")
    else:
        print(said)
    return 0


def _in_words(route: AnsweredRoute, which: str) -> str:
    if route.section is None:
        return ""
    cuts = route.section.cuts(which)
    changes = route.section.changes if len(cuts) > 1 else ()
    told = ["What changes along the axis", *(f"  {line}" for line in changes)] if changes else []
    return "\n".join([*(line for one in cuts for line in lines_of(one)), *told])
