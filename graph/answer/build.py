"""The whole answer, built from what was read and what the search proved.

Pure: the same conversion, solution and catalogue give the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil

from graph.answer import evidence, words
from graph.answer.asked_units import to_be_told, unit_lines
from graph.answer.assumed import assumption_lines
from graph.answer.gone import open_first, own_and_gone
from graph.answer.ground import Ground
from graph.answer.headline import headline_of
from graph.answer.measure_first import measure_first
from graph.answer.model.answer import Answer, ChangeLine, FrontPoint, InsteadLine, LeftOutLine, LookFirstLine, OpenLine
from graph.answer.model.doubt import MeasureFirst
from graph.answer.model.fit import UNKNOWN
from graph.answer.model.lines import Named
from graph.answer.model.route import AnsweredRoute
from graph.answer.open_ends import RULED_OUT, open_lines, verdict_of
from graph.answer.route import answered_route, picked_by, summary_of
from graph.answer.status import ASSEMBLY_NOT_STATED, WeighedDocument, as_it_is, assumes
from graph.answer.sums import is_at_least, ranking
from graph.conversion.document import Conversion
from graph.conversion.known import uncertain
from graph.reading.model import NOT_KNOWN, length_doubt
from graph.reading.tried import ODDS, TriedValue
from graph.search.result import RANKED, STOPPED_EARLY, Completeness, LookFirst, Route, RouteChange, Solution

UNITS = {
    "cash": "currency units", "total": "currency units", "expected": "currency units", "hours": "bench hours",
    "days": "working days", "rate": "currency units per bench hour", "lengths": "mm", "torque": "N m", "odds": "0 to 1",
}  # fmt: skip

TRIED = "Tried, not known"  # before each value that the question tries in place of what is known
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
    found: Solution | WeighedDocument,
    *,
    question: Mapping[str, object],
    changes: Iterable[RouteChange] = (),
) -> Answer:
    """The answer to `question`, its routes best first.

    `ground`: what the answer stands on. `found`: the routes with what they are worth, or a solution that is all there
    is. `changes`: what would change it, as `graph.search.changes` gives it.
    """
    conversion = ground.conversion
    weighed = found if isinstance(found, WeighedDocument) else as_it_is(conversion, found)
    solution = weighed.shown
    ranked = (*solution.routes, *((weighed.beside,) if weighed.beside else ()))
    touched = dict.fromkeys(choice.id for route in ranked for choice in picked_by(ground, route))
    routes = tuple(answered_route(ground, route, rank) for rank, route in enumerate(ranked, start=1))
    looking = _looking(ground, weighed)
    plan = _measure_first(ground, weighed, looking)
    asks = ground.reading.asks if ground.reading else ()
    opens, asked_units = open_lines(ground, solution.open), unit_lines(ground)
    opens = (*open_first(ground), *opens) if opens else ()
    return Answer(
        question=question, gearbox=ground.named(conversion.gearbox), engine=ground.named(conversion.engine),
        status=_status(weighed, asks), objective=solution.objective,
        verdict=_verdict(solution, routes, opens),
        headline=headline_of(ground, weighed, routes, looking, plan), currency=ground.catalogue.currency,
        rate_hundredths=conversion.rate_hundredths, day_hours=conversion.day_hours, routes=routes,
        front=tuple(_front_point(ground, route, solution.routes, routes) for route in solution.front),
        look_first=looking,
        changes=tuple(_change(ground, change, solution) for change in changes), open=opens,
        left_out=_left_out(ground), unfinished=_unfinished(ground, weighed), to_measure=_to_measure(ground),
        disputes=evidence.disputes_about(ground, touched), 
        assumptions=(*to_be_told(asked_units), *_assumptions(ground)), asked_units=asked_units,
        cautions=(*tried_lines(ground), *CAUTIONS), assembly=ground.reading.assembly if ground.reading else "",
        asks=asks, measure_first=plan,
        instead=_instead(ground, ranked), rate_stated=ground.rate_stated,
        ranking=ranking(routes, ground.catalogue.currency), units=UNITS,
    )  # fmt: skip


def _verdict(solution: Solution, routes: tuple[AnsweredRoute, ...], opens: tuple[OpenLine, ...]) -> str:
    if routes:
        return routes[0].verdict
    return UNKNOWN if solution.status == STOPPED_EARLY else verdict_of(opens)


def tried_lines(ground: Ground) -> tuple[str, ...]:
    """What the question tries in place of what is known: said first, wherever the answer is read."""
    if ground.reading is None or not ground.reading.tried:
        return ()
    money = ground.catalogue.currency

    def said(one: TriedValue, value: Fraction | None) -> str:
        if value is None:
            return "not known"
        return words.percent(value) if one.sort == ODDS else words.cash(int(value), money)

    return tuple(
        f"{TRIED}: {'odds' if one.sort == ODDS else 'price'} of {one.label}: {said(one, one.value)} "
        f"({'' if one.known is None else 'known: '}{said(one, one.known)})"
        for one in ground.reading.tried
    )


def _left_out(ground: Ground) -> tuple[LeftOutLine, ...]:
    """What the question, a note or its own condition ruled out; that the arithmetic finds no fit is no news."""
    if ground.reading is None:
        return ()
    own = own_and_gone(ground)
    found = [out for out in ground.reading.left_out if out.reason in RULED_OUT]
    told = {edge for out in found for edge in out.edges}
    found += [out for out in ground.noted_misfits if told.isdisjoint(out.edges)]
    return (*own, *(LeftOutLine(out.what, out.where, out.text) for out in found))


def _to_measure(ground: Ground) -> tuple[str, ...]:
    """What no doubt speaks of: those stand among the assumptions and in the plan."""
    if ground.reading is None:
        return ()
    doubted = {out.what for out in ground.reading.left_out if length_doubt(out.what) in ground.reading.doubts}
    return tuple(o.text for o in ground.reading.left_out if o.reason == NOT_KNOWN and o.what not in doubted)


def _status(weighed: WeighedDocument, asks: tuple[str, ...]) -> str:
    """Where nobody has said which kind of job it is, nothing can be said of what it is worth."""
    if asks and not (weighed.status == STOPPED_EARLY and not weighed.shown.routes):
        return ASSEMBLY_NOT_STATED
    return weighed.status


def _looking(ground: Ground, weighed: WeighedDocument) -> LookFirstLine | None:
    solution = weighed.looking or weighed.shown
    if solution.look_first is None:
        return None
    line = _look_first(ground, solution)
    if weighed.looking is None:
        return line
    return replace(line, words=f"{line.words} Reckoned with routes that rest on what nobody has stated, at its odds.")


def _measure_first(ground: Ground, weighed: WeighedDocument, looking: LookFirstLine | None) -> tuple[MeasureFirst, ...]:
    """The looks of the route that assumes something; none where nothing has to be assumed."""
    shown = weighed.shown.routes[0] if weighed.shown.routes else None
    route = weighed.beside or (shown if shown and assumes(uncertain(ground.conversion), shown) else None)
    if route is None:
        return ()
    look = (weighed.looking or weighed.shown).look_first
    return measure_first(ground, route, look, looking.saves if looking else Fraction(0))


def _instead(ground: Ground, ranked: Sequence[Route]) -> InsteadLine | None:
    hundredths = ground.conversion.instead_hundredths
    if hundredths is None:
        return None
    cost = Fraction(hundredths, 100)
    text = f"Not doing the job costs {words.money(cost, ground.catalogue.currency)}"
    if ranked:
        first = ranked[0].expected
        way = "more than" if first < cost else "less than" if first > cost else "as much as"
        text += f", {way} the first route is expected to"
    return InsteadLine(cost, f"{text}.")


def _unfinished(ground: Ground, weighed: WeighedDocument) -> tuple[str, ...]:
    """Each part of the answer that is not all it could be, with how far it may be off."""
    return tuple(
        f"{words.sentence(part.part)}: {part.words}{_at_most(ground, weighed.shown, part)}."
        for part in (*weighed.shown.parts, *weighed.unfinished)
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
        route.cash_hundredths,
        route.hours_hundredths,
        route.total,
        route.expected,
        route.days,
        summary,
        rank,
        is_at_least(ground, route, assumption_lines(ground, route)),
    )


def _look_first(ground: Ground, solution: Solution) -> LookFirstLine:
    look = solution.look_first
    assert look is not None
    tests = {test.id: test for test in ground.conversion.inspections}
    chosen = [tests[test] for test in look.inspections]
    opened = [ground.tasks[task] for task in ground.closed(task for test in chosen for task in test.tasks)]
    cash = sum(test.cash_hundredths for test in chosen)
    hours = sum(test.hours_hundredths for test in chosen)
    blind = min([route.expected for route in solution.routes] or [look.expected])
    if solution.instead is not None:
        blind = min(blind, solution.instead)
    saves = blind - look.expected
    named = tuple(Named(test.id, test.label or test.id) for test in chosen)
    cost = ground.sum_words(cash, hours)
    if opened:
        cost += f", with {words.listed(sorted(task.label or task.id for task in opened))} done for it"
    then = "take the best route for what is found"
    if solution.instead is not None:
        then += ", or leave the job"
    text = (
        f"{words.sentence(words.listed([n.label for n in named]))} ({cost}),"
        f" then {then}."
        f" Expected {_least_of_looking(ground, solution)}{words.money(look.expected, ground.catalogue.currency)},"
        f" {words.money(saves, ground.catalogue.currency)} less on average than going in blind."
    )
    known = ground.catalogue.inspections
    cautions = tuple(known[t.id].caution for t in chosen if t.id in known and known[t.id].caution)
    return LookFirstLine(named, cash, hours, look.expected, saves, text, _odds_words(ground, look), cautions)


def _least_of_looking(ground: Ground, solution: Solution) -> str:
    """What looking first is reckoned from is "at least" where the best route taken blind is."""
    known = (is_at_least(ground, route, assumption_lines(ground, route)) for route in solution.routes[:1])
    return "at least " if any(known) else ""


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


def _change(ground: Ground, change: RouteChange, solution: Solution) -> ChangeLine:
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


def _change_label(ground: Ground, change: RouteChange) -> str:
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


def _how_faults_hang_together(conversion: Conversion) -> list[str]:
    labels = {fault.id: fault.label or fault.id for fault in conversion.faults}
    said = [words.together_words(one, [labels[fault] for fault in one.if_there]) for one in conversion.causes]
    others = "Other faults" if said else "Faults"
    return [*said, f"{others} are taken as independent of each other; wear with one cause makes the spread wider."]


def _assumptions(ground: Ground) -> tuple[str, ...]:
    conversion = ground.conversion
    said = [
        f"A working day has {words.hours(int(conversion.day_hours * 100))} at the bench. Waiting runs side by side;"
        " days are counted as if all bench work came after the longest wait, so what is done meanwhile makes it sooner."
    ]
    if not ground.rate_stated:
        said.append("No bench rate is stated: hours are in no sum of money, and looks that cost only hours look free.")
    if ground.reading is not None and not ground.catalogue.currency:
        said.append("No currency is stated: amounts are in whatever the prices were noted in.")
    if conversion.faults:
        said += _how_faults_hang_together(conversion)
    if any(test.settles for test in conversion.inspections):
        said.append("A test is taken to tell the state of its faults for certain.")
    return tuple(said)
