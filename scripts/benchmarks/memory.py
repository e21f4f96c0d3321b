"""What the service's memory grows by while a shop writes: so many notes at a time, and asks.

Of four notes one says words, two say a new disc with a reading, one reads a part of the demo again. Resident memory is
that of the service with all that it has started, after the questions.
LAYSHAFT_BENCH_NOTES says how many (default 2,000; 10,000 is what the aim of 20 kB a note is stated over).
"""

from __future__ import annotations

import os
from argparse import Namespace
from time import perf_counter

from scripts.benchmarks.after import DEMO, DISC, TEETH, Client
from scripts.benchmarks.clock import in_words
from scripts.benchmarks.process import served
from scripts.benchmarks.table import Table

NOTES, QUICK_NOTES, STEPS = 2_000, 300, 10
SHAFT = "shaft-hollin"


def run(options: Namespace) -> list[Table]:
    """A row for each tenth of the notes."""
    wanted = int(os.environ.get("LAYSHAFT_BENCH_NOTES", QUICK_NOTES if options.quick else NOTES))
    rows, step = [], max(1, wanted // STEPS)
    with served() as service:
        client = Client(service)
        _ask(client)
        first = service.resident_of_all_mb()
        rows.append(("0", f"{first:.0f} MB", "-", "-"))
        for done in range(step, wanted + 1, step):
            began = perf_counter()
            for number in range(done - step, done):
                _note(client, number)
            took = (perf_counter() - began) / step
            _ask(client)
            now = service.resident_of_all_mb()
            rows.append((f"{done:,}", f"{now:.0f} MB", f"{(now - first) * 1024 / done:.1f} kB", in_words(took)))
    heads = ("notes", "resident", "growth a note, since the first", "each note took")
    return [Table("Memory over many notes", heads, rows, ("Aim: at most 20 kB a note over 10,000.",))]


def _note(client: Client, number: int) -> None:
    kind = number % 4
    if kind == 0:
        client.note(f"Bush {number} turned, it ran true.")
    elif kind == 3:
        client.note("Counted.", TEETH.format(name=f"bench-own-{number}", part=SHAFT, teeth=10))
    else:
        disc = f"bench-disc-{number}"
        client.note(f"Disc {disc}.", (DISC + TEETH).format(disc=disc, name=f"{disc}-m", part=disc, teeth=10))


def _ask(client: Client) -> None:
    for question in DEMO:
        client.send("POST", "/routes", dict(question))
