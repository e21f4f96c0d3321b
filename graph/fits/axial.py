"""Axial location: bearing between shoulder and ring, shims, end float by subtraction of depths.

Every axial reading names its datum. Rules without a standard are workshop practice and say so in the working:
a ring is chosen for at most 0.10 mm of play, a shoulder keeps a radius no larger than the bearing's chamfer.
Sources: gearbox manuals (end float by three depths, taper bearing shims = measured clearance + wanted preload).
The rings themselves are in `graph.fits.rings`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import require_datum, require_positive
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    bare_mm,
    list_missing,
    show_nm,
    unknown,
    weakest,
)  # fmt: skip
from graph.fits.stack import Stack, judge, stack_up

COMMON_PRACTICE = "common practice"
MOST_PLAY_NM = 100_000  # 0.10 mm, the usual limit of a selected ring
LOCATION_SOURCE = f"play = spacing - width; ring chosen for at most {bare_mm(MOST_PLAY_NM)} mm, {COMMON_PRACTICE}"
HARD_CAUTION = "A hardened shoulder is ground or turned with carbide or CBN; do not draw the temper."
EDGE_CAUTION = (
    "A ring close to an edge or loaded above its groove rating can leave the groove at speed; wear eye protection."
)


def check_location(
    width: Dimension | None,
    spacing: Dimension | None,
    *,
    play_low_nm: int = 0,
    play_high_nm: int = MOST_PLAY_NM,
    stock: Dimension | None = None,
    chamfer_nm: int | None = None,
    on: str = "shaft",
) -> CheckResult:
    """Does a bearing of `width` sit between shoulder and ring, `spacing` apart, with play between the limits (nm)?

    Too tight: so much off the shoulder (at most `stock`, if that was measured). Too loose: a shim so thick. A
    play that only may be too large is taken up by choosing the ring at assembly. Raises InvalidInput for a
    spacing without a datum, or sizes not above zero. Width 25, spacing 23: turn 2.00 mm off the shoulder.
    """
    joint = "axial location"
    if width is None or spacing is None:
        return unknown(
            joint, list_missing([("the bearing width", width, ""), ("the shoulder-to-ring spacing", spacing, "")])
        )
    require_positive([width, spacing, stock])
    require_datum([spacing])
    play = stack_up("play", [(1, spacing), (-1, width)])
    verdict, margin, missing = judge(play, play_low_nm, play_high_nm)
    limits = Line("wanted play", f"{bare_mm(play_low_nm)} to {show_nm(play_high_nm)}", "", "", LOCATION_SOURCE)
    result = CheckResult(
        joint=joint, verdict=verdict, summary=f"play {bare_mm(play.low_nm)} to {show_nm(play.high_nm)}",
        margin=Amount.of_nm(margin), binding="play", values=(play.span(),), measure=missing,
        working=Working((play.line("play", LOCATION_SOURCE), limits)), evidence_rank=weakest([width, spacing]),
    )  # fmt: skip
    if verdict is Verdict.HOLDS:
        return result
    if play.high_nm < play_low_nm:
        return _turn_shoulder(result, width, spacing, play_low_nm, stock, chamfer_nm, on)
    if play.low_nm >= play_low_nm:
        return _take_up(result, play, play_low_nm, play_high_nm, on)
    return result


def _turn_shoulder(
    result: CheckResult,
    width: Dimension,
    spacing: Dimension,
    play_low_nm: int,
    stock: Dimension | None,
    chamfer_nm: int | None,
    on: str,
) -> CheckResult:
    cut = width.nominal_nm + play_low_nm - spacing.nominal_nm
    line = Line(
        "cut", "width - spacing", f"{bare_mm(width.nominal_nm)} - {bare_mm(spacing.nominal_nm)}", show_nm(cut),
        LOCATION_SOURCE,
    )  # fmt: skip
    working = result.working + Working((line,))
    if stock is not None and stock.low_nm < cut:
        text = f"needs {show_nm(cut)} off the shoulder, but only {show_nm(stock.low_nm)} may come off"
        return replace(
            result, verdict=Verdict.FAILS, summary=text, binding="shoulder stock", measure=(), working=working
        )
    radius = f", radius at most {show_nm(chamfer_nm)}" if chamfer_nm is not None else ", keep the radius"
    text = f"turn {show_nm(cut)} off the shoulder of the {on}{radius}; do not touch the ring groove"
    work = (Work("turn-shoulder", on, text, Amount.of_nm(cut), irreversible=True),)
    cautions = [HARD_CAUTION]
    if stock is None:
        cautions.append("Look what stands behind the shoulder (gear, oil hole, seal land) before cutting.")
    return replace(
        result, verdict=Verdict.HOLDS_WITH_WORK, summary=f"{result.summary}; {text}", work=work, choices=(work,),
        measure=(), working=working, cautions=tuple(cautions),
    )  # fmt: skip


def _take_up(result: CheckResult, play: Stack, low_nm: int, high_nm: int, on: str) -> CheckResult:
    least, most = max(0, play.low_nm - high_nm), play.high_nm - low_nm
    if play.low_nm > high_nm:
        thickness = play.nominal_nm - (low_nm + high_nm) // 2
        text = f"fit a shim ring of {show_nm(thickness)} (or a thicker ring) beside the bearing on the {on}"
        work = Work("fit-shim", on, text, Amount.of_nm(thickness), remedy="shim ring")
    else:
        text = f"choose ring or shim at assembly, {bare_mm(least)} to {show_nm(most)}, from the measured play"
        work = Work("select-ring", on, text, Amount.of_nm(play.high_nm - high_nm), remedy="ring or shim")
    return replace(
        result, verdict=Verdict.HOLDS_WITH_WORK, summary=f"{result.summary}; {text}", work=(work,),
        choices=((work,),), measure=(),
    )  # fmt: skip


def end_float(
    outer: Dimension | None,
    inner: Dimension | None,
    part: Dimension | None,
    *,
    low_nm: int,
    high_nm: int,
) -> CheckResult:
    """End float = first depth - second depth - width, against wanted limits (nm).

    25.3 - 10.1 - 14.0 = 1.2 mm, wanted 1.1 to 1.3. Raises InvalidInput where a depth has no datum.
    """
    joint = "end float"
    wanted = [("the first depth", outer, ""), ("the second depth", inner, ""), ("the width between", part, "")]
    if outer is None or inner is None or part is None:
        return unknown(joint, list_missing(wanted))
    require_datum([outer, inner])
    _limits_in_order(low_nm, high_nm)
    play = stack_up("end float", [(1, outer), (-1, inner), (-1, part)])
    verdict, margin, missing = judge(play, low_nm, high_nm)
    shift = play.nominal_nm - (low_nm + high_nm) // 2
    side = "thicker" if shift > 0 else "thinner"
    result = CheckResult(
        joint=joint, verdict=verdict,
        summary=f"end float {show_nm(play.nominal_nm)} ({bare_mm(play.low_nm)} to {show_nm(play.high_nm)}), "
        f"wanted {bare_mm(low_nm)} to {show_nm(high_nm)}",
        margin=Amount.of_nm(margin), binding="end float", values=(play.span(),), measure=missing,
        working=Working((play.line("end float", "gearbox manuals: subtraction of depth readings"),)),
        evidence_rank=weakest([outer, inner, part]),
    )  # fmt: skip
    if verdict is not Verdict.FAILS:
        return result
    text = f"fit a ring or shim {show_nm(abs(shift))} {side}"
    work = Work("change-shim", "shaft", text, Amount.of_nm(shift), remedy="ring or shim")
    return replace(
        result, verdict=Verdict.HOLDS_WITH_WORK, summary=f"{result.summary}; {text}", work=(work,), choices=((work,),)
    )


def taper_shims(float_measured: Dimension | None, wanted: Dimension) -> CheckResult:
    """Shims to add to a pair of taper bearings: measured end float + wanted preload (minus: wanted end float).

    `wanted`: preload above zero, end float below zero. Measured 0.009 in, preload 0.004 in: add 0.013 in.
    """
    joint = "taper bearing shims"
    if float_measured is None:
        return unknown(
            joint, [Missing("the end float", "seat the rollers by turning the shaft, dial gauge on its end")]
        )
    if float_measured.high_nm < 0:
        raise InvalidInput(
            [Problem(float_measured.name, "a measured end float cannot be negative; fit more shims and repeat")]
        )
    add = stack_up("shims to add", [(1, float_measured), (1, wanted)])
    verb = "add" if add.nominal_nm >= 0 else "remove"
    inch = f" ({abs(add.nominal_nm) / 25_400_000:.4f} in)"
    text = f"{verb} {show_nm(abs(add.nominal_nm))}{inch} of shims"
    work = (Work(f"{verb}-shims", "taper bearings", text, Amount.of_nm(add.nominal_nm), remedy="shims"),)
    within = add.low_nm <= 0 <= add.high_nm and add.nominal_nm == 0
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if within else Verdict.HOLDS_WITH_WORK,
        summary="no change of shims" if within else text,
        values=(add.span(),),
        work=() if within else work,
        choices=() if within else (work,),
        working=Working((add.line("shims to add", "workshop manuals: measured clearance + wanted preload"),)),
        cautions=("Set preload with oiled bearings, rollers seated; too much preload burns the bearing.",),
        evidence_rank=weakest([float_measured, wanted]),
    )


def choose_shims(
    gap: Dimension | None, thicknesses: Sequence[Dimension], *, low_nm: int, high_nm: int, most: int = 3
) -> CheckResult:
    """The fewest shims (at most `most`, sizes may repeat) that leave `gap` between two limits in the worst case.

    FAILS where no set does; UNKNOWN where the gap is not measured.
    """
    joint = "shim choice"
    if gap is None:
        return unknown(joint, [Missing("the gap")])
    if not thicknesses:
        raise InvalidInput([Problem("thicknesses", "no shims to choose from")])
    _limits_in_order(low_nm, high_nm)
    require_positive(thicknesses)
    middle, best = (low_nm + high_nm) / 2, None
    for count in range(most + 1):
        for chosen in combinations_with_replacement(thicknesses, count):
            left = stack_up("gap left", [(1, gap), *((-1, shim) for shim in chosen)])
            if low_nm <= left.low_nm and left.high_nm <= high_nm:
                distance = abs(left.nominal_nm - middle)
                if best is None or distance < best[0]:
                    best = (distance, chosen, left)
        if best is not None:
            return _chosen_shims(joint, gap, best[1], best[2], low_nm, high_nm)
    spread = f"the gap is known to {show_nm(gap.high_nm - gap.low_nm)}, the window is {show_nm(high_nm - low_nm)} wide"
    return CheckResult(
        joint=joint, verdict=Verdict.FAILS, evidence_rank=weakest([gap]),
        summary=f"no set of up to {most} shims leaves the gap within limits; {spread}",
    )  # fmt: skip


def _chosen_shims(
    joint: str, gap: Dimension, chosen: Sequence[Dimension], left: Stack, low_nm: int, high_nm: int
) -> CheckResult:
    names = " + ".join(show_nm(shim.nominal_nm) for shim in chosen)
    work = tuple(
        Work(
            "fit-shim",
            gap.part or "shaft",
            f"fit shim {show_nm(shim.nominal_nm)}",
            Amount.of_nm(shim.nominal_nm),
            remedy=shim.name,
        )
        for shim in chosen
    )
    margin = min(left.low_nm - low_nm, high_nm - left.high_nm)
    return CheckResult(
        joint=joint, verdict=Verdict.HOLDS_WITH_WORK if work else Verdict.HOLDS,
        summary=f"{names or 'no shim'} leaves {show_nm(left.nominal_nm)}",
        margin=Amount.of_nm(margin), binding="gap left", values=(left.span(),), work=work,
        choices=(work,) if work else (), working=Working((left.line("gap left"),)),
        evidence_rank=weakest([gap, *chosen]),
    )  # fmt: skip


def _limits_in_order(low_nm: int, high_nm: int) -> None:
    if low_nm >= high_nm:
        text = f"expected low below high, found {show_nm(low_nm)} and {show_nm(high_nm)}"
        raise InvalidInput([Problem("limits", text)])
