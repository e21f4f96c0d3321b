"""The toothed ring of the crankshaft sensor against what the control unit reads: places per turn, and those missing.

A ring of 60 places with two missing gives 58 pulses a turn, 6 degrees apart, and a gap that marks the turn. A control
unit set for another pattern takes speed and angle wrong, or finds no mark and gives no spark. Counting; that nothing
short of the same pattern will do is common practice.
"""

from __future__ import annotations

from fractions import Fraction

from graph.fits.model import (
    WORST_EVIDENCE,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Working,
    list_missing,
    show_number,
    unknown,
)

NAME = "tooth pattern"
SOURCE = "counting; the same pattern or none, common practice"
COUNT_ALL = "count round the whole ring, the gap's teeth with them"


def check_tooth_pattern(
    ring: Fraction | None,
    ring_missing: Fraction | None,
    read: Fraction | None,
    read_missing: Fraction | None,
    evidence_rank: int = WORST_EVIDENCE,
) -> CheckResult:
    """Does the ring give the pattern that the control unit reads?

    `ring`, `read`: places of teeth in one turn, as if none were missing; `ring_missing`, `read_missing`: those left out.
    A difference already known FAILS whatever else is not; a pattern that is not whole is UNKNOWN.

    >>> check_tooth_pattern(Fraction(60), Fraction(2), Fraction(36), Fraction(1)).verdict.value
    'fails'
    """
    wanted = [
        ("the teeth of the sensor's ring", ring, COUNT_ALL),
        ("the teeth missing from the ring", ring_missing, "none is 0"),
        ("the teeth that the control unit is set for", read, "data sheet, or the ring that it ran with"),
        ("the missing teeth that the control unit looks for", read_missing, "none is 0"),
    ]
    found = f"the ring has {_shown(ring, ring_missing)}, the control unit reads {_shown(read, read_missing)}"
    if any(places is not None and left is not None and left >= places for places, left in ((ring, ring_missing),
                                                                                           (read, read_missing))):  # fmt: skip
        return unknown(NAME, [Missing("the teeth and the gap, counted again", COUNT_ALL)], f"{found}: nothing is left")
    pairs = ((ring, read), (ring_missing, read_missing))
    differs = any(one is not None and other is not None and one != other for one, other in pairs)
    missing = list_missing(wanted)
    if missing and not differs:
        return unknown(NAME, missing)
    lines = tuple(_angle(name, places) for name, places in (("ring", ring), ("control unit", read)) if places)
    summary = f"{found}: it finds no mark it knows; ring to suit, or a signal converter" if differs else f"{found}: one pattern"
    return CheckResult(
        joint=NAME, verdict=Verdict.FAILS if differs else Verdict.HOLDS, summary=summary, binding="teeth per turn",
        working=Working(lines), evidence_rank=evidence_rank,
    )  # fmt: skip


def _shown(places: Fraction | None, left: Fraction | None) -> str:
    """As the trade writes it: places, less those missing."""
    return " less ".join("?" if one is None else show_number(one) for one in (places, left))


def _angle(name: str, places: Fraction) -> Line:
    return Line(f"tooth to tooth, {name}", "360 deg / places", f"360 / {show_number(places)}",
                f"{show_number(360 / places)} deg", SOURCE)  # fmt: skip
