"""The command `made-part`: design a bush, a sleeve or a spacer between two parts and write its drawings.

`add_to` puts it on the command line; the work is imported when it runs.
"""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from typing import Any

from graph.cli import options
from graph.cli.out_files import DRAWINGS, PAPERS, asked_file, form_of, write_file
from graph.cli.printed import print_lines

MODULE = "made_commands"


def add_to(commands: Any) -> None:
    """Adds the command to the subparsers of the command line."""
    words = "design a part to be made for a joint (bush, sleeve, spacer), price it by the shop's rates, draw it"
    made: ArgumentParser = commands.add_parser("made-part", help=words, description=words)
    made.set_defaults(module=MODULE, act="made-part")
    made.add_argument("kind", metavar="KIND", nargs="?", default="", help="left out: lists the kinds")
    made.add_argument("a", metavar="PART", nargs="?", default="", help="the part that holds its first place")
    made.add_argument("b", metavar="OTHER_PART", nargs="?", default="", help="the part that holds its second place")
    made.add_argument("--size", default="", metavar="LENGTH", help="along the axis, as the length chains count it")
    made.add_argument("--gearbox", default="", metavar="ID", help="the unit whose length chains choose that size")
    made.add_argument("--engine", default="", metavar="ID", help="the other unit")
    made.add_argument(
        "--reading", action="append", default=[], metavar="QUANTITY=TEXT",
        help='a reading that counts instead of the facts\': "crank-bore=28.000 mm +/- 0.005 mm"; may be said again',
    )  # fmt: skip
    made.add_argument(
        "--out", action="append", default=[], metavar="FILE", help="write a drawing: .dxf, .pdf (1:1) or .svg"
    )
    made.add_argument("--paper", default="A4", choices=PAPERS, help="of a PDF (A4)")
    made.add_argument("--json", action="store_true", help="print JSON")
    options.add_facts(made)


def run(arguments: Namespace) -> int:
    """Runs it; exit status 0 for a part and for a refusal with its reasons."""
    from graph.answer.made_asking import made_kinds_as_json

    if arguments.kind:
        _made(arguments)
    elif arguments.json:
        print(json.dumps(made_kinds_as_json(), ensure_ascii=False))
    else:
        for one in made_kinds_as_json()["kinds"]:
            takes = [quantity for take in one["takes"] for quantity in take["of"]]
            print(f"{one['kind']}: {one['label']} of {one['material']}; takes {', '.join(dict.fromkeys(takes))}")
    return 0


def _made(arguments: Namespace) -> None:
    from graph.answer.drawings import made_drawing
    from graph.answer.made_asking import MadeAsked, ask_made, made_found_as_json
    from graph.cli.shop import shop_of

    asked = MadeAsked(
        kind=arguments.kind, a=arguments.a, b=arguments.b, size=arguments.size, gearbox=arguments.gearbox,
        engine=arguments.engine, readings=options.pairs_of(arguments.reading, option="--reading"),
    )  # fmt: skip
    files = [asked_file(name, DRAWINGS) for name in arguments.out]
    with shop_of(arguments) as shop:
        answer = ask_made(shop.standing().index, asked)
    for file in files:
        write_file(file, made_drawing(answer, form_of(file), arguments.paper))
    if arguments.json:
        print(json.dumps(made_found_as_json(answer), ensure_ascii=False))
    else:
        _tell(answer)


def _tell(answer: Any) -> None:
    from graph.made.model import MadeRefused
    from graph.made.words import caution_lines, hole_rows, note_lines, size_rows

    part = answer.found
    if isinstance(part, MadeRefused):
        print("no such part can be made as asked")
        print_lines("", [reason.text() for reason in part.reasons])
        return
    print(part.title)
    print_lines("", [": ".join(filter(None, (row[0], row[1], row[2], row[3], row[4]))) for row in size_rows(part)])
    print_lines("hole ", ["  ".join(row) for row in hole_rows(part)])
    print_lines("", note_lines(part))
    print_lines("measure: ", part.measure)
    print_lines("price: ", answer.price)
    print_lines("check: ", part.kind.to_confirm)
    print_lines("other parts around want ", answer.others)
    print_lines("CAUTION: ", caution_lines(part))
