"""A real server is killed again and again (SIGKILL) while eight writers add and revise notes over HTTP.

Every note that was acknowledged must be there, once, as it was acknowledged; the ledger must verify; the graph must
equal a rebuild. The same with PostgreSQL crashed under two server processes. LAYSHAFT_KILLS sets the rounds.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest

from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.identity import DEFAULT_BASE
from graph.ledger.verify import verify
from graph.ledger.view import open_view
from tests.ledger.postgres import Postgres

ROUNDS = int(os.environ.get("LAYSHAFT_KILLS", "2"))
WRITERS = 8
ROOT = Path(__file__).resolve().parents[2]


@dataclass
class Writer:
    """Adds notes, each with its own key, and revises each once; sends again after a lost answer, as a client should."""

    name: str
    addresses: list[str]
    acknowledged: dict[str, str] = field(default_factory=dict)  # note id -> text acknowledged last
    texts: set[str] = field(default_factory=set)
    stop: threading.Event = field(default_factory=threading.Event)

    def run(self) -> None:
        with httpx.Client(timeout=20) as client:
            number = 0
            while not self.stop.is_set():
                number += 1
                text = f"{self.name} note {number}"
                added = self.send(client, "POST", "/notes", text, {})
                if added is None:
                    return
                self.acknowledged[added["id"]] = text
                self.texts.add(text)
                revised = self.send(client, "PUT", f"/notes/{added['id']}", f"{text}, revised", {"If-Match": '"1"'})
                if revised is None:
                    return
                self.acknowledged[added["id"]] = f"{text}, revised"

    def send(
        self, client: httpx.Client, method: str, path: str, text: str, headers: dict[str, str]
    ) -> dict[str, str] | None:
        """Sends until it is acknowledged; None when the test is over before that."""
        body = {"text": text, "author": self.name, "evidence": "hearsay"}
        keyed = headers | {"Idempotency-Key": uuid.uuid4().hex}
        while True:
            for address in self.addresses:
                try:
                    answer = client.request(method, address + path, json=body, headers=keyed)
                except httpx.HTTPError:
                    continue
                if answer.status_code in (200, 201):
                    found: dict[str, str] = answer.json()
                    return found
                assert answer.status_code == 503, answer.text  # the database is down: send again
            if self.stop.is_set():
                return None
            time.sleep(0.02)


class Server:
    """The server process; starts again on the same folder and port after a kill."""

    def __init__(self, folder: Path, url: str = ""):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.command = [
            sys.executable,
            "-m",
            "tests.ledger.writer_server",
            str(folder),
            str(self.port),
            *filter(None, [url]),
        ]
        self.address = f"http://127.0.0.1:{self.port}"
        self.process = self.started()

    def started(self) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(self.command, cwd=ROOT, stderr=subprocess.DEVNULL)
        for _ in range(600):
            try:
                httpx.get(f"{self.address}/ledger", timeout=5)
                return process
            except httpx.HTTPError:
                assert process.poll() is None, "the server did not start"
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


@contextmanager
def writing_to(addresses: list[str]) -> Iterator[list[Writer]]:
    writers = [Writer(f"writer-{number}", addresses) for number in range(WRITERS)]
    threads = [threading.Thread(target=writer.run) for writer in writers]
    for thread in threads:
        thread.start()
    yield writers
    for writer in writers:
        writer.stop.set()
    for thread in threads:
        thread.join()


def check(ledger: Ledger, writers: list[Writer], folder: Path) -> None:
    assert verify(ledger).sound
    stored = {note.note_id: note.text for note in ledger.iter_current()}
    for writer in writers:
        assert writer.acknowledged
        for note_id, text in writer.acknowledged.items():
            assert stored[note_id] in (text, f"{text}, revised")  # a revision may be in that was not acknowledged
    originals = [line.text for line in ledger.iter_lines() if line.revision == 1]
    assert len(originals) == len(set(originals))  # nothing was written twice
    view = open_view(ledger, folder / "views")
    followed = set(view.store)
    assert view.rebuild().position == ledger.head().position
    assert set(view.store) == followed
    assert {quad.graph_name.value for quad in view.store} - {f"{DEFAULT_BASE}ledger"} == {
        note.iri for note in ledger.iter_current()
    }
    view.close()


def shake(rounds: int, kill_and_restart: Callable[[], None]) -> None:
    for number in range(rounds):
        time.sleep(0.15 + 0.1 * (number % 3))
        kill_and_restart()


def test_a_server_killed_under_eight_writers_loses_and_doubles_nothing(tmp_path: Path) -> None:
    server = Server(tmp_path)

    def kill_and_restart() -> None:
        server.kill()
        server.process = server.started()

    with writing_to([server.address]) as writers:
        shake(ROUNDS, kill_and_restart)
    server.kill()

    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    check(Ledger(engine), writers, tmp_path)
    engine.dispose()


def test_a_database_crashed_under_two_servers_loses_and_doubles_nothing(tmp_path: Path, postgres: Postgres) -> None:
    url = postgres.new_url()
    servers = [Server(tmp_path, url), Server(tmp_path, url)]

    def kill_and_restart() -> None:
        postgres.kill()
        postgres.start()

    with writing_to([server.address for server in servers]) as writers:
        shake(max(1, ROUNDS // 2), kill_and_restart)
        time.sleep(0.5)
    positions = [httpx.get(f"{server.address}/ledger", timeout=20).json() for server in servers]
    for server in servers:
        server.kill()

    assert positions[0] == positions[1]
    engine = open_database(url)
    check(Ledger(engine), writers, tmp_path)
    engine.dispose()


def test_the_disk_is_synced_before_the_answer(tmp_path: Path) -> None:
    """System calls of one append, traced: the write-ahead file is synced before the acknowledgement is printed."""
    trace = tmp_path / "trace"
    program = (
        "import sys\nfrom graph.ledger.book import Ledger\nfrom graph.ledger.database import open_database\n"
        "from graph.ledger.record import Draft\nledger = Ledger(open_database(sys.argv[1]))\n"
        "print('READY', flush=True)\nledger.append(Draft(text='x'))\nprint('ACKNOWLEDGED', flush=True)\n"
    )
    command = [
        "strace",
        "-f",
        "-y",
        "-e",
        "trace=fsync,fdatasync,write",
        "-o",
        str(trace),
        sys.executable,
        "-c",
        program,
    ]
    try:
        done = subprocess.run(
            [*command, sqlite_url(tmp_path / "ledger.db")], check=False, cwd=ROOT, capture_output=True
        )
    except FileNotFoundError:
        pytest.skip("strace is not installed (Debian: apt-get install strace)")
    if b"ACKNOWLEDGED" not in done.stdout:
        pytest.skip(f"strace may not trace here: {done.stderr[-200:].decode(errors='replace')}")

    text = trace.read_text()
    between = text[text.index("READY") : text.index("ACKNOWLEDGED")]
    assert "ledger.db-wal>)" in "".join(line for line in between.splitlines(True) if "sync(" in line)
