"""Child processes that work for this one, are kept warm and used again, and are killed when they pass a bound.

A piece of work is a function that this program names, plain values, and open files; a file travels as a descriptor,
so that nothing is copied and nothing is left behind when either side dies. Memory and processor time are limited by
the operating system, and where it does not keep to a limit (macOS lets a process have what it asks for) the child's
size is looked at from here.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Mapping, Sequence
from typing import Any

from graph.errors import Busy
from graph.guarded.bounds import Bounds
from graph.guarded.child import TAKEN

USES = 200  # then a fresh child: whatever its allocator kept goes back
KEPT_BYTES = 128 << 20  # one that is larger after its work is not kept
SPARE_BYTES = 96 << 20  # the interpreter and its libraries, which the bound on private memory does not count in full
LOOK_EVERY_S = 0.1
# Memory that is refused aborts a library. Who is killed was too large for the system only if it was near its bound.
ENDS: Mapping[int, str] = {signal.SIGXCPU: "time", signal.SIGKILL: "killed", signal.SIGABRT: "memory"}
NEAR_ITS_BOUND = 0.75


class Stopped(Exception):
    """The work was stopped, or ended the child: `why` is `time`, `clock`, `memory` or `broken`, for callers to word;
    `killed`: somebody else ended the child, and what was handed in is not to blame."""

    def __init__(self, why: str):
        self.why = why
        super().__init__(why)


class Child:
    """One process, which does one piece of work at a time."""

    def __init__(self) -> None:
        self.uses, self._largest = 0, 0
        self._line, theirs = socket.socketpair()
        with theirs:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "graph.guarded.child", str(theirs.fileno())], pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            )  # fmt: skip
        # One that is killed while it is idle would stay defunct until somebody asks for it.
        threading.Thread(target=self.process.wait, name=f"reaps {self.process.pid}", daemon=True).start()

    def ask(self, message: bytes, files: Sequence[int], bounds: Bounds) -> dict[str, Any]:
        """The reply. Raises Stopped (it is dead then), or BrokenPipeError if it was dead before."""
        self.uses, self._largest = self.uses + 1, 0
        deadline, received = time.monotonic() + bounds.wall_s, b""
        self._send(message, files)
        while not received.endswith(b"\n"):
            part = self._received()
            if part == b"":
                if not received:
                    raise BrokenPipeError("it was dead before")
                raise Stopped(self._cause_of_death(bounds))
            received += part or b""
            if part is None and (why := self._passed(bounds, deadline)):
                self.stop()
                raise Stopped(why)
        reply: dict[str, Any] = json.loads(received.removeprefix(TAKEN))
        return reply

    def _send(self, message: bytes, files: Sequence[int]) -> None:
        try:
            self._line.settimeout(None)
            sent = socket.send_fds(self._line, [message], files)
            self._line.sendall(message[sent:])
            self._line.settimeout(LOOK_EVERY_S)
        except ConnectionError as error:
            raise BrokenPipeError(str(error)) from error

    def _received(self) -> bytes | None:
        """What came; empty if it has died, None if nothing came within a moment."""
        try:
            return self._line.recv(1 << 16)
        except TimeoutError:
            return None
        except ConnectionError:
            return b""

    def _passed(self, bounds: Bounds, deadline: float) -> str:
        """The bound that was passed, if any."""
        if time.monotonic() > deadline:
            return "clock"
        self._largest = max(self._largest, resident_bytes(self.process.pid))
        return "memory" if self._largest > bounds.memory_bytes + SPARE_BYTES else ""

    def _cause_of_death(self, bounds: Bounds) -> str:
        self._line.close()
        why = ENDS.get(-self.process.wait(), "broken")
        return "memory" if why == "killed" and self._largest > NEAR_ITS_BOUND * bounds.memory_bytes else why

    @property
    def usable(self) -> bool:
        """Whether it can be given more to do."""
        return self.uses < USES and self.process.poll() is None and resident_bytes(self.process.pid) < KEPT_BYTES

    def stop(self) -> None:
        """Kills it; its memory is free when this returns."""
        self.process.kill()
        self.process.wait()
        self._line.close()


class Children:
    """At most `at_once` children at work, at most `most_idle` kept for what comes next (None: all); who has waited
    `wait_s` for one is told to come back. Thread-safe."""

    def __init__(self, at_once: int, wait_s: float, most_idle: int | None = None):
        self.at_once, self.wait_s = at_once, wait_s
        self.most_idle = at_once if most_idle is None else most_idle
        self._turns = threading.BoundedSemaphore(at_once)
        self._idle: deque[Child] = deque()
        self._owner = os.getpid()

    def ask(self, task: str, given: Mapping[str, Any], files: Sequence[int], bounds: Bounds) -> dict[str, Any]:
        """What the task (`module:function`, called with `given` and the files) replies. Raises Stopped, Busy."""
        limits = {"memory_bytes": bounds.memory_bytes, "cpu_s": bounds.cpu_s, "output_bytes": bounds.output_bytes}
        message = json.dumps({"task": task, "given": given, "files": len(files), **limits}).encode() + b"\n"
        if not self._turns.acquire(timeout=self.wait_s):
            raise Busy(f"{self.at_once} files or queries are at work; none ended within {self.wait_s:g} s")
        try:
            return self._asked(message, files, bounds)
        finally:
            self._turns.release()

    def close(self) -> None:
        """Stops those that are idle."""
        while self._idle and self._owner == os.getpid():
            self._idle.pop().stop()

    def _asked(self, message: bytes, files: Sequence[int], bounds: Bounds) -> dict[str, Any]:
        child = self._child()
        try:
            return child.ask(message, files, bounds)
        except BrokenPipeError:  # it died while it was idle; a fresh one has not
            child.stop()
            child = Child()
            return child.ask(message, files, bounds)
        finally:
            if child.usable and len(self._idle) < self.most_idle:
                self._idle.append(child)
            else:
                child.stop()

    def _child(self) -> Child:
        if self._owner != os.getpid():  # a fork has the other's children, and may not talk to them
            self._idle, self._owner = deque(), os.getpid()
        while self._idle:
            child = self._idle.pop()
            if child.usable:
                return child
            child.stop()
        return Child()


def resident_bytes(process_id: int) -> int:
    """How much memory a process holds; 0 for one that is gone."""
    try:
        with open(f"/proc/{process_id}/statm", "rb") as statm:
            return int(statm.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, IndexError):
        pass
    if os.path.exists("/proc/self/statm"):
        return 0
    listed = subprocess.run(["ps", "-o", "rss=", "-p", str(process_id)], capture_output=True, text=True, check=False)
    return int(listed.stdout.strip() or 0) << 10
