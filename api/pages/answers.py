"""Answers for pages, worked out in a worker thread."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request

from api.pages.trying import tries, untried
from api.workshop import workshop_of
from graph.answer.best_alone import BestAlone
from graph.answer.model.answer import Answer
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question


@dataclass(frozen=True, slots=True)
class PageAnswer:
    """An answer, and the index that it was read from (prices and hours as the shop's record has them)."""

    answer: Answer
    index: CatalogueIndex


async def find_answer(request: Request, question: Question, *, with_changes: bool = False) -> PageAnswer:
    """The shop's answer. Raises NotFound and InvalidQuestion as the core does."""
    workshop = workshop_of(request)
    shop = workshop.shop

    def work() -> PageAnswer:
        standing = shop.standing()
        return PageAnswer(shop.ask(question, with_changes=with_changes, standing=standing), standing.index)

    return await workshop.work_out(work)


async def find_best(request: Request, question: Question) -> BestAlone:
    """The first route of that answer, in a fraction of its time."""
    workshop = workshop_of(request)
    return await workshop.work_out(lambda: workshop.shop.ask_best(question))


async def find_known(request: Request, question: Question) -> Answer | None:
    """The answer without the rate, odds and prices that the question tries; None where it tries none."""
    if not tries(question):
        return None
    return (await find_answer(request, untried(question))).answer
