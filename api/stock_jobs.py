"""Jobs that ask which part, on the shelf, opens most questions: one at a time, in a thread that answers no request.

What is known of them lives in memory and ends with the service; after a restart an id is not known. Kept are the last
MOST_KEPT that have ended, each with the MOST_PARTS parts that open most.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from queue import SimpleQueue
from typing import Any

from api.settings import Settings
from graph.errors import LayshaftError, LimitExceeded, NotFound
from graph.ledger.identity import new_id
from graph.reach.engines import check_engine, opened_engine
from graph.reach.stocking import Opened, rank_parts, spread
from graph.reading import CatalogueIndex, Question

MOST_KEPT, MOST_WAITING, MOST_PARTS = 20, 10, 50
WAITING, RUNNING, DONE, FAILED, CANCELLED = "waiting", "running", "done", "failed", "cancelled"


@dataclass(slots=True)
class StockJob:
    """A job, and what it has found so far. `index` is let go at its end."""

    id: str
    questions: Sequence[Question]
    budget: Fraction | None
    index: CatalogueIndex | None
    state: str = WAITING
    detail: str = ""
    opened: dict[int, Opened] = field(default_factory=dict)

    @property
    def ended(self) -> bool:
        """Whether nothing more will change."""
        return self.state in (DONE, FAILED, CANCELLED)

    def as_json(self) -> dict[str, Any]:
        """How far it is, and the parts that open most so far, each with the places of the questions it opens."""
        known = dict(self.opened)  # the job goes on while it is written
        ranked = rank_parts(known)
        return {
            "job": self.id, "state": self.state, "questions": len(self.questions), "worked_out": len(known),
            "detail": self.detail, "with_a_route": sum(one.has_route for one in known.values()),
            "parts": [{"part": one.part, "opens": list(one.questions)} for one in ranked[:MOST_PARTS]],
        }  # fmt: skip


class StockJobs:
    """Starts jobs, tells how far they are, and stops them. Thread-safe."""

    def __init__(self, settings: Settings):
        self.settings = settings
        self._known: OrderedDict[str, StockJob] = OrderedDict()
        self._lock = threading.Lock()
        self._line: SimpleQueue[StockJob] = SimpleQueue()
        self._thread: threading.Thread | None = None

    def start(self, questions: Sequence[Question], budget: Fraction | None, index: CatalogueIndex) -> StockJob:
        """Puts a job in line. Raises EngineProblem where the engine does not answer, LimitExceeded where too many wait.

        May take some seconds while an engine is being reached.
        """
        check_engine(self.settings.spread_over)
        job = StockJob(new_id(), questions, budget, index)
        with self._lock:
            if sum(not one.ended for one in self._known.values()) >= MOST_WAITING:
                raise LimitExceeded(f"{MOST_WAITING} jobs are under way; ask again when one has ended, or cancel one")
            self._known[job.id] = job
            for old in [one.id for one in self._known.values() if one.ended][:-MOST_KEPT]:
                del self._known[old]
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="layshaft-stock", daemon=True)
                self._thread.start()
        self._line.put(job)
        return job

    def get(self, job: str) -> StockJob:
        """The job. Raises NotFound for one that is not known (any more)."""
        with self._lock:
            if job not in self._known:
                raise NotFound("job since this service started (jobs end with it)", job)
            return self._known[job]

    def cancel(self, job: str) -> StockJob:
        """Stops it: nothing more is handed out. What was found stays. One that has ended stays as it is."""
        found = self.get(job)
        with self._lock:
            if not found.ended:
                self._end(found, CANCELLED)
        return found

    @staticmethod
    def _end(job: StockJob, state: str, detail: str = "") -> None:
        job.state, job.detail, job.index = state, detail, None

    def _work(self) -> None:
        while True:
            job = self._line.get()
            with self._lock:
                if job.ended:
                    continue
                job.state = RUNNING
            detail = self._run(job)
            with self._lock:
                if not job.ended:
                    self._end(job, FAILED if detail else DONE, detail)

    def _run(self, job: StockJob) -> str:
        """Works it out; what went wrong, in words."""
        index, at_once = job.index, min(self.settings.searches_at_once, len(job.questions))
        if index is None:
            return ""
        try:
            with opened_engine(self.settings.spread_over, index, at_once) as engine:
                for place, opened in spread(engine, job.questions, job.budget, lambda: job.ended):
                    job.opened[place] = opened
        except LayshaftError as error:
            return str(error)
        except Exception as error:  # whatever a worker ran into must reach the one who asks after the job
            return f"{type(error).__name__}: {error}"
        return ""
