"""Work that outlasts a request: it runs in a thread of its own, one after another, and is asked about by its id.

With a work folder it is known to every service process on it, and after a restart; work whose process has ended in the
middle has failed, and an import is all or nothing, so the ledger's position tells whether it was done.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

from api.shared_work import WorkFolder
from graph.errors import InvalidInput, LayshaftError, NotFound, Problem, StoreProblem
from graph.ledger.identity import new_id

KIND = "import"  # of work in the folder
ENDED = "the service process that worked on it has ended; nothing was written if the ledger has not moved"
MOST_KEPT = 100
MOST_WAITING = 10
WAITING, RUNNING, DONE, FAILED = "waiting", "running", "done", "failed"
Work = Callable[[Callable[[str], None]], dict[str, Any]]  # takes `tell`, gives back the result


@dataclass(frozen=True, slots=True)
class Progress:
    """`state`: waiting, running, done or failed. `said`: the last thing it told. `result` or `problems` at its end."""

    id: str
    state: str = WAITING
    said: str = ""
    result: dict[str, Any] | None = None
    detail: str = ""
    problems: tuple[Problem, ...] = ()

    @property
    def ended(self) -> bool:
        """Whether nothing more will change."""
        return self.state in (DONE, FAILED)


class LongWork:
    """Starts work and tells how far it is. Thread-safe."""

    def __init__(self, folder: WorkFolder | None = None) -> None:
        self._folder = folder
        self._threads = ThreadPoolExecutor(max_workers=1, thread_name_prefix="layshaft-import")
        self._known: OrderedDict[str, Progress] = OrderedDict()
        self._lock = threading.Lock()

    def start(self, work: Work) -> Progress:
        """Puts the work in line. Raises StoreProblem where too much waits already."""
        made = Progress(new_id())
        with self._lock:
            if sum(not one.ended for one in self._known.values()) >= MOST_WAITING:
                raise StoreProblem(f"{MOST_WAITING} imports are waiting already; send it again when some have ended")
            self._known[made.id] = made
            while len(self._known) > MOST_KEPT:
                self._known.popitem(last=False)
        self._share(made)
        self._threads.submit(self._run, made.id, work)
        return made

    def get(self, work_id: str) -> Progress:
        """How far it is. Raises NotFound for an id that is not known (any more)."""
        with self._lock:
            if work_id in self._known:
                return self._known[work_id]
        found = self._folder and self._folder.find(KIND, work_id)
        if not found:
            raise NotFound("import", work_id)
        known: Progress = found.value
        if not known.ended and not found.alive:
            return replace(known, state=FAILED, detail=ENDED)
        return known

    def _share(self, progress: Progress) -> None:
        if self._folder is not None:
            self._folder.write(KIND, progress.id, progress)

    def _run(self, work_id: str, work: Work) -> None:
        def note(**values: Any) -> None:
            with self._lock:
                if work_id in self._known:
                    self._known[work_id] = now = replace(self._known[work_id], **values)
                else:
                    return
            self._share(now)

        note(state=RUNNING)
        try:
            note(result=work(lambda text: note(said=text)), state=DONE)
        except InvalidInput as error:
            note(state=FAILED, detail="nothing was written", problems=tuple(error.problems))
        except LayshaftError as error:
            note(state=FAILED, detail=str(error))
        except Exception as error:  # whoever asks must learn that it ended
            note(state=FAILED, detail=f"the service made a mistake ({type(error).__name__}): nothing was written")
            raise
