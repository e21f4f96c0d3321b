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
COUNT_ALL = "count round the whole ring, the missing ones with them"


def check_tooth_pattern(
    ring: Fraction | None,
    ring_standing: Fraction | None,
    read: Fraction | None,
    read_standing: Fraction | None,
    *,
    evidence_rank: int = WORST_EVIDENCE,
) -> CheckResult:
    """Does the ring give the pattern that the control unit reads?

    `ring`, `read`: places for teeth in one turn; `ring_standing`, `read_standing`: teeth that stand on them. UNKNOWN
    while one is not counted, or more teeth stand than there are places.

    >>> check_tooth_pattern(Fraction(60), Fraction(58), Fraction(36), Fraction(35)).verdict.value
    'fails'
    """
    missing = list_missing([
        ("the places for teeth round the sensor's ring", ring, COUNT_ALL),
        ("the teeth that stand on the ring", ring_standing, "count them"),
        ("the places that the control unit is set for", read, "data sheet, or the ring that it ran with"),
        ("the teeth that it counts in a turn", read_standing, "data sheet, or the ring that it ran with"),
    ])  # fmt: skip
    if ring is None or ring_standing is None or read is None or read_standing is None:
        return unknown(NAME, missing)
    found = (
        f"the ring has {_shown(ring, ring_standing)}, the control unit reads {_shown(read, read_standing)} "
        "(places less those missing)"
    )
    if ring_standing > ring or read_standing > read:
        return unknown(NAME, [Missing("places and teeth, counted again", COUNT_ALL)], f"{found}: that cannot be")
    holds = (ring, ring_standing) == (read, read_standing)
    told = "one pattern" if holds else "it finds no mark that it knows; ring to suit, or a signal converter"
    return CheckResult(
        joint=NAME, verdict=Verdict.HOLDS if holds else Verdict.FAILS, summary=f"{found}: {told}",
        binding="teeth per turn", working=Working((_angle("ring", ring), _angle("control unit", read))),
        evidence_rank=evidence_rank,
    )  # fmt: skip


def _shown(places: Fraction, standing: Fraction) -> str:
    """As the trade writes it: 60-2."""
    return f"{show_number(places)}-{show_number(places - standing)}"


def _angle(name: str, places: Fraction) -> Line:
    return Line(f"tooth to tooth, {name}", "360 deg / places", f"360 / {show_number(places)}",
                f"{show_number(360 / places)} deg", SOURCE)  # fmt: skip
