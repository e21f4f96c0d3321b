"""The command line of scripts/make_catalogue."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Sequence
from pathlib import Path

from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade


def main(argv: Sequence[str]) -> int:
    """Writes the trade and says what is in it. Exit status 2 where the folder already holds facts."""
    parser = ArgumentParser(prog="scripts/make_catalogue", description="Writes an invented trade as facts.")
    parser.add_argument("parts", type=int, help="how many parts, roughly: 1000 to 1000000")
    parser.add_argument("folder", type=Path, help="where the Turtle files go; it must not hold facts yet")
    parser.add_argument("--seed", type=int, default=1, help="another seed gives another trade (1)")
    options = parser.parse_args(argv)
    if options.folder.is_dir() and any(options.folder.glob("*.ttl")):
        parser.error(f"{options.folder} already holds facts; name an empty folder")
    if not 100 <= options.parts <= 10_000_000:
        parser.error(f"parts: expected 100 to 10000000, found {options.parts}")
    wrote = write_trade(Plan(options.parts, options.seed), options.folder)
    print(f"{wrote.parts} parts, {wrote.edges} edges, {wrote.statements} statements in {options.folder}")
    return 0
