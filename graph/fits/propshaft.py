"""Propshaft length, slip joint, and the lever in its opening: what moves when the gearbox moves.

Lengths in whole nanometres, each from its datum. Rules are drive-shaft practice and named in the working. A
propshaft is measured last, with the mounts final and the suspension loaded.
"""

from __future__ import annotations

from dataclasses import replace

from graph.errors import InvalidInput, Problem
from graph.fits.driveline import SHAFT_CAUTION
from graph.fits.lengths import require_datum, require_one_datum
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Verdict,
    Work,
    Working,
    combine,
    list_missing,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.stack import judge, stack_up

SLIP_CONTACT_NM = 75_000_000  # about 3 in of spline at ride height, drive-shaft practice
SLIP_ROOM_NM = 25_000_000  # about 1 in drawn out from fully in, drive-shaft practice
LEVER_SPARE_NM = 10_000_000  # round the lever in its opening, common practice


def check_slip(
    engaged: Dimension | None,
    room: Dimension | None,
    *,
    contact_nm: int = SLIP_CONTACT_NM,
    room_nm: int = SLIP_ROOM_NM,
) -> CheckResult:
    """Slip joint at ride height: at least 75 mm of spline engaged, at least 25 mm left to go in.

    `engaged`: spline in contact; `room`: how far the yoke can still be pushed in; both with their datum.
    """
    joint = "slip joint"
    if engaged is None or room is None:
        wanted = [("the spline engaged at ride height", engaged, ""), ("how far the yoke still goes in", room, "")]
        return unknown(joint, list_missing(wanted))
    require_datum([engaged, room])
    parts = []
    for dimension, least in ((engaged, contact_nm), (room, room_nm)):
        stack = stack_up(dimension.name, [(1, dimension)])
        verdict, margin, missing = judge(stack, least, None)
        parts.append(
            CheckResult(
                joint=dimension.name,
                verdict=verdict,
                summary=f"{show_nm(dimension.nominal_nm)}, wanted {show_nm(least)}",
                margin=Amount.of_nm(margin),
                binding=dimension.name,
                values=(stack.span(),),
                measure=missing,
                working=Working((stack.line(dimension.name, "drive-shaft practice"),)),
                evidence_rank=weakest([dimension]),
            )
        )
    return replace(combine(joint, parts), cautions=(SHAFT_CAUTION,))


def check_length(
    old: Dimension | None, moved_back: Dimension | None, *, slip_room_nm: int, slip_out_nm: int
) -> CheckResult:
    """Does the old propshaft still do when the gearbox output moves back (plus) or forward by `moved_back`?

    The slip joint takes `slip_room_nm` in and `slip_out_nm` out; beyond that the shaft is shortened or lengthened by
    the whole move, and balanced. 20 mm plate instead of 15: 5 mm shorter.
    """
    joint = "propshaft length"
    if old is None or moved_back is None:
        return unknown(
            joint, list_missing([("the propshaft's length", old, ""), ("how far the output moved", moved_back, "")])
        )
    require_datum([moved_back])
    if old.low_nm <= 0 or slip_room_nm < 0 or slip_out_nm < 0:
        raise InvalidInput([Problem("old", "the length must be above zero, the slip not below zero")])
    stack = stack_up("move of the output", [(1, moved_back)])
    verdict, margin, missing = judge(stack, -slip_out_nm, slip_room_nm)
    new = stack_up("new length", [(1, old), (-1, moved_back)])
    result = CheckResult(
        joint=joint,
        verdict=verdict,
        summary=f"output moved {show_nm(moved_back.nominal_nm)}; full length {show_nm(new.nominal_nm)}",
        margin=Amount.of_nm(margin),
        binding="slip",
        values=(new.span(),),
        measure=missing,
        working=Working((new.line("new length", "geometry"),)),
        cautions=(SHAFT_CAUTION,),
        evidence_rank=weakest([old, moved_back]),
    )
    if verdict is not Verdict.FAILS:
        return result
    verb = "shorten" if moved_back.nominal_nm > 0 else "lengthen"
    text = f"{verb} the propshaft by {show_nm(abs(moved_back.nominal_nm))} to {show_nm(new.nominal_nm)} and balance it"
    work = (Work(f"{verb}-propshaft", "propshaft", text, Amount.of_nm(moved_back.nominal_nm), irreversible=True),)
    return replace(result, verdict=Verdict.HOLDS_WITH_WORK, summary=text, work=work, choices=(work,))


def check_lever(
    lever: Dimension | None,
    plate: Dimension | None,
    opening_front: Dimension | None,
    opening_rear: Dimension | None,
    *,
    spare_nm: int = LEVER_SPARE_NM,
) -> CheckResult:
    """Does the lever come up in the tunnel opening? A plate moves it back by its own thickness.

    `lever`: its centre without a plate; `lever`, `opening_front`, `opening_rear` rearwards from one datum. FAILS
    into work: cut the opening, by so much at front or rear.
    """
    joint = "lever in the tunnel opening"
    wanted = [
        ("the lever's position", lever, ""),
        ("the plate's thickness", plate, ""),
        ("the front edge of the opening", opening_front, ""),
        ("the rear edge of the opening", opening_rear, ""),
    ]
    if lever is None or plate is None or opening_front is None or opening_rear is None:
        return unknown(joint, list_missing(wanted))
    require_one_datum([lever, opening_front, opening_rear])
    if opening_front.nominal_nm >= opening_rear.nominal_nm:
        raise InvalidInput([Problem("opening_front", "lies behind the rear edge; are they swapped?")])
    front = stack_up("room in front", [(1, lever), (1, plate), (-1, opening_front)])
    rear = stack_up("room behind", [(1, opening_rear), (-1, lever), (-1, plate)])
    parts = []
    for stack, side in ((front, "front"), (rear, "rear")):
        verdict, margin, missing = judge(stack, spare_nm, None)
        part = CheckResult(
            joint=stack.name,
            verdict=verdict,
            summary=f"{show_nm(stack.nominal_nm)}, wanted {show_nm(spare_nm)}",
            margin=Amount.of_nm(margin),
            binding=stack.name,
            values=(stack.span(),),
            measure=missing,
            working=Working((stack.line(stack.name, "plate moves the lever back by its thickness, common practice"),)),
            evidence_rank=weakest([lever, plate, opening_front, opening_rear]),
        )
        if verdict is Verdict.FAILS:
            cut = spare_nm - stack.low_nm
            text = f"cut the tunnel opening {show_nm(cut)} further to the {side}"
            work = (Work("cut-tunnel", "tunnel", text, Amount.of_nm(cut), irreversible=True),)
            part = replace(part, verdict=Verdict.HOLDS_WITH_WORK, summary=text, work=work, choices=(work,))
        parts.append(part)
    return combine(joint, parts)
