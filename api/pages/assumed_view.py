"""What a route assumes, and what to measure first, as the pages show it: each with the page that takes the result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from api.pages.back import BACK
from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.model import Answer, AnsweredRoute, AssumptionLine
from graph.catalogue.model import UNIT_KINDS
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question


@dataclass(frozen=True, slots=True)
class Asking:
    """The question behind the page: its `units` by kind, its kind of job, and the address of the answer (`back`)."""

    units: Mapping[str, str]
    assembly: str = ""
    back: str = ""

    @classmethod
    def of(cls, question: Question, back: str) -> Asking:
        """The same of a question."""
        return cls({what: unit for what in UNIT_KINDS if (unit := question.unit_of(what))}, question.assembly, back)


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


def assumed_views(index: CatalogueIndex, route: AnsweredRoute, asked: Asking) -> tuple[AssumedView, ...]:
    """What the route takes for given."""
    return tuple(
        AssumedView(line.words, told_shortly(one.words for one in line.settles), *result_page(index, line, asked))
        for line in shortly(route.assumptions)
    )


def all_assumed(route: AnsweredRoute) -> tuple[str, ...]:
    """Everything that the route takes for given, one by one; nothing where `assumed_views` leaves none to the count."""
    words = tuple(line.words for line in route.assumptions)
    return () if len(shortly(route.assumptions)) == len(words) else words


def look_views(index: CatalogueIndex, answer: Answer, asked: Asking) -> tuple[LookView, ...]:
    """The most telling looks; all of them stand in the JSON."""
    pages = {
        settling.inspection: result_page(index, line, asked)
        for route in answer.routes
        for line in route.assumptions
        for settling in line.settles
    }
    nowhere = ("", "")
    return tuple(
        LookView(line.words, *pages.get(line.inspection, nowhere)) for line in answer.measure_first[:TELLING]
    )  # fmt: skip


def result_page(index: CatalogueIndex, line: AssumptionLine, asked: Asking) -> tuple[str, str]:
    """The address of the page that takes what was found, filled in as far as it can be, and its words.

    Readings go to the bench, at the field of the quantity, which works out whether the parts meet and keeps them; a
    place that nobody has stated goes to the sheet of its unit; a joint that is tried goes into a note. All lead back.
    """
    known, back = index.catalogue.parts, {BACK: asked.back} if asked.back else {}
    parts = [part.id for part in line.parts if part.id in known]
    read = [(one.of.id, one.quantity) for one in line.settles
            if one.of and one.of.id in known and one.quantity in index.catalogue.quantities]  # fmt: skip
    if len(parts) == 2 and line.joint in JOINT_CHECKS:
        of, quantity = next((one for one in read if one[0] in parts), ("", ""))
        field = {"quantity": quantity, "of": of} if quantity else {}
        fields = {"a": parts[0], "b": parts[1], "joint": line.joint, **field, **back}
        anchor = f"r{parts.index(of)}.{quantity}" if quantity else ""
        return _at("/bench/joint", "measure it at the bench", anchor, fields)
    if len(parts) == 2 and line.joint:
        fields = {"a": parts[0], "b": parts[1], "joint": line.joint, **back}
        return _at("/notebook/new", "write down whether it fits", "", fields)
    alone = next((one for one in read if not any(index.is_unit(one[0], what) for what in UNIT_KINDS)), None)
    if alone:
        of, quantity = alone
        return _at("/bench/joint", "measure it at the bench", f"r0.{quantity}", {"a": of, "quantity": quantity, **back})
    if line.position:
        return _place(index, line, asked, back)
    return "", ""


def _place(index: CatalogueIndex, line: AssumptionLine, asked: Asking, back: dict[str, str]) -> tuple[str, str]:
    """The unit's own sheet, at the place; a note where it is no unit's of the question."""
    kind = index.catalogue.position_kinds.get(line.position)
    unit = asked.units.get(kind.owner, "") if kind else ""
    if not unit:
        return _at("/notebook/new", "write down what is there", "", {"text": line.text[:500], **back})
    fields = {"place": line.position, **({"job": asked.assembly} if asked.assembly else {}), **back}
    return _at(f"/unit/{quote(unit, safe='')}", "say what is there, on its sheet", f"at.{line.position}", fields)


def _at(path: str, said: str, anchor: str, fields: dict[str, str]) -> tuple[str, str]:
    return f"{path}?{urlencode(fields)}{'#' if anchor else ''}{anchor}", said
