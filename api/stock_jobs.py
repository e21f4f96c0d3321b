"""Jobs that ask which part, on the shelf, opens most questions: one at a time, in a thread that answers no request.

With a work folder they are known to every service process on it, and after a restart; a job whose process has ended
has failed. Without one they live in memory and end with the service. Each shows the MOST_PARTS parts that open most.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from fractions import Fraction
from queue import SimpleQueue
from typing import Any

from api.settings import Settings
from api.shared_work import WorkFolder
from graph.errors import LayshaftError, LimitExceeded, NotFound
from graph.ledger.identity import new_id
from graph.reach.engines import check_engine, opened_engine
from graph.reach.stocking import Opened, rank_parts, spread
from graph.reading import CatalogueIndex, Question

MOST_KEPT, MOST_WAITING, MOST_PARTS = 20, 10, 50
KIND = "stock"  # of work in the folder
SHARED_EVERY_S = 0.5
PATIENCE_S = 5.0
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

    def __init__(self, settings: Settings, folder: WorkFolder | None = None):
        self.settings, self.folder = settings, folder
        self._known: OrderedDict[str, StockJob] = OrderedDict()
        self._lock = threading.Lock()
        self._line: SimpleQueue[StockJob | None] = SimpleQueue()
        self._thread: threading.Thread | None = None

    def start(self, questions: Sequence[Question], budget: Fraction | None, index: CatalogueIndex) -> StockJob:
        """Puts a job in line. Raises EngineProblem where the engine does not answer, LimitExceeded where too many wait.

        May take some seconds while an engine is being reached.
        """
        check_engine(self.settings.spread_over)
        job = StockJob(new_id(), questions, budget, index)
        with self._lock:
            if self._count_under_way() >= MOST_WAITING:
                raise LimitExceeded(f"{MOST_WAITING} jobs are under way; ask again when one has ended, or cancel one")
            self._known[job.id] = job
            for old in [one.id for one in self._known.values() if one.ended][:-MOST_KEPT]:
                del self._known[old]
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="layshaft-stock", daemon=True)
                self._thread.start()
        self._share(job)
        self._line.put(job)
        return job

    def get(self, job: str) -> StockJob:
        """The job. Raises NotFound for one that is not known (any more)."""
        with self._lock:
            if job in self._known:
                return self._known[job]
        found = self.folder and self.folder.find(KIND, job)
        if not found:
            raise NotFound("stock job (the last ones are kept)", job)
        known: StockJob = found.value
        if not known.ended and not found.alive:
            return replace(known, state=FAILED, detail="the service process that worked on it has ended")
        return known

    def cancel(self, job: str) -> StockJob:
        """Stops it: nothing more is handed out. What was found stays. One that has ended stays as it is."""
        found = self.get(job)
        with self._lock:
            mine = job in self._known
            if mine and not found.ended:
                self._end(found, CANCELLED)
        if mine:
            self._share(found)
        elif self.folder and not found.ended:
            self.folder.ask_to_end(KIND, job)
            return replace(found, state=CANCELLED)
        return found

    def close(self) -> None:
        """Ends every job of this process; what they found stays known."""
        with self._lock:
            known = list(self._known.values())
        for job in known:
            if not job.ended:
                self.cancel(job.id)
        if self._thread is not None:
            self._line.put(None)
            self._thread.join(PATIENCE_S)

    def _count_under_way(self) -> int:
        if self.folder is None:
            return sum(not one.ended for one in self._known.values())
        return sum(found.alive and not found.value.ended for found in self.folder.list_work(KIND))

    def _share(self, job: StockJob) -> None:
        if self.folder is not None:
            self.folder.write(KIND, job.id, replace(job, index=None, opened=dict(job.opened)))

    def _is_to_end(self, job: StockJob) -> bool:
        if self.folder is not None and not job.ended and self.folder.is_asked_to_end(KIND, job.id):
            with self._lock:
                self._end(job, CANCELLED)
        return job.ended

    @staticmethod
    def _end(job: StockJob, state: str, detail: str = "") -> None:
        job.state, job.detail, job.index = state, detail, None

    def _work(self) -> None:
        while True:
            job = self._line.get()
            if job is None:
                return
            with self.folder.one_at_a_time(KIND) if self.folder else nullcontext():
                self._work_on(job)

    def _work_on(self, job: StockJob) -> None:
        if self._is_to_end(job):
            return
        job.state = RUNNING
        self._share(job)
        detail = self._run(job)
        with self._lock:
            if not job.ended:
                self._end(job, FAILED if detail else DONE, detail)
        self._share(job)

    def _run(self, job: StockJob) -> str:
        """Works it out; what went wrong, in words."""
        index, at_once = job.index, min(self.settings.searches_at_once, len(job.questions))
        shared_at = time.monotonic()
        if index is None:
            return ""
        try:
            with opened_engine(self.settings.spread_over, index, at_once) as engine:
                for place, opened in spread(engine, job.questions, job.budget, lambda: self._is_to_end(job)):
                    job.opened[place] = opened
                    if time.monotonic() - shared_at > SHARED_EVERY_S:
                        self._share(job)
                        shared_at = time.monotonic()
        except LayshaftError as error:
            return str(error)
        except Exception as error:  # whatever a worker ran into must reach the one who asks after the job
            return f"{type(error).__name__}: {error}"
        return ""
