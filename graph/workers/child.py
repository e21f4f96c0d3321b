"""The other end of a WorkerProcess: `python -m graph.workers.child SOCKET MODULE...`.

A thread reads, so that the end of the service is noticed in the middle of a call.
"""

from __future__ import annotations

import gc
import importlib
import os
import pickle
import resource
import signal
import socket
import struct
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from queue import SimpleQueue
from typing import Any

from graph.workers.process import DONE, OUT_OF_MEMORY, RAISED

LENGTH = struct.Struct("!Q")
MEGABYTE = 1 << 20


def main(descriptor: int, loading: Sequence[str]) -> None:
    """Calls what comes in, one after another, until the socket closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the service's to answer
    connection = socket.socket(fileno=descriptor)
    line: SimpleQueue[bytes] = SimpleQueue()
    threading.Thread(target=_read, args=(connection, line), daemon=True).start()
    gc.disable()
    for module in loading:
        importlib.import_module(module)
    gc.enable()
    gc.freeze()  # what was loaded stays
    connection.sendall(_framed(pickle.dumps((DONE, None))))
    while True:
        connection.sendall(_framed(_called(line.get())))


def _read(connection: socket.socket, line: SimpleQueue[bytes]) -> None:
    try:
        with connection.makefile("rb") as file:
            while head := file.read(LENGTH.size):
                line.put(file.read(LENGTH.unpack(head)[0]))
    finally:
        os._exit(0)


def _called(data: bytes) -> bytes:
    memory_mb: int | None = None
    try:
        function, arguments, memory_mb = pickle.loads(data)
        _allow(memory_mb)
        answer: tuple[str, Any] = (DONE, function(*arguments))
        packed = pickle.dumps(answer, pickle.HIGHEST_PROTOCOL)
    except MemoryError:
        _allow(None)
        packed = pickle.dumps((OUT_OF_MEMORY, memory_mb))
    except Exception as error:  # whatever it ran into must reach the one who asked
        _allow(None)
        packed = _packed(error)
    _allow(None)
    return packed


def _framed(packed: bytes) -> bytes:
    return LENGTH.pack(len(packed)) + packed


def _packed(error: Exception) -> bytes:
    try:
        packed = pickle.dumps((RAISED, error))
        pickle.loads(packed)
    except Exception:  # some exceptions cannot be sent; their words can
        packed = pickle.dumps((RAISED, RuntimeError(f"{type(error).__name__}: {error}")))
    return packed


def _allow(memory_mb: int | None) -> None:
    """So much more than is held now, where the system can tell and bound it (Linux); None: no bound."""
    hard = resource.getrlimit(resource.RLIMIT_DATA)[1]
    limit = hard if memory_mb is None else _held() + memory_mb * MEGABYTE
    if memory_mb is None or limit > memory_mb * MEGABYTE:
        soft = limit if hard == resource.RLIM_INFINITY or limit == hard else min(limit, hard)
        resource.setrlimit(resource.RLIMIT_DATA, (soft, hard))


def _held() -> int:
    """Bytes of private writable memory of this process; 0 where the system does not tell."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[5])
    except (OSError, ValueError, IndexError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:])
