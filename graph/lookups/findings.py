"""What the computation hands out: edges with their workings, what is unknown, what contradicts a note. No I/O."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

from graph.catalogue.model import Edge, Part
from graph.fits.model import CheckResult

COMPUTED = "computed-"  # every id of a computed edge or part begins so
EVIDENCE = "calculated"
DISPUTED_EVIDENCE = "contradicted"


@dataclass(frozen=True, slots=True)
class MissingReading:
    """A quantity (or the bolt face at a joint) of a part that nobody has measured, or that is in dispute (`why`)."""

    part: str
    quantity: str
    text: str
    why: str = ""


@lru_cache(maxsize=65_536)
def gap_of(part: str, quantity: str, text: str, why: str = "") -> MissingReading:
    """The gap of these words, the same one for every pair of the part: findings are kept for each pair."""
    return MissingReading(part, quantity, text, why)


@dataclass(frozen=True, slots=True)
class Unknown:
    """A joint of two parts that cannot be decided: what to measure. `noted`: a note speaks of them all the same.

    `price`: the operation or designation that the price list lacks, where that is all that is missing.
    """

    joint: str
    parts: tuple[str, str]
    gaps: tuple[MissingReading, ...]
    text: str
    noted: bool = False
    price: str = ""


def listed(gaps: Iterable[MissingReading]) -> str:
    """The gaps in words, with the readings that contradict each other where there are any."""
    return " and ".join(gap.text + (f" (again: {gap.why})" if gap.why else "") for gap in gaps)


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A note and the arithmetic, or two readings, that say different things. `edges`: the notes' edges."""

    joint: str
    parts: tuple[str, ...]
    text: str
    edges: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFinding:
    """What was found of two parts at a joint: the check's result, and the edges and parts that follow from it.

    `noted`: the edges of notes about the pair.
    """

    joint: str
    parts: tuple[str, str]
    result: CheckResult | None = None
    edges: tuple[Edge, ...] = ()
    made: tuple[Part, ...] = ()
    workings: Mapping[str, CheckResult] = field(default_factory=dict)
    unknown: Unknown | None = None
    disagreement: Disagreement | None = None
    noted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Torque:
    """A settled torque of a part (greatest, rated or carried), with how surely. `torque_nm`: newton metres."""

    part: str
    quantity: str
    torque_nm: Fraction
    evidence_rank: int


@dataclass(frozen=True, slots=True)
class Derived:
    """Everything computed around a question. `workings`: by id of the computed edge; `torques`: by part, quantity."""

    edges: tuple[Edge, ...] = ()
    parts: tuple[Part, ...] = ()
    unknowns: tuple[Unknown, ...] = ()
    workings: Mapping[str, CheckResult] = field(default_factory=dict)
    disputes: tuple[Disagreement, ...] = ()
    findings: tuple[PairFinding, ...] = ()
    torques: Mapping[tuple[str, str], Torque] = field(default_factory=dict)


NOTHING = Derived()
