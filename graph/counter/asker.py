"""Who asks, and whether they still wait: an answer nobody waits for is not worked out to its end.

The one who serves makes an Asker for each request and says with `asking` that what follows is done for it; whatever
works for it, in the same thread or another, learns of it there. Without one, the work is done for nobody in
particular and is never given up.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from graph.errors import LayshaftError


class GivenUp(LayshaftError):
    """The one who asked has left."""


class Asker:
    """One request. `name`: of the client, for fairness among them; not unique."""

    def __init__(self, name: str = ""):
        self.name = name
        self._left = False
        self._lock = threading.Lock()
        self._told: dict[object, Callable[[], object]] = {}

    @property
    def has_left(self) -> bool:
        """Whether nobody waits any more."""
        return self._left

    def leave(self) -> None:
        """Nobody waits any more: whoever works for it is told to stop. Any thread may say so, and more than once."""
        with self._lock:
            self._left = True
            told, self._told = list(self._told.values()), {}
        for stop in told:
            stop()

    @contextmanager
    def stopping(self, stop: Callable[[], object]) -> Iterator[None]:
        """While this lasts, `stop` is called when the asker leaves. Raises GivenUp where it has left before."""
        key = object()
        with self._lock:
            if self._left:
                raise GivenUp("the one who asked has left")
            self._told[key] = stop
        try:
            yield
        finally:
            with self._lock:
                self._told.pop(key, None)


_ASKING: ContextVar[Asker | None] = ContextVar("asking", default=None)


def current_asker() -> Asker:
    """The one that the work under way is done for; somebody who stays where nobody was named."""
    return _ASKING.get() or Asker()


@contextmanager
def asking(asker: Asker) -> Iterator[Asker]:
    """What is done inside is done for this asker."""
    before = _ASKING.set(asker)
    try:
        yield asker
    finally:
        _ASKING.reset(before)
