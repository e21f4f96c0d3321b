"""A session ends when it is ended, with its token, or after a working day: for every process on the ledger at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.ledger.book import Ledger
from graph.ledger.care import backup
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.sessions import MOST_OF_A_TOKEN, SESSION_S, Sessions
from graph.ledger.tokens import Token, Tokens


@pytest.fixture
def two_processes(any_url: str) -> Iterator[tuple[tuple[Tokens, Sessions], tuple[Tokens, Sessions]]]:
    """The same database, opened twice."""
    engines = [open_database(any_url) for _ in range(2)]
    Ledger(engines[0])
    here, there = ((Tokens(engine), Sessions(engine)) for engine in engines)
    yield here, there
    for engine in engines:
        engine.dispose()


Two = tuple[tuple[Tokens, Sessions], tuple[Tokens, Sessions]]


def test_a_session_that_is_ended_is_over_in_every_process_at_once(two_processes: Two) -> None:
    (tokens, here), (_, there) = two_processes
    token, _ = tokens.add("desk", "read")
    kept, ended = here.start(token, 1_000), here.start(token, 1_000)
    assert there.find(ended, 1_000) == token

    here.end(ended)
    here.end(ended)

    assert (there.find(ended, 1_000), there.find(kept, 1_000)) == (None, token)


def test_a_token_that_is_revoked_ends_in_every_process_at_once_with_its_sessions(two_processes: Two) -> None:
    (tokens, here), (also, there) = two_processes
    token, secret = tokens.add("desk", "read")
    cookie = here.start(token, 1_000)
    assert (also.find(secret), there.find(cookie, 1_000)) == (token, token)

    tokens.revoke(token.id)

    assert (also.find(secret), there.find(cookie, 1_000)) == (None, None)


def test_a_session_ends_after_a_working_day_and_cannot_be_guessed(two_processes: Two) -> None:
    (tokens, here), _ = two_processes
    token, _ = tokens.add("desk", "read")
    cookie = here.start(token, 1_000)

    assert here.find(cookie, 1_000 + SESSION_S) == token
    assert here.find(cookie, 1_001 + SESSION_S) is None
    assert here.find("", 1_000) is here.find(cookie[:-1], 1_000) is here.find("\xe9", 1_000) is None


def test_of_many_sessions_of_a_token_the_oldest_end(two_processes: Two) -> None:
    (tokens, here), _ = two_processes
    token, _ = tokens.add("desk", "read")

    started = [here.start(token, 1_000 + number) for number in range(MOST_OF_A_TOKEN + 3)]

    assert [here.find(each, 1_200) is not None for each in started] == [False] * 3 + [True] * MOST_OF_A_TOKEN


def test_a_backup_holds_no_sessions(tmp_path: Path) -> None:
    """Restored, it would bring back what was ended."""
    ledger = Ledger(open_database(sqlite_url(tmp_path / "ledger.db")))
    cookie = Sessions(ledger.engine).start(Token("0" * 36, "desk", "read", ""), 1_000)
    backup(ledger, tmp_path / "taken.db")
    ledger.engine.dispose()

    again = open_database(sqlite_url(tmp_path / "taken.db"))
    assert Sessions(again).find(cookie, 1_000) is None
    again.dispose()
