"""Dowels counted on both faces: bolts clamp, dowels locate (page on locating dowels; common practice)."""

from __future__ import annotations

from fractions import Fraction

from graph.fits.model import CheckResult, Line, Verdict, Working, list_missing, unknown

WANTED = 2
SOURCE = "two dowels locate a housing, bolts only clamp: page on locating dowels, common practice"
CAUTION = "Nothing carries load before the dowels are in: a housing that is held by its bolts alone walks."


def check_dowels(pins: Fraction | None, holes: Fraction | None) -> CheckResult:
    """Do two pins stand in the one face and find their holes in the other? None: nobody has counted."""
    if pins is None or holes is None:
        return unknown("dowels", list_missing([
            ("how many dowels stand in the engine's face", pins, "two, each home and true to a feeler"),
            ("how many holes for them the housing's face has", holes, "reamed, not worn oval"),
        ]))  # fmt: skip
    held = min(pins, holes)
    line = Line(
        "located by", "least of pins and holes", f"{int(pins)} pins, {int(holes)} holes", f"{int(held)}", SOURCE
    )
    found = f"{int(pins)} in the engine's face, {int(holes)} holes in the housing's"
    lacking = WANTED - int(held)
    enough = lacking <= 0
    summary = f"{found}: two locate it" if enough else (
        f"{found}: {lacking} lacking; dial the housing in and fit {'it' if lacking == 1 else 'them'}, reamed in place, "
        "bolts do not locate"
    )  # fmt: skip
    return CheckResult(
        joint="dowels", verdict=Verdict.HOLDS if enough else Verdict.FAILS, summary=summary, binding="dowels",
        working=Working((line,)), cautions=() if enough else (CAUTION,),
    )  # fmt: skip
