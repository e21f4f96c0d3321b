"""What the search hands back: routes, the front, what looking first is worth, what stays open.

All sums are exact: cash and hours in whole hundredths, everything priced or averaged as a Fraction
(money in currency units). `as_json` turns a Solution into a JSON object.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

OPTIMAL, NO_ROUTE, STOPPED_EARLY = "optimal", "no route", "stopped early"
OBJECTIVES = ("expected", "total", "cash", "hours")
RANKED = ("route", "alternatives")  # parts that go by the objective
PARTS = (*RANKED, "look first", "front", "changes", "open")


@dataclass(frozen=True, slots=True)
class Route:
    """One allowed way of doing the conversion, with its sums.

    `assumed`: the picks that nobody has stated, by id with their labels. `unmeasured`: by chain that is not judged,
    the labels of the picks that leave it open. `p50`, `p90`: what half and nine in ten of such jobs cost at most; where
    that is not counted exactly it lies between `p50_least` and `p50`, `p90_least` and `p90`.
    """

    picks: Mapping[str, str]
    links: Mapping[str, str]
    tasks: tuple[str, ...]
    cash_hundredths: int
    hours_hundredths: int
    total: Fraction
    expected: Fraction
    days: Fraction
    p50: Fraction
    p90: Fraction
    chains_um: Mapping[str, int]
    assumed: Mapping[str, str] = field(default_factory=dict)
    unmeasured: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    p50_least: Fraction | None = None  # None: as `p50`
    p90_least: Fraction | None = None

    @property
    def spread_is_exact(self) -> bool:
        """Are `p50` and `p90` exact?"""
        return self.p50_least in (None, self.p50) and self.p90_least in (None, self.p90)


@dataclass(frozen=True, slots=True)
class LookFirst:
    """The best set of inspections, if it beats the best route taken blind and not doing the job.

    `odds_range`: per settled fault, the range of its odds (all else as stated) in which it does.
    """

    inspections: tuple[str, ...]
    expected: Fraction
    odds_range: Mapping[str, tuple[Fraction, Fraction]]


@dataclass(frozen=True, slots=True)
class Open:
    """One thing that keeps every route from being allowed.

    `kind`: joint, chain, rule, feature, demand, deadline, most_assumed.
    `miss_um` is the nearest miss of a chain in micrometres, signed (plus: too long), else None.
    """

    what: str
    kind: str
    why: str
    miss_um: int | None = None


@dataclass(frozen=True, slots=True)
class RouteChange:
    """The nearest value of one number at which another route becomes the cheapest.

    `kind`: odds (of fault `what`), rate (per hour), price (of part `what`).
    `value` and `route` are None where no value changes the answer.
    """

    kind: str
    what: str
    now: Fraction
    value: Fraction | None
    route: Route | None


@dataclass(frozen=True, slots=True)
class Completeness:
    """One part of an answer, whether it is all of what was asked, and if not by how much it may be off.

    `part`: one of PARTS. `gap`: how much less there may be, in money (hours for the objective hours), None where no
    number says it. `words`: what is missing, for a reader; empty where nothing is.
    """

    part: str
    complete: bool
    gap: Fraction | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Solution:
    """`status`: "optimal" (proven), "no route" (proven), or "stopped early" (some part is not complete).

    `gap`: by how much the best route may be off where the search stopped early; 0 where it is the cheapest for certain
    and another part is not complete. `parts`: what was asked, in the order of the work. `instead`: what not doing the
    job costs, in money, as the document says.
    """

    status: str
    objective: str
    routes: tuple[Route, ...]
    front: tuple[Route, ...] = ()
    look_first: LookFirst | None = None
    open: tuple[Open, ...] = ()
    gap: Fraction | None = None
    changes: tuple[RouteChange, ...] = ()
    parts: tuple[Completeness, ...] = ()
    instead: Fraction | None = None
