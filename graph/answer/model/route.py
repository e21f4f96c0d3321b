"""One allowed route, ready to read: its work, how it goes together, what it takes for given and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.doubt import AssumptionLine, FaultLine
from graph.answer.model.fit import (
    AssemblyCheck,
    BearingLife,
    CapacityLine,
    DemandLine,
    JointLine,
    SettingLine,
    SideEffect,
)
from graph.answer.model.lines import Named
from graph.answer.model.work import PartLine, Step
from graph.section.model import LongSection


@dataclass(frozen=True, slots=True)
class CostSplit:
    """Where the expected cost goes, in currency units; the four sum to the route's `expected`.

    `parts`: cash of parts and consumables; `sublet`: cash of work sent out; `bench`: own hours at the rate;
    `likely_faults`: what worn parts are expected to add.
    """

    parts: Fraction
    sublet: Fraction
    bench: Fraction
    likely_faults: Fraction


@dataclass(frozen=True, slots=True)
class SumLine:
    """One of a route's sums, in currency units. `what`: total, if_all_holds, expected, half or nine_in_ten; `label`:
    which it is, in words; `least`: the lower end where the share is not counted exactly, else None."""

    what: str
    label: str
    value: Fraction
    least: Fraction | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredRoute:
    """One allowed route, ready to read.

    `assumptions`: what it takes for given; `if_all_holds`: what it is expected to cost if all of that holds, None where
    nothing is assumed; `at_least`: something that it may come to has no price, hours or rate; `unpriced` names it.
    `sums`: what the route comes to, each sum with what it is. `section`: the finished assembly and the one as found,
    cut along the axis, as `graph.section` draws them; None for a document that came by itself. `checks`: what is put
    together, checked; `to_set`: what has to be set anew; `against`: checks and readings that speak against it, the
    first cause first; `core_terms`: what keeps a core worth its deposit, where one is in the sum.
    """

    rank: int
    verdict: str
    provisional: bool  # a condition on the way is not settled yet; it stands among `to_confirm`
    summary: str
    steps: tuple[Step, ...]
    parts: tuple[PartLine, ...]
    joints: tuple[JointLine, ...]
    side_effects: tuple[SideEffect, ...]
    faults: tuple[FaultLine, ...]
    features_gained: tuple[Named, ...]
    irreversible: tuple[str, ...]
    to_confirm: tuple[str, ...]
    weakest_evidence: str
    weakest_evidence_words: str
    cash_hundredths: int
    hours_hundredths: int
    total: Fraction
    expected: Fraction
    days: Fraction
    p50: Fraction
    p90: Fraction
    split: CostSplit
    picks: Mapping[str, str]
    links: Mapping[str, str]
    tasks: tuple[str, ...]
    capacities: tuple[CapacityLine, ...] = ()
    bearing_lives: tuple[BearingLife, ...] = ()
    demands: tuple[DemandLine, ...] = ()
    checks: tuple[AssemblyCheck, ...] = ()
    to_set: tuple[SettingLine, ...] = ()
    core_terms: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    assumptions: tuple[AssumptionLine, ...] = ()
    if_all_holds: Fraction | None = None
    at_least: bool = False
    on_the_day_hundredths: int = 0  # the cash with all core deposits, most of which come back
    p50_least: Fraction | None = None  # where the spread is not counted exactly: the lower ends
    p90_least: Fraction | None = None
    unpriced: tuple[str, ...] = ()
    sums: tuple[SumLine, ...] = ()
    section: LongSection | None = None
