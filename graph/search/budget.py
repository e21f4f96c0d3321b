"""What one question may take: seconds, memory, and a client who may leave.

A `Budget` is a setting; `start` makes a `Meter`, which runs. Whatever can run long asks the meter, often enough that
it ends within a fraction of a second after the time is up or the client has left. Memory is not measured but
bounded: everything that grows with the document (costs, tables, cycles, remembered routes) is held to a share of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

USUAL_BYTES = 1 << 30
LEAST_BYTES = 1 << 24
NUMBER_BYTES = 8
SHORT_NUMBER_BYTES = 4
PREFIX_BYTES = 700  # of one remembered partial route, measured


class BudgetSpent(Exception):
    """The time is up or the client has left; raised by `Meter.check` and caught where a part of the answer ends."""


def never() -> bool:
    """Nobody cancels."""
    return False


@dataclass(frozen=True, slots=True)
class Sizes:
    """How many numbers each of the things that grow may hold, so that all of them stay inside the memory."""

    costs: int  # by choice and column, at once
    table: int  # one table
    tables: int  # all tables of a search
    cells: int  # one table of a followed chain, and all that is kept of it
    prefixes: int  # partial routes remembered


@dataclass(frozen=True, slots=True)
class Budget:
    """`seconds` of wall time, or None for as long as it takes; `memory_bytes` for all that grows with the document.

    `cancelled` is asked often, so it must be cheap; once it is true the question ends with what was found so far.
    """

    seconds: float | None = None
    memory_bytes: int = USUAL_BYTES
    cancelled: Callable[[], bool] = never

    def start(self) -> Meter:
        """The budget, running from now on."""
        stop_at = None if self.seconds is None else time.monotonic() + self.seconds
        return Meter(stop_at, self.cancelled, self.sizes())

    def sizes(self) -> Sizes:
        """The shares of the memory; tables and costs are held twice while bounds are sharpened."""
        held = max(LEAST_BYTES, self.memory_bytes)
        return Sizes(
            costs=held // 16 // NUMBER_BYTES,
            table=held // 32 // NUMBER_BYTES,
            tables=held // 4 // NUMBER_BYTES,
            cells=held // 64 // SHORT_NUMBER_BYTES,
            prefixes=held // 8 // PREFIX_BYTES,
        )


@dataclass(frozen=True, slots=True)
class Meter:
    """A running budget. `stop_at`: the time of the monotonic clock at which it is spent, or None."""

    stop_at: float | None = None
    cancelled: Callable[[], bool] = never
    sizes: Sizes = field(default_factory=lambda: Budget().sizes())

    def is_spent(self) -> bool:
        """Is the time up, or has the client left?"""
        return (self.stop_at is not None and time.monotonic() > self.stop_at) or self.cancelled()

    def check(self) -> None:
        """Raises BudgetSpent where `is_spent`."""
        if self.is_spent():
            raise BudgetSpent

    def part(self, share: float) -> Meter:
        """A meter over this share (0 to 1) of the time that is left."""
        if self.stop_at is None:
            return self
        now = time.monotonic()
        return Meter(now + max(0.0, self.stop_at - now) * share, self.cancelled, self.sizes)


ENDLESS = Meter()
