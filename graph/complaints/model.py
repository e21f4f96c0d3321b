"""Complaints, what brings them about, and the tests that tell: plain values, as the tables have them.

Chances are floats between 0 and 1. A *link* says how often a cause alone brings a complaint, a finding or another
cause about; several at once act apart from each other (noisy-or), and each complaint, finding and cause can also come
about for a reason that is not in the table (`otherwise`, `prior`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

OUTSIDE, NEAR, WITHIN = "outside", "near its limit", "well within"
READING_STATES = (OUTSIDE, NEAR, WITHIN)
BELOW, ABOVE, EITHER = "below", "above", "either"
SIDES = ("", BELOW, ABOVE, EITHER)


@dataclass(frozen=True, slots=True)
class Complaint:
    """What the driver says. `otherwise`: how often it is said though no cause of the table is there."""

    id: str
    label: str
    otherwise: float
    source: str


@dataclass(frozen=True, slots=True)
class Cause:
    """What may be wrong, and where. `joint`, `position`: kinds, "" for none. `fault`: of the table of worn parts.

    `chain`, `side`: the dimension whose reading speaks of it, and on which side of its limits it then lies.
    `prior`: how often it is there, before anything is said. `looks_like`: what it looks like once it is laid open.
    """

    id: str
    label: str
    joint: str
    position: str
    fault: str
    chain: str
    side: str
    prior: float
    remedy: str
    looks_like: str
    source: str


@dataclass(frozen=True, slots=True)
class Test:
    """A question to the driver (0 minutes) or a look: `needs` names the tasks that must be open for it.

    `otherwise`: how often it is answered with yes though no cause of the table is there. `not_with`: the test that
    cannot be answered with yes as well, "" for none.
    """

    __test__ = False  # the tests' collector takes classes of this name for its own

    id: str
    asks: str
    how: str
    minutes: float
    needs: tuple[str, ...]
    otherwise: float
    not_with: str
    source: str


@dataclass(frozen=True, slots=True)
class Trade:
    """All tables. `brings`: per cause what it brings about (complaint, test or cause) and how often.

    `readings`: per state of a reading the ratio P(it reads so | cause) / P(it reads so | no cause).
    """

    complaints: Mapping[str, Complaint]
    causes: Mapping[str, Cause]
    tests: Mapping[str, Test]
    brings: Mapping[str, Mapping[str, float]]
    readings: Mapping[str, float]

    def brought_by(self, node: str) -> dict[str, float]:
        """What can bring it about, and how often each alone does."""
        return {cause: links[node] for cause, links in self.brings.items() if node in links}
