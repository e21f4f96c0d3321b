"""One of several processes on one ledger: eight threads that add notes and count up one shared note."""

from __future__ import annotations

import json
import sys
import threading
from pathlib import Path

from graph.ledger.book import Ledger, RevisionConflict
from graph.ledger.database import open_database
from graph.ledger.record import Draft
from graph.ledger.view import open_view

THREADS = 8


def main() -> None:
    """`python -m tests.ledger.writer_process URL FOLDER NOTES_A_THREAD SHARED_NOTE COUNTS_A_THREAD`."""
    url, folder, notes, shared, counts = sys.argv[1:]
    ledger = Ledger(open_database(url))
    view = open_view(ledger, Path(folder))
    threads = [threading.Thread(target=write, args=(ledger, int(notes), shared, int(counts))) for _ in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    sys.stdout.write("written\n")
    sys.stdout.flush()
    sys.stdin.readline()  # until the other process has written too
    view.catch_up()
    print(json.dumps({"quads": sorted(map(str, view.store)), "position": view.standing().position}))
    view.close()


def write(ledger: Ledger, notes: int, shared: str, counts: int) -> None:
    for number in range(notes):
        ledger.append(Draft(text=f"note {number}", author="bench"))
    for _ in range(counts):
        count_up(ledger, shared)


def count_up(ledger: Ledger, shared: str) -> None:
    while True:
        read = ledger.get_note(shared)
        try:
            ledger.revise(shared, read.revision, Draft(text=str(int(read.text) + 1)))
            return
        except RevisionConflict:
            continue


if __name__ == "__main__":
    main()
