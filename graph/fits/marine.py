"""Another reverse gear in a boat: where the engine must go so that the propeller shaft stays where it is.

A drop gear's output lies below the crankshaft by its drop. With the shaft line kept, the crankshaft rises square to the
shaft by new less old drop, and moves along it by new less old length (plane geometry; the crankshaft parallel to the
shaft but for the gear's down angle).
"""

from __future__ import annotations

from fractions import Fraction

from graph.fits.model import Amount, CheckResult, Dimension, Missing, Working, list_missing, show_nm, unknown
from graph.fits.stack import judge, stack_up

CAUTION = (
    "Align the coupling again with the boat afloat, fuelled and rested, by feeler or dial; its maker's limit holds "
    "(0.1 mm across the faces is common practice). Mounts, stern gland and exhaust rise must suit the new place."
)


def check_shaft_drop(
    old: Dimension | None, new: Dimension | None, up_nm: int | None, down_nm: int | None,
    angles_deg: tuple[Fraction, Fraction] = (Fraction(0), Fraction(0)),
    lengths: tuple[Dimension | None, Dimension | None] = (None, None),
) -> CheckResult:  # fmt: skip
    """How far the engine rises with another gear, against the room there is. `angles_deg`: down angles, old and new.

    UNKNOWN for a drop or a room that nobody has measured.
    """
    why = "from the crankshaft's axis square down to the output's, on the gear or its drawing"
    missing = list_missing([("the drop of the gear that is in it", old, why), ("the drop of the other gear", new, why)])
    if old is None or new is None:
        return unknown("shaft drop", missing)
    rise = stack_up("engine rises", [(1, new), (-1, old)])
    lines = [rise.line("new - old drop")]
    summary = f"the engine rises by {show_nm(rise.nominal_nm)}"
    if lengths[0] is not None and lengths[1] is not None:
        along = stack_up("engine moves forward", [(1, lengths[1]), (-1, lengths[0])])
        lines.append(along.line("new - old length"))
        summary += f" and moves forward by {show_nm(along.nominal_nm)}"
    tilt = angles_deg[1] - angles_deg[0]
    if tilt:
        summary += f", levelled by {float(tilt):g} deg"
        both = Missing("the room at the front and rear feet with the engine at its new angle, on the drawing", summary)
        return unknown("shaft drop", [both], f"{summary}; under another angle length and drop move each other: draw it")
    if up_nm is None or down_nm is None:
        room = Missing("the room for the engine above and below its place", summary)
        return unknown("shaft drop", [room], f"{summary}; nobody has said how far it can move")
    verdict, margin, again = judge(rise, -down_nm, up_nm)
    return CheckResult(
        joint="shaft drop", verdict=verdict, summary=f"{summary}, room {show_nm(up_nm)} up, {show_nm(down_nm)} down",
        margin=Amount.of_nm(margin), binding="room for the engine", values=(rise.span(),), measure=again,
        working=Working(tuple(lines)), cautions=(CAUTION,), evidence_rank=max(old.evidence_rank, new.evidence_rank),
    )  # fmt: skip
