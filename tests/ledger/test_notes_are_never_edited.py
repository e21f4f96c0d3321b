"""The ledger's promises, on SQLite and on a real PostgreSQL server."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import pytest
from sqlalchemy.exc import DBAPIError

from graph.errors import Conflict, InvalidFacts, NotFound, StoreProblem
from graph.ledger import schema
from graph.ledger.book import KeyReused, Ledger, Retry, RevisionConflict
from graph.ledger.database import open_database, writing
from graph.ledger.identity import new_id
from graph.ledger.record import Draft

STICK_OUT = Draft(
    text="Input shaft stands out 182.4 mm.",
    author="bench",
    evidence="e1",
    method="depth micrometer",
)


def test_a_note_is_read_back_as_it_was_written(any_ledger: Ledger) -> None:
    written = any_ledger.append(STICK_OUT)

    assert any_ledger.get_note(written.note_id) == written
    assert (written.revision, written.text, written.method) == (
        1,
        STICK_OUT.text,
        "depth micrometer",
    )


def test_revising_adds_a_revision_and_keeps_the_first(any_ledger: Ledger) -> None:
    first = any_ledger.append(STICK_OUT)

    second = any_ledger.revise(first.note_id, 1, replace(STICK_OUT, text="182.6 mm, measured cold."))

    assert second.revision == 2
    assert second.revises == f"{first.iri}/revisions/1"
    assert any_ledger.get_history(first.note_id) == [first, second]


def test_the_loser_of_a_race_is_shown_both_texts(any_ledger: Ledger) -> None:
    note = any_ledger.append(STICK_OUT)
    any_ledger.revise(note.note_id, 1, Draft(text="winner"))

    with pytest.raises(RevisionConflict) as caught:
        any_ledger.revise(note.note_id, 1, Draft(text="loser"))

    assert (caught.value.sent.text, caught.value.stored.text) == ("loser", "winner")


def test_of_eight_writers_who_read_the_same_revision_one_wins(
    any_ledger: Ledger,
) -> None:
    note = any_ledger.append(STICK_OUT)
    outcomes: list[str] = []

    def race(number: int) -> None:
        try:
            any_ledger.revise(note.note_id, 1, Draft(text=f"writer {number}"))
            outcomes.append("won")
        except RevisionConflict:
            outcomes.append("lost")

    _run_together([partial(race, number) for number in range(8)])

    assert sorted(outcomes) == ["lost"] * 7 + ["won"]
    assert len(any_ledger.get_history(note.note_id)) == 2


def test_a_retried_request_writes_once(any_ledger: Ledger) -> None:
    retry = Retry("key-1", "a" * 64)

    first, second = (
        any_ledger.append(STICK_OUT, retry=retry),
        any_ledger.append(STICK_OUT, retry=retry),
    )

    assert first == second
    assert any_ledger.head().position == 1


def test_a_key_of_another_request_is_refused(any_ledger: Ledger) -> None:
    any_ledger.append(STICK_OUT, retry=Retry("key-1", "a" * 64))

    with pytest.raises(KeyReused, match="another request"):
        any_ledger.append(Draft(text="something else"), retry=Retry("key-1", "b" * 64))


def test_sixteen_writers_leave_gapless_positions(any_ledger: Ledger) -> None:
    _run_together([lambda: [any_ledger.append(STICK_OUT) for _ in range(5)]] * 16)

    assert [line.position for line in any_ledger.iter_lines()] == list(range(1, 81))


def test_every_past_state_can_be_asked_for(any_ledger: Ledger) -> None:
    first = any_ledger.append(STICK_OUT)
    other = any_ledger.append(Draft(text="Pilot bore 35.0 mm."))
    any_ledger.revise(first.note_id, 1, Draft(text="corrected"))
    any_ledger.retract(other.note_id, 1, Draft(text="measured on another crank"))

    states = [[note.text for note in any_ledger.iter_current(as_of=position)] for position in range(5)]

    assert states == [
        [],
        [STICK_OUT.text],
        [STICK_OUT.text, "Pilot bore 35.0 mm."],
        ["Pilot bore 35.0 mm.", "corrected"],
        ["corrected"],
    ]  # fmt: skip


def test_a_time_names_the_position_that_stood_then(any_ledger: Ledger) -> None:
    first = any_ledger.append(STICK_OUT)
    any_ledger.append(STICK_OUT)

    assert any_ledger.position_at("2001-01-01") == 0
    assert any_ledger.position_at("2999-01-01T00:00:00+02:00") == 2
    assert any_ledger.position_at(first.recorded_at) >= 1


def test_a_note_taken_back_stays_in_its_history_and_is_not_revised(
    any_ledger: Ledger,
) -> None:
    note = any_ledger.append(STICK_OUT)
    any_ledger.retract(note.note_id, 1, Draft(text="wrong box"))

    assert [line.action for line in any_ledger.get_history(note.note_id)] == [
        "note",
        "retract",
    ]
    with pytest.raises(Conflict, match="taken back"):
        any_ledger.revise(note.note_id, 2, STICK_OUT)


def test_several_notes_enter_together_or_not_at_all(any_ledger: Ledger) -> None:
    drafts = [(new_id(), STICK_OUT), (new_id(), Draft(text="", statements=""))]

    with pytest.raises(InvalidFacts, match="says nothing"):
        any_ledger.append_all(drafts)

    assert any_ledger.head().position == 0


@pytest.mark.parametrize(
    ("draft", "named"),
    [
        (Draft(text="x" * 20_001), "text"),
        (Draft(text="bell\x00"), "text"),
        (Draft(text="x", made_at="last Tuesday"), "made_at"),
        (Draft(text="x", author="y" * 501), "author"),
        (Draft(text="x", settles=("https://shop.example/notes/none",)), "settles"),
    ],
)
def test_a_faulty_note_is_refused_and_the_field_named(ledger: Ledger, draft: Draft, named: str) -> None:
    with pytest.raises(InvalidFacts) as caught:
        ledger.append(draft)

    assert [problem.path for problem in caught.value.problems] == [named]


def test_an_unknown_evidence_level_names_the_known_ones(ledger: Ledger) -> None:
    judged = Ledger(ledger.engine, levels=["e1", "e2"])

    with pytest.raises(InvalidFacts, match="expected one of e1, e2"):
        judged.append(Draft(text="x", evidence="E11"))


def test_the_database_itself_refuses_to_edit_a_line(any_ledger: Ledger) -> None:
    note = any_ledger.append(STICK_OUT)

    for change in (
        schema.entries.update().values(text="forged"),
        schema.entries.delete(),
    ):
        with (
            pytest.raises((DBAPIError, StoreProblem)),
            writing(any_ledger.engine) as connection,
        ):
            connection.execute(change)

    assert any_ledger.get_note(note.note_id) == note


def test_a_ledger_keeps_the_base_it_was_made_with(any_url: str) -> None:
    engine = open_database(any_url)
    Ledger(engine, "https://shop-a.example/")

    assert Ledger(engine).base == "https://shop-a.example/"
    with pytest.raises(Conflict, match="belongs to"):
        Ledger(engine, "https://shop-b.example/")
    engine.dispose()


def test_an_unknown_note_is_not_found(ledger: Ledger) -> None:
    with pytest.raises(NotFound):
        ledger.get_note(new_id())


def _run_together(jobs: Sequence[Callable[[], object]]) -> None:
    threads = [threading.Thread(target=job) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
