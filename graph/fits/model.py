"""The contract of all joint checks: dimensions in, one CheckResult out. No I/O, no tables, no trade rules.

Lengths are whole nanometres (nm): a tenth of a thou is 2540 nm, 1/64 in is 396 875 nm, the half micrometre of
a js tolerance is 500 nm, so every usual reading is exact. Everything that is not a length is an `Amount`:
an exact fraction with its unit. A check takes `Dimension | None`; None means nobody has measured it, and the
verdict is then UNKNOWN with the name of what to measure. Unknown is a verdict, never a pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from graph.errors import InvalidInput, Problem

NM_PER_UM = 1_000
NM_PER_MM = 1_000_000
NM_PER_INCH = 25_400_000
NM_PER_THOU = 25_400
LARGEST_NM = 100_000 * NM_PER_MM  # 100 m: longer than any driveline
WORST_EVIDENCE = 9


class Verdict(StrEnum):
    """What a check says of a joint."""

    HOLDS = "holds"
    HOLDS_WITH_WORK = "holds with work"
    FAILS = "fails"
    UNKNOWN = "unknown"


_GRAVITY = {Verdict.HOLDS: 0, Verdict.HOLDS_WITH_WORK: 1, Verdict.UNKNOWN: 2, Verdict.FAILS: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One length of one part: what it is and between which limits it lies, in whole nanometres.

    `nominal_nm` need not lie between the limits (a p6 journal is above its nominal size all over).
    `as_read`: the value and unit as written down ("1-1/16 in"). `uncertainty_nm`: of the reading, either way
    (0 for a drawing tolerance). `datum`: the face or axis it is taken from. `evidence_rank`: 1 is the best.
    `basic`: exact by definition (a standard's basic size), the only kind that may have no tolerance.
    Raises InvalidInput (all faults at once) for limits the wrong way round, a zero tolerance, or a size
    out of reason.
    """

    name: str
    nominal_nm: int
    low_nm: int
    high_nm: int
    as_read: str = ""
    uncertainty_nm: int = 0
    datum: str = ""
    source: str = ""
    evidence_rank: int = WORST_EVIDENCE
    basic: bool = False
    part: str = ""
    temperature_c: Fraction = Fraction(20)

    def __post_init__(self) -> None:
        problems = []
        for label in ("nominal_nm", "low_nm", "high_nm", "uncertainty_nm"):
            value = getattr(self, label)
            if isinstance(value, bool) or not isinstance(value, int):
                problems.append(Problem(f"{self.name}.{label}", f"expected whole nanometres, found {value!r}"))
            elif abs(value) > LARGEST_NM:
                problems.append(
                    Problem(f"{self.name}.{label}", f"{show_nm(value)} is longer than 100 m; check the unit")
                )
        if not problems:
            problems = self._limit_problems()
        if problems:
            raise InvalidInput(problems)

    def _limit_problems(self) -> list[Problem]:
        if self.uncertainty_nm < 0:
            return [Problem(f"{self.name}.uncertainty_nm", "an uncertainty cannot be negative")]
        if self.low_nm > self.high_nm:
            text = f"the low limit {show_nm(self.low_nm)} is above the high limit {show_nm(self.high_nm)}; swap them"
            return [Problem(self.name, text)]
        if self.low_nm == self.high_nm and not self.basic:
            text = f"{show_nm(self.low_nm)} has no tolerance; state the tool's uncertainty or the drawing's limits"
            return [Problem(self.name, text)]
        return []

    @property
    def middle_nm(self) -> Fraction:
        """Half way between the limits."""
        return Fraction(self.low_nm + self.high_nm, 2)

    @property
    def half_nm(self) -> Fraction:
        """Half the width between the limits."""
        return Fraction(self.high_nm - self.low_nm, 2)

    def text(self) -> str:
        """`bore 100.000 mm (99.990 to 100.012)`, with the reading as written where it differs."""
        read = f", read as {self.as_read}" if self.as_read else ""
        limits = "" if self.basic else f" ({bare_mm(self.low_nm)} to {bare_mm(self.high_nm)}{read})"
        return f"{self.name} {show_nm(self.nominal_nm)}{limits}"


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact number with its unit, for margins and results that need not be lengths.

    >>> str(Amount.of_nm(2_000_000)), str(Amount(Fraction(5, 2), "deg"))
    ('2.000 mm', '2.5 deg')
    """

    value: Fraction
    unit: str

    @classmethod
    def of_nm(cls, nm: int | Fraction) -> Amount:
        """A length in millimetres from nanometres."""
        return cls(Fraction(nm) / NM_PER_MM, "mm")

    def __str__(self) -> str:
        if self.unit == "mm":
            return show_nm(self.value * NM_PER_MM)
        return f"{show_number(self.value)} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Span:
    """A computed value: nominal, worst-case limits, and root-sum-square limits (never wider than worst case)."""

    name: str
    nominal: Amount
    worst_low: Amount
    worst_high: Amount
    rss_low: Amount
    rss_high: Amount

    def text(self) -> str:
        """One line: name, nominal, worst case, RSS."""
        worst = f"worst case {self.worst_low} to {self.worst_high}"
        return f"{self.name} {self.nominal}; {worst}; RSS {self.rss_low} to {self.rss_high}"


@dataclass(frozen=True, slots=True)
class FinishedSize:
    """A size that a piece of work is to end up with: where, nominal and signed deviations (nm), the fit's class."""

    place: str
    nominal_nm: int
    lower_nm: int
    upper_nm: int
    fit: str = ""

    def text(self) -> str:
        """`bore diameter 105.000 mm H7 (105.000 to 105.035)`."""
        fit = f" {self.fit}" if self.fit else ""
        limits = f"{bare_mm(self.nominal_nm + self.lower_nm)} to {bare_mm(self.nominal_nm + self.upper_nm)}"
        return f"{self.place} {show_nm(self.nominal_nm)}{fit} ({limits})"


@dataclass(frozen=True, slots=True)
class Work:
    """One thing to do so that the joint holds. `operation` is an id (`turn-shoulder`), `on` names the part.

    `amount` says how much (2 mm off); `remedy` names a part to be had or made (`bearing 6309`, `sleeve`).
    `weak`: it works, but the trade avoids it. `sizes`: what it is finished to; sketches take them from here.
    """

    operation: str
    on: str
    text: str
    amount: Amount | None = None
    remedy: str = ""
    irreversible: bool = False
    weak: bool = False
    sizes: tuple[FinishedSize, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of working: `symbol = formula = numbers = value`, and where the formula comes from."""

    symbol: str
    formula: str
    numbers: str
    value: str
    source: str

    def text(self) -> str:
        """The line as a machinist would write it."""
        shown = [part for part in (self.formula, self.numbers, self.value) if part]
        return f"{self.symbol} = {' = '.join(shown)}  [{self.source}]"


@dataclass(frozen=True, slots=True)
class Working:
    """The ordered lines that lead to a verdict, for checking with a pencil."""

    lines: tuple[Line, ...] = ()

    def __add__(self, other: Working) -> Working:
        return Working(self.lines + other.lines)

    def text(self) -> str:
        """All lines, one below the other."""
        return "\n".join(line.text() for line in self.lines)


@dataclass(frozen=True, slots=True)
class Missing:
    """Something nobody has measured (or not closely enough). `why` says what hangs on it."""

    name: str
    why: str = ""
    datum: str = ""

    def text(self) -> str:
        """`measure the bore (from the front face): why`."""
        return (
            f"measure {self.name}"
            + (f" from {self.datum}" if self.datum else "")
            + (f": {self.why}" if self.why else "")
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """What a joint check found. `joint` is the kind of check (`bearing seat`, `spline`).

    `margin`: by how much it holds (plus) or misses (minus) in the worst case; None while unknown.
    `binding`: the limit that decides. `choices`: remedies, any one of which closes the joint, each a list of
    work; `work` is the one taken as the verdict's (the first). `evidence_rank`: no better than the weakest input.
    """

    joint: str
    verdict: Verdict
    summary: str
    margin: Amount | None = None
    binding: str = ""
    values: tuple[Span, ...] = ()
    work: tuple[Work, ...] = ()
    choices: tuple[tuple[Work, ...], ...] = ()
    measure: tuple[Missing, ...] = ()
    working: Working = field(default_factory=Working)
    cautions: tuple[str, ...] = ()
    evidence_rank: int = WORST_EVIDENCE
    parts: tuple[CheckResult, ...] = ()

    def __post_init__(self) -> None:
        faults = []
        if self.verdict is Verdict.UNKNOWN and not self.measure:
            faults.append(Problem("measure", "an unknown verdict must name what to measure"))
        if self.verdict is Verdict.HOLDS_WITH_WORK and not self.work:
            faults.append(Problem("work", "a verdict of holds with work must say which work"))
        if faults:
            raise InvalidInput(faults)


def unknown(joint: str, missing: Iterable[Missing], summary: str = "") -> CheckResult:
    """The verdict UNKNOWN for want of the named measurements (at least one)."""
    measure = tuple(missing)
    names = ", ".join(item.name for item in measure)
    return CheckResult(
        joint=joint, verdict=Verdict.UNKNOWN, summary=summary or f"unknown: measure {names}", measure=measure
    )


def list_missing(wanted: Sequence[tuple[str, object | None, str]]) -> tuple[Missing, ...]:
    """One Missing per (name, value, why) whose value is None."""
    return tuple(Missing(name, why) for name, value, why in wanted if value is None)


def weakest(dimensions: Iterable[Dimension | None]) -> int:
    """The evidence rank of a result: that of its weakest input (1 is the best, 9 the worst)."""
    ranks = [dimension.evidence_rank for dimension in dimensions if dimension is not None and not dimension.basic]
    return max(ranks, default=WORST_EVIDENCE)


@lru_cache(maxsize=16_384)
def alike(result: CheckResult) -> CheckResult:
    """The one that stands for all equal ones: of a kind's many pairs most find the same, and each find is kept."""
    return result


def combine(joint: str, results: Sequence[CheckResult]) -> CheckResult:
    """One result for several checks of one joint: the gravest verdict, all work, all that is missing.

    FAILS outweighs UNKNOWN, which outweighs HOLDS_WITH_WORK. The margin is the smallest, where all share a unit.
    """
    if not results:
        raise InvalidInput([Problem(joint, "no checks to combine")])
    gravest = max(results, key=lambda result: _GRAVITY[result.verdict])
    results = [alike(result) for result in results]
    margins = [(result.margin, result.joint) for result in results if result.margin is not None]
    same_unit = len(margins) == len(results) and len({margin.unit for margin, _ in margins}) == 1
    margin, binding = (
        min(margins, key=lambda pair: pair[0].value) if same_unit else (None, gravest.binding or gravest.joint)
    )
    return CheckResult(
        joint=joint,
        verdict=gravest.verdict,
        summary="; ".join(f"{result.joint}: {result.summary}" for result in results),
        margin=margin,
        binding=binding,
        values=tuple(value for result in results for value in result.values),
        work=tuple(work for result in results for work in result.work),
        measure=tuple(item for result in results for item in result.measure),
        working=Working(tuple(line for result in results for line in result.working.lines)),
        cautions=tuple(dict.fromkeys(text for result in results for text in result.cautions)),
        evidence_rank=max(result.evidence_rank for result in results),
        parts=tuple(results),
    )


def with_choices(result: CheckResult, choices: Sequence[tuple[Work, ...]], summary: str) -> CheckResult:
    """A result that fails as it stands, but holds after any one of `choices` (best first, each not empty)."""
    return replace(result, verdict=Verdict.HOLDS_WITH_WORK, summary=summary, work=choices[0], choices=tuple(choices))


def require_above_zero(*named: tuple[str, Fraction | int]) -> None:
    """Raises InvalidInput naming every number that is not above zero."""
    faults = [Problem(name, f"must be above zero, found {show_number(value)}") for name, value in named if value <= 0]
    if faults:
        raise InvalidInput(faults)


def show_number(value: Fraction | int, places: int = 3) -> str:
    """A number rounded half away from zero to `places`, without trailing zeros.

    >>> show_number(Fraction(5, 2)), show_number(Fraction(1, 3))
    ('2.5', '0.333')
    """
    text = fixed(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def fixed(value: Fraction | int, places: int) -> str:
    """A number with exactly `places` decimals, rounded half away from zero."""
    scaled = abs(Fraction(value)) * 10**places
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    digits = str(whole).rjust(places + 1, "0")
    sign = "-" if value < 0 and whole else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def bare_mm(nm: int | Fraction) -> str:
    """Nanometres as millimetres with three decimals, four where a tenth of a micrometre is there."""
    return fixed(Fraction(nm) / NM_PER_MM, 3 if Fraction(nm) % NM_PER_UM == 0 else 4)


def show_nm(nm: int | Fraction) -> str:
    """Nanometres as text with unit.

    >>> show_nm(2_000_000), show_nm(38_100_000), show_nm(10_500)
    ('2.000 mm', '38.100 mm', '0.0105 mm')
    """
    return f"{bare_mm(nm)} mm"
