"""`parts [ID]`: the parts as a list, or one part with its edges."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from graph.answer import words
from graph.answer.browse import edges_of_part, get_part
from graph.answer.find import find_parts
from graph.answer.serial import part_as_json
from graph.catalogue.model import Edge, Part
from graph.cli.console import console
from graph.cli.shop import shop_of
from graph.lookups.index import CatalogueIndex


def run(arguments: Namespace) -> int:
    """Prints the list or the part. Raises NotFound for an unknown part or kind."""
    with shop_of(arguments) as shop:
        if arguments.id:
            _show_part(arguments, shop.index)
        else:
            _show_list(arguments, shop.index)
    return 0


def _show_part(arguments: Namespace, index: CatalogueIndex) -> None:
    part = get_part(index, arguments.id)
    edges = edges_of_part(index, part.id)
    if arguments.json:
        print(json.dumps({"part": part_as_json(part), "edges": part_as_json(edges)}, ensure_ascii=False))
    else:
        with console() as out:
            _print_part(out, index, part, edges)


def _show_list(arguments: Namespace, index: CatalogueIndex) -> None:
    found = find_parts(index, arguments.text, arguments.kind)
    for word, near in found.read_as.items():
        print(f"no part has the word {word!r}: read as {words.listed(near, 'or')}", file=sys.stderr)
    if arguments.json:
        print(json.dumps(part_as_json(tuple(found.parts)), ensure_ascii=False))
    else:
        with console() as out:
            _print_list(out, index, found.parts)


def _price(index: CatalogueIndex, part: Part) -> str:
    if part.cash_hundredths is None:
        return ""
    return words.cash(part.cash_hundredths, part.currency or index.catalogue.currency)


def _known(condition: str) -> str:
    return "" if condition == "unknown" else condition


def _print_list(console: Console, index: CatalogueIndex, parts: Sequence[Part]) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("Id", "Part", "Kind", "Condition"):
        table.add_column(column)
    table.add_column("Price", justify="right")
    for part in parts:
        table.add_row(
            Text(part.id), Text(part.label), Text(part.kind), Text(_known(part.condition)), _price(index, part)
        )
    console.print(table)
    console.print(f"{len(parts)} parts")


def _print_part(console: Console, index: CatalogueIndex, part: Part, edges: tuple[Edge, ...]) -> None:
    console.print(Text(f"{part.label} ({part.id})", style="bold"))
    facts = (
        ("kind", part.kind), ("family", part.variant_of), ("number", part.number),
        ("condition", _known(part.condition)),
        ("price", _price(index, part)), ("lead", words.days(part.days)), ("in stock", "yes" if part.in_stock else "no"),
    )  # fmt: skip
    for name, value in facts:
        if value:
            console.print(Text(f"  {name}: {value}"))
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("Edge", "From", "Kind", "To", "At", "Evidence"):
        table.add_column(column)
    for edge in edges:
        row = (
            edge.id,
            edge.source,
            edge.kind.replace("-", " "),
            edge.target,
            edge.joint or edge.position,
            edge.evidence,
        )
        table.add_row(*(Text(cell) for cell in row))
    console.print(table)
