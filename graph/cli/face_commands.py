"""The command of faces: `face sheet`, `face photo`, `face by-hand`; with `--keep PART` the face becomes a note.

`add_to` puts it on the command line; the work is imported when it runs.
"""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from graph.errors import Problem
    from graph.notes.faces import FaceAsked, PhotosRead
    from graph.photo.hand import Solved

MODULE = "face_commands"


def add_to(commands: Any) -> None:
    """Adds the command to the subparsers of the command line."""
    told = "a hole pattern off photos or by hand: print the sheet, read photos, solve readings, keep the face"
    face: ArgumentParser = commands.add_parser("face", help=told, description=told)
    ways = face.add_subparsers(dest="way", required=True, metavar="WAY")
    sheet = ways.add_parser("sheet", help="write the sheet to lay on a face, as a PDF at 1:1")
    sheet.add_argument("--out", default="face-sheet.pdf", metavar="FILE", help="a PDF (face-sheet.pdf)")
    sheet.add_argument("--paper", default="A4", choices=("A4", "Letter"), help="A4")
    photo = ways.add_parser("photo", help="read photos of one face")
    photo.add_argument("files", nargs="+", type=Path, metavar="FILE", help="JPEG, PNG or WebP")
    photo.add_argument("--across", default="", metavar="LENGTH", help="the sheet's check line across, as printed")
    photo.add_argument("--along", default="", metavar="LENGTH", help="the check line along, as printed")
    photo.add_argument("--tool", default="calliper", choices=("calliper", "rule"), help="with what it was measured")
    photo.add_argument("--under", default="", metavar="LENGTH", help="between sheet and face (0.1 mm of paper)")
    photo.add_argument("--moved", action="store_true", help="the sheet was moved between the photos")
    hand = ways.add_parser("by-hand", help="solve a pattern from distances, angles and radii")
    hand.add_argument("--hole", action="append", default=[], metavar="NAME[;DIAMETER]", help="a hole; once for each")
    such = '"1; 2; 118.3 mm", "1; 2; outside; 129 mm", "1; axis; 168 mm", "1; angle; 90 deg"'
    hand.add_argument("--entry", action="append", default=[], metavar="ENTRY", help=such)
    hand.add_argument("--uncertainty", default="", metavar="LENGTH", help="of every length (0.05 mm)")
    hand.add_argument("--clockwise", default="", metavar="A,B,C", help="three holes in clockwise order, as seen")
    for way in (photo, hand):
        way.add_argument("--keep", default="", metavar="PART", help="keep the face as a note of this part")
        way.add_argument("--joint", default="engine-face", metavar="KIND", help="joint kind of the face (engine-face)")
        way.add_argument("--seen-from", default="", metavar="SIDE", help="rear (from the gearbox) or front")
        such = '"1=bore", "2=thread M10x1.5", "3=clearance"; once for each hole that belongs'
        way.add_argument("--take", action="append", default=[], metavar="HOLE=ROLE[ SIZE]", help=such)
        way.add_argument("--by-bolts", action="store_true", help="no bore: the axis is the bolt circle's centre")
        for name, words in (
            ("datum", "the axis: crank axis"), ("level", "two level holes: 2,5"), ("author", "who measured"),
            ("text", "in your words"), ("job", "the job's number"),
        ):  # fmt: skip
            way.add_argument(f"--{name}", default="", metavar="TEXT", help=words)
        way.add_argument("--data", type=Path, metavar="DIR", help="the workshop's data folder (else LAYSHAFT_DATA)")
        way.add_argument("--json", action="store_true", help="print JSON")
    face.set_defaults(module=MODULE)


def run(arguments: Namespace) -> int:
    """Runs it. Raises InvalidInput with what is wrong and what to do."""
    if arguments.way == "sheet":
        from graph.cli.out_files import asked_file, write_file
        from graph.photo.sheet_pdf import sheet_pdf

        file = asked_file(arguments.out, (".pdf",))
        write_file(file, sheet_pdf(arguments.paper))
        print(f"written: {file}; print at 100 %, measure both check lines")
    elif arguments.way == "photo":
        _photo(arguments)
    else:
        _by_hand(arguments)
    return 0


def _photo(arguments: Namespace) -> None:
    from graph.notes.faces import PhotosAsked, read_photos

    asked = PhotosAsked(
        photos=tuple((file.name, _content(file)) for file in arguments.files), across=arguments.across,
        along=arguments.along, tool=arguments.tool, under=arguments.under, moved=arguments.moved,
    )  # fmt: skip
    read = read_photos(asked)
    if arguments.keep:
        _keep(arguments, read, asked.photos)
    else:
        _tell_photos(arguments, read)


def _tell_photos(arguments: Namespace, read: PhotosRead) -> None:
    from graph.notes.faces import seen_as_json
    from graph.photo.chosen import place_words

    if arguments.json:
        print(json.dumps(seen_as_json(read), ensure_ascii=False))
        return
    for hole in read.combined.holes:
        doubt = f"; DOUBTFUL: {'; '.join(hole.doubts)}" if hole.doubts else ""
        also = f"; {'; '.join(hole.remarks)}" if hole.remarks else ""
        place = f"{place_words(hole.x_mm, hole.y_mm)} of the sheet's middle, within {hole.u_mm:.2f} mm"
        across = f"{hole.diameter_mm:.2f} mm across, within {hole.diameter_u_mm:.2f} mm"
        print(f"{hole.number}: {place}; {across}{also}{doubt}")
    for words in read.combined.notes:
        print(f"  {words}")


def _by_hand(arguments: Namespace) -> None:
    from graph.notes.faces import HandAsked, solve_by_hand

    asked = HandAsked(holes="\n".join(arguments.hole), entries="\n".join(arguments.entry),
                      uncertainty=arguments.uncertainty, clockwise=arguments.clockwise)  # fmt: skip
    solved = solve_by_hand(asked)
    if arguments.keep:
        _keep(arguments, solved)
    else:
        _tell_solved(arguments, solved)


def _tell_solved(arguments: Namespace, solved: Solved) -> None:
    from dataclasses import asdict

    from graph.photo.chosen import place_words
    from graph.photo.hand import words_of

    if arguments.json:
        holes = [asdict(hole) for hole in solved.holes]
        print(json.dumps({"holes": holes, "notes": list(solved.notes), "settled": solved.settled}, ensure_ascii=False))
        return
    for hole in solved.holes:
        print(f"{hole.name}: {place_words(hole.x_mm, hole.y_mm)}, within {hole.u_mm:.2f} mm")
    for one in solved.residuals:
        print(f"  {words_of(one.entry)}: answer {one.off:+.2f}{', A SLIP?' if one.odd else ''}")
    for words in solved.notes:
        print(f"  {words}")


def _face_asked(arguments: Namespace) -> FaceAsked:
    from graph.notes.faces import FaceAsked

    return FaceAsked(
        part=arguments.keep, joint=arguments.joint, seen_from=arguments.seen_from, choices=tuple(arguments.take),
        datum=arguments.datum, by_bolts=arguments.by_bolts, level=arguments.level, author=arguments.author,
        text=arguments.text, job=arguments.job,
    )  # fmt: skip


def _keep(arguments: Namespace, found: PhotosRead | Solved, photos: Sequence[tuple[str, bytes]] = ()) -> None:
    from graph.cli.shop import opened_for_writing
    from graph.errors import InvalidInput
    from graph.notes.faces import keep_photos, write_face
    from graph.notes.form import FormInDoubt, own_kinds

    with opened_for_writing(arguments) as opened:
        index, ledger = opened.shop.index, opened.notebook.ledger
        own = tuple(own_kinds(opened.notebook, index.catalogue))
        try:
            entry, _ = write_face(ledger, index, _face_asked(arguments), found, own=own,
                                  documents=lambda: keep_photos(ledger, photos))  # fmt: skip
        except FormInDoubt as error:
            named = ", ".join(f"{one.id} ({one.label})" for one in error.choices.get("part", ()))
            raise InvalidInput([_at_option(one, named) for one in error.problems]) from None
    made = {"note": entry.note_id, "text": entry.text}
    print(json.dumps(made, ensure_ascii=False) if arguments.json else f"written: {made['note']}: {made['text']}")


_OPTION = {"part": "--keep", "seen_from": "--seen-from", "joint": "--joint", "datum": "--datum", "author": "--author",
           "holes": "--take", "hole": "--take", "level": "--level", "axis": "--take"}  # fmt: skip


def _at_option(problem: Problem, named: str) -> Problem:
    from graph.errors import Problem

    option = _OPTION.get(problem.path, problem.path)
    return Problem(option, f"{problem.message}: {named}" if problem.path == "part" and named else problem.message)


def _content(file: Path) -> bytes:
    from graph.cli.out_files import refusal
    from graph.errors import InvalidInput, Problem
    from graph.photo.task import MOST_BYTES

    try:
        with file.open("rb") as opened:
            return opened.read(MOST_BYTES + 1)
    except OSError as error:
        raise InvalidInput([Problem(str(file), f"cannot be read: {refusal(error)}")]) from None
