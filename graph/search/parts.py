"""The parts of a hard search that it could do without, by name: each saves work, none decides what is proven.

`scripts/bench --only parts` leaves out one after another and shows what each earns.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar

LANES, MULTIPLIERS, CEILINGS, LADDER, RESIDUES, DOMINANCE = (
    "lanes", "multipliers", "ceilings", "ladder", "residues", "dominance",
)  # fmt: skip
PARTS: Mapping[str, str] = {
    LANES: "task sets apart, hundreds of partial routes opened at once",
    MULTIPLIERS: "prices on limits, so that bounds see them",
    CEILINGS: "a trial ceiling that rises from the lowest bound",
    LADDER: "levels of ever smaller batches of task sets, with ever more work spent on each",
    RESIDUES: "sums of lumpy chains followed modulo some number of steps",
    DOMINANCE: "partial routes forgotten where others are better in every way",
}
_LEFT_OUT: ContextVar[frozenset[str]] = ContextVar("parts of the search left out", default=frozenset())


def is_on(part: str) -> bool:
    """Does the search use the part of that name? Every part is used unless `without` leaves it out."""
    return part not in _LEFT_OUT.get()


@contextmanager
def without(*parts: str) -> Iterator[None]:
    """Searches within leave these parts out. Raises ValueError for a name that is none of PARTS.

    >>> with without("residues"):
    ...     is_on("residues"), is_on("ladder")
    (False, True)
    """
    unknown = set(parts) - set(PARTS)
    if unknown:
        raise ValueError(f"no part of the search is named {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    before = _LEFT_OUT.set(_LEFT_OUT.get() | set(parts))
    try:
        yield
    finally:
        _LEFT_OUT.reset(before)
