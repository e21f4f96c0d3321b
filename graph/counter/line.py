"""A line to wait in: so many at once, one client after the other, and no more than so many waiting.

A client who sends a hundred questions waits behind its own, not before another's. One who steps aside (its search
goes on elsewhere) comes back before those who have not begun.
"""

from __future__ import annotations

import threading
from collections import OrderedDict, deque
from concurrent.futures import Future

from graph.errors import Busy

RETRY_S = 2


class TooBusy(Busy):
    """So many wait already that there is no use in waiting."""

    def __init__(self, waiting: int, retry_s: int = RETRY_S):
        super().__init__(f"{waiting} questions are waiting already; come back in {retry_s} s", retry_s)


class WaitingLine:
    """Thread-safe. `at_once`: how many have their turn together; `most_waiting`: beyond, TooBusy."""

    def __init__(self, at_once: int, most_waiting: int):
        self.at_once, self.most_waiting = at_once, most_waiting
        self._lock = threading.Lock()
        self._having, self._count = 0, 0
        self._back: deque[Future[None]] = deque()
        self._waiting: OrderedDict[str, deque[Future[None]]] = OrderedDict()

    @property
    def waiting(self) -> int:
        """How many wait for their first turn."""
        return self._count

    def enter(self, client: str) -> Future[None]:
        """Done when it is the client's turn, which `leave` ends; it may be cancelled before. Raises TooBusy."""
        turn: Future[None] = Future()
        with self._lock:
            if self._having < self.at_once and not self._count and not self._back:
                self._having += 1
                turn.set_result(None)
                return turn
            if self._count >= self.most_waiting:
                raise TooBusy(self._count)
            self._waiting.setdefault(client, deque()).append(turn)
            self._count += 1
        return turn

    def come_back(self) -> Future[None]:
        """The turn of one who had stepped aside with `leave`: before all who have not begun."""
        turn: Future[None] = Future()
        with self._lock:
            if self._having < self.at_once:
                self._having += 1
                turn.set_result(None)
            else:
                self._back.append(turn)
        return turn

    def leave(self) -> None:
        """Ends a turn; the next one has it."""
        while True:
            with self._lock:
                turn = self._next()
                if turn is None:
                    self._having -= 1
                    return
            if turn.set_running_or_notify_cancel():
                turn.set_result(None)
                return

    def _next(self) -> Future[None] | None:
        if self._back:
            return self._back.popleft()
        if not self._waiting:
            return None
        client, turns = self._waiting.popitem(last=False)
        turn = turns.popleft()
        self._count -= 1
        if turns:
            self._waiting[client] = turns
        return turn
