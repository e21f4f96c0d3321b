"""The whole answer, built from what was read and what the search proved.

Pure: the same conversion, solution and catalogue give the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import ceil

from graph.answer import evidence, words
from graph.answer.ground import Ground
from graph.answer.model import (
    UNKNOWN,
    Answer,
    AnsweredRoute,
    ChangeLine,
    FrontPoint,
    LeftOut,
    LookFirstLine,
    Named,
    OpenLine,
)
from graph.answer.open_ends import RULED_OUT, open_lines, verdict_of
from graph.answer.route import answered_route, picked_by, summary_of
from graph.conversion.document import Conversion
from graph.reading.model import NOT_KNOWN
from graph.search.result import RANKED, STOPPED_EARLY, Change, Completeness, LookFirst, Route, Solution

UNITS = {
    "cash": "currency units", "total": "currency units", "expected": "currency units", "hours": "bench hours",
    "days": "working days", "rate": "currency units per bench hour", "lengths": "mm", "torque": "N m", "odds": "0 to 1",
}  # fmt: skip

SHOWN = 4  # of what another route does differently

# Common practice; each says where the tool's knowledge ends.
CAUTIONS = (
    "Measure your own parts before you spend money or cut: variants differ under one name.",
    "Support the engine and strap the gearbox to its jack before the mounts come off; nobody reaches under it.",
    "Rated fasteners, torque figures and fluids come from the makers' data for these parts.",
    "Follow local law and a qualified person's advice; a changed vehicle may need approval and the insurer told.",
)


def build_answer(
    ground: Ground,
    solution: Solution,
    *,
    question: Mapping[str, object],
    changes: Iterable[Change] = (),
) -> Answer:
    """The answer to `question`, its routes best first.

    `ground`: what the answer stands on. `changes`: what would change it, as `graph.search.changes` gives it.
    """
    conversion = ground.conversion
    touched = dict.fromkeys(choice.id for route in solution.routes for choice in picked_by(ground, route))
    routes = tuple(answered_route(ground, route, rank) for rank, route in enumerate(solution.routes, start=1))
    opens = open_lines(ground, solution.open)
    return Answer(
        question=question, gearbox=ground.named(conversion.gearbox), engine=ground.named(conversion.engine),
        status=solution.status, objective=solution.objective,
        verdict=_verdict(solution, routes, opens),
        headline=_headline(ground, solution, routes), currency=ground.catalogue.currency,
        rate_hundredths=conversion.rate_hundredths, day_hours=conversion.day_hours, routes=routes,
        front=tuple(_front_point(ground, route, solution.routes, routes) for route in solution.front),
        look_first=_look_first(ground, solution) if solution.look_first else None,
        changes=tuple(_change(ground, change, solution) for change in changes), open=opens,
        left_out=_left_out(ground), unfinished=_unfinished(ground, solution), to_measure=_to_measure(ground),
        disputes=evidence.disputes_about(ground, touched), assumptions=_assumptions(conversion),
        cautions=CAUTIONS, units=UNITS,
    )  # fmt: skip


def _verdict(solution: Solution, routes: tuple[AnsweredRoute, ...], opens: tuple[OpenLine, ...]) -> str:
    if routes:
        return routes[0].verdict
    return UNKNOWN if solution.status == STOPPED_EARLY else verdict_of(opens)


def _left_out(ground: Ground) -> tuple[LeftOut, ...]:
    """What the question itself ruled out, in the reading's words; what merely does not fit is no news."""
    if ground.reading is None:
        return ()
    return tuple(LeftOut(out.what, out.where, out.text) for out in ground.reading.left_out if out.reason in RULED_OUT)


def _to_measure(ground: Ground) -> tuple[str, ...]:
    read = ground.reading.left_out if ground.reading else ()
    return tuple(out.text for out in read if out.reason == NOT_KNOWN)


def _headline(ground: Ground, solution: Solution, routes: tuple[AnsweredRoute, ...]) -> str:
    conversion, currency = ground.conversion, ground.catalogue.currency
    pair = f"{ground.part_label(conversion.gearbox)} to {ground.part_label(conversion.engine)}"
    if not routes and solution.status == STOPPED_EARLY:
        return f"{pair}: no route was found before the time ran out; there may be one"
    if not routes:
        count = len(solution.open)
        return f"{pair}: no route; {count} {'thing stays' if count == 1 else 'things stay'} open"
    best = routes[0]
    proof = "best found so far" if solution.gap else "proven cheapest"
    sums = f"{words.money(best.total, currency)} ({words.hours(best.hours_hundredths)}, {words.days(best.days)})"
    expected = words.money(best.expected, currency)
    text = f"{pair}: {best.verdict}; {proof} by {solution.objective}: {sums}, {expected} expected"
    if solution.look_first:
        text += f"; looking first brings that down to {words.money(solution.look_first.expected, currency)}"
    return text


def _unfinished(ground: Ground, solution: Solution) -> tuple[str, ...]:
    """Each part of the answer that is not all it could be, with how far it may be off."""
    return tuple(
        f"{words.sentence(part.part)}: {part.words}{_at_most(ground, solution, part)}."
        for part in solution.parts
        if not part.complete
    )


def _at_most(ground: Ground, solution: Solution, part: Completeness) -> str:
    if part.gap is None:
        return ""
    if solution.objective == "hours" and part.part in RANKED:
        return f" of {words.hours(ceil(part.gap * 100))}"
    return f" of {words.money(part.gap, ground.catalogue.currency)}"


def _key(route: Route) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    return tuple(sorted(route.picks.items())), tuple(sorted(route.links.items()))


def _front_point(
    ground: Ground, route: Route, ranked: tuple[Route, ...], routes: tuple[AnsweredRoute, ...]
) -> FrontPoint:
    same = [(n, other) for n, other in enumerate(ranked, start=1) if _key(other) == _key(route)]
    rank = next((n for n, other in same if other.tasks == route.tasks), None)
    summary = routes[same[0][0] - 1].summary if same else summary_of(ground, route)
    return FrontPoint(
        route.cash_hundredths, route.hours_hundredths, route.total, route.expected, route.days, summary, rank
    )


def _look_first(ground: Ground, solution: Solution) -> LookFirstLine:
    look = solution.look_first
    assert look is not None
    tests = {test.id: test for test in ground.conversion.inspections}
    chosen = [tests[test] for test in look.inspections]
    cash = sum(test.cash_hundredths for test in chosen)
    hours = sum(test.hours_hundredths for test in chosen)
    blind = solution.routes[0].expected if solution.routes else look.expected
    saves = blind - look.expected
    named = tuple(Named(test.id, test.label or test.id) for test in chosen)
    cost = words.money(ground.priced(cash, hours), ground.catalogue.currency)
    text = (
        f"{words.sentence(words.listed([n.label for n in named]))} ({cost}),"
        " then take the best route for what is found."
        f" Expected {words.money(look.expected, ground.catalogue.currency)},"
        f" {words.money(saves, ground.catalogue.currency)} less on average than going in blind."
    )
    known = ground.catalogue.inspections
    cautions = tuple(known[t.id].caution for t in chosen if t.id in known and known[t.id].caution)
    return LookFirstLine(named, cash, hours, look.expected, saves, text, _odds_words(ground, look), cautions)


def _odds_words(ground: Ground, look: LookFirst) -> tuple[str, ...]:
    faults = {fault.id: fault for fault in ground.conversion.faults}
    return tuple(
        f"{faults[fault].label or fault}: {_pays(low, high, len(look.odds_range))}"
        f" (now {words.percent(faults[fault].odds)})"
        for fault, (low, high) in look.odds_range.items()
    )


ALWAYS_PAYS = "looking first pays at any odds"


def _pays(low: Fraction, high: Fraction, faults: int) -> str:
    """Against going in blind; a range of everything says that the rest of the test pays for itself, not this fault."""
    if low == 0 and high == 1:
        return "the rest of what is looked at pays whatever its odds" if faults > 1 else ALWAYS_PAYS
    return f"looking first pays while the odds are between {words.percent(low)} and {words.percent(high)}"


def _change(ground: Ground, change: Change, solution: Solution) -> ChangeLine:
    label = _change_label(ground, change)

    def shown(value: Fraction) -> str:
        return words.percent(value) if change.kind == "odds" else words.money(value, ground.catalogue.currency)

    if change.value is None:
        text = f"{label} (now {shown(change.now)}): no value changes the answer"
    else:
        way = "above" if change.value > change.now else "below"
        text = f"{label} (now {shown(change.now)}): {way} {shown(change.value)} another route is the cheapest"
        if change.route is not None:
            text += f" ({_difference(ground, change.route, solution)})"
    return ChangeLine(change.kind, change.what, label, change.now, change.value, text)


def _change_label(ground: Ground, change: Change) -> str:
    if change.kind == "rate":
        return "bench rate per hour"
    if change.kind == "odds":
        faults = {fault.id: fault.label for fault in ground.conversion.faults}
        return f"odds of {faults.get(change.what) or change.what}"
    return f"price of {ground.part_label(change.what)}"


def _difference(ground: Ground, other: Route, solution: Solution) -> str:
    """What the other route fits, machines or opens that the best one does not."""
    best = solution.routes[0]
    ours = set(best.picks.values()) | set(best.links.values())
    parts = [ground.candidates[c] for c in other.picks.values() if c not in ours]
    ways = [ground.links[link] for link in other.links.values() if link not in ours]
    new = [part.label or part.id for part in parts if not part.as_found]
    new += [way.label or way.id for way in ways if way.via or way.operations]
    looks = [ground.tasks[t].label or t for t in other.tasks if t not in best.tasks]
    return words.listed((new or looks)[:SHOWN]) or "less work, with the parts as found"


def _assumptions(conversion: Conversion) -> tuple[str, ...]:
    said = [
        f"A working day has {words.hours(int(conversion.day_hours * 100))} at the bench; waiting runs side by side."
    ]
    if conversion.faults:
        said.append("Faults are taken as independent of each other; wear with one cause makes the spread wider.")
    if any(test.settles for test in conversion.inspections):
        said.append("A test is taken to tell the state of its faults for certain.")
    return tuple(said)
