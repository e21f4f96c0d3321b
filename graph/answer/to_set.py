"""What a route has to set anew inside the gearbox, with the arithmetic ready: shims are measured, never carried over.

After any change of case, bearing, shaft or retainer every shim that stands against it is measured again (gearbox
manuals; a shim copied from the old case is a common mistake). Where the depths are stated, the shim is worked out.
"""

from __future__ import annotations

from collections.abc import Iterator

from graph.answer import words
from graph.answer.checks import checks_of
from graph.answer.ground import Ground
from graph.answer.model.fit import SettingLine
from graph.answer.trade_checks import PickedParts, picked_parts
from graph.fits.model import Verdict
from graph.fits.retainer_shim import FORMULA, check_retainer_shim
from graph.search.result import Route

LOCATED = "shaft-location"  # the kind of joint
CASE, RETAINER = "at-gearbox-case", "at-front-retainer"
FRONT = (CASE, "at-input-bearing", "at-input-shaft", RETAINER)
WANTED = ("the least end float that this box wants", "the most")  # as graph/fits/retainer_shim.py asks for them
BY_DIAL = "shim + (end float by dial - wanted)"
OTHERS = (
    ("layshaft end float", (CASE, "at-layshaft")),
    ("mainshaft end float", (CASE, "at-mainshaft", "at-tail-housing")),
)  # fmt: skip


def to_set(ground: Ground, route: Route) -> tuple[SettingLine, ...]:
    """The values that this route has to set anew; none where it leaves case, bearings, shafts and retainer alone."""
    parts = picked_parts(ground, route)
    return () if parts is None else tuple(_lines(parts))


def _lines(parts: PickedParts) -> Iterator[SettingLine]:
    changed = _changed(parts)
    if why := _named(parts, changed, FRONT):
        yield _front(parts, why)
    for label, places in OTHERS:
        if why := _named(parts, changed, places):
            measure = (f"{label} by dial gauge, everything bolted up", f"the {label} that this box wants")
            yield SettingLine(
                label=label, why=why, formula=BY_DIAL, what_if="shim-choice", measure=measure,
                words=f"unknown: measure {words.listed(measure)}; {BY_DIAL}",
            )  # fmt: skip


def _changed(parts: PickedParts) -> set[str]:
    """Places whose part is another than was there, or is machined."""
    ground, route = parts.ground, parts.route
    new = {place for place, pick in route.picks.items() if not ground.candidates[pick].as_found}
    cut = (ground.joints[joint] for joint, link in route.links.items() if ground.links[link].operations)
    return {place for place in new if not ground.is_empty(route.picks[place])} | {
        place for joint in cut for place in joint.between
    }


def _named(parts: PickedParts, changed: set[str], places: tuple[str, ...]) -> str:
    found = [parts.at(place) for place in places if place in changed and parts.at(place)]
    return f"{words.listed([parts.ground.part_label(one) for one in dict.fromkeys(found)])}: changed" if found else ""


def _front(parts: PickedParts, why: str) -> SettingLine:
    gearbox = parts.ground.conversion.gearbox
    limits = [parts.length(gearbox, one) for one in ("least-end-float", "most-end-float")]
    low, high = (one.nominal_nm if one else None for one in limits)
    result = check_retainer_shim(
        parts.length(parts.at(RETAINER), "retainer-recess"), parts.length(parts.at(CASE), "bearing-proud"),
        parts.length(parts.at(RETAINER), "retainer-gasket"), low, high,
    )  # fmt: skip
    wanted = _said_on_the_route(parts)
    missing = tuple(item.name for item in result.measure if not (wanted and item.name in WANTED))
    known = result.verdict is not Verdict.UNKNOWN
    told = result.summary if known else f"unknown: measure {words.listed(missing)}; {FORMULA}"
    if wanted and not known:
        told += f"; wanted: {words.listed(wanted)}"
    numbers = "; ".join(f"{line.symbol} = {line.numbers} = {line.value}" for line in result.working.lines[1:])
    return SettingLine(
        label="input shaft end float", why=why, formula=FORMULA, what_if="retainer-shim", measure=missing,
        words=f"{told}; {numbers}" if numbers else told, value=result.summary if known else "",
    )  # fmt: skip


def _said_on_the_route(parts: PickedParts) -> list[str]:
    """The end float that the route's facts ask to be looked at where the shaft is located, as they say it."""
    ground, links = parts.ground, parts.route.links
    located = (ground.links[link] for link in links.values() if ground.joint_of[link].kind == LOCATED)
    return [text for link in located for text in checks_of(ground, link) if "end float" in text]
