"""An executor over WorkerProcesses: what is under way can be ended, and nothing outlives the one who started it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future
from queue import SimpleQueue
from typing import Any

from graph.workers.process import WorkerDied, WorkerProcess


class WorkerPool(Executor):
    """`count` processes; `first` with its arguments is called once in each, before anything else."""

    def __init__(self, count: int, first: Callable[..., Any], *arguments: Any):
        self._first, self._arguments = first, arguments
        self._line: SimpleQueue[tuple[Future[Any], Callable[..., Any], tuple[Any, ...]] | None] = SimpleQueue()
        self._workers = [WorkerProcess() for _ in range(count)]
        self._threads = [threading.Thread(target=self._serve, args=(one,), daemon=True) for one in self._workers]
        for thread in self._threads:
            thread.start()

    def submit(self, task: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        """See concurrent.futures; named arguments are not taken."""
        if named:
            raise TypeError(f"no named arguments are taken: {', '.join(named)}")
        future: Future[Any] = Future()
        self._line.put((future, task, arguments))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Ends every process, also in the middle of a call, whose future then fails with WorkerDied."""
        for _ in self._threads:
            self._line.put(None)
        if cancel_futures or not wait:
            for worker in self._workers:
                worker.kill()
        for thread in self._threads:
            thread.join()

    def _serve(self, worker: WorkerProcess) -> None:
        try:
            self._take_up(worker)
            while (asked := self._line.get()) is not None:
                self._answer(worker, *asked)
        finally:
            worker.close()

    def _take_up(self, worker: WorkerProcess) -> None:
        """A process that cannot begin fails at its first call, where somebody hears of it."""
        try:
            worker.begin(self._first, *self._arguments)
            worker.result()
        except Exception as error:
            while (asked := self._line.get()) is not None:
                _fail(asked[0], error)
            self._line.put(None)

    def _answer(
        self, worker: WorkerProcess, future: Future[Any], task: Callable[..., Any], arguments: tuple[Any, ...]
    ) -> None:
        if not future.set_running_or_notify_cancel():
            return
        try:
            worker.begin(task, *arguments)
            future.set_result(worker.result())
        except WorkerDied as error:
            future.set_exception(error)
            while (asked := self._line.get()) is not None:
                _fail(asked[0], error)
            self._line.put(None)
        except Exception as error:
            future.set_exception(error)


def _fail(future: Future[Any], error: Exception) -> None:
    if future.set_running_or_notify_cancel():
        future.set_exception(error)
