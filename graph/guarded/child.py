"""The child process: it takes one piece of work at a time from its parent, within the limits that come with it.

Only `children.Child` starts it (`python -m graph.guarded.child DESCRIPTOR`). It may be killed at any moment; it
writes nothing but the files that it was handed. Its priority is low, so that heavy work does not slow the service.
"""

from __future__ import annotations

import ctypes
import errno
import importlib
import json
import math
import os
import resource
import socket
import sys
import traceback
from collections.abc import Mapping
from typing import Any

from graph.errors import InvalidFacts, InvalidInput, InvalidQuestion, LimitExceeded

MOST_FILES = 4
# Somebody waits for what it reads: at 10 a first workbook took half a minute beside other work on the same machine,
# for half a second of processor time.
NICE = 4
TAKEN = b"+"  # said before the work begins: who dies without it was dead before
# What a task may say is wrong with what was handed in; anything else is a fault of ours.
REFUSALS: Mapping[str, type[InvalidInput] | type[LimitExceeded]] = {
    kind.__name__: kind for kind in (InvalidInput, InvalidFacts, InvalidQuestion, LimitExceeded)
}
MOST_PROBLEMS, MOST_WORDS = 1_000, 1_000


def main() -> None:
    """Works until its parent has gone."""
    os.nice(NICE)
    _limit("RLIMIT_CORE", 0)
    line = socket.socket(fileno=int(sys.argv[1]))
    while found := _next_message(line):
        message, files = found
        line.sendall(TAKEN)
        try:
            reply = _reply(message, files)
        finally:
            for each in files:
                os.close(each)
        _give_back()
        line.sendall(json.dumps(reply).encode() + b"\n")


def _next_message(line: socket.socket) -> tuple[dict[str, Any], list[int]] | None:
    parts: list[bytes] = []
    files: list[int] = []
    while not (parts and parts[-1].endswith(b"\n")):
        part, more, _, _ = socket.recv_fds(line, 1 << 16, MOST_FILES)
        if not part:
            return None
        parts.append(part)
        files += more
    return json.loads(b"".join(parts)), files


def _reply(message: dict[str, Any], files: list[int]) -> dict[str, Any]:
    _limit("RLIMIT_DATA", int(message["memory_bytes"]))
    _limit("RLIMIT_FSIZE", int(message["output_bytes"]))
    used = resource.getrusage(resource.RUSAGE_SELF)
    _limit("RLIMIT_CPU", math.ceil(used.ru_utime + used.ru_stime) + int(message["cpu_s"]))
    module, _, name = message["task"].partition(":")
    try:
        reply: dict[str, Any] = getattr(importlib.import_module(module), name)(message["given"], files)
    except (InvalidInput, LimitExceeded) as error:
        return _refusal(error)
    except MemoryError:
        return {"error": "memory"}
    except OSError as error:
        return {"error": "size"} if error.errno == errno.EFBIG else {"error": "store", "detail": str(error)}
    except RecursionError:
        return {"error": "broken"}
    except Exception:  # its parent raises it again, as a fault of ours
        return {"error": "fault", "detail": traceback.format_exc()}
    return reply


def _refusal(error: InvalidInput | LimitExceeded) -> dict[str, Any]:
    kind = next((one.__name__ for one in type(error).__mro__ if one.__name__ in REFUSALS), "InvalidInput")
    if isinstance(error, LimitExceeded):
        return {"error": "refused", "kind": kind, "detail": str(error)[:MOST_WORDS]}
    problems = [(one.path[:MOST_WORDS], one.message[:MOST_WORDS]) for one in error.problems[:MOST_PROBLEMS]]
    return {"error": "refused", "kind": kind, "problems": problems}


def _give_back() -> None:
    """What the C library's allocator holds without need goes back to the system, where it has a way to say so: a photo
    leaves some 60 MB so, for which its child would not be kept."""
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)


def _limit(name: str, value: int) -> None:
    """A soft limit, as far as the system knows it and lets a process have it."""
    if not hasattr(resource, name):
        return
    which = getattr(resource, name)
    _, hard = resource.getrlimit(which)
    resource.setrlimit(which, (value if hard == resource.RLIM_INFINITY else min(value, hard), hard))


if __name__ == "__main__":
    main()
