"""A job to which the shop gives no number has a running one of its year, whoever else opens jobs at the same moment.

Common practice: a workshop's job numbers run through a year without a gap or a double, and a cancelled one is not used
again.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from graph.costing.jobs.job import get_job, list_jobs
from graph.costing.jobs.numbering import NumberTaken, read_number
from graph.costing.jobs.opening import open_job
from graph.costing.notes import JOB, Provenance, retraction
from graph.costing.once import SentBefore
from graph.costing.store import SqlNotes
from graph.errors import InvalidInput
from graph.ledger.book import Ledger
from graph.ledger.care import backup, restore
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.verify import verify
from tests.costing.job_opener import THREADS, plan
from tests.ledger.conftest import any_url, postgres

__all__ = ["any_url", "postgres"]  # fixtures: SQLite, and PostgreSQL where it is installed
BENCH = Provenance("bench", made_on="2026-03-02T10:00:00+00:00")
PROCESSES, JOBS_A_THREAD = 2, 4


@pytest.fixture
def notes(any_url: str) -> Iterator[SqlNotes]:
    kept = SqlNotes(Ledger(open_database(any_url)))
    yield kept
    kept.close()


def test_two_services_that_open_jobs_at_once_give_every_number_once(any_url: str, notes: SqlNotes) -> None:
    command = [sys.executable, "-m", "tests.costing.job_opener", any_url, str(JOBS_A_THREAD)]
    pipe = subprocess.PIPE
    services = [subprocess.Popen(command, text=True, stdin=pipe, stdout=pipe) for _ in range(PROCESSES)]
    assert [each.stdout.readline() for each in services if each.stdout] == ["ready\n"] * PROCESSES
    for each in services:
        assert each.stdin is not None
        each.stdin.write("\n")
        each.stdin.flush()

    told = [pair for each in services for pair in json.loads(each.communicate(timeout=60)[0])]

    total = PROCESSES * THREADS * JOBS_A_THREAD
    assert sorted(number for _, number in told) == [f"2026-{serial:04}" for serial in range(1, total + 1)]
    assert all(get_job(notes, number).title == title for title, number in told), "each was told of its own job"
    assert [job.id for job in list_jobs(notes)] == sorted(number for _, number in told), "in the order of the chain"
    assert verify(notes.ledger).sound


def test_a_number_is_never_given_twice_though_its_job_is_taken_back(notes: SqlNotes) -> None:
    open_job(notes, plan("first"))
    second = open_job(notes, plan("second"))
    batch = notes.list_notes(kind=JOB, about=second.id)[0].batch
    notes.append([retraction(notes, batch, BENCH, "the customer has gone elsewhere")])

    assert open_job(notes, plan("third")).id == "2026-0003"
    with pytest.raises(NumberTaken, match="taken back"):
        open_job(notes, plan("by hand", number=second.id))


def test_the_shops_own_number_goes_before_it_and_is_left_out_of_the_run(notes: SqlNotes) -> None:
    assert open_job(notes, plan("own", number="2026-0001")).id == "2026-0001"
    assert open_job(notes, plan("J", number="J-7")).id == "J-7"

    assert open_job(notes, plan("running")).id == "2026-0002"
    assert open_job(notes, plan("next year", year=2027)).id == "2027-0001", "each year begins anew"
    with pytest.raises(NumberTaken):
        open_job(notes, plan("again", number="2026-0002"))


def test_numbers_go_on_where_a_backup_ended(notes: SqlNotes, tmp_path: Path) -> None:
    open_job(notes, plan("first"))
    backup(notes.ledger, tmp_path / "copy.db")
    restore(tmp_path / "copy.db", sqlite_url(tmp_path / "again.db"))

    again = SqlNotes.on_file(tmp_path / "again.db")

    assert [job.id for job in list_jobs(again)] == ["2026-0001"]
    assert open_job(again, plan("second")).id == "2026-0002"
    again.close()


@pytest.mark.parametrize("number", ["a/b", "..", "2026-0505\u200b", "K-\u202e1", "x\ny", "50%", "<b>"])
def test_a_number_that_nobody_can_type_again_or_find_by_its_address_is_refused(number: str) -> None:
    with pytest.raises(InvalidInput, match="number"):
        read_number(number)


def test_numbers_that_look_alike_are_one() -> None:
    """Unicode, UAX 15: full-width digits, and a letter with its accent in one or two characters, are one in NFKC."""
    assert [read_number(one) for one in ("  J-1 ", "\uff2a-\uff11", "   ")] == ["J-1", "J-1", ""]
    assert read_number("e\u0301t\u00e9") == read_number("\u00e9te\u0301")


def test_a_key_that_opened_one_job_opens_no_other_and_loses_none_silently(notes: SqlNotes) -> None:
    open_job(notes, plan("first"), form="counter\n/jobs\nkey")

    with pytest.raises(SentBefore, match="2026-0001 was planned from this form or key already"):
        open_job(notes, plan("second"), form="counter\n/jobs\nkey")
    assert len(list_jobs(notes)) == 1


def test_one_form_sent_twice_at_once_opens_one_job(notes: SqlNotes) -> None:
    made, opened = plan("kit car"), list[str]()
    both = threading.Barrier(2)

    def send() -> None:
        both.wait()
        opened.append(open_job(notes, replace(made, id=made.id), form="counter\n/jobs\nkey").id)

    threads = [threading.Thread(target=send) for _ in range(2)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()

    assert opened == ["2026-0001"] * 2
    assert len(list_jobs(notes)) == 1
