"""What a route moves, what it leaves to chance, and where the money goes."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from graph.answer import margins, words
from graph.answer.ground import Ground
from graph.answer.model.doubt import FaultLine
from graph.answer.model.fit import Shift, SideEffect
from graph.answer.model.route import CostSplit
from graph.answer.model.work import SEND_OUT, Step
from graph.answer.steps import changes_something
from graph.conversion.document import Candidate, Chain, Fault, Link
from graph.reading.model import length_doubt
from graph.search.result import Route


def side_effects(ground: Ground, route: Route, picked: Iterable[Candidate | Link]) -> tuple[SideEffect, ...]:
    """Every dimension of the conversion after this route, in the document's order, with its margin."""
    everything = tuple(picked)
    choices = tuple(choice for choice in everything if choice.shifts_um and changes_something(ground, choice))
    doubts = margins.doubts_of(ground, route)
    return tuple(
        _not_known(ground, chain, everything, choices)
        if chain.id in route.unmeasured
        else _side_effect(ground, chain, route.chains_um[chain.id], choices, doubts.get(chain.id, margins.EXACT))
        for chain in ground.conversion.chains
    )


def _side_effect(
    ground: Ground, chain: Chain, value_um: int, choices: tuple[Candidate | Link, ...], doubt: margins.LengthsInDoubt
) -> SideEffect:
    below = None if chain.low_um is None else value_um - chain.low_um
    above = None if chain.high_um is None else chain.high_um - value_um
    margin = min((m for m in (below, above) if m is not None), default=None)
    moved_by = _moved_by(ground, chain, choices)
    return SideEffect(
        chain=chain.id, label=chain.label, value_um=value_um, low_um=chain.low_um, high_um=chain.high_um,
        margin_um=margin, words=_effect_words(chain, value_um, margin, moved_by, doubt), moved_by=moved_by,
        worst_case_um=doubt.worst_um if doubt.stated else None, rss_um=doubt.rss_um if doubt.stated else None,
        measure_again=doubt.again,
        how_surely=margins.how_surely(margin, doubt),
        verdict=margins.verdict_of(margin, doubt), to_confirm=margins.to_confirm(chain.label, margin, doubt),
    )  # fmt: skip


def _moved_by(ground: Ground, chain: Chain, choices: tuple[Candidate | Link, ...]) -> tuple[Shift, ...]:
    return tuple(
        Shift(choice.id, ground.thing(choice), choice.shifts_um[chain.id])
        for choice in choices
        if choice.shifts_um.get(chain.id)
    )


def _not_known(
    ground: Ground, chain: Chain, picked: tuple[Candidate | Link, ...], choices: tuple[Candidate | Link, ...]
) -> SideEffect:
    """A sum that lacks a length is none, whatever the rest comes to: what is missing is said in place of it."""
    missing = tuple(dict.fromkeys(
        length for choice in picked if chain.id in choice.unmeasured for length in _missing(ground, chain, choice)
    ))  # fmt: skip
    named = f"not known: nobody has stated or measured {words.listed(missing)}"
    return SideEffect(
        chain=chain.id, label=chain.label, value_um=None, low_um=chain.low_um, high_um=chain.high_um, margin_um=None,
        words=f"{named}; allowed {limits(chain.low_um, chain.high_um)}", moved_by=_moved_by(ground, chain, choices),
        how_surely=margins.NOT_KNOWN, verdict=margins.NOT_KNOWN, to_confirm=f"{chain.label}: {named}", missing=missing,
    )  # fmt: skip


def _missing(ground: Ground, chain: Chain, choice: Candidate | Link) -> list[str]:
    """The lengths that this choice leaves open: the quantities that would close it, else what it adds altogether."""
    parts = choice.via if isinstance(choice, Link) else (choice.part,)
    wanted = [one for one in ground.doubt(length_doubt(chain.id)).settles if one.quantity and one.of in parts]
    known = ground.catalogue.quantities
    labels = [known[one.quantity].label if one.quantity in known else one.quantity for one in wanted]
    owners = [ground.whose(one.of) for one in wanted]
    named = [f"{label} of {of.label}" if of else label for label, of in zip(labels, owners, strict=True)]
    return named or [f"what {ground.thing(choice)} adds"]


def _effect_words(
    chain: Chain, value_um: int, margin_um: int | None, moved_by: tuple[Shift, ...], doubt: margins.LengthsInDoubt
) -> str:
    text = f"{words.millimetres(value_um)}; allowed {limits(chain.low_um, chain.high_um)}"
    text += margins.margin_words(margin_um, doubt)
    if moved_by:
        text += f"; {words.listed(shares(value_um, moved_by))}"
    return text


def shares(value_um: int, moved_by: tuple[Shift, ...]) -> list[str]:
    """What the value is made of, so that it can be added up: all that stays, then each thing that moves it.

    >>> shares(4000, (Shift("bell", "bell housing", -150_000),))
    ['154.0 mm of what stays', '-150.0 mm by bell housing']
    """
    stays = value_um - sum(shift.shift_um for shift in moved_by)
    moved = (f"{words.millimetres(shift.shift_um, signed=True)} by {shift.label}" for shift in moved_by)
    return [f"{words.millimetres(stays)} of what stays", *moved]


def limits(low_um: int | None, high_um: int | None) -> str:
    """The allowed range in words.

    >>> limits(2000, None), limits(None, None), limits(3000, 5000)
    ('from 2.0 mm', 'any', '3.0 mm to 5.0 mm')
    """
    if low_um is not None and high_um is not None:
        return f"{words.millimetres(low_um)} to {words.millimetres(high_um)}"
    if low_um is not None:
        return f"from {words.millimetres(low_um)}"
    return f"up to {words.millimetres(high_um)}" if high_um is not None else "any"


def fault_lines(ground: Ground, route: Route) -> tuple[FaultLine, ...]:
    """Each fault: gone with its part, seen because the route lays it open, or left unseen (ROUTES: what it costs)."""
    done = frozenset(route.tasks)
    picked = {*route.picks.values(), *route.links.values()}
    return tuple(
        _fault_line(ground, route, fault, done) if not fault.on else _due_line(ground, fault)
        for fault in ground.conversion.faults
        if not fault.on or (fault.odds == 1 and not picked.isdisjoint(fault.on))
    )


def _due_line(ground: Ground, fault: Fault) -> FaultLine:
    """A doubt that is known to have failed; those that may hold are the route's assumptions."""
    repair = ground.priced(fault.cash_hundredths, fault.hours_hundredths)
    missing = ground.doubt(fault.id).unpriced
    known = ground.sum_words(fault.cash_hundredths, fault.hours_hundredths) if repair or not missing else "nothing yet"
    text = f"due: known before work starts, {known} in the sum"
    text += f", because it is not stated: {words.listed(missing)}" if missing else ""
    return FaultLine(
        fault=fault.id, label=fault.label or fault.id, odds=fault.odds, state="due", repair=repair,
        expected=Fraction(0), words=text,
    )  # fmt: skip


def _fault_line(ground: Ground, route: Route, fault: Fault, done: frozenset[str]) -> FaultLine:
    repair = ground.priced(fault.cash_hundredths, fault.hours_hundredths)
    reach = ground.closed(fault.reach)
    odds, to_put_right = words.percent(fault.odds), ground.sum_words(fault.cash_hundredths, fault.hours_hundredths)
    if not ground.candidates[route.picks[fault.position]].as_found:
        state, expected, text = "gone", Fraction(0), "gone: the part is changed"
    elif fault.shows and reach <= done:
        state, expected = "seen", fault.odds * repair
        text = f"seen while it is open: {odds} likely, then {to_put_right} to put right"
    else:
        state, expected = "unseen", fault.odds * repair
        tasks = [ground.tasks[task] for task in reach]
        again = ground.sum_words(sum(t.cash_hundredths for t in tasks), sum(t.hours_hundredths for t in tasks))
        text = f"not seen: {odds} likely, then {to_put_right} to put right and up to {again} to get there again"
    return FaultLine(
        fault=fault.id, label=fault.label or fault.id, odds=fault.odds, state=state, repair=repair,
        expected=expected, words=text,
    )  # fmt: skip


def cost_split(ground: Ground, route: Route, steps: Iterable[Step]) -> CostSplit:
    """The expected cost as parts, sublet, bench and likely faults; the four sum to `route.expected` exactly."""
    sent_out = sum(s.cash_hundredths for s in steps if s.stage == SEND_OUT and not s.order)
    bench = Fraction(ground.conversion.rate_hundredths * route.hours_hundredths, 10_000)
    return CostSplit(
        parts=Fraction(route.cash_hundredths - sent_out, 100),
        sublet=Fraction(sent_out, 100),
        bench=bench,
        likely_faults=route.expected - route.total,
    )
