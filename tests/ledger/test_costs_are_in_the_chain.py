"""Notes of cost and attachments are covered by the chain: what is changed, dropped or slipped in is found and named.

Whoever holds the database can do what is done here by SQL; the chain is what shows it.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from graph.costing.jobs.closing import close_job
from graph.costing.jobs.entries import remark_entry
from graph.costing.jobs.job import get_job, list_jobs
from graph.costing.notes import PRICE, RATE, CostNote, Provenance, new_id
from graph.costing.shop import list_rates, rate_note, take_back
from graph.costing.store import SqlNotes
from graph.errors import Conflict, InvalidInput, NotFound
from graph.ledger import attachments
from graph.ledger.book import Ledger
from graph.ledger.database import writing
from graph.ledger.exchange import export_quads
from graph.ledger.record import COST, Draft
from graph.ledger.verify import Report, verify
from tests.ledger.conftest import any_url, postgres

pytestmark = pytest.mark.takes_turns(2)

__all__ = ["any_url", "postgres"]  # fixtures
BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")
PICTURE = b"\x89PNG\r\n\x1a\n" + b"a bush, drawn"


def rate(per_hour: str) -> CostNote:
    return rate_note("bench", {"per_hour": per_hour, "currency": "EUR"}, BENCH)


def price_list(count: int) -> list[CostNote]:
    return [
        CostNote(id=f"list-{number}", kind=PRICE, about=f"part-{number}", body={"cash": "1.50"}, author="counter",
                 made_on=BENCH.made_on, batch="list")
        for number in range(1, count + 1)
    ]  # fmt: skip


@pytest.fixture
def notes(any_ledger: Ledger) -> SqlNotes:
    return SqlNotes(any_ledger)


def forge(engine: Engine, *statements: str) -> None:
    """Does by SQL what the program never does."""
    with writing(engine) as connection:
        if engine.dialect.name == "sqlite":
            for table in ("entries", "cost_notes"):
                for what in ("UPDATE", "DELETE"):
                    connection.execute(text(f"DROP TRIGGER IF EXISTS {table}_no_{what}"))
        else:
            connection.execute(text("DROP TRIGGER IF EXISTS cost_notes_only_grow ON cost_notes"))
        for statement in statements:
            connection.execute(text(statement))


def named(report: Report) -> str:
    return "; ".join(map(str, report.faults))


def test_a_batch_is_one_line_however_many_notes_it_has(notes: SqlNotes) -> None:
    notes.append(price_list(2_500))

    (line,) = notes.ledger.iter_lines()
    assert (line.action, line.position, line.covers.partition(":")[0]) == (COST, 1, "2500")
    assert [note.about for note in notes.list_notes()] == [f"part-{number}" for number in range(1, 2_501)]
    assert verify(notes.ledger).sound


@pytest.mark.parametrize(
    ("forgery", "expected"),
    [
        ("UPDATE cost_notes SET body = '{}' WHERE id = 'list-2'", "line 2, cost note list-2: price of part-2"),
        ("UPDATE cost_notes SET about = 'other' WHERE id = 'list-3'", "line 2, cost note list-3: price of other"),
        ("UPDATE cost_notes SET batch = '' WHERE id = 'list-1'", "line 2, cost note list-1"),
        ("DELETE FROM cost_notes WHERE id = 'list-2'", "line 2: cost note 2 of 3 is missing"),
        ("DELETE FROM cost_notes WHERE kind = 'rate'", "line 1: cost note 1 of 1 is missing (1 x rate: bench"),
        ("DELETE FROM cost_notes", "line 2: cost note 3 of 3 is missing"),
        ("UPDATE cost_notes SET position = 9 WHERE id = 'list-3'", "line 2: cost note 3 of 3 is missing"),
        ("UPDATE cost_notes SET number = 7 WHERE id = 'list-3'", "line 2, cost note list-3"),
        ("UPDATE entries SET covers = '' WHERE position = 2", "line 2"),
    ],
)  # fmt: skip
def test_what_was_changed_by_sql_is_named(notes: SqlNotes, forgery: str, expected: str) -> None:
    notes.append([rate("60")])
    notes.append(price_list(3))
    if notes.ledger.engine.dialect.name == "postgresql" and "entries" in forgery:
        forgery = f"ALTER TABLE entries DISABLE TRIGGER ALL; {forgery}"

    forge(notes.ledger.engine, forgery)

    assert expected in named(verify(notes.ledger))


def test_a_changed_note_whose_own_hash_was_made_to_fit_is_shown_by_its_line(notes: SqlNotes) -> None:
    notes.append([rate("60")])
    (note,) = notes.list_notes()
    body = json.dumps({"currency": "EUR", "per_hour": "600"}, sort_keys=True)
    said = {name: getattr(note, name) for name in ("id", "kind", "about", "made_on", "author", "method", "evidence",
                                                   "job", "batch", "retracts")}  # fmt: skip
    record = json.dumps(said | {"body": body, "number": 1}, sort_keys=True, separators=(",", ":"))
    fitting = hashlib.sha256(record.encode()).hexdigest()  # by hand, from the words of covered.py (FIPS 180-4)

    forge(notes.ledger.engine, f"UPDATE cost_notes SET body = '{body}', hash = '{fitting}'".replace(":", r"\:"))

    assert [each.hundredths for each in list_rates(notes)] == [60_000]
    assert "line 1: its 1 cost notes are not those that were written" in named(verify(notes.ledger))


def test_a_note_slipped_in_past_the_ledger_is_named(notes: SqlNotes) -> None:
    notes.append([rate("60")])
    columns = "id, kind, about, body, made_on, author, method, evidence, job, batch, retracts, hash"

    forge(
        notes.ledger.engine,
        *(
            f"INSERT INTO cost_notes (position, number, {columns}) SELECT {at}, 2, '{name}', kind, about, body,"
            " made_on, author, method, evidence, job, batch, retracts, hash FROM cost_notes"
            " WHERE number = 1 AND position = 1"
            for at, name in ((1, "slipped"), (0, "astray"))
        ),
    )

    faults = named(verify(notes.ledger))
    assert (
        "1 cost notes were written, 2 are there: cost note slipped" in faults
        and "line 0: cost note astray stands under a line that vouches for nothing" in faults
    )


@pytest.mark.parametrize(
    ("forgery", "expected"),
    [
        ("UPDATE attachments SET content = {other}", "is not the file that was kept: its content was changed"),
        ("UPDATE attachments SET name = 'plate.png'", "its name, type, size or time was changed"),
        ("DELETE FROM attachments", "bush.png is missing"),
        ("UPDATE attachments SET hash = 'a' || substr(hash, 2) || 'b'", "no line vouches for it"),
    ],
)
def test_a_changed_attachment_is_named(any_ledger: Ledger, forgery: str, expected: str) -> None:
    kept = attachments.keep(any_ledger, PICTURE, "", "bush.png")
    is_sqlite = any_ledger.engine.dialect.name == "sqlite"
    other = "x'00'" if is_sqlite else r"'\x00'\:\:bytea"
    forgery = forgery.format(other=other).replace("|| 'b'", "")

    forge(any_ledger.engine, forgery)

    faults = named(verify(any_ledger))
    assert expected in faults
    assert kept.hash[1:12] in faults


def test_an_attachment_is_kept_once_and_stands_in_one_line(any_ledger: Ledger) -> None:
    first = attachments.keep(any_ledger, PICTURE, "", "bush.png")
    again = attachments.keep(any_ledger, PICTURE, "", "the same.png")

    assert first == again
    assert [line.document for line in any_ledger.iter_lines()] == [first.iri]
    assert verify(any_ledger).sound


def test_lines_of_cost_are_no_notes_and_never_leave_the_shop(notes: SqlNotes) -> None:
    ledger = notes.ledger
    said = ledger.append(Draft(text="The bore is 16.05 mm.", author="bench", shareable=True))
    notes.append([rate("60")])
    attachments.keep(ledger, PICTURE, "", "bush.png")
    line = next(line for line in ledger.iter_lines() if line.action == COST)

    assert [note.note_id for note in ledger.list_notes()] == [said.note_id]
    assert list(ledger.iter_current()) == [said]
    assert {quad.graph_name.value for quad in export_quads(ledger, shareable_only=False)} == {said.iri}  # type: ignore[union-attr]
    with pytest.raises(NotFound):
        ledger.get_note(line.note_id)
    with pytest.raises(NotFound):
        ledger.get_history(line.note_id)
    with pytest.raises(NotFound):
        ledger.retract(line.note_id, 1, Draft(text="no"))


def test_costs_are_read_as_they_stood_at_a_position(notes: SqlNotes) -> None:
    notes.append([rate("60")])
    then = notes.ledger.append(Draft(text="between", author="bench")).position
    notes.append([rate("75")])

    past = notes.at(then)

    assert [each.hundredths for each in list_rates(past)] == [6000]
    assert [each.hundredths for each in list_rates(notes)] == [7500]
    assert (past.position((RATE,)), notes.position((RATE,)), notes.at(0).position()) == (1, 3, 0)
    assert [each.body["per_hour"] for each in notes.list_since(1, (RATE,))[0]] == ["75"]
    assert (notes.list_since(1, (RATE,))[1], past.list_since(1, (RATE,)), notes.list_since(3, ())) == (
        3,
        ([], 1),
        ([], 3),
    )
    with pytest.raises(Conflict, match="the past is not added to"):
        past.append([rate("80")])


def test_of_two_who_take_a_batch_back_at_once_one_is_told(notes: SqlNotes) -> None:
    notes.append([rate("60")])
    batch = notes.list_notes()[0].batch

    outcomes = at_once(lambda: take_back(notes, batch, BENCH), 4)

    assert sorted(outcomes) == ["Conflict", "Conflict", "Conflict", "done"]
    assert len(notes.list_notes(kind="retraction")) == 1


def job_notes(number: str) -> list[CostNote]:
    """A job, planned without any step."""
    plan: dict[str, object] = {"title": "pick-up", "gearbox": "g", "engine": "e", "steps": [], "faults": []}
    plan |= {"picks": {}, "links": {}}
    return [
        CostNote(id=new_id("job"), kind="job", about=number, body=plan, made_on=BENCH.made_on, batch=f"plan-{number}")
    ]


def test_of_two_who_open_a_job_of_one_number_at_once_one_is_told(notes: SqlNotes) -> None:
    outcomes = at_once(lambda: notes.append(job_notes("J-1")), 4)

    assert sorted(outcomes) == ["NumberTaken", "NumberTaken", "NumberTaken", "done"]
    assert [job.id for job in list_jobs(notes)] == ["J-1"]


def test_of_two_who_close_a_job_at_once_one_is_told_and_it_is_learnt_from_once(notes: SqlNotes) -> None:
    notes.append(job_notes("J-1"))
    job = get_job(notes, "J-1")

    outcomes = at_once(lambda: notes.append(close_job(job, "done", BENCH)), 4)

    assert sorted(outcomes) == ["Closed", "Closed", "Closed", "done"]
    assert [note.text for note in notes.ledger.iter_current()] == ["Job J-1 closed: done."]
    assert verify(notes.ledger).sound


def test_nothing_is_noted_on_a_job_that_another_has_closed_or_taken_back_meanwhile(notes: SqlNotes) -> None:
    notes.append(job_notes("J-1"))
    read = get_job(notes, "J-1")
    notes.append(close_job(read, "done", BENCH))
    with pytest.raises(Conflict, match="is closed"):
        notes.append([remark_entry(read, "too late", BENCH)])

    take_back(notes, get_job(notes, "J-1").closing, BENCH)
    take_back(notes, "plan-J-1", BENCH)

    with pytest.raises(Conflict, match="was taken back"):
        notes.append([remark_entry(read, "too late", BENCH)])


def at_once(act: Callable[[], object], times: int) -> list[str]:
    """Does it in so many threads at the same moment; how each ended."""
    outcomes: list[str] = []
    start = threading.Barrier(times)

    def attempt() -> None:
        start.wait()
        try:
            act()
            outcomes.append("done")
        except Exception as error:  # whatever it is, the test says which
            outcomes.append(type(error).__name__)

    threads = [threading.Thread(target=attempt) for _ in range(times)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return outcomes


def test_twice_as_many_writers_as_connections_all_get_their_turn(tmp_path: Path, notes: SqlNotes) -> None:
    outcomes = at_once(lambda: notes.append([rate("60")]), 40)

    assert outcomes == ["done"] * 40
    assert notes.position() == 40 and verify(notes.ledger).sound


@pytest.mark.parametrize("text", ["a\x00b", "a\x0bb", "\ufffe"])
@pytest.mark.parametrize("field", ["about", "author", "method", "job", "batch", "body", "key"])
def test_a_character_that_no_export_could_hold_is_refused_at_its_field(notes: SqlNotes, field: str, text: str) -> None:
    values: dict[str, object] = {"id": "r", "kind": RATE, "about": "bench", "body": {"currency": "EUR"}}
    values |= {"body": {"list": [{"deep": text}]}} if field == "body" else {}
    values |= {"body": {text: "1"}} if field == "key" else {}
    values |= {field: text} if field not in ("body", "key") else {}

    with pytest.raises(InvalidInput, match="control character") as caught:
        notes.append([CostNote(**values)])  # type: ignore[arg-type]

    assert notes.ledger.head().position == 0
    assert field in str(caught.value) or field in ("body", "key")
