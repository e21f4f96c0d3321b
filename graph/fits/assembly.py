"""Readings by dial gauge and straight-edge at assembly: run-out, flatness, and the crankshaft's end float.

Limits are trade figures, each with where it is from; a maker's figure for the parts in hand goes before them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import require_positive
from graph.fits.model import (
    NM_PER_INCH,
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    combine,
    list_missing,
    show_nm,
    unknown,
    weakest,
)  # fmt: skip
from graph.fits.stack import judge, stack_up

COMMON_PRACTICE = "common practice"
BOTTOMS = "Do not run the engine before the end float is back: the thrust bearing fails at once."
END_FLOAT_NM = (NM_PER_MM // 20, NM_PER_MM // 4)  # 0.05 to 0.25 mm, common practice


@dataclass(frozen=True, slots=True)
class Limit:
    """The most that a face or journal may be out, in nanometres, and who says so."""

    most_nm: int
    source: str


LIMITS: Mapping[str, Limit] = {
    "block face, flatness": Limit(NM_PER_MM // 10, COMMON_PRACTICE),
    "flywheel, clutch face": Limit(NM_PER_INCH * 5 // 1000, "4x4 conversion guide on clutches: 0.005 in"),
    "hub adaptor, bore and pilot": Limit(130_000, "heavy automatic installation drawings: 0.13 mm"),
    "input shaft": Limit(30_000, "workshop manual pages: 0.03 mm"),
    "marine coupling, face": Limit(NM_PER_INCH * 3 // 1000, "marine gear manual: 0.003 in"),
    "marine coupling, pilot": Limit(NM_PER_INCH * 2 // 1000, "marine gear manual: 0.002 in"),
}


def check_out(what: str, reading: Dimension | None) -> CheckResult:
    """Is a run-out (total indicator reading) or flatness within the usual limit? Raises NotFound for `what`."""
    limit = LIMITS.get(what)
    if limit is None:
        raise NotFound("usual limit", what, list(LIMITS))
    if reading is None:
        return unknown(what, list_missing([(f"{what}: dial reading or feeler", None, "")]))
    stack = stack_up(what, [(1, reading)])
    verdict, margin, missing = judge(stack, None, limit.most_nm)
    return CheckResult(
        joint=what, verdict=verdict, summary=f"{what} {show_nm(reading.nominal_nm)}, at most {show_nm(limit.most_nm)}",
        margin=Amount.of_nm(margin), binding=what, values=(stack.span(),), measure=missing,
        working=Working((stack.line(source=limit.source),)), evidence_rank=weakest([reading]),
    )  # fmt: skip


def check_crank_end_float(before: Dimension | None, after: Dimension | None) -> CheckResult:
    """The crankshaft's end float: 0.05 to 0.25 mm, and no less once gearbox or converter are bolted up.

    It has shrunk where the second reading is smaller by more than both are uncertain together: then something
    bottoms (shaft tip, nose shoulder or converter) and eats the thrust bearing.
    """
    joint = "crank end float"
    if before is None or after is None:
        wanted = [("end float before bolting up", before, ""), ("end float after bolting up", after, "")]
        return unknown(joint, list_missing(wanted))
    require_positive([before])
    if after.nominal_nm < 0:
        raise InvalidInput([Problem(after.name, f"must not be below zero, found {show_nm(after.nominal_nm)}")])
    usual = [_usual(name, reading) for name, reading in (("before bolting up", before), ("bolted up", after))]
    return combine(joint, [*usual, _unchanged(before, after)])


def _usual(name: str, reading: Dimension) -> CheckResult:
    low, high = END_FLOAT_NM
    stack = stack_up(f"end float {name}", [(1, reading)])
    verdict, margin, missing = judge(stack, low, high)
    return CheckResult(
        joint=stack.name, verdict=verdict, margin=Amount.of_nm(margin), binding=stack.name, measure=missing,
        summary=f"{show_nm(reading.nominal_nm)}, usual {bare_mm(low)} to {show_nm(high)}", values=(stack.span(),),
        working=Working((stack.line(source=COMMON_PRACTICE),)), evidence_rank=weakest([reading]),
        cautions=(BOTTOMS,) if verdict is Verdict.FAILS and reading.high_nm < low else (),
    )  # fmt: skip


def _unchanged(before: Dimension, after: Dimension) -> CheckResult:
    shrunk = before.nominal_nm - after.nominal_nm
    doubt = before.uncertainty_nm + after.uncertainty_nm
    fails, grown = shrunk > doubt, -shrunk > doubt
    if grown:
        what = f"grows by {show_nm(-shrunk)} on bolting up, which bolting up cannot do: read both again"
        return unknown("unchanged", [Missing("end float before and after bolting up", what)])
    summary = f"shrinks by {show_nm(shrunk)} on bolting up: find what bottoms" if fails else "unchanged on bolting up"
    line = Line(
        "before - after", "may not exceed both uncertainties",
        f"{bare_mm(before.nominal_nm)} - {bare_mm(after.nominal_nm)}",
        f"{show_nm(shrunk)} against {show_nm(doubt)}", COMMON_PRACTICE,
    )  # fmt: skip
    return CheckResult(
        joint="unchanged", verdict=Verdict.FAILS if fails else Verdict.HOLDS, summary=summary, binding="end float",
        margin=Amount.of_nm(doubt - shrunk), working=Working((line,)), evidence_rank=weakest([before, after]),
        cautions=(BOTTOMS,) if fails else (),
    )  # fmt: skip
