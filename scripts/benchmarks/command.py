"""The command line of the benches: finds them, runs them, shows and writes what they measured."""

from __future__ import annotations

import json
import pkgutil
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

import scripts.benchmarks
from scripts.benchmarks.clock import in_short, machine
from scripts.benchmarks.table import Table

Bench = Callable[[Namespace], list[Table]]


def list_benches() -> dict[str, Bench]:
    """Every module beside this one that has a function `run`."""
    names = sorted(each.name for each in pkgutil.iter_modules(scripts.benchmarks.__path__))
    modules = {name: import_module(f"scripts.benchmarks.{name}") for name in names if name != "command"}
    return {name: module.run for name, module in modules.items() if hasattr(module, "run")}


def main(argv: Sequence[str]) -> int:
    """Runs the benches asked for; 2 where a name is unknown."""
    benches = list_benches()
    options = _parser().parse_args(argv)
    wanted = [name for each in options.only for name in each.split(",") if name]
    unknown = set(wanted) - set(benches)
    if options.list or unknown:
        print(*([f"no bench named {', '.join(sorted(unknown))}; there are:"] if unknown else []), *benches, sep="\n")
        return 2 if unknown else 0
    around = machine()
    print("; ".join(f"{name}: {value}" for name, value in around.items()), flush=True)
    tables = []
    for name in wanted or benches:
        for table in benches[name](options):
            print(f"\n{table.as_text()}", flush=True)
            tables.append((name, table))
    _write(options, around, tables)
    return 0


def _parser() -> ArgumentParser:
    parser = ArgumentParser(
        prog="scripts/bench", description="Side by side with general solvers, on the same documents."
    )
    parser.add_argument("--quick", action="store_true", help="a few documents each, and a shorter time limit")
    parser.add_argument("--only", nargs="+", default=[], metavar="BENCH", help="only these, apart by space or comma")
    parser.add_argument("--list", action="store_true", help="name the benches and end")
    parser.add_argument("--limit", type=float, default=60, metavar="SECONDS", help="per solve, for the other solvers")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the tables as JSON")
    parser.add_argument("--svg", type=Path, metavar="FOLDER", help="write a drawing per table")
    return parser


def _write(options: Namespace, around: dict[str, str], tables: list[tuple[str, Table]]) -> None:
    if options.json:
        written = {"machine": around, "tables": [{"bench": name, **table.as_json()} for name, table in tables]}
        options.json.write_text(json.dumps(written, indent=1) + "\n")
    if options.svg:
        options.svg.mkdir(parents=True, exist_ok=True)
        for number, (name, table) in enumerate(tables):
            drawing = table.as_svg(in_short(around))
            if drawing:
                (options.svg / f"{name}-{number}.svg").write_text(drawing)
