"""One of several processes on one ledger: four threads that open jobs to which nobody gives a number."""

from __future__ import annotations

import json
import sys
from concurrent.futures import ThreadPoolExecutor

from graph.costing.jobs.opening import open_job
from graph.costing.notes import JOB, CostNote, new_id
from graph.costing.store import SqlNotes

THREADS = 4


def plan(name: str, number: str = "", year: int = 2026) -> CostNote:
    """The smallest plan that a job can be read from."""
    body = {"title": name, "gearbox": "box", "engine": "engine", "steps": [], "faults": [], "picks": {}, "links": {}}
    made = new_id(JOB)
    return CostNote(
        id=made, kind=JOB, about=number, body=body, made_on=f"{year}-03-02T08:00:00+00:00", job=number, batch=made
    )


def main() -> None:
    """`python -m tests.costing.job_opener URL JOBS_A_THREAD`: opens them, prints title and number of each."""
    url, jobs = sys.argv[1:]
    notes = SqlNotes.on_database(url)
    print("ready", flush=True)
    sys.stdin.readline()

    def work(thread: int) -> list[list[str]]:
        opened = [open_job(notes, plan(f"{thread}/{job}")) for job in range(int(jobs))]
        return [[job.title, job.id] for job in opened]

    with ThreadPoolExecutor(THREADS) as pool:
        done = [pair for each in pool.map(work, range(THREADS)) for pair in each]
    notes.close()
    print(json.dumps(done))


if __name__ == "__main__":
    main()
