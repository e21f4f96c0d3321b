"""The conversion document: everything that could be done to put gearbox X behind engine Y.

Reading the graph makes one; the search turns it into routes. It stands alone, so it can be saved,
mailed, solved again and proved by an outside program. No I/O here, and no search.

Money and hours are whole hundredths, lengths whole micrometres, days and odds exact fractions
(see `graph.exact`). Ids are unique among tasks, among positions, among joints, among chains, and among
candidates and links taken together, because rules name either.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from graph.common_cause import CommonCause

LINK_KINDS = ("fits", "fits after machining", "fits through")


@dataclass(frozen=True, slots=True)
class Task:
    """Work done at most once, however many choices need it. `after`: tasks that must be done too."""

    id: str
    label: str
    after: tuple[str, ...] = ()
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    days: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CandidateOrLink:
    """What a candidate and a link have in common: what picking it costs, needs, offers and moves.

    `assumed`: nobody has stated it. `unmeasured`: ids of the chains whose length it leaves open.
    """

    id: str
    label: str
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    days: Fraction = Fraction(0)
    tasks: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    shifts_um: Mapping[str, int] = field(default_factory=dict)
    facts: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    to_confirm: tuple[str, ...] = ()
    assumed: bool = False
    unmeasured: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate(CandidateOrLink):
    """A part that can hold a position. `as_found`: it is there now."""

    part: str
    as_found: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Link(CandidateOrLink):
    """One way for two candidates to mate. `parts` stand in the order of the joint's `between`."""

    parts: tuple[str, str]
    kind: str = "fits"
    via: tuple[str, ...] = ()
    operations: tuple[str, ...] = ()
    irreversible: bool = False


@dataclass(frozen=True, slots=True)
class Position:
    """A place that a part holds in the finished assembly."""

    id: str
    kind: str
    label: str
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class Joint:
    """Two positions whose parts must mate."""

    id: str
    kind: str
    label: str
    between: tuple[str, str]
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """A dimension that adds up: `low <= start + shifts <= high`; a limit that is None does not bind.

    It is not judged where a picked choice names it in `unmeasured`.
    """

    id: str
    label: str
    start_um: int = 0
    low_um: int | None = None
    high_um: int | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """If the choice `when` and all of `also` are picked, one of `needs_any` (if any) must be, none of `excludes` may.

    `demand`: the question's demand that the rule comes of, in words; "" for a rule of the facts.
    """

    when: str
    needs_any: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    demand: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """What may be worn in a part as found, or turn out otherwise than hoped; `reach`: the tasks that lay it open.

    It is there while the pick at `position` is as found, or, for a *doubt*, while one of the choices `on` is picked;
    exactly one of the two is stated. A doubt of odds 1 is *due*: put right before the job is closed.
    """

    id: str
    label: str
    position: str
    odds: Fraction
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    reach: tuple[str, ...] = ()
    shows: bool = False
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Inspection:
    """A test; `settles`: the faults whose state it tells for certain; `tasks`: what must be open for it."""

    id: str
    label: str
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    settles: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Conversion:
    """The whole question, ready for the search.

    `instead`: what not doing the job costs, None where nobody says. `most_assumed`: how many picks may be assumed,
    None: any number.
    """

    gearbox: str
    engine: str
    rate_hundredths: int = 0
    day_hours: Fraction = Fraction(8)
    deadline: Fraction | None = None
    tasks: tuple[Task, ...] = ()
    positions: tuple[Position, ...] = ()
    joints: tuple[Joint, ...] = ()
    chains: tuple[Chain, ...] = ()
    rules: tuple[Rule, ...] = ()
    faults: tuple[Fault, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    features: tuple[str, ...] = ()
    instead_hundredths: int | None = None
    most_assumed: int | None = None
    causes: tuple[CommonCause, ...] = ()
