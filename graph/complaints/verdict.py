"""What is answered: likely causes with where they sit, the tests in the order in which they tell, and the end."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause. `odds`: that it is there, 0 to 1; `before`: before anything was said of this job.

    `joint`, `position`: their names, "" for none. `speaks_for`, `speaks_against`: complaints, findings and readings
    that moved it. `price`: what putting it right comes to as the shop's facts have it, or that nobody has stated it.
    """

    cause: str
    label: str
    joint: str
    position: str
    odds: float
    before: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    remedy: str
    looks_like: str
    price: str
    source: str


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test. `opens`: the names of what must be opened for it yet, `opening_hours` in hundredths what that takes.

    `settles`: the share of what is in doubt that it takes away on average, 0 to 1. `if_yes`, `if_no`: the likeliest
    cause then, with its odds.
    """

    test: str
    asks: str
    how: str
    minutes: float
    opens: tuple[str, ...]
    opening_hours_hundredths: int
    settles: float
    if_yes: str
    if_no: str
    source: str


@dataclass(frozen=True, slots=True)
class DoubtedCause:
    """A complaint, answer or reading that the rest makes hard to believe: `odds`, how often it would come beside it."""

    said: str
    odds: float
    words: str


@dataclass(frozen=True, slots=True)
class ComplaintVerdict:
    """`summary` in a sentence. `found`: a cause is sure enough to act on. `something_else`: odds of none of the table.

    `tests`: what tells most for its time comes first. `notes`: what the odds rest on and what is not known.
    `cautions`: for testing.
    """

    complaints: tuple[str, ...]
    summary: str
    found: bool
    suspects: tuple[Suspect, ...]
    something_else: float
    tests: tuple[NextTest, ...]
    doubted: tuple[DoubtedCause, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
