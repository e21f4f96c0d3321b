"""What a route assumes, and what to measure first, as the pages show it: each with the page that takes the result."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.model import Answer, AnsweredRoute, AssumptionLine
from graph.catalogue.model import UNIT_KINDS
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.index import CatalogueIndex


@dataclass(frozen=True, slots=True)
class AssumedView:
    """One thing assumed: its `words`, how it is settled (`settles`), and the `address` of the page that takes the
    result, with `address_words`; empty where there is none."""

    words: str
    settles: str
    address: str
    address_words: str


@dataclass(frozen=True, slots=True)
class LookView:
    """One look worth taking first: its `words`; `address` and `address_words` of the page that takes the result."""

    words: str
    address: str
    address_words: str


def assumed_views(index: CatalogueIndex, route: AnsweredRoute) -> tuple[AssumedView, ...]:
    """What the route takes for given."""
    return tuple(
        AssumedView(line.words, told_shortly(one.words for one in line.settles), *result_page(index, line))
        for line in shortly(route.assumptions)
    )


def all_assumed(route: AnsweredRoute) -> tuple[str, ...]:
    """Everything that the route takes for given, one by one; nothing where `assumed_views` leaves none to the count."""
    words = tuple(line.words for line in route.assumptions)
    return () if len(shortly(route.assumptions)) == len(words) else words


def look_views(index: CatalogueIndex, answer: Answer) -> tuple[LookView, ...]:
    """The most telling looks; all of them stand in the JSON."""
    pages = {
        settling.inspection: result_page(index, line)
        for route in answer.routes
        for line in route.assumptions
        for settling in line.settles
    }
    nowhere = ("", "")
    return tuple(
        LookView(line.words, *pages.get(line.inspection, nowhere)) for line in answer.measure_first[:TELLING]
    )  # fmt: skip


def result_page(index: CatalogueIndex, line: AssumptionLine) -> tuple[str, str]:
    """The address of the page that takes what was found, filled in as far as it can be, and its words.

    Readings go to the bench, which works out whether the parts meet and keeps them; a joint that is tried, or a place
    that is looked into, goes into a note.
    """
    parts = [part.id for part in line.parts if part.id in index.catalogue.parts]
    read = (one.of.id for one in line.settles if one.of and one.quantity in index.catalogue.quantities)
    measured = next((part for part in read if not any(index.is_unit(part, what) for what in UNIT_KINDS)), "")
    if len(parts) == 2 and line.joint in JOINT_CHECKS:
        return _at("/bench/joint", "measure it at the bench", a=parts[0], b=parts[1], joint=line.joint)
    if len(parts) == 2 and line.joint:
        return _at("/notebook/new", "write down whether it fits", a=parts[0], b=parts[1], joint=line.joint)
    if measured:
        return _at("/bench/joint", "measure it at the bench", a=measured)
    if line.position:
        return _at("/notebook/new", "write down what is there", text=line.text[:500])
    return "", ""


def _at(path: str, said: str, **fields: str) -> tuple[str, str]:
    return f"{path}?{urlencode(fields)}", said
