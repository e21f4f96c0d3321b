"""What a route takes for given though nobody has stated it, and what to measure first because of it.

In the words of the reading's doubts where there is one; of a document that came by itself, in its own labels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from graph.answer import words
from graph.answer.ground import Ground
from graph.answer.model.doubt import DUE, SEEN, UNSEEN, AssumptionLine, MeasureFirst, PlaceNamed, SettlingLine
from graph.answer.model.lines import Named
from graph.conversion.document import CandidateOrLink, Fault, Inspection, Link
from graph.conversion.known import doubts_of
from graph.reading.model import Doubt, Settling
from graph.search.priced import expected_with
from graph.search.result import LookFirst, Route

CHANGES_THE_ROUTE = "the route"
CHANGES_THE_SUM = "the sum, not the route"
TELLING = 10  # of what is assumed or to be measured, one by one; the JSON has all
SHOWN = 4  # of the readings that settle one thing; the JSON has all
WHATEVER_COMES = "what it costs if it does not hold"  # of what no doubt speaks of
NO_ODDS = "odds"  # among what a doubt names as not known
DEADLINE = "The deadline of {days} is met only if what is assumed holds."


def assumption_lines(ground: Ground, route: Route) -> tuple[AssumptionLine, ...]:
    """Each doubt that sits on the route's picks, what is due first and then the most telling, by how far the sum is off
    because of it; then the picks and lengths that no doubt speaks of."""
    picked = _picked(route)
    on_it = [fault for fault in ground.conversion.faults if _is_assumed(ground, fault, picked)]
    spoken = {choice for fault in on_it for choice in fault.on}
    off_by = {fault.id: _off_by(ground, fault, route) for fault in on_it}
    lines = [_of_doubt(ground, route, fault, picked) for fault in on_it]
    lines.sort(key=lambda line: (line.state != DUE, -off_by[line.fault], line.odds is None))
    missing = figures_missing(ground, route)
    lines[:0] = [_of_figure(ground, what, choices) for what, choices in missing.items()]
    spoken |= {choice for choices in missing.values() for choice in choices}
    lines += [_of_pick(ground, choice) for choice in route.assumed if choice not in spoken]
    open_picks = [choice for choice in sorted(picked - spoken) if ground.choice(choice).unmeasured]
    lines += [_of_length(ground, choice) for choice in open_picks if choice not in route.assumed]
    return tuple(lines)


def figures_missing(ground: Ground, route: Route) -> dict[str, list[str]]:
    """Hours and prices of the route's work that nobody has stated, in words, each with the choices that it is of."""
    found: dict[str, list[str]] = {}
    for choice in sorted(_picked(route)):
        tasks = ground.closed(ground.choice(choice).tasks)
        of_tasks = (what for task in sorted(tasks) if (what := ground.untold_task(task)))
        for what in (*ground.untold(choice), *of_tasks):
            found.setdefault(what, []).append(choice)
    return found


def only_figures(lines: Iterable[AssumptionLine]) -> bool:
    """Is it known that all of it fits, and only not what some of the work takes?"""
    return all(line.is_figure for line in lines)


def shortly(lines: Sequence[AssumptionLine], rest_is: str = "") -> tuple[AssumptionLine, ...]:
    """The lines as a reader takes them in: the most telling with a doubt one by one, the rest of those counted in one
    line, and what carries none in another. `rest_is`: where all of them stand, in words."""
    doubted, bare = ([line for line in lines if (line.fault != "" or line.is_figure) is one] for one in (True, False))
    most = TELLING if len(doubted) > TELLING + 1 else len(doubted)
    where = f" ({rest_is})" if rest_is else ""
    told = doubted[:most]
    if rest := doubted[most:]:
        told.append(_together(rest, f"{len(rest)} more that tell less", (line.text for line in rest), where))
    if len(bare) < 2:
        return (*told, *bare)
    text = f"{len(bare)} more that nobody has stated, nor what comes of it if it does not hold"
    return (*told, _together(bare, text, (pick.label for line in bare for pick in line.picks), where))


def _together(lines: Sequence[AssumptionLine], text: str, labels: Iterable[str], where: str) -> AssumptionLine:
    picks = tuple(pick for line in lines for pick in line.picks)
    return replace(_bare(picks[0], f"{text}: {told_shortly(labels)}{where}"), picks=picks, text=text)


def if_all_holds(ground: Ground, route: Route) -> Fraction:
    """What the route is expected to cost if everything holds that it assumes."""
    held = {fault.id: Fraction(0) for fault in doubts_of(ground.conversion)}
    return expected_with(ground.conversion, route, held)


def _picked(route: Route) -> frozenset[str]:
    return frozenset([*route.picks.values(), *route.links.values()])


def _is_assumed(ground: Ground, fault: Fault, picked: frozenset[str]) -> bool:
    """A doubt known to have failed is due work, not an assumption, unless it sits on what nobody has stated."""
    here = picked.intersection(fault.on)
    return bool(here) and (0 < fault.odds < 1 or any(ground.choice(one).assumed for one in here))


def _of_doubt(ground: Ground, route: Route, fault: Fault, picked: frozenset[str]) -> AssumptionLine:
    said = ground.doubt(fault.id)
    reach = ground.closed(fault.reach)
    state = DUE if fault.odds == 1 else SEEN if fault.shows and reach <= set(route.tasks) else UNSEEN
    tasks = [ground.tasks[task] for task in reach] if state == UNSEEN else []
    again = sum((ground.priced(t.cash_hundredths, t.hours_hundredths) for t in tasks), start=Fraction(0))
    missing = tuple(one for one in said.unpriced if one != NO_ODDS)
    no_rate = () if ground.rate_stated or not fault.hours_hundredths else ("the rate",)
    odds = None if NO_ODDS in said.unpriced else fault.odds
    open_places = _places(ground, (one for one in fault.on if one in picked))
    line = AssumptionLine(
        fault=fault.id, picks=tuple(_named_choice(ground, one) for one in fault.on if one in picked),
        text=said.text or fault.label or fault.id, odds=odds, odds_source=said.odds_source, state=state,
        cost=ground.priced(fault.cash_hundredths, fault.hours_hundredths), comeback=again,
        at_least=bool(missing or no_rate), words="", joint=said.joint, position=said.position,
        parts=tuple(ground.named(part) for part in said.parts), remedy=said.remedy, cost_source=said.cost_source,
        unpriced=(*missing, *(one for one in no_rate if one not in missing)), settles=_settles(ground, fault, said),
        takes_result=_takes_result(ground, said, open_places), counts_as=said.counts_as, places=open_places,
    )  # fmt: skip
    return replace(line, words=_words_of(ground, fault, line))


def _words_of(ground: Ground, fault: Fault, line: AssumptionLine) -> str:
    cost = _remedy_words(ground, fault, line)
    if line.state == DUE:
        return f"{line.text}: reckoned with, {cost}{_not_priced(line)}"
    text = f"{line.text}: {_odds_words(line)}; if it does not hold, {cost}"
    if line.comeback:
        again = [ground.tasks[task] for task in ground.closed(fault.reach)]
        cash, hours = sum(t.cash_hundredths for t in again), sum(t.hours_hundredths for t in again)
        text += f" and up to {ground.sum_words(cash, hours)} to get there again"
    return text + _not_priced(line)


def _remedy_words(ground: Ground, fault: Fault, line: AssumptionLine) -> str:
    """The remedy and what it costs; where nothing of it is priced there is no sum to name, least of all nothing."""
    if line.at_least and not fault.cash_hundredths and not fault.hours_hundredths:
        return f"{line.remedy or 'it has to be put right'}, at a cost that nobody has stated"
    least = "at least " if line.at_least else ""
    cost = least + ground.sum_words(fault.cash_hundredths, fault.hours_hundredths)
    source = f" ({line.cost_source})" if line.cost_source else ""
    return f"{f'{line.remedy}, ' if line.remedy else ''}{cost}{source}"


def _not_priced(line: AssumptionLine) -> str:
    """What of the cost is missing, where some of it is known."""
    some = line.cost or line.state == DUE
    return f"; not priced: {words.listed(line.unpriced)}" if line.unpriced and some else ""


def _odds_words(line: AssumptionLine) -> str:
    if line.odds is None:
        return f"the odds are not known{f' ({line.odds_source})' if line.odds_source else ''}"
    source = f" ({line.odds_source})" if line.odds_source else ""
    return f"does not hold with {words.percent(line.odds)}{source}"


def _named_choice(ground: Ground, choice: str) -> Named:
    return Named(choice, ground.choice(choice).label or choice)


def _of_pick(ground: Ground, choice: str) -> AssumptionLine:
    named = _named_choice(ground, choice)
    return _bare_pick(ground, named, f"{named.label}: nobody has stated it, nor what comes of it if it does not hold")


def _of_figure(ground: Ground, what: str, choices: list[str]) -> AssumptionLine:
    """What comes whatever is found, and how much of it nobody has stated."""
    picks = tuple(_named_choice(ground, choice) for choice in choices)
    told = f"{what}: nobody has stated it, so it is in no sum"
    return replace(
        _bare_pick(ground, picks[0], told), picks=picks, text=what, state=DUE, is_figure=True, unpriced=(what,)
    )


def _of_length(ground: Ground, choice: str) -> AssumptionLine:
    named, chains = _named_choice(ground, choice), {chain.id: chain.label for chain in ground.conversion.chains}
    lengths = [chains.get(chain) or chain for chain in ground.choice(choice).unmeasured]
    told = f"{named.label}: nobody has measured it, so {words.listed(lengths)} is not judged"
    return _bare_pick(ground, named, told)


def _bare_pick(ground: Ground, named: Named, text: str) -> AssumptionLine:
    """A pick that no doubt speaks of, with the places or the two parts of which nobody has said more."""
    choice = ground.choice(named.id)
    open_places = _places(ground, (named.id,))
    parts = tuple(ground.named(part) for part in _held(ground, choice) if part in ground.catalogue.parts)
    joint = ground.joint_of[named.id].kind if isinstance(choice, Link) else ""
    said = Doubt(fault="", text="", joint=joint, parts=tuple(part.id for part in parts))
    takes = _takes_result(ground, said, open_places)
    return replace(_bare(named, text), joint=joint, parts=parts, places=open_places, takes_result=takes)


def _places(ground: Ground, choices: Iterable[str]) -> tuple[PlaceNamed, ...]:
    """The places of the units asked about that these picks hang on and of which nobody has stated what is there."""
    found: dict[tuple[str, str], PlaceNamed] = {}
    for choice in choices:
        for part in _held(ground, ground.choice(choice)):
            place = None if part in ground.catalogue.parts else ground.place_of.get(part)
            kind = ground.catalogue.position_kinds.get(place.kind) if place else None
            unit = ground.unit_at(kind.id) if kind else ""
            if kind and unit:
                found[unit, kind.id] = PlaceNamed(ground.named(unit), Named(kind.id, kind.label))
    return tuple(found.values())


def _held(ground: Ground, choice: CandidateOrLink) -> tuple[str, ...]:
    """The parts of a choice: its own, or those at both ends of a link."""
    held = choice.parts if isinstance(choice, Link) else (choice.id,)
    return tuple(ground.candidates[one].part for one in held if one in ground.candidates)


def _bare(named: Named, text: str) -> AssumptionLine:
    return AssumptionLine(
        fault="", picks=(named,), text=named.label, odds=None, odds_source="", state=UNSEEN, cost=Fraction(0),
        comeback=Fraction(0), at_least=True, words=text, unpriced=(WHATEVER_COMES,),
    )  # fmt: skip


def _settles(ground: Ground, fault: Fault, said: Doubt) -> tuple[SettlingLine, ...]:
    """The readings that settle the doubt, else the document's inspections that do."""
    tests = {test.id: test for test in ground.conversion.inspections}
    if said.settles:
        return tuple(_reading(ground, one, tests.get(one.inspection)) for one in said.settles)
    return tuple(_test(ground, test) for test in tests.values() if fault.id in test.settles)


def _reading(ground: Ground, one: Settling, test: Inspection | None) -> SettlingLine:
    if not one.quantity:
        sight = ground.whose(one.of)
        text = one.tool + (f": {sight.label}" if sight else "")
        return SettlingLine(inspection="", words=text, of=sight, tool=one.tool, minutes=one.minutes)
    known = ground.catalogue.quantities.get(one.quantity)
    place = ground.catalogue.position_kinds.get(one.quantity)
    joint = ground.catalogue.joint_kinds.get(one.quantity)
    label = known.label if known else f"bolt face at {joint.label}" if joint else one.quantity
    of = ground.whose(one.of)
    how = ", ".join(part for part in (one.tool, words.minutes(one.minutes) if one.minutes else "") if part)
    text = f"measure {label}" + (f" of {of.label}" if of else "")
    if place is not None:
        text = f"see what {of.label if of else 'the unit'} has as {place.label}"
    text += f" ({how})" if how else ""
    cash, hours = (test.cash_hundredths, test.hours_hundredths) if test else (0, 0)
    return SettlingLine(
        inspection=one.inspection if test else "", words=text, quantity=one.quantity, of=of, tool=one.tool,
        minutes=one.minutes, cash_hundredths=cash, hours_hundredths=hours, tasks=_opened(ground, test),
    )  # fmt: skip


def _test(ground: Ground, test: Inspection) -> SettlingLine:
    return SettlingLine(
        inspection=test.id, words=test.label or test.id, minutes=Fraction(test.hours_hundredths * 60, 100),
        cash_hundredths=test.cash_hundredths, hours_hundredths=test.hours_hundredths, tasks=_opened(ground, test),
    )  # fmt: skip


def _opened(ground: Ground, test: Inspection | None) -> tuple[Named, ...]:
    tasks = sorted(ground.closed(test.tasks), key=lambda task: (ground.depth(task), task)) if test else ()
    return tuple(Named(task, ground.tasks[task].label or task) for task in tasks)


def _takes_result(ground: Ground, said: Doubt, open_places: Sequence[PlaceNamed] = ()) -> str:
    """Which page takes what is found."""
    if len(said.parts) == 2 and said.joint:
        one, other = (ground.part_label(part) for part in said.parts)
        return f"the bench page of {one} and {other}, or a note that says whether they fit"
    if open_places:
        return f"the sheet of {open_places[0].unit.label}, at {words.listed([one.at.label for one in open_places])}"
    if said.parts:
        return f"the bench page of {ground.part_label(said.parts[0])}, or a note"
    place = ground.catalogue.position_kinds.get(said.position)
    if place:
        return f"a note that says what is there ({place.label})"
    return "the question: say there how it is" if said.fault else "a note that says how it is"


def measure_first(
    ground: Ground, route: Route | None, look: LookFirst | None, saves: Fraction
) -> tuple[MeasureFirst, ...]:
    """The looks worth taking: the set that pays, then those that settle most of this route's sum per money of looking.

    What this route opens anyway is no cost of a look. `route`: the one that assumes something; `look`: the set of
    inspections that pays, which `saves` so much.
    """
    chosen = set(look.inspections) if look else set()
    lines = [
        _look(ground, test, route, test.id in chosen, saves)
        for test in ground.conversion.inspections
        if test.id in chosen or (route is not None and _settled_by(ground, test, route))
    ]
    return tuple(sorted(lines, key=_rank))


def _rank(line: MeasureFirst) -> tuple[bool, bool, Fraction, Fraction, str]:
    per_money = line.per_money
    return (
        line.changes != CHANGES_THE_ROUTE, per_money is not None, -(per_money or line.spread), -line.spread,
        line.inspection,
    )  # fmt: skip


def _settled_by(ground: Ground, test: Inspection, route: Route) -> list[Fault]:
    """The doubts of this route that the test settles."""
    picked = _picked(route)
    return [one for one in doubts_of(ground.conversion) if one.id in test.settles and not picked.isdisjoint(one.on)]


def _look(ground: Ground, test: Inspection, route: Route | None, chosen: bool, saves: Fraction) -> MeasureFirst:
    settled = _settled_by(ground, test, route) if route is not None else []
    done = frozenset(route.tasks) if route is not None else frozenset[str]()
    anyway, more = _last(ground, ground.closed(test.tasks) & done), ground.closed(test.tasks) - done
    cash = test.cash_hundredths + sum(ground.tasks[task].cash_hundredths for task in more)
    hours = test.hours_hundredths + sum(ground.tasks[task].hours_hundredths for task in more)
    cost = ground.priced(cash, hours)
    spread = sum((_off_by(ground, fault, route) for fault in settled if route), start=Fraction(0))
    per_money = spread / cost if cost else None
    told = settled or [fault for fault in doubts_of(ground.conversion) if fault.id in test.settles]
    readings = tuple(line for fault in told for line in _settles(ground, fault, ground.doubt(fault.id)))
    labels = tuple(fault.label or fault.id for fault in settled) or _labels_of(ground, test)
    changes = CHANGES_THE_ROUTE if chosen else CHANGES_THE_SUM
    text = f"{words.sentence(test.label or test.id)}: {ground.sum_words(cash, hours)}"
    text += f", with {words.listed(_last(ground, more))} done for it" if more else ""
    text += f", while it is open anyway ({words.listed(anyway)})" if anyway and not more else ""
    how = [line.words for line in readings if line.inspection == test.id and line.quantity]
    text += f"; {told_shortly(how)}" if how else ""
    text += f"; changes {changes}" + _worth(ground, spread, saves if chosen else None)
    takes = next((line for fault in told if (line := _takes_result(ground, ground.doubt(fault.id)))), "")
    return MeasureFirst(
        inspection=test.id, label=test.label or test.id, settles=labels, readings=readings, cost=cost,
        hours_hundredths=hours, changes=changes, saves=saves if chosen else None, spread=spread, per_money=per_money,
        words=text, takes_result=takes,
    )  # fmt: skip


def _last(ground: Ground, tasks: frozenset[str]) -> list[str]:
    """Of these tasks those that no other of them comes after, in words: the rest goes without saying."""
    last = [one for one in sorted(tasks) if not any(one in ground.closed((t,)) for t in tasks if t != one)]
    return [ground.tasks[one].label or one for one in last]


def told_shortly(items: Iterable[str]) -> str:
    """The first few, each once, and how many more there are.

    >>> told_shortly(["a", "a", "b"])
    'a; b'
    """
    known = list(dict.fromkeys(items))
    if len(known) <= SHOWN + 1:
        return "; ".join(known)
    return f"{'; '.join(known[:SHOWN])}; and {len(known) - SHOWN} more"


def _labels_of(ground: Ground, test: Inspection) -> tuple[str, ...]:
    return tuple(fault.label or fault.id for fault in ground.conversion.faults if fault.id in test.settles)


def _worth(ground: Ground, spread: Fraction, saves: Fraction | None) -> str:
    currency = ground.catalogue.currency
    said = []
    if saves is not None:
        said.append(f"the looks that change it save {words.money(saves, currency)} on average together")
    if spread:
        said.append(f"the sum is off by {words.money(spread, currency)} on average until then")
    return f" ({'; '.join(said)})" if said else ""


def _off_by(ground: Ground, fault: Fault, route: Route) -> Fraction:
    """How far the sum is off on average because of this: 2 p (1 - p) c, the mean deviation of a cost c of odds p."""
    cost = ground.priced(fault.cash_hundredths, fault.hours_hundredths)
    reach = ground.closed(fault.reach)
    if not (fault.shows and reach <= set(route.tasks)):
        tasks: Iterable[str] = reach
        cost += sum(
            (ground.priced(ground.tasks[t].cash_hundredths, ground.tasks[t].hours_hundredths) for t in tasks),
            start=Fraction(0),
        )
    return 2 * fault.odds * (1 - fault.odds) * cost
