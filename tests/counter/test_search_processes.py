"""Searches in processes: ended at any moment, bounded in memory and time, and never left over."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from graph.conversion.parse import parse_conversion
from graph.counter.asker import Asker, GivenUp, asking
from graph.counter.line import TooBusy
from graph.counter.processes import SearchProcesses
from graph.search import OutOfTime, SearchOrder, search_here
from graph.workers import OutOfMemory, WorkerDied, WorkerProcess
from tests.reference.maker import WORKED, Shape, make_document

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def searches() -> Iterator[SearchProcesses]:
    with closing(SearchProcesses(1, 1, most_waiting=1)) as made:
        yield made


def test_a_search_apart_finds_what_a_search_here_finds(searches: SearchProcesses) -> None:
    conversion = parse_conversion(make_document(3, WORKED))
    order = SearchOrder(changes=True)

    assert searches(conversion, order) == search_here(conversion, order)


def test_what_a_search_raises_reaches_the_one_who_asked(searches: SearchProcesses) -> None:
    with pytest.raises(ValueError, match="invalid literal"):
        searches.run(int, "x", order=SearchOrder())


def test_a_search_that_does_not_end_when_its_time_is_over_is_ended(searches: SearchProcesses) -> None:
    with pytest.raises(OutOfTime):
        searches.run(time.sleep, 60, order=SearchOrder(seconds=0.1))


def test_more_memory_than_allowed_ends_the_call_and_not_the_service(searches: SearchProcesses) -> None:
    with pytest.raises(OutOfMemory):
        searches.run(bytearray, 800 << 20, order=SearchOrder(memory_mb=64))

    assert searches.run(len, "ok", order=SearchOrder()) == 2


def test_a_process_that_the_system_ended_while_it_waited_is_replaced(searches: SearchProcesses) -> None:
    """A system short of memory ends whichever process it likes; nobody had asked that one yet (common practice)."""
    pid = searches.run(os.getpid, order=SearchOrder())
    os.kill(pid, 9)
    wait = time.monotonic() + 20
    while not _is_over(pid):
        assert time.monotonic() < wait
        time.sleep(0.01)

    assert searches.run(len, "ok", order=SearchOrder()) == 2


def _is_over(pid: int) -> bool:
    """Whether all its threads have ended: the first one may be gone while another still holds the socket open."""
    place = Path(f"/proc/{pid}")
    try:
        return " Z " in (place / "stat").read_text() and len(list((place / "task").iterdir())) <= 1
    except FileNotFoundError:
        return True


def test_one_that_is_ended_at_work_says_so_and_the_next_is_answered(searches: SearchProcesses) -> None:
    with pytest.raises(WorkerDied, match="ended before it was done; ask again"):
        searches.run(os._exit, 1, order=SearchOrder())

    assert searches.run(len, "ok", order=SearchOrder()) == 2


def test_an_asker_who_leaves_is_worked_for_no_longer(searches: SearchProcesses) -> None:
    asker = Asker("phone")
    threading.Timer(0.5, asker.leave).start()

    with asking(asker), pytest.raises(GivenUp):
        searches.run(time.sleep, 60, order=SearchOrder())


def test_too_many_hard_ones_are_asked_to_come_back(searches: SearchProcesses) -> None:
    askers = [Asker(str(number)) for number in range(3)]
    ends: list[type[Exception]] = []

    def ask(asker: Asker) -> None:
        try:
            with asking(asker):
                searches.run(time.sleep, 60, order=SearchOrder())
        except (TooBusy, GivenUp) as error:
            ends.append(type(error))

    threads = [threading.Thread(target=ask, args=(asker,)) for asker in askers]
    for thread in threads:
        thread.start()
    while TooBusy not in ends:
        time.sleep(0.1)
    for asker in askers:
        asker.leave()
    for thread in threads:
        thread.join()

    assert sorted(end.__name__ for end in ends) == ["GivenUp", "GivenUp", "TooBusy"]


def test_a_document_too_hard_is_answered_with_what_was_found_in_time(searches: SearchProcesses) -> None:
    conversion = parse_conversion(make_document(7, Shape(40, 10, 48)))

    found = searches(conversion, SearchOrder(seconds=2, memory_mb=400))

    assert found.status == "stopped early"
    assert found.parts and not found.parts[0].complete


def test_a_process_ends_with_the_one_that_started_it_however_that_ended() -> None:
    code = "import time; from graph.workers import WorkerProcess as W; print(W().pid, flush=True); time.sleep(60)"
    parent = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    pid = int(parent.stdout.readline())

    parent.kill()
    parent.communicate()

    for _ in range(100):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            break
        time.sleep(0.1)
    else:
        pytest.fail("it is still there")


def test_a_process_that_the_system_took_is_said_to_have_died() -> None:
    with closing(WorkerProcess()) as worker:
        worker.begin(time.sleep, 60)
        os.kill(worker.pid, 9)
        with pytest.raises(WorkerDied):
            worker.result()
