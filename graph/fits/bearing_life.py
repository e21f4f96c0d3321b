"""Bearing life when another bearing goes in: basic rating life L10, equivalent load, static safety.

Sources: ISO 281 (L10 = (C/P)^p million revolutions, p = 3 for balls and 10/3 for rollers; P = X Fr + Y Fa), ISO 76
(P0 = max(0.6 Fr + 0.5 Fa, Fr) for deep groove balls; S0 = C0/P0). Load ratings differ by maker: name whose.
Loads in newtons, speeds in revolutions per minute. Ball lives are exact; a roller's exponent makes a float.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.model import (
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Working,
    list_missing,
    require_above_zero,
    show_number,
    unknown,
)
from graph.fits.tables import Bearing
from graph.fits.tables_drive import LoadFactor, SafetyGuide

LIFE_SOURCE = "ISO 281"
STATIC_SOURCE = "ISO 76"
RATING_CAUTION = "Load ratings differ by maker and by internal design: use the rating of the bearing in hand."


@dataclass(frozen=True, slots=True)
class Ratings:
    """Dynamic and static rating of one bearing in newtons, and whose catalogue they are from."""

    dynamic_n: Fraction
    static_n: Fraction
    source: str


def lowest_ratings(bearing: Bearing) -> Ratings:
    """The lowest of the tabled catalogues: what any maker's bearing of that size carries at least."""
    dynamic = min(c for _, c, _ in bearing.ratings)
    static = min(c0 for _, _, c0 in bearing.ratings)
    return Ratings(Fraction(dynamic), Fraction(static), f"{bearing.designation}, lowest of the tabled catalogues")


def highest_ratings(bearing: Bearing) -> Ratings:
    """The highest of the tabled catalogues: what the bearing that comes out may have carried."""
    dynamic = max(c for _, c, _ in bearing.ratings)
    static = max(c0 for _, _, c0 in bearing.ratings)
    return Ratings(Fraction(dynamic), Fraction(static), f"{bearing.designation}, highest of the tabled catalogues")


def rating_in_hand(designation: str, dynamic_n: Fraction) -> Ratings:
    """The rating read of a bearing in hand; its static rating is not asked for."""
    return Ratings(dynamic_n, Fraction(0), f"{designation}, rating of the bearing in hand")


def rating_life_mrev(dynamic_n: Fraction | int, load_n: Fraction | int, *, roller: bool = False) -> Fraction:
    """Basic rating life L10 in million revolutions. Raises InvalidInput unless both are above zero.

    >>> rating_life_mrev(16_000, 2_000)
    Fraction(512, 1)
    """
    require_above_zero(("dynamic_n", dynamic_n), ("load_n", load_n))
    ratio = Fraction(dynamic_n) / Fraction(load_n)
    return Fraction(float(ratio) ** (10 / 3)) if roller else ratio**3


def life_hours(life_mrev: Fraction, speed_rpm: Fraction | int) -> Fraction:
    """Million revolutions at a speed, in hours."""
    require_above_zero(("speed_rpm", speed_rpm))
    return life_mrev * 1_000_000 / (60 * Fraction(speed_rpm))


def required_rating(load_n: Fraction | int, hours: Fraction | int, speed_rpm: Fraction | int) -> float:
    """The dynamic rating a ball bearing needs for a life in hours (the unit of the load)."""
    require_above_zero(("load_n", load_n), ("hours", hours), ("speed_rpm", speed_rpm))
    life_mrev = float(Fraction(hours) * 60 * Fraction(speed_rpm) / 1_000_000)
    return float(Fraction(load_n)) * float(life_mrev ** (1 / 3))


def equivalent_load_n(
    factors: Sequence[LoadFactor],
    radial_n: Fraction | int,
    axial_n: Fraction | int,
    static_n: Fraction | int,
    f0: Fraction | int,
) -> Fraction:
    """Equivalent dynamic load of a deep groove ball bearing, normal clearance: max(Fr, X Fr + Y Fa) by ISO 281.

    e and Y are interpolated between the rows at f0 Fa / C0. Raises InvalidInput above the table or for no load.
    """
    radial, axial = Fraction(radial_n), abs(Fraction(axial_n))
    require_above_zero(("static_n", static_n), ("f0", f0))
    if radial < 0 or radial + axial == 0:
        raise InvalidInput([Problem("radial_n", "expected a load; the radial load cannot be negative")])
    if axial == 0:
        return radial
    relative = Fraction(f0) * axial / Fraction(static_n)
    e, y, x = _interpolated(factors, relative)
    return radial if axial <= e * radial else max(radial, x * radial + y * axial)


def _interpolated(factors: Sequence[LoadFactor], relative: Fraction) -> tuple[Fraction, Fraction, Fraction]:
    rows = sorted(factors, key=lambda row: row.relative_load)
    if relative > rows[-1].relative_load:
        most = show_number(rows[-1].relative_load)
        text = f"f0 Fa / C0 is {show_number(relative)}, the table ends at {most}: axial load too high for the bearing"
        raise InvalidInput([Problem("axial_n", text)])
    if relative <= rows[0].relative_load:
        return rows[0].e, rows[0].y, rows[0].x
    upper = next(index for index, row in enumerate(rows) if relative <= row.relative_load)
    low, high = rows[upper - 1], rows[upper]
    part = (relative - low.relative_load) / (high.relative_load - low.relative_load)
    return low.e + part * (high.e - low.e), low.y + part * (high.y - low.y), high.x


def static_safety(static_n: Fraction | int, radial_n: Fraction | int, axial_n: Fraction | int = 0) -> Fraction:
    """S0 = C0 / P0 with P0 = max(0.6 Fr + 0.5 Fa, Fr), deep groove ball bearing (ISO 76)."""
    load = max(Fraction(3, 5) * Fraction(radial_n) + Fraction(1, 2) * Fraction(axial_n), Fraction(radial_n))
    require_above_zero(("static_n", static_n), ("load", load))
    return Fraction(static_n) / load


def get_safety_guide(guides: Sequence[SafetyGuide], operation: str, performance: str) -> SafetyGuide:
    """The guide value for an operation and performance. Raises NotFound naming the known pairs."""
    for guide in guides:
        if (guide.operation, guide.performance) == (operation, performance):
            return guide
    known = [f"{guide.operation}, {guide.performance}" for guide in guides]
    raise NotFound("static safety guide", f"{operation}, {performance}", known)


def check_substitute(
    old: Ratings | None,
    new: Ratings | None,
    *,
    least_part: Fraction = Fraction(1),
    roller: bool = False,
) -> CheckResult:
    """How the life changes at the same load when `new` goes in for `old`; HOLDS from `least_part` of the old life.

    The load cancels: L_new / L_old = (C_new / C_old)^p. Raises InvalidInput for a rating not above zero.
    """
    joint = "bearing life"
    if old is None or new is None:
        wanted = [("the old bearing's rating", old, "read its number"), ("the new bearing's rating", new, "")]
        return unknown(joint, list_missing(wanted))
    factor = rating_life_mrev(new.dynamic_n, old.dynamic_n, roller=roller)
    power = "10/3" if roller else "3"
    numbers = f"({show_number(new.dynamic_n)} / {show_number(old.dynamic_n)} N)^{power}"
    line = Line("L_new / L_old", f"(C_new / C_old)^{power}", numbers, show_number(factor), LIFE_SOURCE)
    holds = factor >= least_part
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if holds else Verdict.FAILS,
        summary=f"life becomes {show_number(factor)} of the old at the same load ({new.source}; {old.source})",
        margin=Amount(factor - least_part, "of the old life"),
        binding="dynamic rating",
        working=Working((line,)),
        cautions=(RATING_CAUTION,),
        evidence_rank=5,
    )


def check_exchange(old: Bearing, new: Bearing, *, least_part: Fraction = Fraction(1)) -> CheckResult:
    """The same for two tabled bearings whose makers nobody has named: every pair of catalogues counts.

    HOLDS where even the lowest rating of the new against the highest of the old gives `least_part` of the old life,
    FAILS where no pair does; in between the ratings of the bearings in hand decide. A bearing in its own place is 1.
    """
    if old.designation == new.designation:
        return check_substitute(lowest_ratings(old), lowest_ratings(new), least_part=least_part)
    worst = check_substitute(highest_ratings(old), lowest_ratings(new), least_part=least_part)
    best = check_substitute(lowest_ratings(old), highest_ratings(new), least_part=least_part)
    both = worst.working + best.working
    if worst.verdict is best.verdict:
        return replace(worst, working=both)
    why = f"by catalogue the life lies on both sides of {show_number(least_part)} of the old"
    missing = (Missing("the dynamic ratings of the two bearings in hand", why),)
    summary = f"cannot tell: {worst.summary}; {best.summary}"
    return replace(worst, verdict=Verdict.UNKNOWN, summary=summary, measure=missing, working=both)


def check_static(
    ratings: Ratings | None,
    guide: SafetyGuide,
    radial_n: Fraction | int | None,
    axial_n: Fraction | int = 0,
    *,
    roller: bool = False,
) -> CheckResult:
    """Static safety against the guide value for the operation (balls; rollers with their guide, P0 as for balls)."""
    joint = "static safety"
    if ratings is None or radial_n is None:
        return unknown(joint, list_missing([("the static rating", ratings, ""), ("the radial load", radial_n, "")]))
    safety = static_safety(ratings.static_n, radial_n, axial_n)
    wanted = guide.s0_roller if roller else guide.s0_ball
    load = ratings.static_n / safety
    loads = f"0.6 x {show_number(radial_n)} + 0.5 x {show_number(axial_n)}, not below {show_number(radial_n)} N"
    numbers = f"{show_number(ratings.static_n)} N / {show_number(load)} N"
    lines = (
        Line("P0", "max(0.6 Fr + 0.5 Fa, Fr)", loads, f"{show_number(load)} N", STATIC_SOURCE),
        Line("S0", "C0 / P0", numbers, show_number(safety), STATIC_SOURCE),
    )
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if safety >= wanted else Verdict.FAILS,
        summary=f"S0 {show_number(safety, 2)}, wanted {show_number(wanted)} ({guide.operation}, {guide.performance})",
        margin=Amount(safety - wanted, ""),
        binding="static rating",
        working=Working(lines),
        cautions=(RATING_CAUTION,),
        evidence_rank=5,
    )
