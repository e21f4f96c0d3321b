"""What the routes share: the indexed facts, the settings, and the threads in which answers are worked out."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import date
from typing import Annotated, TypeVar

import anyio
import anyio.to_thread
from fastapi import Depends, Request

from api.settings import Settings
from graph.answer.asking import answer_question
from graph.answer.model import Answer
from graph.costing.asking import CostDesk
from graph.reading.index import CatalogueIndex
from graph.reading.question import Question

Made = TypeVar("Made")


class Workshop:
    """One per app, as `app.state.workshop`. `index` is replaced as a whole when facts change.

    `desk`: the shop's own record of cost, where it is installed; answers then follow it.
    """

    def __init__(self, index: CatalogueIndex, settings: Settings):
        self.index, self.settings = index, settings
        self.desk: CostDesk | None = None
        self._threads: anyio.CapacityLimiter | None = None

    def costed_index(self) -> CatalogueIndex:
        """The facts with the shop's own prices, shelf, rates, hours and odds in them, as they stand today."""
        return self.index if self.desk is None else self.desk.costed(self.index, date.today())[0]

    def answer(self, question: Question, *, with_changes: bool = False) -> Answer:
        """The question answered with the shop's own record. Raises NotFound and InvalidQuestion like the core."""
        if self.desk is None:
            return answer_question(self.index, question, with_changes=with_changes)
        return self.desk.answer(self.index, question, date.today(), with_changes=with_changes)

    async def work_out(self, task: Callable[[], Made]) -> Made:
        """Runs the task in a worker thread, at most `searches_at_once` at a time, so that the loop stays free."""
        if self._threads is None:
            self._threads = anyio.CapacityLimiter(self.settings.searches_at_once)
        return await anyio.to_thread.run_sync(task, limiter=self._threads)

    async def look_up(self, task: Callable[[], Made]) -> Made:
        """Runs a short task in a worker thread, which never waits behind questions."""
        return await anyio.to_thread.run_sync(task)


def workshop_of(request: Request) -> Workshop:
    """The app's workshop."""
    found = request.app.state.workshop
    assert isinstance(found, Workshop)
    return found


def without_thread(find: Callable[[Request], Made]) -> Callable[[Request], Awaitable[Made]]:
    """The same as a dependency that waits for no thread: the framework runs a plain function in one, behind others."""

    async def found(request: Request) -> Made:
        return find(request)

    return found


UsesWorkshop = Annotated[Workshop, Depends(without_thread(workshop_of))]
