"""The shop that a command asks: the data folder's, with its notes and prices, or fact files alone."""

from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from graph.cli.question import DEMO_FACTS, facts_of
from graph.cli.workshop import home_of
from graph.counter import Shop
from graph.counter.limits import limits_from
from graph.counter.opened import OpenedShop, opened_shop
from graph.errors import InvalidFacts, NotFound, Problem
from graph.lookups.index import CatalogueIndex

ROOT = Path(__file__).resolve().parents[2]


def default_data() -> Path:
    """LAYSHAFT_DATA, else the folder `data` of the checkout; installed, of the working folder."""
    home = ROOT if (ROOT / "scripts" / "start").exists() else Path.cwd()
    return Path(os.environ.get("LAYSHAFT_DATA") or home / "data")


@contextmanager
def shop_of(arguments: Namespace) -> Iterator[Shop]:
    """The shop that the arguments name, closed afterwards.

    `--facts`, or LAYSHAFT_FACTS where no `--data` is given: these files alone, with no notes, prices or jobs. Else the
    data folder: `--data`, LAYSHAFT_DATA or where scripts/start keeps it; if that is not there yet, the demo's facts.
    Raises NotFound for a data folder that was named and does not exist, InvalidFacts, StoreProblem.
    """
    facts = _facts_alone(arguments)
    data = home_of(arguments.data or default_data())
    limits = limits_from(os.environ)
    if facts:
        yield Shop(_index_of(facts), limits=limits)
    elif data.is_dir():
        database = os.environ.get("LAYSHAFT_DATABASE", "")
        with opened_shop(data, facts_of(data), database, limits=limits) as opened:
            yield opened.shop
    elif arguments.data:
        raise NotFound("data folder (scripts/start --data makes one)", str(data))
    else:
        yield Shop(_index_of([DEMO_FACTS]), limits=limits)


@contextmanager
def recording_shop_of(arguments: Namespace) -> Iterator[Shop]:
    """As `shop_of`, for a command that writes: the data folder is made if it is not there."""
    if not _facts_alone(arguments):
        (arguments.data or default_data()).mkdir(parents=True, exist_ok=True)
    with shop_of(arguments) as shop:
        yield shop


@contextmanager
def opened_for_writing(arguments: Namespace) -> Iterator[OpenedShop]:
    """The data folder's shop with its notebook; the folder is made if it is not there."""
    data = home_of(arguments.data or default_data())
    with opened_shop(data, facts_of(data), os.environ.get("LAYSHAFT_DATABASE", "")) as opened:
        yield opened


def _facts_alone(arguments: Namespace) -> list[Path]:
    named = [Path(folder) for folder in getattr(arguments, "facts", [])]
    if named or arguments.data:
        return named
    return [Path(folder) for folder in os.environ.get("LAYSHAFT_FACTS", "").split(os.pathsep) if folder]


def _index_of(facts: list[Path]) -> CatalogueIndex:
    from graph.catalogue.load import load_catalogue
    from graph.catalogue.statements import SUFFIXES, list_fact_files

    empty = [path for path in facts if not list_fact_files([path])]
    if empty:
        raise InvalidFacts(Problem(str(path), f"holds no facts file ({', '.join(SUFFIXES)})") for path in empty)
    return CatalogueIndex(load_catalogue(facts))
