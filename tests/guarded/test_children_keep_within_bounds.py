"""A child may use up or break only itself: each bound is passed here once, and the next piece of work is done."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from api.problems import of_error
from graph.errors import Busy, InvalidFacts, LimitExceeded, StoreProblem
from graph.guarded import children
from graph.guarded.bounds import Bounds
from graph.guarded.children import Children, Stopped, resident_bytes
from graph.guarded.reader import BrokenOff, TooMuch, read
from tests.guarded import tasks

BOUNDS = Bounds(memory_bytes=200 << 20, cpu_s=2, wall_s=300, output_bytes=100_000, items=10)


@pytest.fixture(autouse=True)
def the_next_file_is_read() -> Iterator[None]:
    yield
    assert list(read(tasks.lines, b"one\ntwo\n", "f", {}, BOUNDS)) == ["one", "two"]


def test_a_file_that_is_open_is_read_from_its_beginning(tmp_path: Path) -> None:
    (tmp_path / "f").write_bytes(b"a\nb\n")
    with (tmp_path / "f").open("rb") as file:
        file.read(2)
        assert list(read(tasks.lines, file, "f", {}, BOUNDS)) == ["a", "b"]
    with tempfile.SpooledTemporaryFile(max_size=1000) as spooled:  # as a form's file comes
        spooled.write(b"a\nb\n")
        assert list(read(tasks.lines, spooled, "f", {}, BOUNDS)) == ["a", "b"]


@pytest.mark.parametrize(
    ("task", "bounds", "words"),
    [
        (tasks.spins, BOUNDS, "more than 2 s of processor time"),
        (tasks.sleeps, replace(BOUNDS, wall_s=0.5), "more than 0.5 s and was stopped"),
        (tasks.hoards, BOUNDS, "more than 200 MB of memory"),
        (tasks.talks, BOUNDS, "comes to more than"),
        (tasks.dies, BOUNDS, "broke the reader"),
        (tasks.recurses, BOUNDS, "broke the reader"),
    ],
)
def test_what_passes_a_bound_is_stopped_and_told_so(
    task: Callable[..., Iterator[object]], bounds: Bounds, words: str
) -> None:
    with pytest.raises(TooMuch, match=f"f.ttl: .*{words}.*nothing was taken. Split it"):
        read(task, b"", "f.ttl", {}, bounds)


def test_memory_is_watched_from_outside_too_where_the_system_sets_no_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """macOS sets none: here the child is told of a limit that it never reaches, and is stopped all the same."""
    made = Children(1, 1)
    monkeypatch.setattr(children, "SPARE_BYTES", -(150 << 20))
    call = {"task": f"{tasks.__name__}:sleeps", "name": "f", "given": {}}
    with tempfile.TemporaryFile() as file, pytest.raises(Stopped, match="memory"):
        made.ask("graph.guarded.task:work", call, [file.fileno()] * 2, replace(BOUNDS, memory_bytes=151 << 20))


def test_a_refusal_comes_back_as_it_was_raised() -> None:
    with pytest.raises(InvalidFacts) as caught:
        read(tasks.refuses, b"", "f", {}, BOUNDS)
    assert [str(one) for one in caught.value.problems] == ["line 3: not so", "line 5: nor so"]
    with pytest.raises(LimitExceeded, match="too many of them"):
        read(tasks.limits, b"", "f", {}, BOUNDS)


def test_a_fault_of_ours_is_not_taken_for_the_senders() -> None:
    with pytest.raises(RuntimeError, match="ZeroDivisionError"):
        read(tasks.stumbles, b"", "f", {}, BOUNDS)


def test_a_child_is_used_again_and_replaced_when_it_died_meanwhile() -> None:
    (first,) = read(tasks.who, b"", "f", {}, BOUNDS)
    (again,) = read(tasks.who, b"", "f", {}, BOUNDS)
    assert again == first
    os.kill(first, 9)

    (other,) = read(tasks.who, b"", "f", {}, BOUNDS)

    assert other != first


@pytest.mark.parametrize(("times", "why"), [(20, "killed"), (1.1, "memory")])
def test_who_is_killed_was_too_large_only_near_its_bound(times: float, why: str) -> None:
    """The bound is so many times what the child holds, as the system counts it."""
    made = Children(1, 1)
    call = {"task": f"{tasks.__name__}:who", "name": "f", "given": {}}
    with tempfile.TemporaryFile() as file:
        made.ask("graph.guarded.task:work", call, [file.fileno()] * 2, BOUNDS)
        child = made._idle[0].process.pid
        bounds = replace(BOUNDS, memory_bytes=round(times * resident_bytes(child)))
        call["task"] = f"{tasks.__name__}:sleeps"
        killer = threading.Timer(0.5, os.kill, (child, signal.SIGKILL))
        killer.start()
        with pytest.raises(Stopped) as caught:
            made.ask("graph.guarded.task:work", call, [file.fileno()] * 2, bounds)

    assert caught.value.why == why and child not in _children_of(os.getpid())


def test_a_reading_that_was_broken_off_is_to_be_sent_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def killed(*_: object) -> None:
        raise Stopped("killed")

    with monkeypatch.context() as patch:
        patch.setattr(Children, "ask", killed)
        with pytest.raises(BrokenOff, match="f.jpg: the reading was broken off.*send it again") as caught:
            read(tasks.lines, b"", "f.jpg", {}, BOUNDS)

    answer = of_error("/faces/photos", caught.value)
    assert answer.status_code == 503 and answer.headers["retry-after"] == "1"


def test_a_child_that_is_killed_while_it_is_idle_is_gone_at_once() -> None:
    (idle,) = read(tasks.who, b"", "f", {}, BOUNDS)
    assert idle in _children_of(os.getpid())

    os.kill(idle, signal.SIGKILL)

    ends = time.monotonic() + 5
    while idle in _children_of(os.getpid()) and time.monotonic() < ends:
        time.sleep(0.02)
    assert idle not in _children_of(os.getpid())


def _children_of(parent: int) -> set[int]:
    """The processes that it started, those that are defunct too, as `ps` lists them (POSIX)."""
    told = subprocess.run(["ps", "-A", "-o", "pid=,ppid=,args="], capture_output=True, text=True, check=True).stdout
    rows = (line.split(maxsplit=2) for line in told.splitlines())
    return {int(row[0]) for row in rows if int(row[1]) == parent and not row[-1].startswith("ps ")}


def test_a_large_child_is_not_kept() -> None:
    made = Children(1, 1)
    with tempfile.TemporaryFile() as file:
        call = {"task": f"{tasks.__name__}:who", "name": "f", "given": {"padding": "x" * 30_000_000}}
        made.ask("graph.guarded.task:work", call, [file.fileno()] * 2, replace(BOUNDS, output_bytes=1 << 30))

    assert not made._idle or resident_bytes(made._idle[0].process.pid) < children.KEPT_BYTES
    made.close()


def test_who_waits_too_long_for_a_turn_is_told_to_come_back() -> None:
    made, began = Children(1, 0.2), threading.Event()

    def occupy() -> None:
        with tempfile.TemporaryFile() as file:
            call = {"task": f"{tasks.__name__}:sleeps", "name": "f", "given": {}}
            began.set()
            with pytest.raises(Stopped):
                made.ask("graph.guarded.task:work", call, [file.fileno()] * 2, replace(BOUNDS, wall_s=2))

    other = threading.Thread(target=occupy)
    other.start()
    began.wait()
    while made._turns._value:
        pass

    with pytest.raises(Busy, match="none ended within"):
        made.ask("graph.guarded.task:work", {}, [], BOUNDS)
    other.join()


def test_a_full_temporary_folder_is_the_disks_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(tempfile, "TemporaryFile", full)
        with pytest.raises(StoreProblem, match="temporary folder"):
            read(tasks.lines, b"a", "f", {}, BOUNDS)


def test_nothing_is_left_behind_by_a_process_that_is_killed(tmp_path: Path) -> None:
    """Neither a temporary file nor a child: it was in the middle of reading."""
    script = (
        "import sys, threading, time\n"
        "from graph.guarded import reader\n"
        "from tests.guarded import tasks\n"
        "from tests.guarded.test_children_keep_within_bounds import BOUNDS\n"
        "list(reader.read(tasks.lines, b'a', 'f', {}, BOUNDS))\n"
        "(child,) = reader.read(tasks.who, b'', 'f', {}, BOUNDS)\n"
        "print(child, flush=True)\n"
        "reader.read(tasks.spins, b'x' * 1000, 'f', {}, BOUNDS)\n"
    )
    environment = {**os.environ, "TMPDIR": str(tmp_path), "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    with subprocess.Popen(
        [sys.executable, "-c", script], env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        child = json.loads(process.stdout.readline())
        process.kill()

    assert list(tmp_path.iterdir()) == []
    while resident_bytes(child):  # it ends by itself: by its limit of processor time, or when it would answer
        pass
