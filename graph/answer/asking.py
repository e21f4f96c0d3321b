"""A question in, its answer out: reading, search and answer in one call.

Pure: the index is built once by the caller; nothing here touches a disk or a network. `search`: where routes are
searched for; this process if left out. Who serves a shop asks `graph.counter` instead, which knows its prices as well.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from graph.answer.browse import get_part
from graph.answer.build import build_answer
from graph.answer.ground import Ground
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Besides, Step
from graph.answer.serial import question_as_json
from graph.answer.status import weigh
from graph.answer.steps import steps_of
from graph.answer.unpriced import list_left_unpriced, with_left_unpriced, words_of
from graph.catalogue.model import Part
from graph.conversion.document import Candidate, Conversion, Link
from graph.lookups.index import CatalogueIndex
from graph.reading import Reading, read_conversion
from graph.reading.question import Question
from graph.search import Search, SearchOrder, search_here
from graph.search.result import Route


class Asked(NamedTuple):
    """An answer, and the document that it was proven on. `book_hours`: see `Reading`."""

    answer: Answer
    conversion: Conversion
    book_hours: Mapping[str, int] = MappingProxyType({})


def ask_index(
    index: CatalogueIndex, question: Question, *, with_changes: bool = False, seconds: float | None = None,
    search: Search = search_here,
) -> Asked:  # fmt: skip
    """The proven cheapest routes, or what stays open, and the document behind them.

    `with_changes`: also what would change the answer, which takes several searches more. It is about the expected
    cost; for another objective nothing is said of it. `seconds`: the most that the search may take.
    Raises NotFound for an id that the graph does not know, InvalidQuestion for what cannot be asked.
    """
    reading = read_conversion(index, question)
    order = SearchOrder(question.objective, question.alternatives, changes=with_changes, seconds=seconds)
    began = time.monotonic()
    weighed = weigh(reading.conversion, order, search)
    left = None if seconds is None else seconds - (time.monotonic() - began)
    untried = list_left_unpriced(index, reading, weighed, replace(order, seconds=left), search)
    weighed = with_left_unpriced(weighed, untried)
    asked = question_as_json(question)
    answer = build_answer(_ground(index, reading), weighed, question=asked, changes=weighed.shown.changes)
    if untried:
        answer = replace(answer, ranking=(*answer.ranking, *words_of(reading, weighed, untried)))
    return Asked(answer, reading.conversion, reading.book_hours)


def steps_besides(
    index: CatalogueIndex, question: Question, route: AnsweredRoute, besides: Sequence[Besides]
) -> tuple[Step, ...]:
    """The steps of a route of this question's answer, with what is done besides in its place among them."""
    chosen = Route(
        route.picks, route.links, route.tasks, route.cash_hundredths, route.hours_hundredths, route.total,
        route.expected, route.days, route.p50, route.p90, {},
    )  # fmt: skip
    return steps_of(_ground(index, read_conversion(index, question)), chosen, besides)


def answer_question(index: CatalogueIndex, question: Question, *, with_changes: bool = False) -> Answer:
    """The answer alone, searched for in this process until everything is proven. See `ask_index`."""
    return ask_index(index, question, with_changes=with_changes).answer


def _ground(index: CatalogueIndex, reading: Reading) -> Ground:
    return Ground(reading.conversion, reading.catalogue, reading, index)


class SideBySide(NamedTuple):
    """The best routes with a part and without it."""

    part: Part
    with_part: Answer
    without_part: Answer


def answer_with_and_without(
    index: CatalogueIndex, question: Question, part_id: str, *, seconds: float | None = None,
    search: Search = search_here,
) -> SideBySide:  # fmt: skip
    """The answer where the part (or a variant of the family) must be used, and the one where it is avoided.

    Raises NotFound for an unknown part.
    """
    part = get_part(index, part_id)
    own = tuple(one for one in question.own if one != part_id)
    without = replace(question, avoid=(*question.avoid, part_id), own=own)
    return SideBySide(
        part,
        _with_part(index, question, part_id, seconds, search),
        ask_index(index, without, seconds=seconds, search=search).answer,
    )


def _with_part(
    index: CatalogueIndex, question: Question, part_id: str, seconds: float | None, search: Search
) -> Answer:
    asked = replace(question, avoid=tuple(one for one in question.avoid if one != part_id))
    reading = read_conversion(index, asked)
    using = f"uses {part_id}"
    bound = _binding(index, reading.conversion, part_id, using)
    weighed = weigh(bound, SearchOrder(asked.objective, asked.alternatives, seconds=seconds), search)
    opens = tuple(replace(o, what=part_id, kind="part") if o.what == using else o for o in weighed.shown.open)
    found = replace(weighed, shown=replace(weighed.shown, open=opens))
    return build_answer(_ground(index, reading), found, question=question_as_json(asked))


def _binding(index: CatalogueIndex, conversion: Conversion, part_id: str, using: str) -> Conversion:
    """The conversion in which using the part is a feature that the finished assembly must offer."""

    def is_meant(part: str) -> bool:
        return part_id in index.lineage(part)

    def candidate(one: Candidate) -> Candidate:
        return replace(one, features=(*one.features, using)) if is_meant(one.part) else one

    def link(one: Link) -> Link:
        return replace(one, features=(*one.features, using)) if any(map(is_meant, one.via)) else one

    return replace(
        conversion,
        features=(*conversion.features, using),
        positions=tuple(replace(p, candidates=tuple(map(candidate, p.candidates))) for p in conversion.positions),
        joints=tuple(replace(j, links=tuple(map(link, j.links))) for j in conversion.joints),
    )
