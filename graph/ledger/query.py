"""Free SPARQL for readers, with limits that hold: each query runs in a child process that can be killed.

The store's own query call cannot be cancelled, so nothing else stops a runaway query or gives its memory back.
A result is a file without a name: it is gone when it is closed, and when this process dies, however it dies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from graph.errors import Busy, InvalidQuestion, LimitExceeded, Problem, StoreProblem
from graph.guarded.bounds import Bounds
from graph.guarded.children import Children, Stopped
from graph.guarded.reader import temporary_file
from graph.ledger.sparql_guard import query_form
from graph.ledger.view import View


class QueryTimeout(LimitExceeded):
    """The query ran into its time limit and was stopped."""


class QueryTooBig(LimitExceeded):
    """The query needed more memory, or made a larger result, than the limits allow."""


@dataclass(frozen=True, slots=True)
class QueryLimits:
    """What one query may take. `at_once`: how many run side by side; `wait_s`: how long one waits for its turn."""

    time_s: float = 10.0
    memory_bytes: int = 1 << 30
    result_bytes: int = 64 << 20
    at_once: int = 2
    wait_s: float = 20.0


@dataclass(frozen=True, slots=True)
class AskedQuery:
    """A query with the graphs that its protocol parameters name, and the media type wanted."""

    text: str
    media_type: str
    default_graphs: Sequence[str] = ()
    named_graphs: Sequence[str] = ()


class QueryRunner:
    """Runs read-only queries on a view. Thread-safe; `close` stops its children."""

    def __init__(self, view: View, limits: QueryLimits | None = None):
        self.view = view
        self.limits = limits or QueryLimits()
        self._children = Children(self.limits.at_once, self.limits.wait_s)

    def run(self, asked: AskedQuery) -> IO[bytes]:
        """A file with the result, at its beginning, which the caller closes.

        Raises InvalidQuestion (refused or does not parse), QueryTimeout, QueryTooBig, Busy, StoreProblem.
        """
        query_form(asked.text)
        result = temporary_file()
        try:
            with self.view.snapshot() as store:
                self._judge(self._ask(asked, store, result))
            result.seek(0)
        except BaseException:
            result.close()
            raise
        return result

    def close(self) -> None:
        """Stops the idle children."""
        self._children.close()

    def _ask(self, asked: AskedQuery, store: Path, result: IO[bytes]) -> dict[str, Any]:
        limits = self.limits
        bounds = Bounds(limits.memory_bytes, int(limits.time_s) + 1, limits.time_s, limits.result_bytes, 0)
        question = {
            "query": asked.text, "store": str(store), "base": self.view.ledger.base, "media_type": asked.media_type,
            "default_graphs": list(asked.default_graphs), "named_graphs": list(asked.named_graphs),
        }  # fmt: skip
        try:
            return self._children.ask("graph.ledger.query_worker:answer", question, [result.fileno()], bounds)
        except Stopped as stopped:
            if stopped.why == "broken":
                raise QueryTooBig("the query broke the query engine: it is nested too deeply; ask for less") from None
            if stopped.why == "killed":
                raise Busy("the query was broken off, not by anything in it; send it again", retry_s=1) from None
            if stopped.why == "memory":
                return {"error": "memory"}
            message = f"the query was stopped after {limits.time_s:g} s; ask for less, or add a LIMIT inside"
            raise QueryTimeout(message) from None

    def _judge(self, reply: dict[str, Any]) -> None:
        kind, detail = reply.get("error"), reply.get("detail", "")
        if kind == "memory":
            megabytes = self.limits.memory_bytes >> 20
            raise QueryTooBig(f"the query needed more than {megabytes} MiB of memory and was stopped; ask for less")
        if kind == "syntax":
            raise InvalidQuestion([Problem("query", detail)])
        if kind == "size":
            megabytes = self.limits.result_bytes >> 20
            raise QueryTooBig(f"the result is larger than {megabytes} MiB; add a LIMIT, or export the whole graph")
        if kind == "store":
            raise StoreProblem(f"the graph could not be read: {detail}")
        if kind:
            raise RuntimeError(f"the query brought out a fault ({kind}):\n{detail}")
