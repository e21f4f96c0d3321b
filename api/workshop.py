"""What the routes share: the indexed facts, the settings, and the threads in which answers are worked out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, TypeVar

import anyio
import anyio.to_thread
from fastapi import Depends, Request

from api.settings import Settings
from graph.reading.index import CatalogueIndex

Made = TypeVar("Made")


class Workshop:
    """One per app, as `app.state.workshop`. `index` is replaced as a whole when facts change."""

    def __init__(self, index: CatalogueIndex, settings: Settings):
        self.index, self.settings = index, settings
        self._threads: anyio.CapacityLimiter | None = None

    async def work_out(self, task: Callable[[], Made]) -> Made:
        """Runs the task in a worker thread, at most `searches_at_once` at a time, so that the loop stays free."""
        if self._threads is None:
            self._threads = anyio.CapacityLimiter(self.settings.searches_at_once)
        return await anyio.to_thread.run_sync(task, limiter=self._threads)


def workshop_of(request: Request) -> Workshop:
    """The app's workshop."""
    found = request.app.state.workshop
    assert isinstance(found, Workshop)
    return found


UsesWorkshop = Annotated[Workshop, Depends(workshop_of)]
