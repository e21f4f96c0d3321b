"""A bolt's length against the depth of its hole: enough thread engaged, and the bolt neither bottoms nor stands out.

Engaged = length under the head - all that is clamped (a plate or spacer laid between counts). Least: 1 d in steel,
1.5 d in cast iron, 2 d in light alloy (common practice, `graph.fits.threads`). Most: what a bolt may go in, less 1 mm:
the bottom of a blind hole, or what stands behind a through one (block, main bearing cap, seal).
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Verdict,
    Working,
    bare_mm,
    combine,
    list_missing,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.stack import judge, stack_up
from graph.fits.threads import ENGAGEMENT, ENGAGEMENT_SOURCE

TIP_NM = NM_PER_MM  # between the bolt's end and the hole's bottom or what lies behind, common practice
TIP_SOURCE = "1 mm before the hole's bottom or what lies behind, common practice"
CAUTION = "Flywheel, cover and housing bolts are graded; stretch bolts are new each time."


def check_bolt_length(
    name: str,
    length: Dimension | None,
    grip: Dimension | None,
    thread_nm: int | None,
    depth: Dimension | None,
    into: str | None,
    added: Dimension | None = None,
) -> CheckResult:
    """Do bolts of this length hold, and do they stop before the bottom?

    `grip`: what their heads clamp, washers with it; `added`: plate or spacer that came between; `thread_nm`: nominal
    diameter; `depth`: how far a bolt may go in; `into`: steel, cast iron or light alloy. FAILS names the lengths that
    would do. Raises InvalidInput for a material that is not tabled.
    """
    if into is not None and into not in ENGAGEMENT:
        raise InvalidInput([Problem("into", f"expected {', '.join(ENGAGEMENT)}, found {into!r}")])
    if length is None or grip is None or thread_nm is None or depth is None or into is None:
        return unknown(name, list_missing([
            ("the length of the bolts under the head", length, "one that stands through or bottoms clamps nothing"),
            ("what their heads clamp, washers with it", grip, ""),
            ("the diameter of their thread", thread_nm, ""),
            ("how deep a bolt may go in, and what lies behind", depth, ""),
            ("what the thread is cut in", into, "a magnet tells iron from light alloy"),
        ]))  # fmt: skip
    return _judged(name, length, grip, thread_nm, depth, into, added)


def _judged(
    name: str, length: Dimension, grip: Dimension, thread_nm: int, depth: Dimension, into: str,
    added: Dimension | None,
) -> CheckResult:  # fmt: skip
    least = ENGAGEMENT[into] * thread_nm
    clamped = [(-1, grip), *([(-1, added)] if added is not None else [])]
    engaged, left = stack_up("engaged", [(1, length), *clamped]), stack_up(
        "left behind the bolt", [(1, depth), (-1, length), *((1, each) for _, each in clamped)]
    )  # fmt: skip
    read = [each for each in (length, grip, depth, added) if each is not None]
    parts = []
    for stack, low, what, source in (
        (engaged, least, "thread engaged", ENGAGEMENT_SOURCE), (left, TIP_NM, "room behind the bolt", TIP_SOURCE),
    ):  # fmt: skip
        verdict, margin, missing = judge(stack, low, None)
        parts.append(CheckResult(
            joint=what, verdict=verdict, summary=f"{show_nm(stack.nominal_nm)}, at least {show_nm(low)}",
            margin=Amount.of_nm(margin), binding=what, values=(stack.span(),), measure=missing,
            working=Working((stack.line(what, source),)), evidence_rank=weakest(read),
        ))  # fmt: skip
    both = combine(name, parts)
    to_get, line = _lengths(grip, added, least, depth, into)
    told = both.summary if both.verdict is Verdict.HOLDS else f"{both.summary}; {to_get}"
    return CheckResult(
        joint=name, verdict=both.verdict, summary=told, margin=both.margin, binding=both.binding, values=both.values,
        measure=both.measure, working=both.working + Working((line,)), cautions=(CAUTION,),
        evidence_rank=both.evidence_rank, parts=both.parts,
    )  # fmt: skip


def _lengths(
    grip: Dimension, added: Dimension | None, least: Fraction, depth: Dimension, into: str
) -> tuple[str, Line]:
    """The lengths that do, in words, with their sum."""
    clamped = grip.nominal_nm + (added.nominal_nm if added is not None else 0)
    least_nm = ceil(least)
    short, long = clamped + least_nm, clamped + depth.nominal_nm - TIP_NM
    numbers = f"{bare_mm(clamped)} + {bare_mm(least_nm)} to {bare_mm(clamped)} + {bare_mm(depth.nominal_nm)} - 1"
    line = Line("length", "clamped + least engaged to clamped + depth - 1 mm", numbers,
                f"{bare_mm(short)} to {show_nm(long)}", f"{ENGAGEMENT_SOURCE}; {TIP_SOURCE}")  # fmt: skip
    if short > long:
        return f"no length does: the hole is too shallow for {into}; deepen it or fit a thread insert", line
    return f"get bolts of {bare_mm(short)} to {show_nm(long)} under the head", line
