"""What lines of every sort in an answer are made of: an id with its label, a condition, a note."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Named:
    """An id of the graph with its label."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class ConditionState:
    """A condition in a mechanic's words and whether it holds, fails, or is still to be confirmed."""

    text: str
    state: str


@dataclass(frozen=True, slots=True)
class NoteLine:
    """A note that a step rests on: who says so, and how it is known (`evidence`: level id; `level`: its label)."""

    id: str
    text: str
    evidence: str
    level: str
    author: str = ""
    made_on: str = ""
    method: str = ""
    job: str = ""
