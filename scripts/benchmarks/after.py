"""What a note costs the question that comes next: asked steadily, then right after each sort of note.

Steady: the same few questions, asked again and again while nothing changes, each at another rate, so that an answer
that is kept answers none of them. Then a note, and one of them at once; what
the note itself takes to be judged and kept is not counted. The clock says what the asker waits, the processor time of
the service what it is worth on a machine that others use as well. The last rows are hard on what is kept: many notes
of one new disc with one reading each, and many readings of one quantity of one part.
"""

from __future__ import annotations

import http.client
import json
import os
import shutil
import tempfile
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from itertools import count, cycle
from pathlib import Path
from statistics import fmean
from time import perf_counter
from typing import Any

from graph.lookups.compact import open_index
from scripts.benchmarks.clock import in_words, middle, percentile
from scripts.benchmarks.process import Service, served
from scripts.benchmarks.table import Table
from scripts.benchmarks.trades import data_of, questions_of

SIZES = (0, 1_000, 10_000, 100_000, 1_000_000)  # 0: the demo workshop
STEADY, TURNS, WARM = 60, 15, 2
DISCS, READINGS, LAST = 300, 500, 20
SAID = {"author": "bench one", "evidence": "measured-on-these-parts"}
DEMO = (
    {"gearbox": "hollin-5", "engine": "ouzel-20", "alternatives": 2},
    {"gearbox": "tansy-5", "engine": "ouzel-20"},
    {"gearbox": "tansy-5", "engine": "pipit-16"},
    {"gearbox": "hollin-5", "engine": "pipit-16", "vehicle": "sorrel-pick-up"},
)
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
DISC = """shop:{disc} a lay:Part ; rdfs:label "Disc {disc}" ; lay:kind kind:clutch-disc ;
    lay:partCondition kind:used-tested ; lay:cash 20.00 ; lay:hours 0.60 ; lay:days 2 ."""
JOINED = """
shop:{disc}-on a lay:Fits ; lay:source shop:{disc} ; lay:target shop:{shaft} ; lay:joint kind:clutch-spline ."""
TEETH = """
shop:{name} a lay:Measurement ; lay:quantity kind:spline-teeth ; lay:measuredOn shop:{part} ;
    lay:reading "{teeth} teeth" ; lay:subject "unit" ; lay:evidence kind:measured-on-these-parts ."""
LENGTH = """
shop:{name} a lay:Measurement ; lay:quantity kind:spline-major ; lay:measuredOn shop:{part} ;
    lay:reading "28.{digits} mm" ; lay:uncertainty "0.50 mm" ; lay:subject "unit" ;
    lay:evidence kind:measured-on-these-parts ."""
Ask = Callable[[], tuple[float, float]]  # seconds by the clock, and of the service's processor time


@dataclass(frozen=True)
class Asked:
    """What is asked of a trade. `shaft`: a part of the first question's gearbox; `part`: one that can be bought."""

    size: int
    questions: Sequence[dict[str, Any]]
    shaft: str
    part: str
    currency: str

    @property
    def name(self) -> str:
        """As its rows begin."""
        return f"{self.size:,}" if self.size else "demo"


def run(options: Namespace) -> list[Table]:
    """One row for each size and sort of note."""
    largest = int(os.environ.get("LAYSHAFT_BENCH_LARGEST", "1000" if options.quick else "10000"))
    rows = [row for size in SIZES if size <= largest for row in _rows(size, options.quick)]
    heads = ("parts", "asked", "p50", "worst", "processor time, mean", "times steady (clock)", "(processor)")
    about = (f"{TURNS} of each sort; the note itself is not counted. Discs and readings: the last {LAST} of them.",)
    return [Table("The question after a note", heads, rows, about)]


def _rows(size: int, quick: bool) -> Iterator[tuple[str, ...]]:
    with _folder_of(size) as data, served(data) as service:
        client = Client(service)
        asked = _asked(size, client)
        ask = _asking(client, asked)
        for _ in range(WARM * len(asked.questions)):
            ask()
        steady = [ask() for _ in range(STEADY)]
        yield _row(asked.name, "steadily", steady, steady)
        turns = TURNS // 3 if quick else TURNS
        for label, say in _sorts(client, asked):
            found = []
            for turn in range(turns):
                say(turn)
                found.append(ask())
            yield _row(asked.name, f"after {label}", found, steady)
        for label, many, say in _many(client, asked, quick):
            found = []
            for turn in range(many):
                say(turn)
                if turn >= many - LAST:
                    found.append(ask())
            again = [ask() for _ in range(STEADY)][len(asked.questions) :]
            yield _row(asked.name, f"after {many} {label}", found, steady)
            yield _row(asked.name, "steadily then", again, steady)


def _row(name: str, label: str, found: list[tuple[float, float]], steady: list[tuple[float, float]]) -> tuple[str, ...]:
    clock, work = ([one[place] for one in found] for place in (0, 1))
    usual, usual_work = middle([one[0] for one in steady]), fmean(one[1] for one in steady)
    shown = (in_words(middle(clock)), in_words(percentile(clock, 100)), in_words(fmean(work)))
    return (name, label, *shown, f"{middle(clock) / usual:.2f}", f"{fmean(work) / usual_work:.2f}")


# The trade and the service


@contextmanager
def _folder_of(size: int) -> Iterator[Path]:
    """A data folder of its own, so that the notes stay in no other; its facts are read in already."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if size:
            kept = data_of(size)
            open_index([kept / "facts"], kept / "catalogue")
            (folder / "facts").symlink_to((kept / "facts").resolve(), target_is_directory=True)
            shutil.copy2(kept / "catalogue", folder / "catalogue")
        yield folder


class Client:
    """One client of a service; raises SystemExit with what was answered where that is no success."""

    def __init__(self, service: Service):
        self.service = service
        self._connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=600)

    def send(self, method: str, path: str, body: Any, **headers: str) -> tuple[dict[str, str], Any]:
        """The answer's headers and its JSON."""
        return self._exchange(method, path, json.dumps(body), {"content-type": "application/json", **headers})

    def upload(self, path: str, table: str, **fields: str) -> None:
        """Sends a table as a file in a form (multipart/form-data, RFC 7578)."""
        parts = [f'name="{name}"\r\n\r\n{value}' for name, value in fields.items()]
        parts.append(f'name="file"; filename="list.csv"\r\ncontent-type: text/csv\r\n\r\n{table}')
        mark = "bench-part"
        body = "".join(f"--{mark}\r\ncontent-disposition: form-data; {part}\r\n" for part in parts) + f"--{mark}--\r\n"
        self._exchange("POST", path, body, {"content-type": f"multipart/form-data; boundary={mark}"})

    def _exchange(self, method: str, path: str, body: str, headers: dict[str, str]) -> tuple[dict[str, str], Any]:
        self._connection.request(method, path, body.encode(), headers)
        answer = self._connection.getresponse()
        text = answer.read()
        if answer.status >= 300:
            raise SystemExit(f"{method} {path}: {answer.status} {text[:500]!r}")
        return {name.lower(): value for name, value in answer.getheaders()}, json.loads(text)

    def note(self, text: str, statements: str = "") -> tuple[str, str]:
        """Adds a note; its id and ETag."""
        said = {"text": text, "statements": PREFIXES + statements if statements else "", **SAID}
        headers, note = self.send("POST", "/notes", said)
        return note["id"], headers["etag"]


def _asked(size: int, client: Client) -> Asked:
    if not size:
        questions, shaft = [dict(question) for question in DEMO], "shaft-hollin"
    else:
        known = questions_of(size, 4)
        questions = [{"gearbox": one.gearbox, "engine": one.engine, "alternatives": 2} for one in known]
        shaft = f"{known[0].gearbox.rpartition('-')[0]}-shaft"
    answer = client.send("POST", "/routes", questions[0])[1]
    bought = [part["part"] for route in answer["routes"] for part in route["parts"] if part["price"]]
    return Asked(size, questions, shaft, bought[0], answer["currency"])


def _asking(client: Client, asked: Asked) -> Ask:
    turns, cents = cycle(asked.questions), count()

    def ask() -> tuple[float, float]:
        question = next(turns) | {"rate": f"{70 + next(cents) / 100:.2f}"}  # at a rate of its own no answer is kept
        worked, began = client.service.worked_s(), perf_counter()
        client.send("POST", "/routes", question)
        return perf_counter() - began, client.service.worked_s() - worked

    return ask


# The notes

Say = Callable[[int], None]


def _sorts(client: Client, asked: Asked) -> Iterator[tuple[str, Say]]:
    """Each sort of note by name, and how one is said."""
    kept: list[tuple[str, str]] = []
    numbers = count()

    def part(turn: int, more: str = "") -> tuple[str, str]:
        disc = f"bench-disc-{next(numbers)}"
        names = {"disc": disc, "shaft": asked.shaft, "part": disc, "name": f"{disc}-m", "teeth": 10 + turn % 5}
        return client.note(f"Disc {disc}.", (DISC + more).format(**names))

    def own(turn: int, teeth: int = 10) -> str:
        return TEETH.format(name=f"bench-own-{turn}", part=asked.shaft, teeth=teeth)

    def read(turn: int) -> None:
        kept.append(client.note("Counted.", own(turn)))

    def revise(turn: int) -> None:
        note, etag = kept[turn]
        body = {"text": "Counted again.", "statements": PREFIXES + own(turn, 11), **SAID}
        kept[turn] = (note, client.send("PUT", f"/notes/{note}", body, **{"if-match": etag})[0]["etag"])

    def retract(turn: int) -> None:
        note, etag = kept[turn]
        client.send("POST", f"/notes/{note}/retraction", {"text": "mistaken", **BY}, **{"if-match": etag})

    yield "a note in words", lambda turn: void(client.note(f"Bush {turn} turned."))
    yield "a new part", lambda turn: void(part(turn))
    yield "a new part that joins", lambda turn: void(part(turn, JOINED))
    yield "a new part with a reading", lambda turn: void(part(turn, TEETH))
    yield "a reading of a part asked for", read
    yield "a revision of it", revise
    yield "its retraction", retract
    yield from _cost_sorts(client, asked)


BY = {"author": "bench one"}


def void(_: object) -> None:
    """What came back is not wanted."""


def _cost_sorts(client: Client, asked: Asked) -> Iterator[tuple[str, Say]]:
    today, by = date.today().isoformat(), {"author": "bench one"}
    money = {"currency": asked.currency, **by}

    def price(turn: int) -> None:
        line = f"{asked.part},{40 + turn}.00,{asked.currency},new,{today}"
        client.upload("/prices/import", f"part,price,currency,condition,date\n{line}\n", **by)

    def close(turn: int) -> None:
        number = f"J-{turn}"
        client.send("POST", "/jobs", {"question": _plain(asked.questions[0]), "title": "bench", "number": number, **by})
        client.send("POST", f"/jobs/{number}/hours", {"step": 1, "hours": "1.25", **by})
        client.send("POST", f"/jobs/{number}/closing", {"outcome": "done", **by})

    def stock(turn: int) -> None:
        body = {"part": asked.part, "quantity": 1 + turn, "book": "12.00", **money}
        client.send("POST", "/shop/stock", body)

    def rate(turn: int) -> None:
        client.send("POST", "/shop/rates", {"kind": "bench", "per_hour": f"{60 + turn}", **money})

    yield "a price", price
    yield "a count of the shelf", stock
    yield "a job's closing", close
    yield "a bench rate", rate


def _plain(question: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in question.items() if name != "alternatives"}


def _many(client: Client, asked: Asked, quick: bool) -> Iterator[tuple[str, int, Say]]:
    def disc(turn: int) -> None:
        name = f"many-disc-{turn}"
        client.note(f"Disc {name}.", (DISC + TEETH).format(disc=name, part=name, name=f"{name}-m", teeth=10))

    def reading(turn: int) -> None:
        said = LENGTH.format(name=f"many-reading-{turn}", part=asked.shaft, digits=f"{500 + turn % 9:03}")
        client.note("Measured again.", said)

    yield "notes of one new disc and one reading", DISCS // 5 if quick else DISCS, disc
    yield "readings of one quantity", READINGS // 5 if quick else READINGS, reading
