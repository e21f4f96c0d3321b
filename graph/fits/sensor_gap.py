"""A sensor and its toothed ring after the flywheel has moved: a spacer carries the ring rearwards, the sensor stays.

A sensor that faces the ring's side loses or gains air gap by the whole spacer; one that looks at its rim keeps the gap
and loses the teeth sideways. Air gap 0.5 to 1.5 mm (common practice).
"""

from __future__ import annotations

from graph.fits.model import (
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Verdict,
    Working,
    bare_mm,
    list_missing,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.stack import judge, stack_up

FACE_AHEAD, FACE_BEHIND, RIM = READS = ("the ring's front side", "the ring's rear side", "the ring's rim")
GAP_NM = (NM_PER_MM // 2, NM_PER_MM * 3 // 2)
SOURCE = "air gap 0.5 to 1.5 mm, common practice"


def check_sensor_gap(
    reads: str | None, gap: Dimension | None, moved: Dimension | None, sideways: Dimension | None = None
) -> CheckResult:
    """What of the sensor's sight is left when the ring moved rearwards?

    `reads`: one of READS; `gap`: air gap before, `moved`: how far the ring moves rearwards; `sideways`: how far it may
    move before its teeth leave a sensor at the rim. FAILS says by how much ring or sensor are to be re-set.
    """
    name = "sensor to ring"
    if reads is None or moved is None or gap is None or (reads == RIM and sideways is None):
        wanted = [("what the sensor looks at: the ring's front side, its rear side or its rim", reads, ""),
                  ("the air gap as it is", gap, ""), ("how far the ring moves", moved, "")]  # fmt: skip
        if reads == RIM:
            wanted.append(("how far the ring may move before its teeth leave the sensor", sideways, ""))
        return unknown(name, list_missing(wanted))
    if reads == RIM:
        assert sideways is not None
        stack, low, high, source = (
            stack_up("teeth left under the sensor", [(1, sideways), (-1, moved)]),
            0,
            None,
            SOURCE,
        )
    else:
        sign = 1 if reads == FACE_AHEAD else -1  # a sensor ahead of the ring is left behind by it
        stack, (low, high), source = stack_up("air gap", [(1, gap), (sign, moved)]), GAP_NM, SOURCE
    verdict, margin, missing = judge(stack, low, high)
    wanted_words = f"{bare_mm(low)} to {show_nm(high)}" if high else f"at least {show_nm(low)}"
    summary = f"{stack.name} {show_nm(stack.nominal_nm)}, wanted {wanted_words}"
    if verdict is Verdict.FAILS:
        summary += f": re-set ring or sensor by {show_nm(abs(moved.nominal_nm))}, or the engine gives no signal"
    lines = (
        stack.line(stack.name, source),
        Line("moved", "spacer behind the flange", "", show_nm(moved.nominal_nm), SOURCE),
    )
    return CheckResult(
        joint=name, verdict=verdict, summary=summary, margin=Amount.of_nm(margin), binding=stack.name,
        values=(stack.span(),), measure=missing, working=Working(lines), evidence_rank=weakest([gap, moved]),
    )  # fmt: skip
