"""Where a question's wishes leave no route: the nearest one that breaks as few of them as it can.

Each wish is left out alone, then two together, then all; the first number at which there is a route ends it, and of
the ways at that number the cheapest stands first. Common practice at the counter: "not by Friday, but by Tuesday".
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import TypeVar

from graph.answer import words
from graph.answer.best_alone import BestAlone
from graph.answer.model.answer import Answer, NearestWay
from graph.answer.model.route import AnsweredRoute
from graph.answer.plain import sum_words
from graph.answer.serial import question_as_json
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.search.result import NO_ROUTE

MOST_ASKED = 12
Waived = tuple[str, Question]
Value = TypeVar("Value")


def wishes_of(index: CatalogueIndex, question: Question) -> Iterator[Waived]:
    """Each wish of the question in words, with the question that does without it."""
    known = index.catalogue
    for one in question.avoid:
        thing = known.parts.get(one) or known.part_kinds.get(one)
        yield f"without {thing.label if thing else one}", replace(question, avoid=_less(question.avoid, one))
    if question.without_machining:
        yield "nothing machined", replace(question, without_machining=False)
    if question.from_shelf:
        yield "only what is on the shelf", replace(question, from_shelf=False)
    if question.deadline is not None:
        yield f"within {words.days(question.deadline)}", replace(question, deadline=None)
    for one in question.features:
        feature = known.features.get(one)
        yield f"with {feature.label if feature else one}", replace(question, features=_less(question.features, one))
    for one in question.demands:
        yield one, replace(question, demands=_less(question.demands, one))
    if question.evidence_floor:
        level = known.evidence_levels.get(question.evidence_floor)
        said = level.label if level else question.evidence_floor
        yield f"nothing weaker than {said}", replace(question, evidence_floor="")
    if question.refuse_disputed:
        yield "nothing disputed", replace(question, refuse_disputed=False)
    if question.most_assumed is not None:
        yield f"at most {question.most_assumed} assumed", replace(question, most_assumed=None)


def _less(values: tuple[Value, ...], one: Value) -> tuple[Value, ...]:
    return tuple(value for value in values if value != one)


def nearest_ways(
    index: CatalogueIndex, question: Question, answer: Answer, ask: Callable[[Question], BestAlone]
) -> tuple[NearestWay, ...]:
    """The ways at the least number of wishes broken, cheapest first; none where the answer has a route, or none has.

    `ask`: the best route for a question; it is called at most `MOST_ASKED` times.
    """
    if answer.routes or answer.status != NO_ROUTE:
        return ()
    names = [name for name, _ in wishes_of(index, question)]
    asked = 0
    for count in sorted({1, 2, len(names)} & set(range(1, len(names) + 1))):
        found = []
        for broken in combinations(names, count):
            asked += 1
            if asked > MOST_ASKED:
                break
            without = _without(index, question, broken)
            other = ask(without)
            if other.route is not None:
                found.append((other.route.expected, _way(broken, without, other, other.route)))
        if found:
            return tuple(way for _, way in sorted(found, key=lambda one: (one[0], one[1].wishes)))
    return ()


def _without(index: CatalogueIndex, question: Question, broken: Sequence[str]) -> Question:
    for name in broken:
        question = dict(wishes_of(index, question))[name]
    return question


def _way(broken: tuple[str, ...], question: Question, found: BestAlone, best: AnsweredRoute) -> NearestWay:
    said = words.listed([f"“{name}”" for name in broken])
    text = f"Without the wish {said}: {best.verdict}, {sum_words(found, best)}, ready in {words.days(best.days)}"
    return NearestWay(broken, question_as_json(question), text)
