"""How a route goes together: verdicts, joints, dimensions that add up, torque, checks, settings, demands, bearings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.lines import Named, NoteLine

# Verdicts in trade words, mildest first; a route's verdict is the heaviest of its steps'.
DIRECT = "direct"
WITH_PARTS = "bolt-on with parts"
MACHINING = "machining"
MADE_SPECIALLY = "made specially"
NOT_ADVISABLE = "not advisable"
IMPOSSIBLE = "impossible"
UNKNOWN = "unknown: measure this"
VERDICTS = (DIRECT, WITH_PARTS, MACHINING, MADE_SPECIALLY, NOT_ADVISABLE, IMPOSSIBLE, UNKNOWN)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLine:
    """How one joint closes. `verdict` is one of VERDICTS; `way` says it in words.

    `misfit`: why the two parts do not fit as they are, where that is noted or computed and something is done about it.
    `assumed`: nobody has stated it; what it may cost stands among the route's assumptions.
    """

    joint: str
    label: str
    kind: str
    link: str
    way: str
    verdict: str
    parts: tuple[Named, Named]
    via: tuple[Named, ...] = ()
    edges: tuple[str, ...] = ()
    evidence: str = ""
    evidence_words: str = ""
    notes: tuple[NoteLine, ...] = ()
    to_confirm: tuple[str, ...] = ()
    misfit: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Shift:
    """A candidate or link (`what`) that moves a dimension, and how far."""

    what: str
    label: str
    shift_um: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SideEffect:
    """A dimension that adds up, after this route. `value_um`: None where a length that it takes is not known, and then
    `missing` names it. `margin_um`: distance to the nearer limit (None: no limit, or not known).

    `moved_by`: what the route fits or machines that moves it, each with its share. `worst_case_um`, `rss_um`: how far
    the true value may lie from it, either way, None where no length states its uncertainty; `measure_again`: the
    least certain of them. `verdict`: holds, unknown where the worst case breaks a limit, or not known. `how_surely`:
    the margin in one word or two, the same on every page and paper.
    """

    chain: str
    label: str
    value_um: int | None
    low_um: int | None
    high_um: int | None
    margin_um: int | None
    words: str
    moved_by: tuple[Shift, ...] = ()
    worst_case_um: int | None = None
    rss_um: int | None = None
    measure_again: tuple[str, ...] = ()
    verdict: str = "holds"
    to_confirm: str = ""
    missing: tuple[str, ...] = ()
    how_surely: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacityLine:
    """Whether a part carries the engine's torque, in newton metres. `verdict`: holds, fails or unknown.

    `load_torque_nm`: the engine's, with the reserve that the part wants. None: not known.
    """

    what: str
    part: Named
    verdict: str
    capacity_torque_nm: Fraction | None
    load_torque_nm: Fraction | None
    margin_torque_nm: Fraction | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyCheck:
    """A check of what this route puts together, from what is stated of its parts. `verdict`: holds, fails or unknown.

    `check`: which (hand, starter-hand, starter-side, starter-pitch, hub, flywheel-bolts, housing-bolts, dowels, sensor,
    oil, oil-level); `stop`: where the job can be halted for it; `working`: the sum, symbol = formula = numbers = value;
    `measure`: what to measure where it is unknown.
    """

    check: str
    label: str
    verdict: str
    words: str
    stop: str
    working: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingLine:
    """A value that this route has to set anew, with its arithmetic ready. `value`: the result, "" while something is
    missing, which `measure` names; `what_if`: the check of the bench that works it out."""

    label: str
    why: str
    formula: str
    words: str
    what_if: str
    value: str = ""
    measure: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandLine:
    """A demand of the question against this route. `verdict`: holds or unknown; a route on which it fails is none.

    `working`: the sum, symbol = formula = numbers = value; `margin`: how far it is met, in `unit`, None: not a figure.
    """

    demand: str
    verdict: str
    words: str
    working: tuple[str, ...] = ()
    margin: Fraction | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class BearingLife:
    """A bearing put in another's place: the part of the old life that remains at the same load (ISO 281)."""

    place: str
    old: str
    new: str
    life_part: Fraction
    shorter: bool
    words: str
