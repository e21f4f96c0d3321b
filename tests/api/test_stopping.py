"""Told to stop: what is under way is answered, new clients are refused, the ledger is closed."""

from __future__ import annotations

import signal
import socket
import time
from pathlib import Path

import psutil

from graph.ledger.notebook import open_notebook
from tests.api.processes import PATIENCE_S, Service, read_to_end, running, status_of

BODY = b'{"gearbox": "hollin-5", "engine": "ouzel-20"}'
HEAD = b"POST /routes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n"
NOTE = {"text": "Bush turned to 21.", "author": "bench", "evidence": "measured-on-these-parts"}


def test_at_sigterm_a_request_under_way_is_answered_and_new_ones_are_refused(tmp_path: Path) -> None:
    with running(tmp_path / "data") as service:
        under_way = service.connect(HEAD % len(BODY), BODY[:10])
        service.get("/healthz")  # so that the first one has surely been taken up

        service.process.send_signal(signal.SIGTERM)
        _wait_until_refused(service)
        under_way.sendall(BODY[10:])

        answer = read_to_end(under_way)
        assert status_of(answer) == 200
        assert b'"if it holds"' in answer
        assert service.process.wait(PATIENCE_S) == 0


def test_a_stop_closes_the_ledger(tmp_path: Path) -> None:
    """SQLite removes its write-ahead log when the last connection is closed, and only then (its manual, wal.html)."""
    data = tmp_path / "data"
    with running(data) as service:
        assert service.post("/notes", json=NOTE).status_code == 201
        assert (data / "ledger.db-wal").exists()

        assert service.stop() == 0

    assert not (data / "ledger.db-wal").exists()
    notebook = open_notebook(data)
    assert [entry.text for entry in notebook.ledger.iter_lines()] == [NOTE["text"]]
    assert notebook.view.rebuilt_because == ""
    notebook.close()


def _wait_until_refused(service: Service) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        try:
            socket.create_connection(("127.0.0.1", service.port), PATIENCE_S).close()
        except (ConnectionRefusedError, ConnectionResetError):  # reset: it was let in while the door was being shut
            return
        time.sleep(0.02)
    raise AssertionError("it goes on taking connections")


def test_told_to_stop_as_soon_as_it_has_said_where_it_serves(tmp_path: Path) -> None:
    with running(tmp_path / "data") as service:
        assert service.stop() == 0


def test_clients_that_hang_and_a_stock_job_do_not_keep_it_and_leave_nothing_running(tmp_path: Path) -> None:
    """Two service processes, so that the one which started them is looked at too."""
    with running(tmp_path / "data", workers=2, request_seconds=2) as service:
        job = service.post("/reach/stock", json={"questions": [{"gearbox": "tansy-5", "engine": "pipit-16"}] * 1000})
        assert job.status_code == 202
        for half in (b"", b"GET /par", HEAD % len(BODY), HEAD % len(BODY) + BODY[:10]):
            service.connect(half)
        service.connect(b"GET /static/favicon.svg HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")  # kept open, not read
        family = [service.process, *psutil.Process(service.process.pid).children(recursive=True)]
        assert len(family) > 3

        assert service.stop() == 0

        gone, alive = psutil.wait_procs(family[1:], PATIENCE_S / 10)
        assert alive == []
        assert len(gone) == len(family) - 1
    with running(tmp_path / "data") as service:
        assert service.get(job.headers["location"]).json()["state"] in ("cancelled", "failed")
