"""What the routes share: the shop that is asked, the settings, and the threads in which answers are worked out."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Annotated, TypeVar

import anyio
import anyio.to_thread
from fastapi import Depends, Request

from api.asking import listening
from api.settings import Settings
from graph.counter import Shop
from graph.counter.asker import GivenUp, current_asker
from graph.counter.line import WaitingLine
from graph.counter.processes import TURN
from graph.lookups.index import CatalogueIndex

Made = TypeVar("Made")
THREADS_BESIDE = 64


class Workshop:
    """One per app, as `app.state.workshop`: the shop that is asked, and where its work is done."""

    def __init__(self, shop: Shop, settings: Settings):
        self.shop, self.settings = shop, settings
        self.line = WaitingLine(settings.searches_at_once + 1, settings.most_waiting)
        self._threads: anyio.CapacityLimiter | None = None

    @property
    def index(self) -> CatalogueIndex:
        """What fact files and notes say at this moment, for browsing; whoever asks or prices asks the shop."""
        return self.shop.index

    async def work_out(self, task: Callable[[], Made]) -> Made:
        """Runs the task in a thread when it is the asker's turn, so that the loop stays free.

        Raises TooBusy where too many wait, GivenUp where the asker leaves before it is done.
        """
        if self._threads is None:  # those who stepped aside keep theirs while they wait
            self._threads = anyio.CapacityLimiter(self.settings.most_waiting + THREADS_BESIDE)
        asker = current_asker()
        turn = self.line.enter(asker.name)
        with listening(), asker.stopping(turn.cancel):
            try:
                await asyncio.wrap_future(turn)
            except asyncio.CancelledError:
                if not asker.has_left:
                    raise
                raise GivenUp("the one who asked has left") from None
        token = TURN.set(_Having(self.line))
        try:
            return await anyio.to_thread.run_sync(task, limiter=self._threads)
        finally:
            TURN.reset(token)
            self.line.leave()

    async def look_up(self, task: Callable[[], Made]) -> Made:
        """Runs a short task in a worker thread, which never waits behind questions."""
        return await anyio.to_thread.run_sync(task)


class _Having:
    """The turn of a question that is being worked out."""

    def __init__(self, line: WaitingLine):
        self._line = line

    def step_aside(self) -> None:
        self._line.leave()

    def come_back(self) -> None:
        self._line.come_back().result()


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
