"""The whole trade, file by file: the shop, what everybody shares, then the cells."""

from __future__ import annotations

from pathlib import Path

from scripts.synthetic.engines import write_engine
from scripts.synthetic.gearboxes import write_gearbox
from scripts.synthetic.plan import BALL_BEARINGS, PILOT_BEARINGS, Plan
from scripts.synthetic.words import AGENTS, price
from scripts.synthetic.writer import Writer

CELLS_PER_FILE = 100
SHARED = (
    ("blocks-face", "engine-block"), ("cranks-face", "crankshaft"), ("shafts-spline", "input-shaft"),
    ("flywheels-clutch", "flywheel"), ("covers-clutch", "clutch-cover"),
)  # fmt: skip


def write_trade(plan: Plan, folder: Path) -> Writer:
    """Writes the facts into `folder` and hands back the writer with its counts."""
    with Writer(folder) as to:
        to.turn_page("shop")
        to.subject(
            "shop:works", "lay:Shop", 'rdfs:label "Invented works"', 'lay:currency "EUR"', "lay:rate 60.00",
            "lay:dayHours 8",
        )  # fmt: skip
        for agent in AGENTS:
            to.subject(f"shop:{agent}", "prov:Agent", f'rdfs:label "{agent.replace("-", " ")}"')
        _write_shared(plan, to)
        for cell in plan.cells:
            if cell.number % CELLS_PER_FILE == 0:
                to.turn_page(f"cells-{cell.number // CELLS_PER_FILE:05}")
            write_engine(plan, cell, to)
            for place in range(cell.gearboxes):
                write_gearbox(plan, cell, place, to)
    return to


def _write_shared(plan: Plan, to: Writer) -> None:
    dice = plan.dice("shared", 0)
    for stem, kind in SHARED:
        for number in range(plan.patterns + 1):
            to.part(f"{stem}-{number}", f"{stem.replace('-', ', ')} {number}", kind, "lay:abstract true")
    for number in range(2 * plan.patterns + 2):
        to.part(f"starters-type-{number}", f"starters, type {number}", "starter", "lay:abstract true")
    for stem, kind, sizes in (
        ("bearing", "input-bearing", BALL_BEARINGS), ("pilot", "pilot-bearing", PILOT_BEARINGS)
    ):  # fmt: skip
        for size, (bore, outside, width) in sizes.items():
            label = f"Bearing {bore} x {outside} x {width} (ISO 15, {size})"
            to.part(f"{stem}-{size}", label, kind, *price(dice, 12, 60))
