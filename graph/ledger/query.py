"""Free SPARQL for readers, with limits that hold: each query runs in a child process that can be killed.

The store's own query call cannot be cancelled, so nothing else stops a runaway query or gives its memory back.
Children are kept warm and used again; one that passes a limit, dies, or has served enough is replaced.
"""

from __future__ import annotations

import json
import os
import queue
import select
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from graph.errors import InvalidQuestion, LimitExceeded, Problem, StoreProblem
from graph.ledger.sparql_guard import query_form
from graph.ledger.view import View

USES = 200  # then a fresh child: whatever its allocator kept goes back


class QueryTimeout(LimitExceeded):
    """The query ran into its time limit and was stopped."""


class QueryTooBig(LimitExceeded):
    """The query needed more memory, or made a larger result, than the limits allow."""


class QueriesBusy(LimitExceeded):
    """All query processes are at work; come back later."""


@dataclass(frozen=True, slots=True)
class QueryLimits:
    """What one query may take. `at_once`: how many run side by side; `wait_s`: how long one waits for its turn."""

    time_s: float = 10.0
    memory_bytes: int = 1 << 30
    result_bytes: int = 64 << 20
    at_once: int = 2
    wait_s: float = 20.0


@dataclass(frozen=True, slots=True)
class Asked:
    """A query with the graphs that its protocol parameters name, and the media type wanted."""

    text: str
    media_type: str
    default_graphs: Sequence[str] = ()
    named_graphs: Sequence[str] = ()


class _Child:
    """One worker process."""

    def __init__(self, memory_bytes: int):
        self.uses = 0
        self.process = subprocess.Popen(
            [sys.executable, "-m", "graph.ledger.query_worker", str(memory_bytes)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )  # fmt: skip

    def ask(self, question: dict[str, object], time_s: float) -> dict[str, str] | None:
        """The reply; None if the child died of it.

        Raises BrokenPipeError if it was dead before, QueryTimeout after `time_s` seconds (it is dead then).
        """
        self.uses += 1
        stdin, stdout = self.process.stdin, self.process.stdout
        assert stdin is not None
        assert stdout is not None
        deadline, received = time.monotonic() + time_s, b""
        stdin.write(json.dumps(question).encode() + b"\n")
        while not received.endswith(b"\n"):
            ready, _, _ = select.select([stdout], [], [], max(0.0, deadline - time.monotonic()))
            if not ready:
                self.stop()
                raise QueryTimeout(f"the query was stopped after {time_s:g} s; ask for less, or add a LIMIT inside")
            part = os.read(stdout.fileno(), 65536)
            if not part:
                self.stop()
                return None
            received += part
        reply: dict[str, str] = json.loads(received)
        return reply

    @property
    def usable(self) -> bool:
        """Whether it can take another query."""
        return self.uses < USES and self.process.poll() is None

    def stop(self) -> None:
        """Kills it; its memory is free when this returns."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                pipe.close()


class QueryRunner:
    """Runs read-only queries on a view. Thread-safe; `close` stops its children."""

    def __init__(self, view: View, limits: QueryLimits | None = None):
        self.view = view
        self.limits = limits or QueryLimits()
        self._turns = threading.BoundedSemaphore(self.limits.at_once)
        self._idle: queue.SimpleQueue[_Child] = queue.SimpleQueue()

    def run(self, asked: Asked) -> Path:
        """The path of a file with the result, which the caller removes.

        Raises InvalidQuestion (refused or does not parse), QueryTimeout, QueryTooBig, QueriesBusy, StoreProblem.
        """
        query_form(asked.text)
        if not self._turns.acquire(timeout=self.limits.wait_s):
            raise QueriesBusy(f"{self.limits.at_once} queries are running; none ended within {self.limits.wait_s:g} s")
        try:
            return self._run(asked)
        finally:
            self._turns.release()

    def close(self) -> None:
        """Stops the idle children."""
        while not self._idle.empty():
            self._idle.get().stop()

    def _run(self, asked: Asked) -> Path:
        handle, name = tempfile.mkstemp(prefix="layshaft-result-")
        os.close(handle)
        result = Path(name)
        try:
            with self.view.snapshot() as store:
                reply = self._ask(self._question(asked, store, result))
            self._judge(reply)
        except BaseException:
            result.unlink(missing_ok=True)
            raise
        return result

    def _ask(self, question: dict[str, object]) -> dict[str, str] | None:
        child = self._child()
        try:
            return child.ask(question, self.limits.time_s)
        except BrokenPipeError:  # it died while it was idle; a fresh one has not
            child.stop()
            child = _Child(self.limits.memory_bytes)
            return child.ask(question, self.limits.time_s)
        finally:
            self._put_back(child)

    def _question(self, asked: Asked, store: Path, result: Path) -> dict[str, object]:
        return {
            "query": asked.text, "store": str(store), "result": str(result), "base": self.view.ledger.base,
            "media_type": asked.media_type, "max_bytes": self.limits.result_bytes,
            "default_graphs": list(asked.default_graphs), "named_graphs": list(asked.named_graphs),
        }  # fmt: skip

    def _judge(self, reply: dict[str, str] | None) -> None:
        if reply is None or reply.get("error") == "memory":
            megabytes = self.limits.memory_bytes >> 20
            raise QueryTooBig(f"the query needed more than {megabytes} MiB of memory and was stopped; ask for less")
        kind, detail = reply.get("error"), reply.get("detail", "")
        if kind == "syntax":
            raise InvalidQuestion([Problem("query", detail)])
        if kind == "size":
            megabytes = self.limits.result_bytes >> 20
            raise QueryTooBig(f"the result is larger than {megabytes} MiB; add a LIMIT, or export the whole graph")
        if kind == "store":
            raise StoreProblem(f"the graph could not be read: {detail}")

    def _child(self) -> _Child:
        while not self._idle.empty():
            child = self._idle.get()
            if child.usable:
                return child
            child.stop()
        return _Child(self.limits.memory_bytes)

    def _put_back(self, child: _Child) -> None:
        if child.usable:
            self._idle.put(child)
        else:
            child.stop()
