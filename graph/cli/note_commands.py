"""The command that writes a note, and its arguments; `note.py` acts."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from graph.notes.relations import PRICE, READING, RELATIONS

WHAT = (*RELATIONS, READING, PRICE)


def add_to(commands: Any) -> None:
    """Adds the command to an argparse sub-parser object."""
    told = "write a note: what fits what, a reading, a price; with author and evidence, as the forms do"
    note: argparse.ArgumentParser = commands.add_parser("note", help=told, description=told)
    note.add_argument("what", choices=WHAT, metavar="WHAT",
                      help=f"one of {', '.join(WHAT)}")  # fmt: skip
    note.add_argument("about", nargs="+", metavar="PART",
                      help="PART OTHER_PART; reading: PART QUANTITY=VALUE ...; price: PART MONEY")  # fmt: skip
    note.add_argument("--author", default="", metavar="WHO", help="who says so: initials or a role")
    note.add_argument("--evidence", default="", metavar="LEVEL", help="how it is known: an evidence level's id")
    for name, words in (
        ("joint", "where they meet, if their kinds leave a doubt"), ("reason", "why it does not fit"),
        ("hours", "hours it took"), ("cash", "what it cost"), ("text", "in your words"), ("job", "the job's number"),
        ("method", "how it was found out"), ("made-at", "when, if not now"), ("place", "at which place"),
        ("assembly", "for which kind of job"), ("tool", "what it was measured with"),
        ("datum", "the face a position was measured from"), ("spread", "give or take, of a reading"),
        ("supplier", "who offers it"), ("dated", "day of the price"), ("lead-days", "days until it comes"),
    ):  # fmt: skip
        note.add_argument(f"--{name}", default="", metavar="TEXT", help=words)
    note.add_argument("--condition", default="new", metavar="WORD", help="of a part that has a price (new)")
    note.add_argument("--work", action="append", default=[], metavar="LINE", help="an operation; repeat for more")
    note.add_argument("--unit", default="mm", choices=("mm", "in", "thou"), help="of a length without one (mm)")
    note.add_argument("--shareable", action="store_true", help="it may leave the shop")
    note.add_argument("--again", action="store_true", help="write it though the same is stated already")
    note.add_argument("--data", type=Path, metavar="DIR", help="the workshop's data folder (else LAYSHAFT_DATA)")
    note.add_argument("--json", action="store_true", help="print JSON")
    note.set_defaults(module="note")
