"""The whole service is killed again and again (SIGKILL) while notes, cost notes, imports and attachments are written.

What was acknowledged is there, once, whole; nothing is there by half: the facts of one file come together or not at
all. LAYSHAFT_KILLS sets the rounds (100 by hand before a release).
"""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

import httpx
from PIL import Image

from graph.costing.store import SqlNotes
from graph.ledger.attachments import get
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.verify import verify

ROUNDS = int(os.environ.get("LAYSHAFT_KILLS", "1"))
ROOT = Path(__file__).resolve().parents[2]
PREFIXES = (
    "@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .\n"
    "@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
)
PART = 'shop:{name} a lay:Part ; rdfs:label "Disc {name}" ; lay:kind kind:clutch-disc .\n'
IN_A_FILE = 3


@dataclass
class Writing:
    """One writer's answers. `acknowledged`: number -> what the service said."""

    send: Callable[[httpx.Client, int], httpx.Response]
    acknowledged: dict[int, httpx.Response] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)

    def run(self, stop: threading.Event) -> None:
        with httpx.Client(timeout=20) as client:
            number = 0
            while not stop.is_set():
                number += 1
                try:
                    answer = self.send(client, number)
                except httpx.HTTPError:
                    time.sleep(0.05)  # or the writers keep the service from starting
                    continue  # killed while it was asked: nobody knows, so the next one is another
                if answer.status_code in (200, 201):
                    self.acknowledged[number] = answer
                elif answer.status_code != 503:
                    self.refused.append(answer.text)
                time.sleep(0.01)


def start(folder: Path, port: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "api", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for _ in range(600):
        try:
            httpx.get(f"http://127.0.0.1:{port}/healthz", timeout=5)
        except httpx.HTTPError:
            assert process.poll() is None, "the service did not start"
            time.sleep(0.05)
        else:
            return process
    raise AssertionError("the service does not answer")


def writings(address: str) -> dict[str, Writing]:
    def note(client: httpx.Client, number: int) -> httpx.Response:
        body = {
            "text": f"note {number}", "author": "bench", "evidence": "hearsay",
            "statements": PREFIXES + PART.format(name=f"noted-{number}"),
        }  # fmt: skip
        return client.post(f"{address}/notes", json=body, headers={"Idempotency-Key": uuid.uuid4().hex})

    def count(client: httpx.Client, number: int) -> httpx.Response:
        body = {"part": "disc-tansy-225", "quantity": 1, "book": f"{number}.25", "currency": "EUR", "author": "bench"}
        return client.post(f"{address}/shop/stock", json=body)

    def file(client: httpx.Client, number: int) -> httpx.Response:
        facts = PREFIXES + "".join(PART.format(name=f"file-{number}-{one}") for one in range(IN_A_FILE))
        said = {"name": f"list-{number}.ttl", "author": "bench", "evidence": "hearsay"}
        return client.post(f"{address}/imports", params=said, content=facts)

    def picture(client: httpx.Client, number: int) -> httpx.Response:
        return client.post(
            f"{address}/attachments", params={"name": f"{number}.png"}, content=picture_of(number),
            headers={"Content-Type": "image/png"},
        )  # fmt: skip

    return {name: Writing(send) for name, send in
            {"notes": note, "costs": count, "files": file, "pictures": picture}.items()}  # fmt: skip


def size_of(number: int) -> tuple[int, int]:
    return 1 + number % 1_000, 1 + number // 1_000


def picture_of(number: int) -> bytes:
    """A picture that no other number has: what is kept of a picture are its points."""
    made = BytesIO()
    Image.new("L", size_of(number), 120).save(made, "PNG")
    return made.getvalue()


def test_what_was_acknowledged_is_there_once_and_nothing_by_half(tmp_path: Path) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process, stop = start(tmp_path, port), threading.Event()
    done = writings(f"http://127.0.0.1:{port}")
    threads = [threading.Thread(target=one.run, args=(stop,)) for one in done.values()]
    for thread in threads:
        thread.start()
    for number in range(ROUNDS):
        time.sleep(0.3 + 0.13 * (number % 4))
        process.send_signal(signal.SIGKILL)
        process.wait()
        process = start(tmp_path, port)
    time.sleep(0.5)
    stop.set()
    for thread in threads:
        thread.join()
    process.send_signal(signal.SIGKILL)
    process.wait()

    assert {name: one.refused[:1] for name, one in done.items() if one.refused} == {}
    assert all(one.acknowledged for one in done.values())
    check(tmp_path, done)


def check(folder: Path, done: dict[str, Writing]) -> None:
    engine = open_database(sqlite_url(folder / "ledger.db"))
    ledger = Ledger(engine)
    assert verify(ledger).sound
    stated = "\n".join(line.statements for line in ledger.iter_lines())
    for number in done["notes"].acknowledged:
        assert stated.count(f"/noted-{number}> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type>") == 1
    begun = {int(found) for found in re.findall(r"/file-(\d+)-\d+>", stated)}
    for number in begun:
        told = [stated.count(f'"Disc file-{number}-{one}"') for one in range(IN_A_FILE)]
        assert told == [1] * IN_A_FILE
    assert begun >= set(done["files"].acknowledged)
    books = [str(cost.body.get("book")) for cost in SqlNotes(ledger).list_notes() if cost.kind == "stock"]
    assert len(books) == len(set(books))
    assert {f"{number}.25" for number in done["costs"].acknowledged} <= set(books)
    for number, answer in done["pictures"].acknowledged.items():
        with Image.open(BytesIO(get(ledger, answer.json()["hash"])[1])) as kept:
            assert kept.size == size_of(number)
    engine.dispose()
