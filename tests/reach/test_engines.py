"""Long jobs over Dask, an engine by others: a real scheduler and a real worker, each a process on loopback."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from pathlib import Path

import pytest

from api.app import create_app
from api.settings import Settings
from graph.catalogue.load import load_catalogue
from graph.counter.asker import Asker, GivenUp, asking
from graph.counter.cluster import Cluster
from graph.counter.processes import SearchProcesses
from graph.lookups.compact import CompactIndex, open_index
from graph.reach.carried import carry
from graph.reach.engines import EngineProblem, check_address, opened_engine
from graph.reach.stocking import Opened, parts_that_open, spread
from graph.reading import CatalogueIndex, Question
from graph.search import SearchOrder, solve_document
from tests.reach.test_reach_over_http import LocalClient
from tests.reference.maker import Shape, make_document

pytestmark = pytest.mark.takes_turns(2)

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "facts" / "demo"
PATIENCE_S = 60


@pytest.fixture(scope="module")
def dask(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a scheduler with one worker."""
    pytest.importorskip("distributed", reason="the extra `spread` is not installed")
    folder, port = tmp_path_factory.mktemp("dask"), _free_port()
    quiet = ["--no-dashboard", "--host", "127.0.0.1"]
    commands = (
        ["scheduler", *quiet, "--port", str(port)],
        [
            "worker",
            f"tcp://127.0.0.1:{port}",
            *quiet,
            "--nthreads",
            "1",
            "--no-nanny",
            "--local-directory",
            str(folder),
        ],
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with ExitStack() as stack:
        for name, *arguments in commands:
            command = [sys.executable, "-m", "distributed.cli.dask_" + name, *arguments]
            log = stack.enter_context((folder / f"{name}.log").open("w"))
            process = stack.enter_context(
                subprocess.Popen(command, stdout=log, stderr=log, cwd=folder, env=environment)
            )
            stack.callback(process.kill)
        _wait_for_worker(port, folder)
        yield f"dask://127.0.0.1:{port}"


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _wait_for_worker(port: int, folder: Path) -> None:
    from distributed import Client

    with Client(f"tcp://127.0.0.1:{port}", timeout=PATIENCE_S, set_as_default=False) as client:  # type: ignore[no-untyped-call]
        client.wait_for_workers(1, timeout=PATIENCE_S)


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO]))


def _questions(index: CatalogueIndex) -> list[Question]:
    boxes = [unit for unit in index.units("gearbox") if not index.catalogue.parts[unit].abstract]
    return [Question(gearbox=box, engine="ouzel-20", objective="total") for box in boxes[::3]]


def _spread_over(address: str, index: CatalogueIndex, budget: int = 700) -> dict[int, Opened]:
    with opened_engine(address, index, 2) as engine:
        return dict(spread(engine, _questions(index), budget))  # type: ignore[arg-type]


def _by_hand(index: CatalogueIndex, budget: int = 700) -> dict[int, Opened]:
    asked = enumerate(_questions(index))
    return {place: parts_that_open(index, question, budget) for place, question in asked}  # type: ignore[arg-type]


def test_dask_and_processes_find_what_one_process_finds(index: CatalogueIndex, dask: str) -> None:
    found = _by_hand(index)

    assert any(one.parts for one in found.values())
    assert _spread_over(dask, index) == found
    assert _spread_over("", index) == found


@pytest.mark.slow
def test_facts_in_a_file_are_opened_where_they_lie_with_what_was_changed_over_them(tmp_path: Path, dask: str) -> None:
    compact = open_index([DEMO], tmp_path / "catalogue")
    assert isinstance(compact, CompactIndex)
    dearer = _with_prices_times(compact, 3)

    assert _spread_over(dask, compact) == _by_hand(compact)
    assert _spread_over(dask, dearer) == _spread_over("", dearer) == _by_hand(dearer)
    assert _by_hand(dearer) != _by_hand(compact)
    assert len(carry(compact).data) < 10_000, "the file itself is not sent"


def _with_prices_times(index: CompactIndex, factor: int) -> CatalogueIndex:
    from graph.catalogue.layered import Layered
    from graph.lookups.layered import LayeredIndex

    known = index.catalogue
    priced = {
        part.id: replace(part, cash_hundredths=part.cash_hundredths * factor)
        for part in known.parts.values()
        if part.cash_hundredths
    }
    return LayeredIndex(index, replace(known, parts=Layered(known.parts, priced)), (), list(priced))


def test_a_job_of_the_service_runs_over_the_engine_that_the_setting_names(index: CatalogueIndex, dask: str) -> None:
    settings = Settings.from_environment({"LAYSHAFT_SPREAD_OVER": dask})
    questions = [{"gearbox": one.gearbox, "engine": one.engine, "objective": "total"} for one in _questions(index)]
    with LocalClient(create_app(index, settings)) as client:
        started = client.post("/reach/stock", json={"questions": questions, "budget": 700}).json()
        job = client.finished(started["job"])

    opened = {place for one in job["parts"] for place in one["opens"]}
    assert job["state"] == "done", job
    assert opened == {place for place, one in _by_hand(index).items() if one.parts}


def test_an_engine_that_does_not_answer_is_a_problem_that_says_so(
    index: CatalogueIndex, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("graph.reach.engines.ANSWERS_WITHIN_S", 1)
    nobody = f"dask://127.0.0.1:{_free_port()}"
    with LocalClient(create_app(index, Settings(spread_over=nobody))) as client:
        refused = client.post("/reach/stock", json={"questions": [{"gearbox": "hollin-5", "engine": "ouzel-20"}]})

    assert refused.status_code == 503
    assert nobody in refused.json()["detail"]


def test_without_the_extra_the_problem_says_what_to_install(
    index: CatalogueIndex, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)  # as if it were not installed

    with pytest.raises(EngineProblem, match=r"layshaft\[spread\]"), opened_engine("dask://127.0.0.1:8786", index, 1):
        pass


@pytest.mark.parametrize("wrong", ["dask://", "dask://host", "ray://host:1", "host:8786", "dask://host:many"])
def test_an_address_that_names_no_engine_is_refused_at_the_start(wrong: str) -> None:
    with pytest.raises(ValueError, match="dask://HOST:PORT"):
        check_address(wrong)
    with pytest.raises(ValueError, match="LAYSHAFT_SPREAD_OVER"):
        Settings.from_environment({"LAYSHAFT_SPREAD_OVER": wrong})


def test_a_job_that_is_told_to_stop_hands_out_no_more(index: CatalogueIndex) -> None:
    questions = _questions(index) * 50
    began = time.monotonic()
    with opened_engine("", index, 1) as engine:
        found: list[tuple[int, Opened]] = []
        for one in spread(engine, questions, None, stopped=lambda: len(found) >= 2):
            found.append(one)

    assert 2 <= len(found) < len(questions)
    assert time.monotonic() - began < PATIENCE_S


def test_a_hard_search_goes_on_in_the_cluster(dask: str) -> None:
    document = json.dumps(make_document(7, Shape(40, 10, 48))).encode()
    order = SearchOrder(alternatives=0, seconds=3)
    searches = SearchProcesses(1, 1, cluster=Cluster(dask))
    with closing(searches):
        found = searches.run(solve_document, document, order, order=order)

        from distributed import Client

        with Client(dask.replace("dask", "tcp"), set_as_default=False) as client:  # type: ignore[no-untyped-call]
            done = client.run_on_scheduler(lambda dask_scheduler: list(dask_scheduler.task_prefixes))

    assert found["status"] in ("optimal", "stopped early") and "solve_document" in done


def test_a_search_for_nobody_ends_the_wait_for_the_cluster(dask: str) -> None:
    searches, asker = SearchProcesses(1, 1, cluster=Cluster(dask)), Asker("phone")
    threading.Timer(4, asker.leave).start()
    with closing(searches), asking(asker), pytest.raises(GivenUp):
        searches.run(busy, 12, order=SearchOrder())


def busy(seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        pass
