"""Does the ledger still say what was written? Checks every line, the chain, the head and an outside checkpoint."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from graph.errors import InvalidInput, Problem
from graph.ledger.book import Head, Ledger
from graph.ledger.record import ACTIONS, GENESIS, Entry, chained_hash

MAX_FAULTS = 100


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A position and its hash, kept outside the ledger (in a view, a backup, on paper)."""

    position: int
    hash: str


@dataclass(frozen=True, slots=True)
class Report:
    """What `verify` found. `faults` is empty for a sound ledger; `checkpoint` is worth writing down."""

    lines: int
    checkpoint: Checkpoint
    faults: tuple[Problem, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def parse_checkpoint(text: str) -> Checkpoint:
    """A checkpoint from `POSITION:HASH`. Raises InvalidInput."""
    position, _, value = text.partition(":")
    if not position.isdigit() or len(value) != 64:
        raise InvalidInput(
            [
                Problem(
                    "checkpoint",
                    f"expected POSITION:HASH as verify prints it, found {text!r}",
                )
            ]
        )
    return Checkpoint(int(position), value)


def verify(
    ledger: Ledger,
    kept: Checkpoint | None = None,
    tell: Callable[[int], None] | None = None,
) -> Report:
    """Reads the whole ledger. `kept`: a checkpoint from outside, which also shows a cut and rewritten tail.

    `tell` is called with the number of lines read, now and then. Raises StoreProblem if it cannot be read.
    """
    head = ledger.head()
    faults: list[Problem] = []
    revisions: dict[str, int] = {}
    last, last_hash, lines = 0, GENESIS, 0
    kept_hash = GENESIS if kept and kept.position == 0 else ""
    for entry in ledger.iter_lines():
        if entry.position > head.position and entry.previous_hash == head.hash:
            break  # appended while we were reading
        faults.extend(_line_faults(entry, last, last_hash, revisions))
        revisions[entry.note_id] = entry.revision
        last, last_hash, lines = entry.position, entry.hash, lines + 1
        kept_hash = entry.hash if kept and kept.position == entry.position else kept_hash
        if tell and lines % 10_000 == 0:
            tell(lines)
        if len(faults) >= MAX_FAULTS:
            break
    faults.extend(_head_faults(head, last, last_hash) if len(faults) < MAX_FAULTS else ())
    if kept and kept_hash != kept.hash:
        found = f"the ledger has {kept_hash[:12]}…" if kept_hash else "the ledger has no such line"
        faults.append(Problem(f"checkpoint {kept.position}", f"{found}: it was cut or rewritten since"))
    return Report(lines, Checkpoint(last, last_hash), tuple(faults))


def _line_faults(entry: Entry, last: int, last_hash: str, revisions: dict[str, int]) -> Iterator[Problem]:
    where = f"line {entry.position}"
    if entry.position != last + 1:
        yield Problem(where, f"follows line {last}: lines are missing")
    if entry.previous_hash != last_hash:
        yield Problem(where, "does not follow from the line before it: the chain is broken here")
    if chained_hash(entry.previous_hash, entry) != entry.hash:
        yield Problem(where, f"note {entry.note_id} was changed after it was written")
    if entry.action not in ACTIONS:
        yield Problem(where, f"unknown action {entry.action!r}")
    if entry.revision <= revisions.get(entry.note_id, 0):
        yield Problem(
            where,
            f"revision {entry.revision} of note {entry.note_id} comes out of order",
        )


def _head_faults(head: Head, last: int, last_hash: str) -> Iterator[Problem]:
    if head.position != last:
        yield Problem(
            "head",
            f"the ledger was at line {head.position}, the last line found is {last}: the tail was cut",
        )
    elif head.hash != last_hash:
        yield Problem("head", f"line {last} is not the one that the head names")
