"""The shim behind a bearing retainer, worked out from depths, after a case, bearing, shaft or retainer is changed.

Shim = retainer's recess + gasket - how far the bearing stands proud - wanted end float (subtraction of depths, gearbox
manuals). A shim copied from the old case is a guess: every one of these depths belongs to the parts in hand.
"""

from __future__ import annotations

from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Verdict,
    Work,
    Working,
    bare_mm,
    list_missing,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.stack import stack_up

SOURCE = "gearbox manuals: subtraction of depth readings"
CAUTION = "Prove it by dial gauge with everything bolted up: end float there, and the shaft free by hand."
FORMULA = "shim = recess + gasket - bearing proud - wanted end float"


def check_retainer_shim(
    recess: Dimension | None,
    proud: Dimension | None,
    gasket: Dimension | None,
    low_nm: int | None,
    high_nm: int | None,
) -> CheckResult:
    """The shim for an end float half way between `low_nm` and `high_nm`; what is not measured is named, not guessed.

    Recess 5.60, gasket 0.25, bearing 4.80 proud, wanted 0.05 to 0.15: 5.60 + 0.25 - 4.80 - 0.10 = 0.95 mm.
    Raises InvalidInput for limits the wrong way round.
    """
    name = "retainer shim"
    if recess is None or proud is None or gasket is None or low_nm is None or high_nm is None:
        return unknown(name, list_missing([
            ("the depth of the retainer's recess", recess, ""),
            ("how far the bearing stands proud of the case, home in its seat", proud, ""),
            ("the gasket's thickness, pressed (0 with sealant)", gasket, ""),
            ("the least end float that this box wants", low_nm, ""), ("the most", high_nm, ""),
        ]))  # fmt: skip
    if low_nm > high_nm:
        text = f"the least end float {show_nm(low_nm)} is above the most, {show_nm(high_nm)}"
        raise InvalidInput([Problem("low", text)])
    gap = stack_up("gap", [(1, recess), (1, gasket), (-1, proud)])
    wanted = Fraction(low_nm + high_nm, 2)
    shim = gap.nominal_nm - wanted
    numbers = (
        f"{bare_mm(recess.nominal_nm)} + {bare_mm(gasket.nominal_nm)} - {bare_mm(proud.nominal_nm)} - {bare_mm(wanted)}"
    )
    lines = Working(
        (gap.line("gap", SOURCE), Line("shim", FORMULA.partition(" = ")[2], numbers, show_nm(shim), SOURCE))
    )
    rank = weakest([recess, gasket, proud])
    if shim < 0:
        text = (
            f"the bearing stands {show_nm(-shim)} too far out for that end float: it is not home, or parts do not match"
        )
        return CheckResult(joint=name, verdict=Verdict.FAILS, summary=text, working=lines, evidence_rank=rank)
    text = f"fit shims of {show_nm(shim)}, then prove {bare_mm(low_nm)} to {show_nm(high_nm)} by dial"
    work = (Work("fit-shim", "front retainer", text, Amount.of_nm(shim), remedy="shim"),)
    return CheckResult(
        joint=name, verdict=Verdict.HOLDS_WITH_WORK, summary=text, values=(gap.span(),), work=work, choices=(work,),
        working=lines, cautions=(CAUTION,), evidence_rank=rank,
    )  # fmt: skip
