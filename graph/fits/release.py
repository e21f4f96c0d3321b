"""The clutch release: how far the bearing travels for a pedal stroke, and whether that opens the clutch.

travel of the bearing = A(master) x stroke / A(slave), a slave about the shaft having the area of a ring (formula page
on bearing travel: volumes are equal). A slave on a fork moves the bearing by the fork's ratio. The release gap itself
belongs to the length chain.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
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
    show_number,
    unknown,
    weakest,
)  # fmt: skip

JOINT = "release travel"
SOURCE = "equal volumes: travel = A master x stroke / A slave"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydraulics:
    """Master bore and stroke, slave bore; `slave_inside` is the inner diameter of a slave about the shaft.

    `fork_ratio`: travel of the slave for one of the bearing (1 where the slave pushes the bearing itself).
    """

    master_bore: Dimension | None
    master_stroke: Dimension | None
    slave_bore: Dimension | None
    slave_inside: Dimension | None = None
    fork_ratio: Fraction = Fraction(1)


def bearing_travel_nm(master_nm: int, stroke_nm: int, slave_nm: int, inside_nm: int = 0) -> Fraction:
    """Travel of the slave, exact (pi cancels). Raises InvalidInput for sizes that leave no piston.

    >>> bearing_travel_nm(20_000_000, 30_000_000, 40_000_000) == 7_500_000
    True
    """
    if min(master_nm, stroke_nm, slave_nm) <= 0 or not 0 <= inside_nm < slave_nm:
        raise InvalidInput([Problem("slave", "bores and stroke lie above zero, a slave's inside below its bore")])
    return Fraction(master_nm**2 * stroke_nm, slave_nm**2 - inside_nm**2)


def check_release(
    hydraulics: Hydraulics,
    gap: Dimension | None,
    finger_travel: Dimension | None,
    longest_travel: Dimension | None = None,
) -> CheckResult:
    """Whether the bearing's travel takes up the gap and moves the fingers as far as the cover wants.

    `longest_travel`: where the slave or the fingers stop; beyond it a pedal stop is work to do. Raises InvalidInput
    for impossible sizes.
    """
    h = hydraulics
    if h.fork_ratio <= 0:
        raise InvalidInput([Problem("fork_ratio", f"expected above zero, found {h.fork_ratio}")])
    if h.master_bore is None or h.master_stroke is None or h.slave_bore is None or gap is None or finger_travel is None:
        wanted = [
            ("master bore", h.master_bore, "travel"), ("master stroke", h.master_stroke, "travel"),
            ("slave bore", h.slave_bore, "travel"), ("release gap at rest", gap, "lost travel"),
            ("finger travel wanted", finger_travel, "to open the clutch"),
        ]  # fmt: skip
        return unknown(JOINT, list_missing(wanted))
    nominal, least, most = _travels(h.master_bore, h.master_stroke, h.slave_bore, h.slave_inside, h.fork_ratio)
    margin = least - gap.high_nm - finger_travel.high_nm
    best = most - gap.low_nm - finger_travel.low_nm
    needed = gap.nominal_nm + finger_travel.nominal_nm
    summary = f"bearing travels {show_nm(nominal)}, {show_nm(needed)} wanted (gap and fingers)"
    verdict = Verdict.HOLDS if margin >= 0 else Verdict.FAILS if best < 0 else Verdict.UNKNOWN
    missing = (Missing("bores and stroke more closely", "travel lies across what is wanted"),)
    work: tuple[Work, ...] = ()
    if verdict is Verdict.FAILS:
        bore = _master_for(needed, h.master_stroke.nominal_nm, h.slave_bore, h.slave_inside, h.fork_ratio)
        verdict, work = Verdict.HOLDS_WITH_WORK, (_master_work(bore),)
    elif longest_travel is not None and most > longest_travel.low_nm and verdict is Verdict.HOLDS:
        stop = f"pedal stop: the slave would travel {show_nm(most)}, {show_nm(longest_travel.low_nm)} is the most"
        verdict, work = Verdict.HOLDS_WITH_WORK, (Work("pedal-stop", "pedal", stop),)
    dimensions = (h.master_bore, h.master_stroke, h.slave_bore, h.slave_inside, gap, finger_travel)
    return CheckResult(
        joint=JOINT, verdict=verdict, summary="; ".join([summary, *(item.text for item in work)]),
        margin=None if verdict is Verdict.UNKNOWN else Amount.of_nm(margin), binding="travel of the bearing",
        work=work, choices=(work,) if work else (), measure=missing if verdict is Verdict.UNKNOWN else (),
        working=Working(_lines(h, nominal, least, most, gap, finger_travel, margin)),
        cautions=("Without a stop a slave about the shaft is driven over its seals: set the pedal stop first.",)
        if h.slave_inside else (), evidence_rank=weakest(dimensions),
    )  # fmt: skip


def _travels(
    master: Dimension, stroke: Dimension, slave: Dimension, inside: Dimension | None, fork: Fraction
) -> tuple[Fraction, Fraction, Fraction]:
    """Nominal, least and greatest travel of the bearing over all readings' limits."""
    low_in, mid_in, high_in = (inside.low_nm, inside.nominal_nm, inside.high_nm) if inside else (0, 0, 0)
    return (
        bearing_travel_nm(master.nominal_nm, stroke.nominal_nm, slave.nominal_nm, mid_in) / fork,
        bearing_travel_nm(master.low_nm, stroke.low_nm, slave.high_nm, low_in) / fork,
        bearing_travel_nm(master.high_nm, stroke.high_nm, slave.low_nm, high_in) / fork,
    )


def _master_for(needed: int, stroke: int, slave: Dimension, inside: Dimension | None, fork: Fraction) -> int:
    """The smallest master bore, to a tenth of a millimetre upwards, that gives the travel."""
    ring = slave.nominal_nm**2 - (inside.nominal_nm if inside else 0) ** 2
    square = fork * needed * ring / stroke
    tenth = NM_PER_MM // 10
    root = isqrt(square.numerator // square.denominator) + 1
    return -(-root // tenth) * tenth


def _master_work(bore_nm: int) -> Work:
    text = f"master cylinder of at least {show_nm(bore_nm)} bore (or a smaller slave, or a longer stroke)"
    return Work("change-master", "master cylinder", text, Amount.of_nm(bore_nm), remedy="master cylinder")


def _lines(
    h: Hydraulics, nominal: Fraction, least: Fraction, most: Fraction, gap: Dimension, fingers: Dimension,
    margin: Fraction,
) -> tuple[Line, ...]:  # fmt: skip
    """Travel at the nominal readings, at the worst and at the best, and what the worst leaves."""
    assert h.master_bore and h.master_stroke and h.slave_bore
    inside = h.slave_inside
    at = {
        "travel": (h.master_bore.nominal_nm, h.master_stroke.nominal_nm, h.slave_bore.nominal_nm,
                   inside.nominal_nm if inside else 0, nominal),
        "least travel": (h.master_bore.low_nm, h.master_stroke.low_nm, h.slave_bore.high_nm,
                         inside.low_nm if inside else 0, least),
        "most travel": (h.master_bore.high_nm, h.master_stroke.high_nm, h.slave_bore.low_nm,
                        inside.high_nm if inside else 0, most),
    }  # fmt: skip
    lines = [
        Line(
            symbol, "master^2 x stroke / (slave^2 - inside^2) / fork",
            f"{bare_mm(master)}^2 x {bare_mm(stroke)} / ({bare_mm(slave)}^2 - {bare_mm(core)}^2) / "
            f"{show_number(h.fork_ratio)}", show_nm(value), SOURCE,
        )
        for symbol, (master, stroke, slave, core, value) in at.items()
    ]  # fmt: skip
    numbers = f"{bare_mm(least)} - {bare_mm(gap.high_nm)} - {bare_mm(fingers.high_nm)}"
    lines.append(Line("left", "least travel - most gap - most finger travel", numbers, show_nm(margin), SOURCE))
    return tuple(lines)
