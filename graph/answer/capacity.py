"""Whether gearbox and clutch carry the engine's torque: a condition derived from what is noted of the parts.

Nothing is said where nobody has noted a torque of any of them, nor asks with one; where one side is known, the other
is asked for.
The torque of the question's context (`torque_nm`) counts before the engine's own, since an engine may be tuned.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from graph.answer.ground import Ground
from graph.answer.model.fit import CapacityLine
from graph.derive.torques import CLUTCH_CAPACITY, ENGINE_TORQUE, GEARBOX_RATING
from graph.exact import NotExact, fraction_of
from graph.fits.model import CheckResult, Verdict
from graph.fits.torque import CLUTCH_RESERVE, check_clutch_capacity, check_gearbox_torque
from graph.search.result import Route

CONTEXT_KEY = "torque_nm"
CLUTCH_POSITION = "at-clutch-cover"


def capacity_lines(ground: Ground, route: Route) -> tuple[CapacityLine, ...]:
    """Gearbox, then clutch cover, each against the engine; empty where no torque is noted of any, nor asked for."""
    if ground.reading is None:
        return ()
    gearbox, cover = ground.conversion.gearbox, _cover(ground, route)
    rating, carried = _noted(ground, gearbox, GEARBOX_RATING), _noted(ground, cover, CLUTCH_CAPACITY)
    own = _noted(ground, ground.conversion.engine, ENGINE_TORQUE)
    asked = _asked(ground.reading.question.context.get(CONTEXT_KEY))
    if rating is None and carried is None and own is None and asked is None:
        return ()
    engine = own if asked is None else asked
    lines = [_line(ground, "gearbox torque", gearbox, rating, engine, check_gearbox_torque(rating, engine))]
    if cover:
        load = None if engine is None else engine * CLUTCH_RESERVE
        lines.append(_line(ground, "clutch torque", cover, carried, load, check_clutch_capacity(carried, engine)))
    return tuple(lines)


def _cover(ground: Ground, route: Route) -> str:
    pick = route.picks.get(CLUTCH_POSITION)
    return ground.candidates[pick].part if pick and not ground.is_empty(pick) else ""


def _noted(ground: Ground, part: str, quantity: str) -> Fraction | None:
    assert ground.reading is not None
    found = ground.reading.derived.torques.get((part, quantity))
    return found.torque_nm if found else None


def _asked(value: object) -> Fraction | None:
    """The greatest torque that the context states, or None where it states none that is a number above zero."""
    values = value if isinstance(value, (list, tuple, set, frozenset)) else (value,)
    return max((number for number in map(_number, values) if number is not None), default=None)


def _number(value: object) -> Fraction | None:
    try:
        number = fraction_of(str(value))
    except NotExact:
        return None
    return number if number > 0 else None


def _line(
    ground: Ground, what: str, part: str, capacity: Fraction | None, load: Fraction | None, result: CheckResult
) -> CapacityLine:
    named = ground.named(part)
    told = result.summary
    if result.verdict is Verdict.UNKNOWN:
        told = "unknown: find out " + " and ".join(item.name for item in result.measure)
    margin = None if capacity is None or load is None else capacity - load
    return CapacityLine(
        what=what, part=named, verdict=str(result.verdict), capacity_torque_nm=capacity, load_torque_nm=load,
        margin_torque_nm=margin, words=f"{named.label}: {told}",
    )  # fmt: skip


def exceeded(lines: Iterable[CapacityLine]) -> tuple[CapacityLine, ...]:
    """The lines that fail."""
    return tuple(line for line in lines if line.verdict == Verdict.FAILS)


def not_known(lines: Iterable[CapacityLine]) -> tuple[CapacityLine, ...]:
    """The lines of which the load is known but not what the part carries."""
    return tuple(line for line in lines if line.capacity_torque_nm is None and line.load_torque_nm is not None)


def to_confirm(lines: Iterable[CapacityLine]) -> tuple[str, ...]:
    """What to find out before money is spent."""
    return tuple(f"{line.what}: {line.words}" for line in lines if line.verdict == Verdict.UNKNOWN)


def unrated_words(lines: Iterable[CapacityLine]) -> str:
    """The condition on which all else is said where a rating is not known; "" where every one is, or none is asked.

    Whatever is proven of such a route is proven only if what nobody has stated is enough.
    """
    unrated = not_known(lines)
    if not unrated:
        return ""
    what = " and ".join(f"the {line.part.label}" for line in unrated)
    return f"if {what} {'carries' if len(unrated) == 1 else 'carry'} the torque, which nobody has stated"
