"""Random conversion documents in which not everything is known: doubts, assumed picks, chains left open, measuring.

A document of `maker` with further keys; the same seed always gives the same document.
"""

from __future__ import annotations

import random
from typing import Any

from tests.reference.maker import Shape, make_document
from tests.reference.reading import Document, candidates_of, links_of

ODDS = (0, 0.1, 0.3, 0.5, 0.8, 1)


def make_open_document(seed: int, shape: Shape) -> Document:
    """A conversion document that has the keys of what is not known.

    >>> make_open_document(1, Shape(2, 2, 1)) == make_open_document(1, Shape(2, 2, 1))
    True
    """
    chance, document = random.Random(f"unknown {seed} {shape}"), make_document(seed, shape)
    choices = [*candidates_of(document), *links_of(document)]
    for choice in choices:
        if chance.random() < 0.2:
            choice["assumed"] = True
        if document["chains"] and chance.random() < 0.12:
            choice["unmeasured"] = [chance.choice(document["chains"])["id"]]
    doubts = [_doubt(chance, document, choices, number) for number in range(chance.choice((1, 2, 2, 3)))]
    document["faults"] += doubts
    document["inspections"] += [_measuring(chance, document, doubt) for doubt in doubts if chance.random() < 0.7][:2]
    document["most_assumed"] = chance.choice((None, None, 0, 1, 2))
    document["instead"] = chance.choice((None, None, round(chance.uniform(200, 3500), 2)))
    return document


def _some_tasks(chance: random.Random, document: Document, most: int) -> list[str]:
    ids = [task["id"] for task in document["tasks"]]
    return sorted(chance.sample(ids, min(len(ids), chance.randint(0, most))))


def _doubt(chance: random.Random, document: Document, choices: list[Document], number: int) -> dict[str, Any]:
    return {
        "id": f"u{number}",
        "on": sorted(one["id"] for one in chance.sample(choices, min(len(choices), chance.choice((1, 2, 3, 5))))),
        "odds": chance.choice(ODDS),
        "cash": round(chance.uniform(0, 400), 2),
        "hours": round(chance.uniform(0, 5), 2),
        "reach": _some_tasks(chance, document, 2),
        "shows": chance.random() < 0.6,
    }


def _measuring(chance: random.Random, document: Document, doubt: Document) -> dict[str, Any]:
    others = [fault["id"] for fault in document["faults"] if fault["id"] != doubt["id"]]
    also = chance.sample(others, 1) if others and chance.random() < 0.2 else []
    return {
        "id": f"m{doubt['id']}",
        "hours": round(chance.uniform(0, 0.8), 2),
        "settles": [doubt["id"], *also],
        "tasks": _some_tasks(chance, document, 1),
    }
