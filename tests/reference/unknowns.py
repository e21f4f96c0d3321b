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


def make_unknown_job(seed: int, positions: int = 20, joints: int = 26, doubts: int = 50, looks: int = 30) -> Document:
    """A job of which hardly anything is stated: every pick assumed, a doubt on each, measurings for many of them.

    Tasks open each other along a tree, as a gearbox does; a few positions can take another part, which is bought.
    """
    chance = random.Random(f"unknown job {seed} {positions} {joints} {doubts} {looks}")
    tasks = [_task(chance, number) for number in range(8)]
    places = [_place(chance, number) for number in range(positions)]
    pairs = [(f"p{one}", f"p{one + 1}") for one in range(positions - 1)]
    pairs += [tuple(sorted(chance.sample([place["id"] for place in places], 2))) for _ in range(joints - len(pairs))]
    held = {place["id"]: place["candidates"] for place in places}
    made = [_joint(chance, number, pair, held) for number, pair in enumerate(pairs[:joints])]
    links = [link["id"] for joint in made for link in joint["links"]]
    picks = [candidate["id"] for place in places for candidate in place["candidates"] if candidate.get("assumed")]
    on = chance.sample([*links, *picks], min(doubts, len(links) + len(picks)))
    faults = [_unknown(chance, number, choice, tasks) for number, choice in enumerate(on)]
    return {
        "gearbox": "a", "engine": "b", "rate": 60,
        "tasks": tasks, "positions": places, "joints": made, "faults": faults,
        "inspections": [_look(chance, number, fault) for number, fault in enumerate(faults[:looks])],
        "instead": chance.choice((None, 4000.0, 8000.0)),
    }  # fmt: skip


def _task(chance: random.Random, number: int) -> dict[str, Any]:
    after = [] if number == 0 else [f"t{chance.randrange(number)}"]
    return {"id": f"t{number}", "after": after, "cash": chance.randrange(0, 60), "hours": chance.randrange(5, 45) / 10}


def _place(chance: random.Random, number: int) -> dict[str, Any]:
    candidates = [{"id": f"p{number}-a", "part": f"part {number}", "assumed": True, "as_found": True}]
    if chance.random() < 0.15:
        bought = {"id": f"p{number}-b", "part": f"bought {number}", "cash": chance.randrange(40, 400), "hours": 0.5}
        candidates.append(bought)
    return {"id": f"p{number}", "candidates": candidates}


def _joint(
    chance: random.Random, number: int, pair: tuple[str, ...], held: dict[str, list[Document]]
) -> dict[str, Any]:
    links = [
        {"id": f"j{number}-{one['id']}-{other['id']}", "parts": [one["id"], other["id"]], "assumed": True}
        for one in held[pair[0]]
        for other in held[pair[1]]
    ]
    links[0]["tasks"] = [f"t{chance.randrange(8)}"] if chance.random() < 0.3 else []
    return {"id": f"j{number}", "between": list(pair), "links": links}


def _unknown(chance: random.Random, number: int, choice: str, tasks: list[Document]) -> dict[str, Any]:
    return {
        "id": f"u{number:02}", "on": [choice], "odds": chance.choice((0.05, 0.1, 0.15, 0.2, 0.35)),
        "cash": round(chance.uniform(0, 300), 2), "hours": round(chance.uniform(0, 4), 2),
        "reach": [chance.choice(tasks)["id"]] if chance.random() < 0.8 else [], "shows": chance.random() < 0.7,
    }  # fmt: skip


def _look(chance: random.Random, number: int, fault: Document) -> dict[str, Any]:
    return {"id": f"m{number:02}", "hours": round(chance.uniform(0.05, 0.5), 2), "settles": [fault["id"]]}
