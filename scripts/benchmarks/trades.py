"""The invented trades that benches ask: made once, and kept as data folders that a service can stand on.

They lie under LAYSHAFT_BENCH_DATA, else in a folder of the system's temporary folder.
"""

from __future__ import annotations

import gc
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from api.collector import collect_seldom
from graph.reading import Question
from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade

SEED = 1


def trade_of(size: int) -> Path:
    """The folder of the trade's facts, made where there is none yet."""
    root = Path(os.environ.get("LAYSHAFT_BENCH_DATA") or Path(tempfile.gettempdir()) / "layshaft-bench")
    folder = root / f"trade-{size}"
    if not (folder / "whole").exists():
        write_trade(Plan(size, SEED), folder)
        (folder / "whole").touch()
    return folder


def data_of(size: int) -> Path:
    """A data folder whose `facts` are the trade's."""
    facts = trade_of(size)
    data = facts.with_name(f"data-{size}")
    data.mkdir(exist_ok=True)
    if not (data / "facts").exists():
        (data / "facts").symlink_to(facts, target_is_directory=True)
    return data


def questions_of(size: int, count: int) -> list[Question]:
    """Gearboxes from all over the trade, each behind its own engine, one on the same face and one on another."""
    plan = Plan(size, SEED)
    cells = plan.cells[:: max(1, 3 * len(plan.cells) // count)]
    pairs = [(cell, other) for cell in cells for other in (cell, plan.partner(cell), plan.stranger(cell))]
    return [Question(gearbox=f"{cell.gearbox(0)}-2", engine=f"{other.engine}-1") for cell, other in pairs][:count]


@contextmanager
def as_served() -> Iterator[None]:
    """What is loaded by now is collected as seldom as in the service; afterwards as before."""
    thresholds = gc.get_threshold()
    collect_seldom()
    try:
        yield
    finally:
        gc.set_threshold(*thresholds)
        gc.unfreeze()
