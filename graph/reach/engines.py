"""Where long jobs are worked out: in processes of this machine, or by an engine that runs already (Dask).

An engine takes a function of an index, and gives back a future of the standard library. `dask://HOST:PORT` names the
scheduler of a Dask cluster (the extra `spread`); its workers need this package installed, and must be able to read the
compact file under the same name where the facts are kept in one. There is no scheduler of our own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import urlsplit

from graph.errors import StoreProblem
from graph.reach.carried import Carried, carry, index_of
from graph.reading import CatalogueIndex
from graph.workers.pool import WorkerPool

Made = TypeVar("Made")
DASK = "dask"
ANSWERS_WITHIN_S = 10


class EngineProblem(StoreProblem):
    """The engine cannot be used: not installed, not reachable, or its workers lack something."""


class Engine:
    """An executor whose workers have the index. `at_once`: how many calls it works on."""

    def __init__(self, executor: Executor, index: Any, at_once: int):
        """`index`: what the executor's workers see as the carried index; None where they were started with it."""
        self._executor, self._index, self.at_once = executor, index, at_once

    def submit(self, task: Callable[..., Made], *arguments: Any) -> Future[Made]:
        """The future of `task(index, *arguments)`, called in a worker."""
        return self._executor.submit(_call, task, self._index, *arguments)


_own: list[Carried] = []  # of a process that was started for one index


def _keep(carried: Carried) -> None:
    _own[:] = [carried]


def _call(task: Callable[..., Made], carried: Carried | None, *arguments: Any) -> Made:
    return task(index_of(carried or _own[0]), *arguments)


def check_address(spread_over: str) -> None:
    """Raises ValueError unless it is empty or dask://HOST:PORT."""
    parts = urlsplit(spread_over)
    try:
        good = parts.scheme == DASK and bool(parts.hostname) and parts.port is not None and not parts.path
    except ValueError:  # a port that is no number
        good = False
    if spread_over and not good:
        raise ValueError(f"expected {DASK}://HOST:PORT or nothing, found {spread_over!r}")


@contextmanager
def opened_engine(spread_over: str, index: CatalogueIndex, at_once: int) -> Iterator[Engine]:
    """The engine at the address; where that is empty, `at_once` processes of this machine. Raises EngineProblem."""
    if spread_over:
        with _dask(spread_over, carry(index)) as engine:
            yield engine
        return
    executor = WorkerPool(at_once, _keep, carry(index))
    try:
        yield Engine(executor, None, at_once)
    finally:
        executor.shutdown(cancel_futures=True)


def check_engine(spread_over: str) -> None:
    """Whether the engine answers now. Raises EngineProblem."""
    if spread_over:
        connected(spread_over).close()


@contextmanager
def _dask(address: str, carried: Carried) -> Iterator[Engine]:
    client = connected(address)
    try:
        at_once = sum(client.nthreads().values())
        if not at_once:
            raise EngineProblem(f"the scheduler at {address} has no workers; start some, or unset the setting")
        if carried.file:
            _check_file(client, address, carried)
        index = client.scatter(carried, broadcast=True, hash=False)  # sent once, however many questions there are
        yield Engine(client.get_executor(pure=False), index, at_once)
    finally:
        client.close()


def connected(address: str) -> Any:
    """A client of the cluster whose scheduler is at dask://HOST:PORT. Raises EngineProblem."""
    try:
        from distributed import Client
    except ImportError as error:
        raise EngineProblem(f"{address} needs the package distributed: install layshaft[spread] ({error})") from error
    scheduler = urlsplit(address)._replace(scheme="tcp").geturl()
    try:
        return Client(scheduler, timeout=ANSWERS_WITHIN_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:  # no connection in time is an OSError too
        reason = str(error) or type(error).__name__
        raise EngineProblem(f"no Dask scheduler answers at {address} within {ANSWERS_WITHIN_S} s: {reason}") from error


def _check_file(client: Any, address: str, carried: Carried) -> None:
    seen: dict[str, int] = client.run(_size_of, carried.file)
    lacking = sorted(worker for worker, size in seen.items() if size != carried.size_bytes)
    if lacking:
        raise EngineProblem(
            f"{len(lacking)} of {len(seen)} workers at {address} do not see the facts as {carried.file} "
            f"({carried.size_bytes:,} bytes): share that folder with them; the first is {lacking[0]}"
        )


def _size_of(file: str) -> int:
    path = Path(file)
    return path.stat().st_size if path.is_file() else -1
