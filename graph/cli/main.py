"""The commands, their arguments, and how an error leaves: one line per fault on standard error, exit status 2.

Every command is a module with `run(arguments) -> int`, imported when it is asked for.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

from graph.cli import options
from graph.cli.out_files import refusal
from graph.errors import InvalidInput, LayshaftError

EXIT_OK = 0
EXIT_INVALID = 2


def main(argv: Sequence[str]) -> int:
    """Runs one command and returns its exit status: 0 for an answer (also "no route"), 2 for invalid input."""
    arguments = parser(only_solve=list(argv[:1]) == ["solve"]).parse_args(argv)
    try:
        module = importlib.import_module(f"graph.cli.{getattr(arguments, 'module', arguments.command)}")
        status = module.run(arguments)
        sys.stdout.flush()
    except InvalidInput as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return EXIT_INVALID
    except (LayshaftError, OSError) as error:
        if isinstance(error, BrokenPipeError):
            # The reader (`| head`) has gone; nothing more may be written, not even at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return EXIT_OK
        print(refusal(error) if isinstance(error, OSError) else error, file=sys.stderr)
        return EXIT_INVALID
    return int(status)


def parser(*, only_solve: bool = False) -> argparse.ArgumentParser:
    """The whole command line. `only_solve`: without the other commands, whose modules would cost it time to load."""
    top = argparse.ArgumentParser(
        prog="python -m graph", description="What is the cheapest route from this gearbox to that engine?"
    )
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")

    solve = commands.add_parser("solve", help="solve a conversion document (JSON) and print the routes as JSON")
    solve.add_argument("file", metavar="FILE", help="the document; - is standard input")
    options.add_objective(solve)
    if not only_solve:
        _add_others(commands)
    return top


def _add_others(commands: Any) -> None:
    from graph.cli import (
        complaint_commands,
        costing_commands,
        face_commands,
        fits_commands,
        ledger_commands,
        made_commands,
        note_commands,
        plate_commands,
        redrill_commands,
        used_box_commands,
        workbook_commands,
    )

    _add_questions(commands)
    _add_look_ups(commands)
    costing_commands.add_commands(commands)
    ledger_commands.add_to(commands)
    note_commands.add_to(commands)
    face_commands.add_to(commands)
    workbook_commands.add_to(commands)
    fits_commands.add_to(commands)
    plate_commands.add_to(commands)
    made_commands.add_to(commands)
    redrill_commands.add_to(commands)
    complaint_commands.add_to(commands)
    used_box_commands.add_to(commands)


def _add_questions(commands: Any) -> None:
    ask = commands.add_parser("ask", help="the cheapest routes, as a readable answer")
    options.add_question(ask, in_words=True)
    ask.add_argument(
        "--words", default="", metavar="TEXT",
        help='the question in your own words, such as "tansy 5 behind a pipit, no plate, 180 Nm"; what was understood '
        "is printed first, and nothing is searched for while a unit is missing, something can be read in two ways, or "
        "a word is not understood",
    )  # fmt: skip
    ask.add_argument(
        "--as-understood", action="store_true", help="with --words: ask without the words that are not understood"
    )
    options.add_facts(ask)
    ask.add_argument("--why", action="store_true", help="say of each step what it needs open and done, and why")
    ask.add_argument("--json", action="store_true", help="print one JSON object instead of tables")

    section = commands.add_parser(
        "section", help="a route's finished assembly, cut along its axis, as an SVG or in words"
    )
    options.add_question(section)
    section.add_argument("--rank", type=int, default=1, metavar="N", help="which of the answer's routes (1)")
    section.add_argument("--which", default="", choices=["before", "after"], help="only that one; both if left out")
    section.add_argument("--in-words", action="store_true", help="print what the drawing shows as lines of text")
    section.add_argument("--out", default="", metavar="FILE", help="write to this file, not to standard output")
    options.add_facts(section)

    convert = commands.add_parser("convert", help="the conversion document of a question, as JSON")
    options.add_question(convert)
    options.add_facts(convert)


def _add_look_ups(commands: Any) -> None:
    check = commands.add_parser("check", help="validate facts")
    check.add_argument("files", metavar="FILE", nargs="+", help="Turtle files or folders of them")

    parts = commands.add_parser("parts", help="list parts, or show one with its edges")
    parts.add_argument("id", metavar="ID", nargs="?", help="the part to show")
    parts.add_argument("--kind", default="", help="only parts of this kind, narrower kinds included")
    parts.add_argument("--text", default="", help="only parts whose id, label or number holds this text")
    options.add_facts(parts)
    parts.add_argument("--json", action="store_true", help="print JSON instead of a table")
