"""What goes with a part and stands on no list (facts/kinds/goes_with.csv): said as not known, never left out.

A concentric slave wants its line and bleeding, a release bearing in its place a fork and a pivot. A row holds where a
part of the kind `fitted` is at the place `at`; with `in_place_of`, where one of that kind was there; unless the route
has a part that somebody has stated at the place `unless_stated`. The narrowest kind decides: a concentric slave is a
release bearing, but no row of the release bearing speaks of it.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from graph.answer.ground import Ground
from graph.answer.what_is_there import held_at
from graph.catalogue.house import KINDS_FOLDER
from graph.search.result import Route

FILE = KINDS_FOLDER / "goes_with.csv"


@dataclass(frozen=True, slots=True)
class GoesWith:
    """A row of the table; see the module."""

    at: str
    fitted: str
    in_place_of: str
    unless_stated: str
    words: str
    source: str


@cache
def goes_with() -> tuple[GoesWith, ...]:
    """The rows, in order."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return tuple(GoesWith(**row) for row in csv.DictReader(lines))


def not_on_the_list(ground: Ground, route: Route) -> tuple[str, ...]:
    """What goes with the route's parts and nobody has stated, in words."""
    return tuple(dict.fromkeys(row.words for row in goes_with() if _holds(ground, route, row)))


def _holds(ground: Ground, route: Route, row: GoesWith) -> bool:
    pick = route.picks.get(row.at)
    if pick is None or _kind(ground, ground.candidates[pick].part) != row.fitted or _is_stated(ground, route, row):
        return False
    if not row.in_place_of:
        return True
    return any(_kind(ground, part) == row.in_place_of for part in _there(ground, row.at))


def _there(ground: Ground, place: str) -> Iterator[str]:
    kind = ground.catalogue.position_kinds.get(place)
    if kind is not None:
        yield from held_at(ground, kind)


def _kind(ground: Ground, part: str) -> str:
    """The narrowest kind of the part that the table speaks of; "" for a part that nobody has stated."""
    known = ground.catalogue.parts.get(part)
    if known is None or ground.index is None:
        return ""
    kinds_of = ground.index.kinds_of
    told = {row.fitted for row in goes_with()} & kinds_of(known.kind)
    return max(told, key=lambda kind: len(kinds_of(kind)), default="")


def _is_stated(ground: Ground, route: Route, row: GoesWith) -> bool:
    pick = route.picks.get(row.unless_stated) if row.unless_stated else None
    return pick is not None and not ground.candidates[pick].assumed and not ground.is_empty(pick)
