"""Tasks that misbehave, for the child to run."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Mapping
from typing import IO, Any

from graph.errors import InvalidFacts, LimitExceeded, Problem


def lines(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[str]:
    """Each line of the file."""
    for line in file:
        yield line.decode().rstrip("\n")


def spins(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Uses the processor for ever."""
    while True:
        pass
    yield 1


def sleeps(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Does nothing for ever."""
    time.sleep(3600)
    yield 1


def hoards(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Takes memory for ever."""
    kept = []
    while True:
        kept.append(b"x" * (1 << 20))
    yield len(kept)


def talks(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[str]:
    """Says more and more."""
    while True:
        yield "x" * 1000


def dies(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Ends the process in the middle."""
    yield 1
    os.abort() if given.get("abort") else os._exit(3)


def recurses(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Calls itself for ever."""
    yield from recurses(file, given)


def stumbles(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Has a fault of its own."""
    yield 1 // 0


def refuses(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Finds something wrong with the file."""
    yield 1
    raise InvalidFacts([Problem("line 3", "not so"), Problem("line 5", "nor so")])


def limits(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """Finds the file too large."""
    yield 1
    raise LimitExceeded("too many of them")


def who(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[int]:
    """The number of its process."""
    yield os.getpid()
