"""What a route takes for given though nobody has stated it, each with how surely and what it would cost.

In the words of the reading's doubts where there is one; of a document that came by itself, in its own labels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from graph.answer import words
from graph.answer.ground import Ground
from graph.answer.model.doubt import DUE, SEEN, UNSEEN, AssumptionLine, PlaceNamed
from graph.answer.model.lines import Named
from graph.answer.settling import settling_lines, takes_result
from graph.conversion.document import CandidateOrLink, Fault, Link
from graph.conversion.known import doubts_of
from graph.reading.model import Doubt
from graph.reading.untold import CARRIAGE, CONSUMABLES
from graph.search.priced import expected_with
from graph.search.result import Route

TELLING = 10  # of what is assumed or to be measured, one by one; the JSON has all
SHOWN = 4  # of the readings that settle one thing; the JSON has all
WHATEVER_COMES = "what it costs if it does not hold"  # of what no doubt speaks of
NO_ODDS = "odds"  # among what a doubt names as not known
DEADLINE = "The deadline of {days} is met only if what is assumed holds."


def assumption_lines(ground: Ground, route: Route) -> tuple[AssumptionLine, ...]:
    """Each doubt that sits on the route's picks, what is due first and then the most telling, by how far the sum is off
    because of it; then the picks and lengths that no doubt speaks of."""
    picked = picks_of(route)
    on_it = [fault for fault in ground.conversion.faults if _is_assumed(ground, fault, picked)]
    spoken = {choice for fault in on_it for choice in fault.on}
    deviation = {fault.id: off_by(ground, fault, route) for fault in on_it}
    lines = [_of_doubt(ground, route, fault, picked) for fault in on_it]
    lines.sort(key=lambda line: (line.state != DUE, -deviation[line.fault], line.odds is None))
    missing = figures_missing(ground, route)
    lines[:0] = [
        _of_figure(ground, text, whats, list(dict.fromkeys(one for what in whats for one in missing[what])))
        for text, whats in _told_together(missing)
    ]
    spoken |= {choice for choices in missing.values() for choice in choices}
    lines += [_of_pick(ground, choice) for choice in route.assumed if choice not in spoken]
    open_picks = [choice for choice in sorted(picked - spoken) if ground.choice(choice).unmeasured]
    lines += [_of_length(ground, choice) for choice in open_picks if choice not in route.assumed]
    return tuple(lines)


def figures_missing(ground: Ground, route: Route) -> dict[str, list[str]]:
    """Hours and prices of the route's work that nobody has stated, in words, each with the choices that it is of."""
    found: dict[str, list[str]] = {}
    for choice in sorted(picks_of(route)):
        tasks = ground.closed(ground.choice(choice).tasks)
        of_tasks = (what for task in sorted(tasks) for what in ground.untold_of_task(task))
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


def picks_of(route: Route) -> frozenset[str]:
    """The ids of all that the route picks, candidates and links."""
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
        unpriced=(*missing, *(one for one in no_rate if one not in missing)),
        settles=settling_lines(ground, fault, said),
        takes_result=takes_result(ground, said, open_places), counts_as=said.counts_as, places=open_places,
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


def _told_together(missing: Iterable[str]) -> list[tuple[str, tuple[str, ...]]]:
    """The texts of the figures that are missing, each with those it speaks of: the consumables of many tasks are one
    thing to find out, as is the carriage of many visits."""
    together: dict[str, list[str]] = {}
    for what in missing:
        start = next((one for one in (CONSUMABLES, CARRIAGE) if what.startswith(one)), what)
        together.setdefault(start, []).append(what)
    return [
        (start if whats == [start] else start + told_shortly(one.removeprefix(start) for one in whats), tuple(whats))
        for start, whats in together.items()
    ]


def _of_figure(ground: Ground, text: str, whats: tuple[str, ...], choices: list[str]) -> AssumptionLine:
    """What comes whatever is found, and how much of it nobody has stated."""
    picks = tuple(_named_choice(ground, choice) for choice in choices)
    told = f"{text}: nobody has stated it, so it is in no sum"
    return replace(
        _bare_pick(ground, picks[0], told), picks=picks, text=text, state=DUE, is_figure=True, unpriced=whats
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
    takes = takes_result(ground, said, open_places)
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


def told_shortly(items: Iterable[str]) -> str:
    """The first few, each once, and how many more there are.

    >>> told_shortly(["a", "a", "b"])
    'a; b'
    """
    known = list(dict.fromkeys(items))
    if len(known) <= SHOWN + 1:
        return "; ".join(known)
    return f"{'; '.join(known[:SHOWN])}; and {len(known) - SHOWN} more"


def off_by(ground: Ground, fault: Fault, route: Route) -> Fraction:
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
