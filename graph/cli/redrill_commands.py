"""The command `redrill`: new holes in a part for the pattern of another, and their drawings.

`add_to` puts it on the command line; the work is imported when it runs.
"""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from typing import Any

from graph.cli import options
from graph.cli.out_files import DRAWINGS, PAPERS, asked_file, form_of, write_file
from graph.cli.printed import print_lines

MODULE = "redrill_commands"
OPTIONS = {
    "turn": "degrees anticlockwise, seen from the gearbox; chosen where both parts turn",
    "rim": "diameter of the drilled part's rim",
    "opening": "diameter of its opening; what is read of it if left out",
    "thread": "the screw (M10, 3/8-16 UNC) of the other part's holes that name none",
}


def add_to(commands: Any) -> None:
    """Adds the command to the subparsers of the command line."""
    words = "new holes in a flywheel, flange or pad for the pattern of another part, among its old ones; draw them"
    parser: ArgumentParser = commands.add_parser("redrill", help=words, description=words)
    parser.set_defaults(module=MODULE, act="redrill")
    parser.add_argument("drilled", metavar="PART", help="the part that is drilled")
    parser.add_argument("kept", metavar="OTHER_PART", help="the part that it is to bolt to, or sae:3")
    parser.add_argument("--joint", default="flywheel-to-crank", metavar="KIND", help="joint kind of the faces")
    for name, about in OPTIONS.items():
        parser.add_argument(f"--{name}", default="", metavar="TEXT", help=about)
    parser.add_argument("--material", default="steel", choices=("steel", "light alloy"), help="steel if left out")
    parser.add_argument(
        "--out", action="append", default=[], metavar="FILE", help="write a drawing: .dxf, .pdf (1:1) or .svg"
    )
    parser.add_argument("--paper", default="A4", choices=PAPERS, help="of a PDF (A4)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    options.add_facts(parser)


def run(arguments: Namespace) -> int:
    """Runs it; exit status 0 for a drawing and for a refusal with its reasons."""
    from graph.answer.drawings import redrill_drawing
    from graph.answer.redrill_asking import RedrillAsked, ask_redrill, redrill_found_as_json
    from graph.cli.shop import shop_of

    asked = RedrillAsked(
        joint=arguments.joint, drilled=arguments.drilled, kept=arguments.kept, material=arguments.material,
        **{name: getattr(arguments, name) for name in OPTIONS},
    )  # fmt: skip
    files = [asked_file(name, DRAWINGS) for name in arguments.out]
    with shop_of(arguments) as shop:
        answer = ask_redrill(shop.standing().index, asked)
    for file in files:
        write_file(file, redrill_drawing(answer, form_of(file), arguments.paper))
    if arguments.json:
        print(json.dumps(redrill_found_as_json(answer), ensure_ascii=False))
    else:
        _tell(answer)
    return 0


def _tell(answer: Any) -> None:
    from graph.plates.redrill import RedrillRefused
    from graph.plates.redrill_words import CAUTIONS, new_rows, note_lines, old_rows

    found = answer.found
    if found is None:
        print("nothing can be drawn before this is measured")
        print_lines("measure: ", answer.lacks)
        print_lines("known: ", answer.known)
        return
    if isinstance(found, RedrillRefused):
        print("it cannot be drilled so")
        print_lines("", [reason.text() for reason in found.reasons])
        return
    print(found.title)
    print_lines("", note_lines(found))
    print_lines("new: ", ["  ".join(row) for row in new_rows(found)])
    print_lines("old: ", ["  ".join(row) for row in old_rows(found)])
    print_lines("price: ", answer.price)
    print_lines("measure: ", found.measure)
    print_lines("CAUTION: ", CAUTIONS)
