"""Searches in processes of their own, so that a hard one keeps nobody waiting and can be ended at any moment.

Each search begins in a quick process. One that is not over after QUICK_S is hard: it goes on eased, beside the others,
and a fresh process takes its place. Only so many hard ones go on together; a further one waits for its turn and begins
anew. An asker who leaves has the process killed, and so has a search that does not end when its time is over.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from typing import Any, Protocol

from graph.conversion.document import Conversion
from graph.counter.asker import Asker, GivenUp, current_asker
from graph.counter.cluster import Cluster
from graph.counter.line import TooBusy, WaitingLine
from graph.search import OutOfTime, SearchOrder, Solution, search_here
from graph.search.solve import stopped_early
from graph.workers import OutOfMemory, WorkerDied, WorkerProcess

QUICK_S = 0.3  # most questions of a shop are searched within a tenth of it
PATIENCE_S = 3.0  # by the clock, where the machine is too busy for QUICK_S to come together
GRACE_S = 3.0  # what a search is given to say what it has found when its time is over
MOST_HARD_WAITING = 16


class Turn(Protocol):
    """The turn that a question has; it may step aside while its search goes on elsewhere."""

    def step_aside(self) -> None:
        """Somebody else may have the turn."""

    def come_back(self) -> None:
        """Waits until it is its turn again."""


TURN: ContextVar[Turn | None] = ContextVar("turn", default=None)


class SearchProcesses:
    """A `Search`. `quick`: processes for searches that have just begun; `hard`: how many hard ones go on at once.
    `cluster`: where hard ones go on instead.

    Thread-safe. Processes are started when they are needed, or by `warm`. `close` ends them all; searches under way
    then raise WorkerDied.
    """

    def __init__(self, quick: int, hard: int, most_waiting: int = MOST_HARD_WAITING, cluster: Cluster | None = None):
        self._cluster = cluster
        self._slots, self._hard = threading.Semaphore(quick), WaitingLine(hard, most_waiting)
        self._lock = threading.Lock()
        self._all: set[WorkerProcess] = set()
        self._closed = False
        self._quick, self._idle = quick, list[WorkerProcess]()

    def __call__(self, conversion: Conversion, order: SearchOrder) -> Solution:
        """The search; one that time or memory did not let end in good order was stopped early, with nothing found."""
        try:
            found: Solution = self.run(search_here, conversion, order, order=order)
        except (OutOfTime, OutOfMemory):
            return stopped_early(order.objective)
        return found

    def run(self, function: Callable[..., Any], *arguments: Any, order: SearchOrder) -> Any:
        """What the function gives back, called in a process with the order's memory.

        Raises what it raises, OutOfTime where it has not ended GRACE_S after the order's seconds, OutOfMemory, GivenUp
        where the asker has left, TooBusy where too many hard ones wait, WorkerDied.
        """
        call = _Call(current_asker(), function, arguments, order)
        with self._slots:
            worker = self._begun(call)
            try:
                if call.is_quick(worker):
                    result = call.result(worker)
                    self._keep(worker)
                    return result
                worker.ease()
                self._keep(self._made())
            except BaseException:
                self._end(worker)
                self._keep(self._made())
                raise
        with _aside():
            return self._go_on(worker, call)

    def warm(self) -> None:
        """Starts the quick processes, so that the first questions need not wait for them."""
        for _ in range(self._quick):
            self._keep(self._made())

    def close(self) -> None:
        """Ends every process, whatever it is doing."""
        with self._lock:
            self._closed, doomed = True, list(self._all)
        if self._cluster is not None:
            self._cluster.close()
        for worker in doomed:
            self._end(worker)

    def _go_on(self, worker: WorkerProcess, call: _Call) -> Any:
        """A hard one, beside others where there is room, else begun anew when it is its turn, or in the cluster."""
        if self._cluster is not None:
            self._end(worker)
            return call.over_there(self._cluster)
        try:
            turn = self._hard.enter(call.asker.name)
        except TooBusy:
            self._end(worker)
            raise
        try:
            if not turn.done():
                self._end(worker)
                call.wait_for(turn)
                worker = self._made()
                worker.ease()
                call.begin(worker)
            return call.end(worker)
        finally:
            self._end(worker)  # an eased process stays eased
            if not turn.cancelled():
                self._hard.leave()

    # The processes

    def _made(self) -> WorkerProcess:
        worker = WorkerProcess(search_here.__module__)
        with self._lock:
            self._all.add(worker)
            if not self._closed:
                return worker
        self._end(worker)
        raise WorkerDied("the service is being stopped")

    def _taken(self) -> WorkerProcess:
        with self._lock:
            if self._idle:
                return self._idle.pop()
        return self._made()

    def _begun(self, call: _Call) -> WorkerProcess:
        """A process at work on the call. One that ended while it waited (the system may have killed it) had not begun
        anything, so the fresh one that took its place is asked."""
        try:
            return self._at_work(call)
        except WorkerDied:
            return self._at_work(call)

    def _at_work(self, call: _Call) -> WorkerProcess:
        worker = self._taken()
        try:
            call.begin(worker)
            return worker
        except BaseException:
            self._end(worker)
            self._keep(self._made())
            raise

    def _keep(self, worker: WorkerProcess) -> None:
        with self._lock:
            self._idle.append(worker)

    def _end(self, worker: WorkerProcess) -> None:
        with self._lock:
            self._all.discard(worker)
        worker.close()


class _Call:
    """What is asked of a process, by whom, and how long it may take."""

    def __init__(self, asker: Asker, function: Callable[..., Any], arguments: tuple[Any, ...], order: SearchOrder):
        self.asker, self._function, self._arguments, self._order = asker, function, arguments, order

    def begin(self, worker: WorkerProcess) -> None:
        memory_mb = self._order.memory_mb
        bound = None if memory_mb is None else memory_mb + memory_mb // 2  # the search bounds itself; this is beyond
        worker.begin(self._function, *self._arguments, memory_mb=bound)

    def is_quick(self, worker: WorkerProcess) -> bool:
        """Whether it is over before it has had QUICK_S of a processor; a busy machine alone makes nothing hard."""
        began = time.monotonic()
        while not self.is_over(worker, QUICK_S):
            if worker.has_worked(QUICK_S) or time.monotonic() - began > PATIENCE_S:
                return False
        return True

    def is_over(self, worker: WorkerProcess, within_s: float | None) -> bool:
        with self.asker.stopping(worker.kill):
            return worker.is_done(within_s)

    def result(self, worker: WorkerProcess) -> Any:
        try:
            return worker.result()
        except WorkerDied:
            if self.asker.has_left:
                raise GivenUp("the one who asked has left") from None
            raise

    def end(self, worker: WorkerProcess) -> Any:
        """The result, waited for as long as it may take."""
        seconds = self._order.seconds
        if not self.is_over(worker, None if seconds is None else seconds + GRACE_S):
            raise OutOfTime(f"it was stopped after {seconds:g} s")
        return self.result(worker)

    def over_there(self, cluster: Cluster) -> Any:
        """The result, worked out by the cluster."""
        return cluster.run(self._function, self._arguments, self._order.seconds, self.asker)

    def wait_for(self, turn: Future[None]) -> None:
        with self.asker.stopping(turn.cancel), suppress(CancelledError):
            turn.result()
        if self.asker.has_left:
            raise GivenUp("the one who asked has left")


@contextmanager
def _aside() -> Iterator[None]:
    """Others have the question's turn meanwhile."""
    turn = TURN.get()
    if turn is None:
        yield
        return
    turn.step_aside()
    try:
        yield
    finally:
        turn.come_back()
