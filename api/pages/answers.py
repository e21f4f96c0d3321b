"""Answers for pages: with the shop's own record of cost where there is one, and kept while the facts stay the same."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from weakref import WeakKeyDictionary

from fastapi import Request

from api.pages.asked import address
from api.workshop import workshop_of
from graph.answer.asking import answer_question
from graph.answer.model import Answer
from graph.costing.asking import CostDesk, with_told
from graph.reading.index import CatalogueIndex
from graph.reading.question import Question

MOST_KEPT = 64


@dataclass(frozen=True, slots=True)
class Found:
    """An answer, and the index that it was read from (prices and hours as the shop's record has them)."""

    answer: Answer
    index: CatalogueIndex


class _Kept:
    """The last answers, per index: a new revision of the facts has a new index, and so nothing kept."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._answers: WeakKeyDictionary[CatalogueIndex, OrderedDict[tuple[str, bool], Answer]] = WeakKeyDictionary()

    def answer(self, index: CatalogueIndex, question: Question, with_changes: bool) -> Answer:
        key = (address("", question), with_changes)
        with self._lock:
            kept = self._answers.setdefault(index, OrderedDict())
            if key in kept:
                kept.move_to_end(key)
                return kept[key]
        made = answer_question(index, question, with_changes=with_changes)
        with self._lock:
            kept[key] = made
            while len(kept) > MOST_KEPT:
                kept.popitem(last=False)
        return made


_KEPT = _Kept()


async def find_answer(request: Request, question: Question, *, with_changes: bool = False) -> Found:
    """The answer, worked out in a worker thread. Raises NotFound and InvalidQuestion as the core does."""
    workshop = workshop_of(request)
    facts, desk = workshop.index, getattr(request.app.state, "cost_desk", None)

    def work() -> Found:
        if not isinstance(desk, CostDesk):
            return Found(_KEPT.answer(facts, question, with_changes), facts)
        index, costed = desk.costed(facts, date.today())
        return Found(with_told(_KEPT.answer(index, question, with_changes), costed), index)

    return await workshop.work_out(work)
