"""A file handed to a child, and what a task made of it: the one way in for what strangers send.

A task is a generator at the top of a module, called in the child with the open file and plain values; every plain
value that it yields comes back as one line. What is refused in the child is raised here as it was there.
"""

from __future__ import annotations

import atexit
import json
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import IO, Any

from graph.errors import Busy, LimitExceeded, Problem, StoreProblem
from graph.guarded.bounds import Bounds
from graph.guarded.child import REFUSALS
from graph.guarded.children import Children, Stopped
from graph.guarded.task import Task

Source = bytes | IO[bytes]
MEGABYTE = 1 << 20
BROKEN_OFF = "the reading was broken off, not by anything in it; nothing was taken: send it again"
# Notes are short work and never wait behind files, which may take minutes.
_NOTES, _FILES = Children(at_once=2, wait_s=10.0), Children(at_once=2, wait_s=20.0)
atexit.register(_NOTES.close)
atexit.register(_FILES.close)


class BrokenOff(Busy):
    """The child that read was ended by somebody else: the same file may well be read if it is sent again."""


class TooMuch(LimitExceeded):
    """Reading a file took more than its bounds allow; the child that read it was stopped."""


def read(
    task: Task, source: Source, name: str, given: Mapping[str, Any], bounds: Bounds, *, note: bool = False,
    among: Children | None = None,
) -> Iterator[Any]:  # fmt: skip
    """What the task yields from the source, which a child reads. `name`: what messages call it.

    `note`: it is what one note states, and goes before files. `among`: children of its own, for work whose libraries
    alone pass the bounds of other files. Raises what the task refuses (InvalidInput,
    LimitExceeded), TooMuch, Busy (BrokenOff), and StoreProblem where the temporary folder has no room.
    """
    made = temporary_file()
    try:
        with _as_file(source) as file:
            call = {"task": f"{task.__module__}:{task.__qualname__}", "name": name, "given": given}
            _ask(among or (_NOTES if note else _FILES), call, [file.fileno(), made.fileno()], name, bounds)
    except BaseException:
        made.close()
        raise
    return _lines(made)


def _ask(children: Children, call: Mapping[str, Any], files: list[int], name: str, bounds: Bounds) -> None:
    try:
        reply = children.ask("graph.guarded.task:work", call, files, bounds)
    except Stopped as stopped:
        if stopped.why == "killed":
            raise BrokenOff(f"{name}: {BROKEN_OFF}", retry_s=1) from None
        raise TooMuch(_words(stopped.why, name, bounds)) from None
    error = reply.get("error")
    if error == "refused":
        kind = REFUSALS[reply["kind"]]
        raise kind([Problem(*one) for one in reply["problems"]] if "problems" in reply else reply["detail"])
    if error == "store":
        raise StoreProblem(reply["detail"])
    if error == "fault":
        raise RuntimeError(f"{name} brought out a fault in the reader:\n{reply['detail']}")
    if error:
        raise TooMuch(_words(error, name, bounds))


def _words(why: str, name: str, bounds: Bounds) -> str:
    reasons = {
        "time": f"reading it took more than {bounds.cpu_s} s of processor time and was stopped",
        "clock": f"reading it took more than {bounds.wall_s:g} s and was stopped",
        "memory": f"reading it took more than {bounds.memory_bytes // MEGABYTE} MB of memory and was stopped",
        "size": f"what it says comes to more than {bounds.output_bytes // MEGABYTE} MB",
    }
    reason = reasons.get(why, "it broke the reader, which nothing that is well formed does")
    return f"{name}: {reason}; nothing was taken. Split it"


@contextmanager
def _as_file(source: Source) -> Iterator[IO[bytes]]:
    """The source as an open file of the system."""
    if not isinstance(source, bytes):
        source.fileno()  # what was kept in memory so far goes to the disk
        source.flush()
        yield source
        return
    with temporary_file() as file:
        try:
            file.write(source)
            file.flush()
        except OSError as error:
            raise StoreProblem(f"the temporary folder {tempfile.gettempdir()} did not take a file: {error}") from error
        yield file


def temporary_file() -> IO[bytes]:
    """A file without a name: it is gone when it is closed, and when this process dies. Raises StoreProblem."""
    try:
        return tempfile.TemporaryFile(prefix="layshaft-")
    except OSError as error:
        raise StoreProblem(f"the temporary folder {tempfile.gettempdir()} did not take a file: {error}") from error


def _lines(made: IO[bytes]) -> Iterator[Any]:
    with made:
        made.seek(0)
        for line in made:
            yield json.loads(line)
