"""Tokens that are not good: who tries waits longer and longer, who is at work is not disturbed, nobody for ever."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.lockout import FREE_TRIES, MOST_KEPT, MOST_LOOPBACK_WAIT_S, MOST_WAIT_S, Doorkeeper, Lockout, TooManyTries
from api.security import Gate
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.tokens import Tokens
from tests.api.notebooks import notebook_app, served

HERE, THERE = "192.0.2.7", "198.51.100.9"  # RFC 5737: nobody's addresses
GUESS = "lay_guess"


@pytest.fixture
def tokens(tmp_path: Path) -> Iterator[Tokens]:
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    Ledger(engine)
    yield Tokens(engine)
    engine.dispose()


@pytest.fixture
def keeper(tokens: Tokens) -> Doorkeeper:
    return Doorkeeper(tokens)


def tried(keeper: Doorkeeper, secret: str, address: str, times: int, at: float = 0.0) -> float:
    """Tries the token again and again, each time as soon as it may; when the last try was made."""
    for _ in range(times):
        try:
            assert keeper.find(secret, address, at) is None
        except TooManyTries as error:
            at += error.wait_s
            assert keeper.find(secret, address, at) is None
    return at


def wait_of(keeper: Doorkeeper, secret: str, address: str, at: float) -> float:
    with pytest.raises(TooManyTries) as found:
        keeper.find(secret, address, at)
    return found.value.wait_s


def test_each_further_try_waits_twice_as_long_up_to_a_quarter_of_an_hour(keeper: Doorkeeper) -> None:
    at, waits = tried(keeper, GUESS, HERE, FREE_TRIES), []
    for _ in range(12):
        waits.append(wait_of(keeper, GUESS, HERE, at))
        at = tried(keeper, GUESS, HERE, 1, at)

    assert waits == [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900]


def test_a_try_made_too_early_is_not_looked_at_and_does_not_lengthen_the_wait(
    keeper: Doorkeeper, tokens: Tokens
) -> None:
    _, good = tokens.add("bench", "note")
    at = tried(keeper, GUESS, HERE, FREE_TRIES)

    for _ in range(100):
        assert wait_of(keeper, good, HERE, at) == 1
    assert keeper.find(good, HERE, at + 1) is not None


def test_another_address_is_not_locked(keeper: Doorkeeper, tokens: Tokens) -> None:
    _, good = tokens.add("bench", "note")
    at = tried(keeper, GUESS, HERE, 20)

    assert keeper.find(good, THERE, at) is not None


def test_a_network_of_one_client_is_one_address(keeper: Doorkeeper) -> None:
    """RFC 4291, 2.5.4: the lower 64 bits are the interface's own; RFC 3849: nobody's network."""
    tried(keeper, GUESS, "2001:db8::1", FREE_TRIES)

    assert wait_of(keeper, GUESS, "2001:db8::2:3", 0.0) == 1
    assert keeper.find(GUESS, "2001:db8:0:1::1", 0.0) is None


def test_a_token_that_was_good_here_stays_good_while_strangers_here_are_locked_out(
    keeper: Doorkeeper, tokens: Tokens
) -> None:
    token, good = tokens.add("bench tablet", "note")
    assert keeper.find(good, HERE, 0.0) == token

    at = tried(keeper, GUESS, HERE, 20)

    assert keeper.find(good, HERE, at) == token
    tokens.revoke(token.id)
    assert keeper.find(good, HERE, at) is None


def test_guesses_at_one_token_from_many_addresses_are_counted_together(keeper: Doorkeeper, tokens: Tokens) -> None:
    token, good = tokens.add("bench tablet", "note")
    for number in range(FREE_TRIES):
        assert keeper.find(f"lay_{token.handle}_guess", f"192.0.2.{number}", 0.0) is None

    assert wait_of(keeper, f"lay_{token.handle}_guess", THERE, 0.0) == 1
    assert keeper.find(good, "127.0.0.1", 0.0) == token  # the owner, at the machine itself


def test_a_revoked_token_that_goes_on_asking_locks_out_nobody_else(keeper: Doorkeeper, tokens: Tokens) -> None:
    old, old_secret = tokens.add("bench tablet", "note")
    _, new_secret = tokens.add("bench tablet", "note")
    tokens.revoke(old.id)

    at = tried(keeper, old_secret, HERE, 20)

    assert wait_of(keeper, old_secret, HERE, at) == MOST_WAIT_S
    assert keeper.find(new_secret, HERE, at) is not None


def test_the_owner_on_loopback_is_never_locked_out_for_long(keeper: Doorkeeper, tokens: Tokens) -> None:
    _, good = tokens.add("owner", "manage")

    at = tried(keeper, GUESS, "127.0.0.1", 50)

    assert wait_of(keeper, good, "127.0.0.1", at) == MOST_LOOPBACK_WAIT_S
    assert keeper.find(good, "127.0.0.1", at + MOST_LOOPBACK_WAIT_S) is not None


def test_an_hour_later_all_is_forgotten(keeper: Doorkeeper) -> None:
    at = tried(keeper, GUESS, HERE, 20) + 2 * MOST_WAIT_S + 3600

    tried(keeper, GUESS, HERE, FREE_TRIES - 1, at)
    assert keeper.find(GUESS, HERE, at) is None


@given(st.lists(st.tuples(st.sampled_from("abc"), st.floats(0, 5_000)), min_size=1, max_size=60))
def test_no_sequence_of_failures_makes_anybody_wait_longer_than_the_most(steps: list[tuple[str, float]]) -> None:
    lockout, at = Lockout(), 0.0
    for key, later in steps:
        at += later
        lockout.failed(key, at)

        assert 0.0 <= lockout.wait_s(["a", "b", "c"], at) <= MOST_WAIT_S
    assert lockout.wait_s(["a", "b", "c"], at + MOST_WAIT_S) == 0.0


def test_what_is_remembered_does_not_grow_without_end() -> None:
    lockout = Lockout()

    for number in range(MOST_KEPT + 100):
        lockout.failed(str(number), 0.0)

    assert len(lockout._failures) == MOST_KEPT


def test_over_http_the_wait_is_named_in_retry_after_wherever_the_token_is_sent(tmp_path: Path) -> None:
    """RFC 6585, 4 (429) and RFC 9110, 10.2.3 (Retry-After)."""
    with notebook_app(tmp_path) as (app, notebook):
        app.add_middleware(Gate, tokens=Tokens(notebook.ledger.engine), required=True)
        with served(app) as address, httpx.Client(base_url=address) as client:
            for _ in range(FREE_TRIES - 1):
                assert client.get("/notes", headers={"Authorization": f"Bearer {GUESS}"}).status_code == 401
            assert client.post("/session", json={"token": GUESS}).status_code == 401

            client.cookies.set("form", "double")
            refused = [
                client.get("/notes", headers={"Authorization": f"Bearer {GUESS}"}),
                client.post("/session", json={"token": GUESS}),
                client.post("/sign-in", data={"token": GUESS, "form_token": "double"}, headers={"Origin": address}),
            ]

    assert [(each.status_code, each.headers["retry-after"]) for each in refused] == [(429, "1")] * 3
