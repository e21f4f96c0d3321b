"""The plain JSON document as exact fractions, for the independent models."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

Document = dict[str, Any]


def exact(value: Any) -> Fraction:
    """The decimal that the JSON number is written as; a number left out is 0."""
    return Fraction(str(value)) if value is not None else Fraction(0)


def closure(document: Document, tasks: Iterable[str]) -> frozenset[str]:
    """The tasks and all they come after."""
    after = {task["id"]: task.get("after", []) for task in document.get("tasks", [])}
    reached: set[str] = set()
    waiting = list(tasks)
    while waiting:
        task = waiting.pop()
        if task not in reached:
            reached.add(task)
            waiting.extend(after[task])
    return frozenset(reached)


def candidates_of(document: Document) -> list[Document]:
    """Every candidate of every position."""
    return [candidate for position in document.get("positions", []) for candidate in position["candidates"]]


def links_of(document: Document) -> list[Document]:
    """Every link of every joint."""
    return [link for joint in document.get("joints", []) for link in joint["links"]]


def price(document: Document, thing: Document) -> Fraction:
    """Cash plus rate times hours, in money."""
    return exact(thing.get("cash", 0)) + exact(document.get("rate", 0)) * exact(thing.get("hours", 0))
