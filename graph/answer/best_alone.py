"""The first route of an answer by itself: what a page shows while other values are tried on it.

Pure, as `graph.answer.asking`: the same reading, the same order of searches, only fewer of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.answer.build import TRIED, tried_lines
from graph.answer.ground import Ground
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.route import answered_route
from graph.answer.status import best_route
from graph.lookups.index import CatalogueIndex
from graph.reading import read_conversion
from graph.reading.question import Question
from graph.search import Search, SearchOrder, search_here


@dataclass(frozen=True, slots=True)
class BestAlone:
    """The first route of an answer with what is needed to say its sum; None: there is none.

    `tried`: what the question tries in place of what is known, in words.
    """

    route: AnsweredRoute | None
    objective: str
    currency: str
    rate_stated: bool
    tried: tuple[str, ...] = ()

    @classmethod
    def of(cls, answer: Answer) -> BestAlone:
        """That of a whole answer."""
        tried = tuple(line for line in answer.cautions if line.startswith(TRIED))
        best = answer.routes[0] if answer.routes else None
        return cls(best, answer.objective, answer.currency, answer.rate_stated, tried)


def ask_best(
    index: CatalogueIndex, question: Question, *, seconds: float | None = None, search: Search = search_here
) -> BestAlone:
    """What `BestAlone.of` takes of the answer to the question, without the searches for the rest of it: what the route
    is worth, the next ones, looking first, the front, what nobody has priced.

    Raises as `graph.answer.asking.ask_index` does.
    """
    reading = read_conversion(index, question)
    route = best_route(reading.conversion, SearchOrder(question.objective, seconds=seconds), search)
    ground = Ground(reading.conversion, reading.catalogue, reading, index)
    best = None if route is None else answered_route(ground, route, 1)
    return BestAlone(best, question.objective, ground.catalogue.currency, ground.rate_stated, tried_lines(ground))
