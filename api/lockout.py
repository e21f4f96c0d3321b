"""A lock after tokens that were not good: the next try waits, each time twice as long.

A token cannot be guessed; the lock keeps whoever tries from keeping the service busy, and from being overlooked. It
counts by client address (a whole /64 of IPv6, which is one client's) and, whatever the address, by the token that was
meant: its handle. A token that has been good from an address stays good there, so that a stranger behind the same
address, or one who knows its handle, locks out nobody who is at work. A revoked token counts for itself alone. On
loopback the wait stays short and no handle is asked about: the owner always gets in.

All of it is kept in the memory of one process, MOST_KEPT entries of each sort, the least recent dropped first.
"""

from __future__ import annotations

import ipaddress
import math
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Any

from graph.errors import LayshaftError
from graph.ledger.identity import digest
from graph.ledger.tokens import Token, Tokens, find_handle

FREE_TRIES = 5  # a mistyped token is no attack
FIRST_WAIT_S, MOST_WAIT_S, MOST_LOOPBACK_WAIT_S = 1.0, 900.0, 5.0
FORGET_S = 3600.0  # after the last failure
MOST_KEPT = 10_000


class TooManyTries(LayshaftError):
    """Tokens were tried that are not good; `wait_s`: when one may be tried again."""

    def __init__(self, wait_s: float):
        self.wait_s = math.ceil(wait_s)
        super().__init__(f"too many access tokens that are not good; the next may be tried in {self.wait_s} s")


@dataclass(slots=True)
class _Failures:
    count: int
    last: float
    until: float


class Lockout:
    """Counts failures by key and says how long a key has to wait. Times are in seconds of any one clock."""

    def __init__(self) -> None:
        self._failures: OrderedDict[str, _Failures] = OrderedDict()

    def wait_s(self, keys: Sequence[str], at: float) -> float:
        """0 if a further try may be made, else how long it is until then."""
        known = (self._failures[key] for key in keys if key in self._failures)
        return max((each.until - at for each in known if each.until > at), default=0.0)

    def failed(self, key: str, at: float, most_wait_s: float = MOST_WAIT_S) -> None:
        """One more failure: beyond the free ones the wait doubles, up to the most."""
        found = self._failures.pop(key, None)
        count = found.count + 1 if found and at - found.last < FORGET_S else 1
        over = count - FREE_TRIES
        wait = 0.0 if over < 0 else min(most_wait_s, FIRST_WAIT_S * 2.0 ** min(over, 30))
        self._failures[key] = _Failures(count, at, at + wait)
        while len(self._failures) > MOST_KEPT:
            self._failures.popitem(last=False)

    def forgive(self, key: str) -> None:
        """Starts anew."""
        self._failures.pop(key, None)


class Doorkeeper:
    """Finds the token behind a secret, and keeps strangers from trying many. Safe from any thread."""

    def __init__(self, tokens: Tokens):
        self.tokens = tokens
        self._lockout, self._lock = Lockout(), Lock()
        self._good: OrderedDict[tuple[str, str], None] = OrderedDict()

    def find(self, secret: str, address: str, at: float) -> Token | None:
        """The living token with this secret, sent from this address. Raises TooManyTries."""
        client, known = _client(address), digest(secret)
        handle = find_handle(secret)
        keys = [client] if _is_loopback(address) or not handle else [client, f"token {handle}"]
        with self._lock:
            wait = 0.0 if (client, known) in self._good else self._lockout.wait_s(keys, at)
        if wait:
            raise TooManyTries(wait)
        token = self.tokens.find_any(secret)
        with self._lock:
            if token and not token.revoked_at:
                self._let_in(client, known, token)
                return token
            self._good.pop((client, known), None)
            most = MOST_LOOPBACK_WAIT_S if _is_loopback(address) else MOST_WAIT_S
            for key in [f"token {token.handle}"] if token else keys:
                self._lockout.failed(key, at, most)
        return None

    def _let_in(self, client: str, known: str, token: Token) -> None:
        self._lockout.forgive(f"token {token.handle}")
        self._good.pop((client, known), None)
        self._good[client, known] = None
        while len(self._good) > MOST_KEPT:
            self._good.popitem(last=False)


def doorkeeper_of(app: Any, tokens: Tokens) -> Doorkeeper:
    """The app's one doorkeeper: the header and the pages for signing in count the same failures."""
    if not hasattr(app.state, "doorkeeper"):
        app.state.doorkeeper = Doorkeeper(tokens)
    found = app.state.doorkeeper
    assert isinstance(found, Doorkeeper)
    return found


def _client(address: str) -> str:
    """What counts as one client: an IPv4 address, a /64 of IPv6, else the name itself."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:100]
    if isinstance(found, ipaddress.IPv6Address):
        return str(found.ipv4_mapped or ipaddress.ip_network((found, 64), strict=False))
    return str(found)


def _is_loopback(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False
