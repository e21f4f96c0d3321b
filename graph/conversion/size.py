"""How large a document may be: more than any job at a bench has; a larger one is a mistake, or somebody at the door.

Only lists are counted, before anything in them is read: a document is refused for its size at the price of counting it.
What is no list is left to the reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import prod
from typing import Any

from graph.conversion.reader import Problems

MOST = {
    "tasks": 200, "positions": 200, "joints": 400, "chains": 60, "rules": 2000, "faults": 200, "inspections": 100,
    "features": 1000, "causes": 6,
}  # fmt: skip
MOST_CANDIDATES, MOST_LINKS = 1000, 20_000  # of one position, of one joint
MOST_CANDIDATES_TOGETHER, MOST_LINKS_TOGETHER = 2000, 40_000
MOST_PAIRS_TOGETHER = 1_000_000  # of candidates at the two ends of a joint; the search keeps a cell for each
MOST_RULE_IDS_TOGETHER = 40_000
MOST_ON_TOGETHER = 40_000  # choices that faults sit on


def note_too_large(value: Any, problems: Problems) -> None:
    """Add a problem for each list, and for each sum over lists, that is longer than a document may have."""
    positions, joints, rules, faults = (_listed(value, key) for key in ("positions", "joints", "rules", "faults"))
    held = [len(_listed(position, "candidates")) for position in positions]
    links = [len(_listed(joint, "links")) for joint in joints]
    for path, count, what, most in (
        *((key, len(_listed(value, key)), "entries", most) for key, most in MOST.items()),
        *_each("positions", "candidates", held, MOST_CANDIDATES),
        *_each("joints", "links", links, MOST_LINKS),
        ("positions", sum(held), "candidates together", MOST_CANDIDATES_TOGETHER),
        ("joints", sum(links), "links together", MOST_LINKS_TOGETHER),
        ("joints", _pairs(positions, held, joints), "pairs of candidates together", MOST_PAIRS_TOGETHER),
        ("rules", _ids(rules, "needs_any", "excludes", "also"), "ids together", MOST_RULE_IDS_TOGETHER),
        ("faults", _ids(faults, "on"), "candidates and links to sit on together", MOST_ON_TOGETHER),
    ):
        if count > most:
            problems.note(path, f"{count} {what}; at most {most} can be read in one document")


def _each(path: str, key: str, counts: Sequence[int], most: int) -> Iterator[tuple[str, int, str, int]]:
    return ((f"{path}[{place}].{key}", count, "entries", most) for place, count in enumerate(counts))


def _listed(value: Any, key: str) -> Sequence[Any]:
    found = value.get(key) if isinstance(value, Mapping) else None
    return found if isinstance(found, (list, tuple)) else ()


def _pairs(positions: Sequence[Any], held: Sequence[int], joints: Sequence[Any]) -> int:
    size_of = {
        position["id"]: size
        for position, size in zip(positions, held, strict=True)
        if isinstance(position, Mapping) and isinstance(position.get("id"), str)
    }
    ends = [_listed(joint, "between")[:2] for joint in joints]
    return sum(prod(size_of.get(end, 0) if isinstance(end, str) else 0 for end in both) for both in ends if both)


def _ids(items: Sequence[Any], *keys: str) -> int:
    return sum(len(_listed(item, key)) for item in items for key in keys)
