"""Workbooks filled in by hand: rows by header, and an empty workshop to take them in."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from graph.cli.question import facts_of
from graph.cli.workshop import NewWorkshop, start_workshop
from graph.counter.opened import OpenedShop, opened_shop
from graph.ledger.record import Draft
from graph.workbook.batches import Sent
from graph.workbook.costs import SHEETS
from graph.workbook.plan import HOLES, ID, WHAT, sheets
from graph.workbook.plan import WORDS as PLAN_WORDS

WORDS = Draft(author="fitter, bench 2", evidence="measured-on-these-parts", recorded_by="test")
Rows = Mapping[str, Sequence[Mapping[str, Any]]]
# A gearbox and an engine with a joint between them, as a fitter would write them down: no ids.
SMALL: Rows = {
    "Units": [
        {"name": "Linnet 4", "kind": "gearbox", "made for": "clutch and propshaft"},
        {"name": "Wren 13", "kind": "engine"},
    ],
    "Parts": [
        {"name": "Linnet bell housing", "kind": "bell housing", "condition of the part": "used, untested"},
        {"name": "Linnet case", "kind": "gearbox case"},
        {"name": "Wren block", "kind": "engine block"},
        {"name": "Wren plate, 12 mm", "kind": "adapter plate", "part number": "W-12", "cash": "180,50", "days": 4,
         "task": "Gearbox out and in", "condition": "torque_nm <= 240: up to 240 Nm",
         "to confirm": r"a bar \| in a text|dowels"},
    ],
    "What is in what": [
        {"what": "contains", "unit": "Linnet 4", "position": "bell housing", "part": "Linnet bell housing"},
        {"what": "contains", "unit": "Linnet 4", "position": "gearbox case", "part": "Linnet case"},
        {"what": "contains", "unit": "Wren 13", "position": "block", "part": "Wren block"},
    ],
    "Joints known": [
        {"what": "does not fit", "part": "Wren block", "joint": "engine face", "meets": "Linnet bell housing",
         "reason": "other circle", "miss (mm)": 2.5},
        {"what": "fits", "part": "Wren block", "joint": "engine face", "meets": "W-12"},
        {"what": "requires machining", "part": "W-12", "joint": "engine face", "meets": "Linnet bell housing",
         "operations": "bore the register|drill six holes", "cash": 40, "known by": "calculated"},
    ],
    "Readings": [
        {"measured on": "Linnet bell housing", "quantity measured": "register bore", "reading": "125.02 mm",
         "tool": "bore gauge"},
    ],
    "Bolt faces": [
        {"id": "face-wren", "measured on": "Wren block", "joint": "engine face", "datum": "crank axis",
         "seen from": "rear", "uncertainty": "0.1 mm"},
    ],
    "Holes": [
        {"bolt face": "face-wren", "hole name": "a1", "x": "0.0 mm", "y": "168.0 mm", "diameter of the hole": "10 mm",
         "use": "thread", "thread": "M10x1.5"},
    ],
}  # fmt: skip


def filled(rows: Rows) -> Workbook:
    """A workbook with the headers of the template and these rows; a header that it has not is added."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, said in rows.items():
        sheet = book.create_sheet(title)
        plan = next(one for one in (*sheets(), *SHEETS.values()) if one.title == title)
        headers = [*([WHAT] if plan.tells else []), *(c.header for c in plan.columns)]
        headers += [] if title == HOLES or not plan.classes else [*PLAN_WORDS.values(), ID]
        headers += [header for row in said for header in row if header not in headers]
        sheet.append(headers)
        for row in said:
            sheet.append([row.get(header) for header in headers])
    return book


def saved(book: Workbook) -> bytes:
    """The file."""
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def sent(data: bytes, author: str = WORDS.author) -> Sent:
    """A workbook as it was sent."""
    return Sent(data, "shop.xlsx", replace(WORDS, author=author))


@contextmanager
def empty_workshop(folder: Path, currency: str = "EUR") -> Iterator[OpenedShop]:
    """An own workshop that was just started."""
    folder.mkdir(parents=True, exist_ok=True)
    home = start_workshop(folder, NewWorkshop("Ours", currency, "60.00"))
    with opened_shop(home, facts_of(home)) as opened:
        yield opened
