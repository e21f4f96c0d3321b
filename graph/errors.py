"""Every error that Layshaft raises on purpose, in one tree.

    LayshaftError
    +-- InvalidInput      something that was handed in is wrong; carries one Problem per fault
    |   +-- InvalidDocument   a conversion document
    |   +-- InvalidFacts      facts (Turtle, CSV, notes)
    |   +-- InvalidQuestion   a question about a route
    +-- NotFound          an id that the graph does not know; carries near matches
    +-- Conflict          it stands against what is there: two writers, one revision
    |   +-- Closed            what is written to is closed
    +-- LimitExceeded     the question is larger than the limits, or ran out of time
    +-- Busy              everything that could do it is at work; come back later
    +-- StoreProblem      the disk or the database refused

A message names the thing, the value found, the value wanted and the next step.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where (`positions[2].candidates[0].hours`, `facts.ttl line 12`) and what."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message


class LayshaftError(Exception):
    """Base of all errors raised on purpose."""


class InvalidInput(LayshaftError):
    """Something handed in is wrong. `problems` holds every fault found, in reading order."""

    def __init__(self, problems: Iterable[Problem]):
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[object, ...]:
        """From the problems, not from their words: what another process ran into arrives as it was."""
        return type(self), (self.problems,), self.__dict__


class InvalidDocument(InvalidInput):
    """A conversion document that breaks its own rules."""


class InvalidFacts(InvalidInput):
    """Facts that do not parse or do not satisfy the shapes."""


class InvalidQuestion(InvalidInput):
    """A question that cannot be asked as it stands."""


class NotFound(LayshaftError):
    """No such id in the graph. `near` lists ids that look alike, nearest first."""

    def __init__(self, what: str, wanted: str, near: Sequence[str] = ()):
        self.what, self.wanted, self.near = what, wanted, tuple(near)
        hint = f"; did you mean {', '.join(self.near)}?" if self.near else ""
        super().__init__(f"no {what} with the id {wanted!r}{hint}")


class Conflict(LayshaftError):
    """The revision that was read is no longer the newest one."""


class Closed(Conflict):
    """It is closed: it must be opened again before anything is written to it."""


class LimitExceeded(LayshaftError):
    """Larger or longer than a stated limit."""


class Busy(LayshaftError):
    """All that could do this is at work; the same will be possible in a moment. `retry_s`: when to come back."""

    def __init__(self, words: str, retry_s: int = 10):
        self.retry_s = retry_s
        super().__init__(words)


class StoreProblem(LayshaftError):
    """The disk or the database refused; nothing was half-written."""
