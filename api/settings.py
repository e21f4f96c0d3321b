"""What the person who runs the service can set; every setting has a default that is safe on one machine."""

from __future__ import annotations

import ipaddress
import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Self
from urllib.parse import urlsplit

from graph.counter.limits import MEMORY_MB, SECONDS, Limits
from graph.reach.engines import check_address

PREFIX = "LAYSHAFT_"


def _check_proxies(text: str) -> None:
    for item in filter(None, (each.strip() for each in text.split(","))):
        try:
            ipaddress.ip_network(item)
        except ValueError as error:
            raise ValueError(f"expected addresses or networks with commas between, found {item!r} ({error})") from None


def _check_hosts(text: str) -> None:
    for item in filter(None, (each.strip() for each in text.split(","))):
        if not re.fullmatch(r"[A-Za-z0-9._-]+|[0-9A-Fa-f:.]*:[0-9A-Fa-f:.]*", item):
            raise ValueError(f"expected names with commas between, without a port, found {item!r}")


def _check_outside_address(text: str) -> None:
    found = urlsplit(text)
    if text and (found.scheme not in ("http", "https") or not found.hostname or found.path.strip("/")
                 or found.query or found.fragment or "@" in found.netloc):  # fmt: skip
        raise ValueError(f"expected a scheme and a name such as https://layshaft.shop.example, found {text!r}")


def _check_place(text: str) -> None:
    if text and not Path(text).is_absolute():
        raise ValueError(f"expected a whole path, from the root on, found {text!r}")


TEXTS: Mapping[str, Callable[[str], object]] = {
    "spread_over": check_address, "proxies": _check_proxies, "hosts": _check_hosts, "address": _check_outside_address,
    "backup_folder": _check_place, "checkpoint_file": _check_place,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Settings:
    """`most_body_bytes`: larger request bodies are refused (413); `most_import_bytes`: those of imports and merges.

    `searches_at_once`: processes that search; a hard one goes on beside them, as many again. `most_waiting`: questions
    that may wait for their turn; a further one is asked to come back (503).
    `most_parts_per_page`: the largest page of a list.
    `request_seconds`: a request's head and body must have come in by then (each 64 KiB buys a second more), and an
    answer must be taken by then. `most_connections`: beyond it the one that has kept us waiting longest is closed.
    `most_under_way`: requests being answered or waiting for it at once; a further one is asked to come back (503).
    `spread_over`: the Dask scheduler that hard searches and stock jobs are spread over, as dask://HOST:PORT; empty:
    processes of this machine, `searches_at_once` of them. `question_seconds`, `question_memory_mb`: the most that the
    searches of one question may take; a question may ask for less.
    `most_a_second`: requests of one client, once others than the user of this machine are served; more get 429.
    `proxies`: addresses and networks of the proxies that stand in front; only they are believed about a client.
    `hosts`: names that the service answers under; empty: any. `address`: where users find it, as https://NAME.
    `backup_folder`: where backups by the clock go, every `backup_hours`, `backups_kept` of them; empty: none are made.
    `checkpoint_file`: the file outside to which the ledger's head is appended as it moves; empty: none.
    """

    most_body_bytes: int = 4_000_000
    most_import_bytes: int = 512 << 20
    searches_at_once: int = os.cpu_count() or 1
    most_parts_per_page: int = 500
    request_seconds: int = 30
    most_connections: int = 1000
    most_under_way: int = 500
    spread_over: str = ""
    most_waiting: int = 200
    question_seconds: int = SECONDS
    question_memory_mb: int = MEMORY_MB
    most_a_second: int = 50
    proxies: str = ""
    hosts: str = ""
    address: str = ""
    backup_folder: str = ""
    backup_hours: int = 24
    backups_kept: int = 7
    checkpoint_file: str = ""

    @property
    def limits(self) -> Limits:
        """What a question's searches may take."""
        return Limits(self.question_seconds, self.question_memory_mb)

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Self:
        """Settings from LAYSHAFT_MOST_BODY_BYTES and so on. Raises ValueError for one that is not as it should be."""
        names = [field.name for field in fields(cls)]
        found = {name: environment[PREFIX + name.upper()] for name in names if PREFIX + name.upper() in environment}
        texts = {name: found.pop(name).strip() for name in TEXTS if name in found}
        for name, text in texts.items():
            try:
                TEXTS[name](text)
            except ValueError as error:
                raise ValueError(f"{PREFIX}{name.upper()}: {error}") from error
        for name, text in found.items():
            if not text.isdecimal() or int(text) < 1:
                raise ValueError(f"{PREFIX}{name.upper()}: expected a whole number of at least 1, found {text!r}")
        values: dict[str, Any] = {name: int(text) for name, text in found.items()} | texts
        return cls(**values)
