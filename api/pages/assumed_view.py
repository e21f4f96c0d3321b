"""What a route assumes, and what to measure first, as the pages show it: each with the page that takes the result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, quote, urlencode, urlsplit

from api.pages.back import BACK
from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.model.answer import Answer
from graph.answer.model.doubt import AssumptionLine
from graph.answer.model.route import AnsweredRoute
from graph.catalogue.model import UNIT_KINDS
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.reading.untold import CARRIAGE, CONSUMABLES, prices_among

IN_THE_QUESTION = "doubt/condition/"  # doubts of what the question itself may say


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
class PricePage:
    """The `address` of a page that takes what has no price yet, and its `words`."""

    address: str
    words: str


@dataclass(frozen=True, slots=True)
class AssumedView:
    """One thing assumed: its `words`, how it is settled (`settles`), and the `address` of the page that takes the
    result, with `address_words`; empty where there is none. `prices`: pages that take what has no price yet."""

    words: str
    settles: str
    address: str
    address_words: str
    prices: tuple[PricePage, ...] = ()


@dataclass(frozen=True, slots=True)
class LookView:
    """One look worth taking first: its `words`; `address` and `address_words` of the page that takes the result."""

    words: str
    address: str
    address_words: str


def assumed_views(index: CatalogueIndex, route: AnsweredRoute, asked: Asking) -> tuple[AssumedView, ...]:
    """What the route takes for given."""
    return tuple(_view(index, line, asked) for line in shortly(route.assumptions))


def _view(index: CatalogueIndex, line: AssumptionLine, asked: Asking) -> AssumedView:
    page = ("", "") if len(line.picks) > 1 and not line.fault else result_page(index, line, asked)
    settles = told_shortly(one.words for one in line.settles)
    return AssumedView(line.words, settles, *page, prices=price_pages(index, line, asked))


def all_assumed(index: CatalogueIndex, route: AnsweredRoute, asked: Asking) -> tuple[AssumedView, ...]:
    """Everything that the route takes for given, one by one; nothing where `assumed_views` leaves none to the count."""
    if len(shortly(route.assumptions)) == len(route.assumptions):
        return ()
    return tuple(_view(index, line, asked) for line in route.assumptions)


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
    places = [(one.unit.id, one.at.id) for one in line.places]
    positions, units = index.catalogue.position_kinds, set(asked.units.values())
    seen = [(one.of.id, one.quantity) for one in line.settles if one.of and one.quantity in positions]
    places += [one for one in seen if one[0] in units]
    if places:
        return _sheet_at(*places[0], asked, back)
    if parts and line.joint in JOINT_CHECKS:
        return _at("/bench/joint", "measure it at the bench", "", {"a": parts[0], "joint": line.joint, **back})
    if line.text.startswith("hours to fit "):
        return _at("/workbook/page", "state its hours in the workbook", "", back)
    if line.fault.startswith(IN_THE_QUESTION) and asked.back:
        whole = parse_qsl(urlsplit(asked.back).query)
        asks = urlencode([pair for pair in whole if pair[0] != "rank"])
        return f"/ask?{asks}", "say how it is, in the question"
    if parts:
        fields = {"a": parts[0], "text": line.text[:500], **back}
        return _at("/notebook/new", "write down how it is", "", fields)
    return _at("/notebook/new", "write down how it is", "", {"text": line.text[:500], **back})


def price_pages(index: CatalogueIndex, line: AssumptionLine, asked: Asking) -> tuple[PricePage, ...]:
    """The pages that take what the line names as without a price, each with its words; all lead back."""
    back = {BACK: asked.back} if asked.back else {}
    pages = []
    of_tasks = [one for one in line.unpriced if one.startswith((CONSUMABLES, CARRIAGE))]
    if of_tasks:
        pages.append(_at("/workbook/page", "state it at the task, in the workbook", "", back))
    of_parts = [one for one in prices_among(line.unpriced) if one not in of_tasks]
    if of_parts and (kind := _remedy_kind(index, line)):
        known = index.catalogue.part_kinds[kind].label
        held = [part.id for part in index.catalogue.parts.values() if part.kind == kind and not part.abstract]
        if held:
            part = {"part": held[0]} if len(held) == 1 else {}
            pages.append(_at("/shop/prices/page", f"price a known {known}", "", {**part, **back}))
        else:
            pages.append(_at("/new-part", f"add the {known}, with its price", "", {"kind": kind, **back}))
    joint = index.catalogue.joint_kinds.get(line.joint)
    if not pages and joint and joint.remedy_operations and any("price of " in one for one in line.unpriced):
        pages.append(_at("/shop/sublets/page", "say what that work costs", "", back))
    if any("rate" in one.split() for one in line.unpriced):
        pages.append(_at("/shop/rates/page", "state the rate", "", back))
    return tuple(PricePage(*one) for one in pages)


def _remedy_kind(index: CatalogueIndex, line: AssumptionLine) -> str:
    """The kind of part that puts it right; empty where none is known."""
    position = index.catalogue.position_kinds.get(line.position)
    joint = index.catalogue.joint_kinds.get(line.joint)
    known = index.catalogue.part_kinds
    held = [kind for kind in position.part_kinds if kind in known] if position else []
    if position and held:
        return next((kind for kind in held if known[kind].label == position.label), held[0])
    return joint.remedy_kind if joint and joint.remedy_kind in known else ""


def _place(index: CatalogueIndex, line: AssumptionLine, asked: Asking, back: dict[str, str]) -> tuple[str, str]:
    """The unit's own sheet, at the place; a note where it is no unit's of the question."""
    kind = index.catalogue.position_kinds.get(line.position)
    unit = asked.units.get(kind.owner, "") if kind else ""
    if not unit:
        return _at("/notebook/new", "write down what is there", "", {"text": line.text[:500], **back})
    return _sheet_at(unit, line.position, asked, back)


def _sheet_at(unit: str, position: str, asked: Asking, back: dict[str, str]) -> tuple[str, str]:
    fields = {**({"job": asked.assembly} if asked.assembly else {}), **back}
    return _at(f"/unit/{quote(unit, safe='')}", "say what is there, on its sheet", f"at.{position}", fields)


def _at(path: str, said: str, anchor: str, fields: dict[str, str]) -> tuple[str, str]:
    return f"{path}{'?' if fields else ''}{urlencode(fields)}{'#' if anchor else ''}{anchor}", said
