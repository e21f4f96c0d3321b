"""Limits and fits: which limits a class gives, which fit two parts make, and what heat does to it.

Clearance is hole minus shaft; negative means interference. Sources: ISO 286-1/-2 (limits), ISO 492 (bearing
rings), delta = alpha x D x dT for free expansion of both parts at one temperature (no wall stiffness), as in
handbooks; coefficients in facts/standards/thermal_expansion.csv.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from math import ceil, floor

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import require_positive
from graph.fits.model import (
    NM_PER_UM,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Verdict,
    Working,
    bare_mm,
    list_missing,
    show_nm,
    show_number,
    unknown,
    weakest,
)  # fmt: skip
from graph.fits.stack import Stack, judge, stack_up
from graph.fits.tables import Deviation, RingDeviation, Tables

STANDARD_EVIDENCE = 5  # a maker's drawing, manual or standard
REFERENCE_C = Fraction(20)  # ISO 1: sizes hold at 20 C
HOTTEST_C, COLDEST_C = Fraction(250), Fraction(-60)


@dataclass(frozen=True, slots=True)
class Material:
    """A material by name and its linear expansion in um per metre and kelvin."""

    name: str
    alpha_um_per_m_k: Fraction
    source: str = ""


def get_deviation(tables: Tables, cls: str, size_nm: int) -> Deviation:
    """The ISO 286 limits of a class at a size. Raises NotFound for an unlisted class, InvalidInput for the size."""
    rows = [row for row in tables.deviations if row.cls == cls]
    if not rows:
        known = sorted({row.cls for row in tables.deviations})
        near = [*get_close_matches(cls, known, 3, 0.4), *(other for other in known if other.lower() == cls.lower())]
        raise NotFound("tolerance class", cls, tuple(dict.fromkeys(near)))
    for row in rows:
        if row.over_nm < size_nm <= row.incl_nm:
            return row
    raise InvalidInput([Problem(cls, _range_text(size_nm, rows))])


def class_dimension(tables: Tables, name: str, size_nm: int, cls: str, part: str = "") -> Dimension:
    """The dimension of basic size `size_nm` with the limits of an ISO 286 class.

    A 50 mm hole H7 lies between 50.000 and 50.025 mm.
    """
    row = get_deviation(tables, cls, size_nm)
    return Dimension(
        name=name, nominal_nm=size_nm, low_nm=size_nm + row.lower_nm, high_nm=size_nm + row.upper_nm,
        source=f"{row.origin} {cls}", evidence_rank=STANDARD_EVIDENCE, part=part,
    )  # fmt: skip


def ring_dimension(tables: Tables, name: str, ring: str, quantity: str, size_nm: int, value_nm: int) -> Dimension:
    """A bearing ring's dimension in class Normal. `size_nm` chooses the range, `value_nm` is what is toleranced.

    `ring`: inner or outer; `quantity`: how the table's wording begins (`d_mp`, `D_mp`, `width B_s`). The width's
    range goes by the bore. Raises NotFound or InvalidInput.
    """
    rows = [row for row in tables.ring_deviations if row.ring == ring and row.quantity.startswith(quantity)]
    if not rows:
        known = sorted({row.quantity for row in tables.ring_deviations})
        raise NotFound("bearing ring quantity", f"{ring} {quantity}", known)
    for row in rows:
        if row.over_nm < size_nm <= row.incl_nm or (size_nm == row.over_nm == min(r.over_nm for r in rows)):
            return Dimension(
                name=name, nominal_nm=value_nm, low_nm=value_nm + row.lower_nm, high_nm=value_nm + row.upper_nm,
                source=f"{row.origin} {ring} ring", evidence_rank=STANDARD_EVIDENCE, part="bearing",
            )  # fmt: skip
    raise InvalidInput([Problem(name, _range_text(size_nm, rows))])


def _range_text(size_nm: int, rows: Sequence[Deviation | RingDeviation]) -> str:
    low, high = min(row.over_nm for row in rows), max(row.incl_nm for row in rows)
    return f"{show_nm(size_nm)} is outside the table, which runs from {show_nm(low)} to {show_nm(high)}"


def list_classes(tables: Tables, kind: str, basic_nm: int, measured: Dimension) -> tuple[str, ...]:
    """Every listed class of that kind (hole, shaft) whose limits at the basic size hold the whole measured range."""
    return tuple(
        row.cls
        for row in tables.deviations
        if row.kind == kind
        and row.over_nm < basic_nm <= row.incl_nm
        and basic_nm + row.lower_nm <= measured.low_nm
        and measured.high_nm <= basic_nm + row.upper_nm
    )


def clearance(hole: Dimension, shaft: Dimension, name: str = "clearance") -> Stack:
    """Hole minus shaft as a Stack; negative values are interference. Raises InvalidInput below zero size."""
    require_positive([hole, shaft])
    return stack_up(name, [(1, hole), (-1, shaft)])


def fit_kind(fit: Stack) -> str:
    """`clearance`, `interference` or `transition`, by the worst-case limits of a clearance Stack."""
    if fit.low_nm >= 0:
        return "clearance"
    return "interference" if fit.high_nm <= 0 else "transition"


def heat_change_nm(size_nm: int, hole: Material, shaft: Material, running_c: Fraction | int) -> Fraction:
    """How much the clearance grows from 20 C to `running_c`, in nanometres (negative: tightens).

    (alpha_hole - alpha_shaft) x D x dT. Raises InvalidInput for a temperature outside -60 to 250 C.
    """
    if not COLDEST_C <= running_c <= HOTTEST_C:
        text = f"expected {COLDEST_C} to {HOTTEST_C} C, found {show_number(Fraction(running_c))}"
        raise InvalidInput([Problem("running_c", text)])
    difference = hole.alpha_um_per_m_k - shaft.alpha_um_per_m_k
    return difference * size_nm * (Fraction(running_c) - REFERENCE_C) / 1_000_000


def heated(fit: Stack, change_nm: Fraction, name: str) -> Stack:
    """A clearance Stack moved by a change; limits rounded outwards to whole nanometres."""
    down, up = floor(change_nm), ceil(change_nm)
    return Stack(
        name, fit.terms, fit.nominal_nm + round(change_nm), fit.low_nm + down, fit.high_nm + up,
        fit.rss_low_nm + down, fit.rss_high_nm + up,
    )  # fmt: skip


def heat_line(size_nm: int, hole: Material, shaft: Material, running_c: Fraction | int) -> Line:
    """The change of the clearance with heat as a line of working."""
    change = heat_change_nm(size_nm, hole, shaft, running_c)
    rise = Fraction(running_c) - REFERENCE_C
    alphas = f"({show_number(hole.alpha_um_per_m_k)} - {show_number(shaft.alpha_um_per_m_k)}) um/(m K)"
    numbers = f"{alphas} x {bare_mm(size_nm)} mm x {show_number(rise)} K"
    source = f"free expansion; {hole.name}: {hole.source or 'stated'}; {shaft.name}: {shaft.source or 'stated'}"
    value = f"{show_number(change / NM_PER_UM, 1)} um"
    return Line("change of clearance", "(alpha_hole - alpha_shaft) x D x (t - 20)", numbers, value, source)


def check_fit(
    joint: str,
    hole: Dimension | None,
    shaft: Dimension | None,
    *,
    low_nm: int | None,
    high_nm: int | None,
    why: str,
    measure: tuple[str, str] = ("the hole", "the shaft"),
) -> CheckResult:
    """Does hole minus shaft lie between two limits (nm; None does not bind)? `why` names the rule's source.

    A register with clearance 0 to 0.09 mm: `check_fit("register", bell, retainer, low_nm=0, high_nm=90_000, ...)`.
    """
    if hole is None or shaft is None:
        return unknown(joint, list_missing([(measure[0], hole, ""), (measure[1], shaft, "")]))
    fit = clearance(hole, shaft)
    verdict, margin, missing = judge(fit, low_nm, high_nm)
    words = {Verdict.HOLDS: "fits", Verdict.FAILS: "does not fit", Verdict.UNKNOWN: "too close to tell"}[verdict]
    limits = f"wanted {_limit_text(low_nm, high_nm)}"
    return CheckResult(
        joint=joint,
        verdict=verdict,
        summary=f"{fit_kind(fit)} fit, clearance {bare_mm(fit.low_nm)} to {show_nm(fit.high_nm)}, {limits}: {words}",
        margin=Amount.of_nm(margin),
        binding="least clearance" if low_nm is not None and fit.low_nm - low_nm == margin else "most clearance",
        values=(fit.span(),),
        measure=missing,
        working=Working((fit.line("clearance"), Line("limits", limits, "", "", why))),
        evidence_rank=weakest([hole, shaft]),
    )


def _limit_text(low_nm: int | None, high_nm: int | None) -> str:
    if low_nm is None and high_nm is not None:
        return f"at most {show_nm(high_nm)}"
    if high_nm is None and low_nm is not None:
        return f"at least {show_nm(low_nm)}"
    return f"{bare_mm(low_nm or 0)} to {show_nm(high_nm or 0)}"
