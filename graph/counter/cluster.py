"""Hard searches over a Dask cluster, for a trade that outgrows one machine (LAYSHAFT_SPREAD_OVER=dask://HOST:PORT).

Its workers need this package installed. A search keeps to its own time; the cluster cannot be made to end one in the
middle, so one whose asker has left goes on there until its time is over.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import CancelledError
from typing import Any

from graph.counter.asker import Asker, GivenUp
from graph.reach.engines import EngineProblem, connected
from graph.search import OutOfTime

GRACE_S = 10.0  # until the cluster has taken up what it was sent, and sent it back


class Cluster:
    """Connects when it is first needed, and again after a failure. Thread-safe."""

    def __init__(self, address: str):
        self._address, self._lock = address, threading.Lock()
        self._client: Any = None

    def run(self, function: Callable[..., Any], arguments: tuple[Any, ...], seconds: float | None, asker: Asker) -> Any:
        """What the function gives back, called over there. Raises what it raises, OutOfTime, GivenUp, EngineProblem."""
        future = self._connected().submit(function, *arguments, pure=False)
        try:
            with asker.stopping(future.cancel):
                return future.result(None if seconds is None else seconds + GRACE_S)
        except TimeoutError:
            future.cancel()
            raise OutOfTime(f"the cluster had not answered {GRACE_S:g} s after the time of {seconds} s") from None
        except CancelledError:
            if asker.has_left:
                raise GivenUp("the one who asked has left") from None
            self.close()
            raise EngineProblem(f"the cluster at {self._address} has given up the search") from None

    def close(self) -> None:
        """Ends the connection."""
        with self._lock:
            client, self._client = self._client, None
        if client is not None:
            client.close()

    def _connected(self) -> Any:
        with self._lock:
            if self._client is None or self._client.status != "running":
                self._client = connected(self._address)
            return self._client
