"""Retaining rings of DIN 471 (on shafts) and DIN 472 (in bores): which ring, and does its groove suit it?

Source: DIN 471:1981 and DIN 472:1981 as carried by the tables of facts/standards.
"""

from __future__ import annotations

from dataclasses import replace

from graph.errors import NotFound
from graph.fits.lengths import require_positive
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    combine,
    show_nm,
    unknown,
    weakest,
)  # fmt: skip
from graph.fits.stack import judge, stack_up
from graph.fits.tables import RetainingRing, Tables

EDGE_CAUTION = "A ring near an edge or loaded above its groove rating can leave the groove at speed; wear goggles."


def get_ring(tables: Tables, standard: str, size_nm: int) -> RetainingRing:
    """The ring of `DIN 471` (shaft) or `DIN 472` (bore) for a size. Raises NotFound naming the nearest sizes."""
    rings = [ring for ring in tables.rings if ring.standard == standard]
    if not rings:
        raise NotFound("retaining ring standard", standard, sorted({ring.standard for ring in tables.rings}))
    for ring in rings:
        if ring.size_nm == size_nm:
            return ring
    near = sorted(rings, key=lambda ring: abs(ring.size_nm - size_nm))[:2]
    raise NotFound(f"{standard} ring", show_nm(size_nm), [show_nm(ring.size_nm) for ring in near])


def check_ring(
    ring: RetainingRing,
    groove: Dimension | None,
    groove_width: Dimension | None,
    edge: Dimension | None,
    *,
    force_n: int = 0,
) -> CheckResult:
    """Does a standard ring suit a groove: its diameter, its width, the land to the edge, the axial force (N)?

    The groove diameter must lie within the standard's limits, the width not below the standard's, the land not
    below n, the force not above the groove's rating.
    """
    joint = f"{ring.standard} ring {show_nm(ring.size_nm)}"
    source = str(ring.origin)
    low, high = ring.groove_nm + ring.groove_lower_nm, ring.groove_nm + ring.groove_upper_nm
    checks = [
        _limit_check("groove diameter", groove, low, high, source),
        _limit_check("groove width", groove_width, ring.groove_width_nm, None, source),
        _limit_check("land to the edge", edge, ring.edge_margin_nm, None, source),
    ]
    if force_n > ring.groove_force_n:
        text = f"axial force {force_n} N is above the groove's {ring.groove_force_n} N"
        line = Line("F", "F <= F_N", f"{force_n} <= {ring.groove_force_n} N", "no", source)
        checks.append(
            CheckResult(
                joint="axial force", verdict=Verdict.FAILS, summary=text, working=Working((line,)), evidence_rank=1
            )
        )
    result = combine(joint, checks)
    return replace(result, cautions=(*result.cautions, EDGE_CAUTION))


def _limit_check(name: str, value: Dimension | None, low: int | None, high: int | None, source: str) -> CheckResult:
    if value is None:
        return unknown(name, [Missing(f"the {name}")])
    require_positive([value])
    stack = stack_up(name, [(1, value)])
    verdict, margin, missing = judge(stack, low, high)
    limits = " to ".join(bare_mm(limit) for limit in (low, high) if limit is not None)
    words = f"{show_nm(value.nominal_nm)}, wanted {limits}{' or more' if high is None else ''} mm"
    return CheckResult(
        joint=name, verdict=verdict, summary=words, margin=Amount.of_nm(margin), binding=name, measure=missing,
        values=(stack.span(),), working=Working((stack.line(name, source),)), evidence_rank=weakest([value]),
    )  # fmt: skip
