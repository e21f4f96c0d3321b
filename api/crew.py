"""Several service processes on one address and one data folder, for machines with more than one core.

This process listens and answers nothing: it starts the others, which take requests from the one socket as they are
free, starts one again that has ended unasked, and ends all when it is told to. A process that ends again and again
before it serves takes all with it: what is wrong with one is wrong with the next.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from types import FrameType

from prometheus_client.multiprocess import mark_process_dead

from api.connections import GRACE_SECONDS
from api.metrics import SHARED

LIVED_S = 10  # a process that ended sooner had not begun to serve
MOST_FAILURES = 3
LOOKS_EVERY_S = 0.2


def serve_by_crew(listener: socket.socket, count: int, arguments: Sequence[str], settings: Mapping[str, str]) -> int:
    """Serves until SIGINT or SIGTERM. `arguments`: of `python -m api` for each process; the exit status: 0, or 2 where
    they would not stay up. `settings`: added to their environment."""
    stop = threading.Event()

    def told(number: int, frame: FrameType | None) -> None:
        stop.set()

    before = {number: signal.signal(number, told) for number in (signal.SIGTERM, signal.SIGINT)}
    crew = _Crew(listener, [sys.executable, "-m", "api", *arguments], {**os.environ, **settings})
    try:
        return crew.run(count, stop)
    finally:
        crew.end()
        for number, handler in before.items():
            signal.signal(number, handler)


class _Crew:
    def __init__(self, listener: socket.socket, command: list[str], environment: Mapping[str, str]):
        self._descriptor, self._environment = listener.fileno(), environment
        self._command = [*command, "--listening-on", str(self._descriptor)]
        self._running: dict[subprocess.Popen[bytes], float] = {}

    def run(self, count: int, stop: threading.Event) -> int:
        failures = 0
        while not stop.is_set():
            for process in [one for one in self._running if one.poll() is not None]:
                lived = time.monotonic() - self._running.pop(process)
                failures = failures + 1 if lived < LIVED_S else 0
                mark_process_dead(process.pid, self._environment[SHARED])  # type: ignore[no-untyped-call]
                print(f"service process {process.pid} ended with status {process.returncode}", file=sys.stderr)
            if failures >= MOST_FAILURES:
                print(f"{failures} service processes ended before they served; giving up", file=sys.stderr)
                return 2
            while len(self._running) < count:
                self._start()
            stop.wait(LOOKS_EVERY_S)
        return 0

    def end(self) -> None:
        """Tells each to end, and kills what has not ended in its time of grace."""
        for process in self._running:
            with suppress(ProcessLookupError):
                process.terminate()
        until = time.monotonic() + GRACE_SECONDS + LIVED_S
        for process in self._running:
            try:
                process.wait(max(0.0, until - time.monotonic()))
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def _start(self) -> None:
        process = subprocess.Popen(self._command, env=self._environment, pass_fds=[self._descriptor])
        self._running[process] = time.monotonic()


def end_with(parent: int) -> None:
    """Ends this process in good order when the one that started it has gone, however that ended."""

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1)
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=watch, daemon=True).start()
