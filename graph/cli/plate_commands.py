"""The commands of plates: `plate` (design one, write its drawings) and `pattern` (which known pattern is a face).

`add_to` puts them on the command line; the work is imported when a command runs.
"""

from __future__ import annotations

import json
from argparse import Namespace
from pathlib import Path
from typing import Any

from graph.cli import options
from graph.cli.out_files import DRAWINGS, PAPERS, asked_file, form_of, write_file
from graph.cli.printed import print_lines

MODULE = "plate_commands"
OPTIONS = {
    "thickness": '15 mm, "14 mm to 15.5 mm", "at least 14 mm", "at most 20 mm"',
    "lean": "degrees by which the gearbox may be turned either way (0)",
    "opening": "the opening about the shaft; as wide as the holes leave it if left out",
    "register": "diameter of a spigot of the gearbox that centres in the plate",
    "spigot": "diameter of a register of the engine in which the plate centres",
    "engine-thread": "the screw (M10, 3/8-16 UNC) of the engine's holes that name none",
    "gearbox-thread": "the screw (M10, 3/8-16 UNC) of the gearbox's holes that name none",
    "force": "load at mid-span for a first look at bending: 3000 N",
    "gearbox": "the unit whose length chains bound the thickness",
    "engine": "the other unit",
}


def add_to(commands: Any) -> None:
    """Adds the commands to the subparsers of the command line."""
    plate = options.add_command(
        commands, MODULE, "plate", "design an adapter plate between two measured faces, and draw it"
    )
    plate.add_argument("a", metavar="ENGINE_FACE", help="the part whose face is the engine's, or sae:3")
    plate.add_argument("b", metavar="GEARBOX_FACE", help="the part whose face is the gearbox's, or sae:4")
    plate.add_argument("--joint", default="engine-face", metavar="KIND", help="joint kind of the faces (engine-face)")
    for name, words in OPTIONS.items():
        plate.add_argument(f"--{name}", default="", metavar="TEXT", help=words)
    plate.add_argument("--material", default="steel", choices=("steel", "light alloy"), help="steel if left out")
    plate.add_argument("--frame", action="store_true", help="the plate is part of the machine's frame (tractor)")
    plate.add_argument("--pieces", type=int, default=2, choices=(1, 2), help="how many pieces it may have at most (2)")
    plate.add_argument(
        "--out", action="append", default=[], metavar="FILE",
        help="write a drawing: .dxf, .pdf (1:1) or .svg; may be said again; two pieces get -1 and -2 in the name",
    )  # fmt: skip
    plate.add_argument("--paper", default="A4", choices=PAPERS, help="of a PDF (A4)")
    options.add_facts(plate)

    pattern = options.add_command(commands, MODULE, "pattern", "which known hole pattern is this face, best first")
    pattern.add_argument("part", metavar="PART", help="the part whose face is measured")
    pattern.add_argument("--joint", default="engine-face", metavar="KIND", help="joint kind of the face (engine-face)")
    options.add_facts(pattern)


def run(arguments: Namespace) -> int:
    """Runs one of the commands; exit status 0 for a design and for a refusal with its reasons."""
    (_plate if arguments.act == "plate" else _pattern)(arguments)
    return 0


def _plate(arguments: Namespace) -> None:
    from graph.answer.plate_asking import PlateAsked, ask_plate, plate_found_as_json
    from graph.cli.shop import shop_of
    from graph.plates.model import PlateRefused

    texts = {name.replace("-", "_"): getattr(arguments, name.replace("-", "_")) for name in OPTIONS}
    asked = PlateAsked(
        a=arguments.a, b=arguments.b, joint=arguments.joint, material=arguments.material, frame=arguments.frame,
        pieces=arguments.pieces, **texts,
    )  # fmt: skip
    files = [asked_file(name, DRAWINGS) for name in arguments.out]
    with shop_of(arguments) as shop:
        answer = ask_plate(shop.standing().index, asked)
    for file in files:
        _write(file, answer, arguments.paper)
    if arguments.json:
        print(json.dumps(plate_found_as_json(answer), ensure_ascii=False))
    elif isinstance(answer.found, PlateRefused):
        print("no plate can be made as asked")
        print_lines("", [reason.text() for reason in answer.found.reasons])
    else:
        _tell(answer)


def _tell(answer: Any) -> None:
    from graph.plates.hole_table import table_rows

    design = answer.design
    print(f"{answer.title}: {', '.join(f'{piece.name} {piece.thickness_um / 1000:g} mm' for piece in design.pieces)}")
    print_lines("", (*design.solved, *design.turns, *design.order))
    for piece in design.pieces:
        print(f"{piece.name}:")
        print_lines("", ["  ".join(row) for row in table_rows(piece)])
    print_lines("", [f"{one.name}: {one.value} ({one.source})" for one in design.figures])
    print_lines("price: ", answer.price)
    print_lines("moves: ", answer.moves)
    print_lines("measure: ", design.measure)
    if design.bending is not None:
        print_lines("bending: ", [f"{design.bending.verdict}: {design.bending.summary}"])
        print_lines("", [line.text() for line in design.bending.working.lines])
    print_lines("CAUTION: ", design.cautions)


def _write(file: Path, answer: Any, paper: str) -> None:
    """Writes a drawing by the file's ending, each piece to a file of its own. Raises InvalidInput for no plate."""
    from graph.answer.drawings import plate_drawing

    form, pieces = form_of(file), len(answer.design.pieces)
    count = 1 if form == "pdf" else pieces
    for number in range(1, count + 1):
        name = file if count == 1 else file.with_stem(f"{file.stem}-{number}")
        write_file(name, plate_drawing(answer, form, paper, number))


def _pattern(arguments: Namespace) -> None:
    from graph.answer.plate_asking import likeness_as_json, rank_known
    from graph.answer.show import face_of
    from graph.cli.shop import shop_of

    with shop_of(arguments) as shop:
        face = face_of(shop.index, arguments.part, arguments.joint)
        found = rank_known(shop.index, face, own=(arguments.part, arguments.joint))
    if arguments.json:
        print(json.dumps(likeness_as_json(found), ensure_ascii=False))
        return
    for one in found:
        sure = "the same, " if one.certain else ""
        mirrored = ", mirrored" if one.mirrored else ""
        print(f"{one.label}: {sure}{one.met} of {one.of} holes, the pattern has {one.known_holes}; worst miss "
              f"{one.worst_nm / 1e6:.2f} mm, turned {one.turned_deg:.2f} degrees{mirrored}")  # fmt: skip
