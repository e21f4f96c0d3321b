"""The first line of an answer. Pure."""

from __future__ import annotations

from graph.answer import words
from graph.answer.capacity import unrated_words
from graph.answer.ground import Ground
from graph.answer.model.answer import LookFirstLine
from graph.answer.model.doubt import MeasureFirst
from graph.answer.model.fit import NOT_ADVISABLE
from graph.answer.model.route import AnsweredRoute
from graph.answer.plain import LEAST
from graph.answer.status import ON_WHAT_IS_KNOWN, WeighedDocument
from graph.answer.sums import hope_of, least_of, low_end, three_sums
from graph.search.result import STOPPED_EARLY


def headline_of(
    ground: Ground, weighed: WeighedDocument, routes: tuple[AnsweredRoute, ...], looking: LookFirstLine | None,
    plan: tuple[MeasureFirst, ...],
) -> str:  # fmt: skip
    """What the answer says in one line: which pair, which verdict, what is proven of it, what it costs."""
    conversion, solution = ground.conversion, weighed.shown
    pair = f"{ground.part_label(conversion.gearbox)} to {ground.part_label(conversion.engine)}"
    asks = [_in_words(ground, one) for one in ground.reading.asks] if ground.reading else []
    if not routes and solution.status == STOPPED_EARLY:
        return f"{pair}: no route was found before the time ran out; there may be one"
    if not routes:
        count = len(solution.open)
        said = f"no route{' on what is written down' if asks else ''}"
        text = f"{pair}: {said}; {count} {'thing stays' if count == 1 else 'things stay'} open"
        return f"{text}; {asks[0]}" if asks else text
    best = routes[0]
    if best.against:
        pair += f": {NOT_ADVISABLE}, {best.against[0]}"
    if best.assumptions and not hope_of(best):
        return f"{pair}: {_as_far_as_stated(ground, weighed, best)}"
    if best.assumptions:
        return f"{pair}: {_if_it_holds(ground, weighed, best, plan)}"
    if asks:
        return f"{pair}: on what is written down, at least {_sums(ground, best)}; {asks[0]}"
    proof = f"best found so far, {LEAST[solution.objective]}" if solution.gap else f"proven {LEAST[solution.objective]}"
    if weighed.status == ON_WHAT_IS_KNOWN:
        proof += " on what is known"
    elif weighed.status == STOPPED_EARLY and weighed.unfinished:
        proof = f"{LEAST[solution.objective]} of what is known"
    if torque := unrated_words(best.capacities):
        known = " on what is known" if weighed.status == ON_WHAT_IS_KNOWN else ""
        proof = f"{LEAST[solution.objective]}{known} {torque}"
    kind = "as it stands" if best.against else best.verdict
    text = f"{pair}: {kind}; {proof}: {_sums(ground, best)}"
    if looking and weighed.looking is None:
        text += f"; looking first brings that down to {words.money(looking.expected, ground.catalogue.currency)}"
    if weighed.beside is not None:
        text += f"; {_hoped_for(ground, routes[-1], plan)}"
    return text


def _in_words(ground: Ground, asked: str) -> str:
    """What is asked without the ids of the kinds of job, which stand in the list of what to do."""
    for kind in ground.catalogue.assemblies.values():
        asked = asked.replace(f"{kind.label} ({kind.id})", kind.label)
    return asked


def _sums(ground: Ground, route: AnsweredRoute) -> str:
    """Total with hours and days, then expected; without a rate the hours stand for themselves."""
    currency = ground.catalogue.currency
    if not ground.rate_stated and route.hours_hundredths:
        total = words.priced(route.total, route.hours_hundredths, currency, False)
        expected = words.money(route.expected, currency)
        more = f", at least {expected} expected" if route.expected else ""
        return f"{total} ({words.days(route.days)}){more}"
    total = f"{words.money(route.total, currency)} ({words.hours(route.hours_hundredths)}, {words.days(route.days)})"
    return (
        total if route.expected == route.total else f"{total}, {words.money(route.expected, currency)} with likely wear"
    )


def _if_it_holds(ground: Ground, weighed: WeighedDocument, route: AnsweredRoute, plan: tuple[MeasureFirst, ...]) -> str:
    count = len(route.assumptions)
    least = LEAST[weighed.shown.objective]
    proof = f"best found so far, {least}" if weighed.shown.gap else least
    text = f"if what is assumed holds ({words.counted(count, 'thing')}), {proof}"
    return f"{text}: {three_sums(route, ground.catalogue.currency)}{_begin(plan)}"


def _as_far_as_stated(ground: Ground, weighed: WeighedDocument, route: AnsweredRoute) -> str:
    """All of it is known to fit; some of what it takes is not stated."""
    count, least = words.counted(len(route.assumptions), "figure"), LEAST[weighed.shown.objective]
    return f"{route.verdict}; {least} as far as stated ({count} missing): {least_of(route)}{_sums(ground, route)}"


def _hoped_for(ground: Ground, beside: AnsweredRoute, plan: tuple[MeasureFirst, ...]) -> str:
    cost = words.priced(low_end(beside), beside.hours_hundredths, ground.catalogue.currency, ground.rate_stated)
    hope = f"if what route {beside.rank} assumes holds" if hope_of(beside) else f"route {beside.rank} as far as stated"
    return f"{hope}, {least_of(beside)}{cost}{_begin(plan, beside.rank)}"


def _begin(plan: tuple[MeasureFirst, ...], rank: int = 1) -> str:
    """Of which route the first look is, where that is not the one whose sum stands in front."""
    whose = "" if rank == 1 else f"for route {rank}, not for the first, "
    return f"; {whose}begin here: {plan[0].label}" if plan else ""
