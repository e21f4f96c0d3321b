"""The chain's head kept outside the ledger: as a line in a file that the shop names, or as text on paper.

One line: `ledger checkpoint POSITION:HASH at TIME`, HASH a SHA-256 in hexadecimal, TIME in UTC (RFC 3339). Whoever
changes what stands in the ledger before that position can no longer reach the same hash; `verify --since` tells.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from graph.errors import StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.disk import unwritten_words
from graph.ledger.verify import Checkpoint, read_checkpoints


@dataclass(frozen=True, slots=True)
class DatedCheckpoint:
    """A checkpoint, and when it was taken (UTC, RFC 3339)."""

    checkpoint: Checkpoint
    at: str

    @property
    def text(self) -> str:
        """The line for a file, and what a QR code holds."""
        return f"ledger checkpoint {self.checkpoint} at {self.at}"


def stamp_of(now: datetime) -> str:
    """The moment to the second, in UTC (RFC 3339)."""
    return now.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def take_checkpoint(ledger: Ledger) -> DatedCheckpoint:
    """The head as it stands. Raises StoreProblem."""
    head = ledger.head()
    return DatedCheckpoint(Checkpoint(head.position, head.hash), stamp_of(datetime.now(UTC)))


def keep_checkpoint(taken: DatedCheckpoint, file: Path) -> bool:
    """Appends it to the file, made if need be, and syncs; False where it stands at the end already.

    Raises StoreProblem where the file cannot be written.
    """
    try:
        if file.is_file() and file.stat().st_size and read_checkpoints(str(file))[-1] == taken.checkpoint:
            return False
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("a", encoding="ascii") as kept:
            kept.write(f"{taken.text}\n")
            kept.flush()
            os.fsync(kept.fileno())
    except OSError as error:
        why = unwritten_words(file, error)
        raise StoreProblem(f"{why}: no checkpoint was kept; free space, or look who owns the folder") from error
    return True
