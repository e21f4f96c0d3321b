"""Two processes with eight writers each on one PostgreSQL: no lost update, and both end with the same graph.

LAYSHAFT_NOTES sets how many notes they add together (10,000 for the long run).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from graph.ledger.book import Ledger
from graph.ledger.database import open_database
from graph.ledger.record import Draft
from graph.ledger.verify import verify
from tests.ledger.postgres import Postgres

NOTES = int(os.environ.get("LAYSHAFT_NOTES", "480"))
WRITERS = 16
COUNTS = 5


def test_two_processes_and_sixteen_writers_lose_no_update(tmp_path: Path, postgres: Postgres) -> None:
    url = postgres.new_url()
    engine = open_database(url)
    ledger = Ledger(engine)
    shared = ledger.append(Draft(text="0")).note_id
    command = [sys.executable, "-m", "tests.ledger.writer_process", url, str(tmp_path), str(NOTES // WRITERS), shared]
    started = [
        subprocess.Popen([*command, str(COUNTS)], cwd=Path(__file__).parents[2], stdin=-1, stdout=-1, text=True)
        for _ in range(2)
    ]

    for process in started:
        assert process.stdout is not None
        assert process.stdout.readline() == "written\n"
    ends = [json.loads(process.communicate("now\n", timeout=120)[0]) for process in started]

    assert ledger.get_note(shared).text == str(WRITERS * COUNTS)
    assert ends[0] == ends[1]
    assert ends[0]["position"] == ledger.head().position == 1 + NOTES // WRITERS * WRITERS + WRITERS * COUNTS
    assert verify(ledger).sound
    engine.dispose()
