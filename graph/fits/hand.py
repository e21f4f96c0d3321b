"""Hand of rotation: which way the engine drives, and whether gearbox and starter are made for it.

All hands are seen from the flywheel's end of the engine. A reversed engine, or a transaxle that stands the other way
round than it was made for (behind a middle engine), turns every forward gear into a reverse one.
"""

from __future__ import annotations

from fractions import Fraction

from graph.fits.model import CheckResult, Line, Missing, Verdict, Working, list_missing, unknown

CLOCKWISE, ANTICLOCKWISE = HANDS = ("clockwise", "anticlockwise")
COUNT = "counting outside gear meshes"
REVERSED = (
    "An ordinary helical box is not run backwards: thrust, oil feed and bearings are made for one hand. Another box, "
    "or the crown wheel put to the other side where the case allows it."
)
ENGINE = "which way the engine turns, seen from the flywheel's end"


def check_input_hand(engine: str | None, wanted: str | None, forward_gears: Fraction | None = None) -> CheckResult:
    """Does the engine turn the input the way in which the forward gears drive forwards, as the box stands?

    `engine`, `wanted`: clockwise or anticlockwise; `forward_gears`: how many would drive backwards, None if not known.
    Five forward gears and one reverse against their hand: one forward gear and five reverse.
    """
    name = "hand of rotation"
    if engine is None or wanted is None:
        return unknown(name, list_missing([
            (ENGINE, engine, ""),
            ("which way the input has to be turned to drive forwards", wanted, "first gear by hand, as it will stand"),
        ]))  # fmt: skip
    found = "alike" if engine == wanted else "reversed"
    line = Line("hand", "engine against input", f"{engine} against {wanted}", found, "a shaft turns as it is driven")
    if engine == wanted:
        summary = f"the engine turns {engine}, as the gearbox wants it"
        return CheckResult(joint=name, verdict=Verdict.HOLDS, summary=summary, binding="hand", working=Working((line,)))
    gears = f"its {int(forward_gears)} forward gears" if forward_gears else "all its forward gears"
    left = f": one gear forwards and {int(forward_gears)} backwards" if forward_gears else ""
    return CheckResult(
        joint=name, verdict=Verdict.FAILS, binding="hand", working=Working((line,)), cautions=(REVERSED,),
        summary=f"the engine turns {engine} and the gearbox wants {wanted}: {gears} would drive backwards{left}",
    )  # fmt: skip


def check_pinion_hand(engine: str | None, pinion: str | None) -> CheckResult:
    """Does the starter turn the engine its own way? An outside mesh: the pinion turns against the ring gear."""
    name = "starter's hand"
    missing = list_missing(
        [(ENGINE, engine, ""), ("which way the starter's pinion turns, seen from there", pinion, "")]
    )
    if engine is None or pinion is None:
        return unknown(name, missing)
    turned = {CLOCKWISE: ANTICLOCKWISE, ANTICLOCKWISE: CLOCKWISE}[pinion]
    holds = turned == engine
    line = Line("ring gear", "pinion, reversed once", f"{pinion}, 1 reversal", turned, COUNT)
    told = f"a pinion that turns {pinion} turns the engine {turned}"
    summary = f"{told}, as it runs" if holds else f"{told}, and it runs {engine}: another starter"
    verdict = Verdict.HOLDS if holds else Verdict.FAILS
    return CheckResult(joint=name, verdict=verdict, summary=summary, binding="hand", working=Working((line,)))


def check_tooth_pitch(ring: Fraction | None, pinion: Fraction | None) -> CheckResult:
    """Are pinion and ring gear of one module (mm)? Teeth mesh only where module and pressure angle agree (ISO 54)."""
    name = "tooth pitch"
    if ring is None or pinion is None:
        return unknown(name, [Missing("the module of ring gear and pinion", "tip diameter / (teeth + 2)")])
    off = abs(ring - pinion)
    holds = off <= SAME_MODULE_MM
    found = f"ring gear module {float(ring):g}, pinion {float(pinion):g}"
    line = Line("difference", "|ring - pinion|", f"|{float(ring):g} - {float(pinion):g}|", f"{float(off):g} mm",
                f"ISO 54 modules; read to {float(SAME_MODULE_MM):g} mm, common practice")  # fmt: skip
    summary = f"{found}: one pitch" if holds else f"{found}: they grind and do not mesh; ring gear or starter to suit"
    verdict = Verdict.HOLDS if holds else Verdict.FAILS
    return CheckResult(joint=name, verdict=verdict, summary=summary, binding="module", working=Working((line,)))


SAME_MODULE_MM = Fraction(5, 100)  # finer than the steps of ISO 54 from 2 to 4 mm (0.25), as read over the tips
