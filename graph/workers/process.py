"""A process of its own that calls functions, one at a time, and can be killed in the middle of one.

It is a plain subprocess with a socket, not one of multiprocessing's: those load the program's main module again, and
outlive a parent that was killed. This one ends when its socket closes, whatever it is doing.
"""

from __future__ import annotations

import os
import pickle
import select
import socket
import struct
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from graph.errors import LayshaftError, LimitExceeded

ROOT = Path(__file__).resolve().parents[2]
EASED = 10  # niceness of work that may take long: the machine's other work goes first
_LENGTH = struct.Struct("!Q")
DONE, RAISED, OUT_OF_MEMORY = "done", "raised", "out of memory"


class WorkerDied(LayshaftError):
    """The process ended before it had answered: it was killed, or the system took it for its memory."""


class OutOfMemory(LimitExceeded):
    """The call needed more memory than it may take."""


class WorkerProcess:
    """Not for two threads at once, but for `kill`, which any thread may call.

    `loading`: modules that it loads at its start, so that the first call is as quick as the others.
    """

    def __init__(self, *loading: str) -> None:
        self._socket, theirs = socket.socketpair()
        self._is_ready, self._began_s = False, 0.0
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": _path()}
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "graph.workers.child", str(theirs.fileno()), *loading],
                pass_fds=(theirs.fileno(),), stdin=subprocess.DEVNULL, env=environment,
            )  # fmt: skip

    @property
    def pid(self) -> int:
        """The process's id."""
        return self._process.pid

    def begin(self, function: Callable[..., Any], *arguments: Any, memory_mb: int | None = None) -> None:
        """Starts the call. `function`: one that can be imported. `memory_mb`: what it may take beside what is held.

        Raises WorkerDied.
        """
        data = pickle.dumps((function, arguments, memory_mb), pickle.HIGHEST_PROTOCOL)
        if not self._is_ready:
            self.result()
            self._is_ready = True
        self._began_s = self._processor_s()
        try:
            self._socket.sendall(_LENGTH.pack(len(data)) + data)
        except OSError as error:
            raise WorkerDied("the process that worked on this has ended before it was done; ask again") from error

    def is_done(self, within_s: float | None = 0) -> bool:
        """Whether the call has ended, waited for so long; None: until it has."""
        try:
            return bool(select.select([self._socket], [], [], within_s)[0])
        except (OSError, ValueError):  # closed by `kill`
            return True

    def has_worked(self, seconds: float) -> bool:
        """Whether the call has had so much processor time; where the system does not tell, it has."""
        return self._processor_s() - self._began_s >= seconds

    def result(self) -> Any:
        """What the function gave back; waits for it. Raises what it raised, OutOfMemory, WorkerDied."""
        try:
            state, value = pickle.loads(self._received(_LENGTH.unpack(self._received(_LENGTH.size))[0]))
        except OSError as error:
            raise WorkerDied("the process that worked on this has ended before it was done; ask again") from error
        if state == RAISED:
            raise value
        if state == OUT_OF_MEMORY:
            raise OutOfMemory(f"more memory was needed than the {value} MB that it may take")
        return value

    def ease(self) -> None:
        """Lets all other work of the machine go first, from now on."""
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, self.pid, EASED)

    def kill(self) -> None:
        """Ends it at once; a call under way ends with WorkerDied."""
        self._process.kill()
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Ends it and frees what it held."""
        self.kill()
        self._process.wait()
        self._socket.close()

    def _processor_s(self) -> float:
        try:
            fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            return float("inf")
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def _received(self, count: int) -> bytes:
        parts = []
        while count:
            part = self._socket.recv(min(count, 1 << 20))
            if not part:
                raise OSError("it was stopped, or the system took it for its memory")
            parts.append(part)
            count -= len(part)
        return b"".join(parts)


def _path() -> str:
    return os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH", "")])])
