"""Weighs a used gearbox: odds of what is worn inside by what was found outside, the next check, and what it is worth.

Odds are exact in the network of the tables (`graph/complaints/network.py`); a hard life wears several parts together.
What is expected to be put right counts an opening that several parts need once, the parts taken as independent once the
checks are known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from graph.answer import words
from graph.answer.measuring_sheet import BOX_SIDE, measuring_sheet
from graph.catalogue.near import near_matches
from graph.complaints.enquiry import NO, YES
from graph.complaints.model import Test, Trade
from graph.complaints.network import Belief, Network
from graph.complaints.order import Weighed, weigh_tests
from graph.costing.odds import TEN_THOUSANDTHS
from graph.costing.prices import half_up
from graph.costing.spread import FaultCost, Spread, fault_spread
from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS
from graph.identify.units import identify_unit
from graph.lookups.index import CatalogueIndex
from graph.used_box.inside import GEARBOX, Inside
from graph.used_box.model import CheckLine, TellApart, UsedBox, UsedBoxVerdict, WornLine
from graph.used_box.tables import used_box_tables
from graph.used_box.worth import cautions, summary_of, worth_of

MOST_TELLING = 5
MOST_ASKED_HUNDREDTHS = 10**9  # the most that any price may be
ESTIMATES = "Odds are estimates for used gearboxes of unknown history, unless the shop's own stand beside them."


def weigh_used_box(asked: UsedBox, index: CatalogueIndex) -> UsedBoxVerdict:
    """The verdict. `index`: with the shop's own odds, prices and hours. Raises NotFound and InvalidInput."""
    trade = used_box_tables()
    _check(asked, index, trade)
    inside = Inside(index, asked.gearbox)
    network = _network(trade, inside)
    present = tuple(one for one, said in asked.found.items() if said == YES)
    belief = Belief(network, present, tuple(one for one in asked.found if one not in present))
    if belief.chance < 1e-12:
        told = "these answers cannot all be right together; look once more at what was found last"
        raise InvalidInput([Problem("found", told)])
    before = Belief(network, (), ()).odds
    spoken = tuple(one for one in inside.faults if one in network.trade.causes)
    weighed = weigh_tests(belief, spoken, lambda test: {})
    spread = _spread(inside, belief.odds)
    worn = _worn(inside, before, belief.odds)
    part = index.catalogue.parts[asked.gearbox]
    least, telling = any(line.lacks for line in worn), {one.test.id for one in weighed}
    usual = _spread(inside, before).mean
    worth, worth_words = worth_of(asked, part, index.catalogue, spread.mean, usual, least)
    return UsedBoxVerdict(
        gearbox=asked.gearbox, label=part.label, currency=index.catalogue.currency,
        variants=_variants(index, asked.gearbox), tell_apart=_tell_apart(index, asked.gearbox),
        checks=(
            *(_check_line(one, trade, inside, belief.odds) for one in weighed),
            *(_said(test, "") for name, test in trade.tests.items() if name not in asked.found and name not in telling),
        ),
        answered=tuple(_said(trade.tests[one], said) for one, said in asked.found.items()), worn=worn,
        repairs=spread.mean, repairs_p90=spread.quantile(Fraction(9, 10)),
        repairs_before=usual, at_least=least, worth=worth, worth_words=worth_words,
        bring_home=tuple(one for one in measuring_sheet() if one.side in BOX_SIDE), not_known=tuple(inside.not_known),
        summary=summary_of(worn, spread.mean, least, index.catalogue.currency), notes=_notes(worn, inside),
        cautions=cautions(),
    )  # fmt: skip


def _check(asked: UsedBox, index: CatalogueIndex, trade: Trade) -> None:
    known = index.catalogue.parts.get(asked.gearbox)
    if known is None or GEARBOX not in index.kinds_of(known.kind):
        raise NotFound("gearbox", asked.gearbox, near_matches(asked.gearbox, index.units(GEARBOX)))
    for name, said in asked.found.items():
        if name not in trade.tests:
            raise NotFound("check", name, near_matches(name, trade.tests))
        if said not in (YES, NO):
            raise InvalidInput([Problem(f"found.{name}", f"expected yes or no, found {said!r}")])
        other = trade.tests[name].not_with
        if said == YES and other and asked.found.get(other) == YES:
            raise InvalidInput([Problem(f"found.{name}", f"cannot be yes together with {trade.tests[other].asks!r}")])
    if asked.asking_hundredths is not None and not 0 <= asked.asking_hundredths <= MOST_ASKED_HUNDREDTHS:
        raise InvalidInput([Problem("asking", f"expected 0 or more, up to {MOST_ASKED_HUNDREDTHS // HUNDREDTHS:,}")])


def _network(trade: Trade, inside: Inside) -> Network:
    """The table's network of what this box has. What a shared cause adds is taken off first, so that the odds before
    any look are those stated."""
    shared = [one for one in trade.causes if one not in inside.faults and not trade.causes[one].fault]
    causes = {name: cause for name, cause in trade.causes.items() if name in inside.faults or name in shared}
    priors = {}
    for name, fault in inside.faults.items():
        if name in causes:
            alone = 1 - float(fault.odds)
            for one in shared:
                alone /= 1 - trade.causes[one].prior * trade.brings[one].get(name, 0.0)
            priors[name] = min(max(1 - alone, 1e-6), 1 - 1e-6)
    brings = {
        name: {to: chance for to, chance in links.items() if to in causes or to in trade.tests}
        for name, links in trade.brings.items()
        if name in causes
    }
    return Network(Trade({}, causes, trade.tests, brings, {}), {}, priors)


def _odds_of(name: str, inside: Inside, odds: Mapping[str, float]) -> float:
    """What no check speaks of keeps the odds that are stated."""
    return odds.get(name, float(inside.faults[name].odds))


def _spread(inside: Inside, odds: Mapping[str, float]) -> Spread:
    exact = {
        name: Fraction(half_up(Fraction(_odds_of(name, inside, odds)) * TEN_THOUSANDTHS), TEN_THOUSANDTHS)
        for name in inside.faults
    }
    faults = [
        FaultCost(name, exact[name], inside.own(fault), fault.reach)
        for name, fault in inside.faults.items()
        if exact[name] > 0
    ]
    return fault_spread(Fraction(0), faults, inside.task_costs())


def _worn(inside: Inside, before: Mapping[str, float], odds: Mapping[str, float]) -> tuple[WornLine, ...]:
    costs = inside.task_costs()
    lines = [
        WornLine(
            name, fault.label, fault.renews, _odds_of(name, inside, before), _odds_of(name, inside, odds),
            inside.own(fault) + sum((costs[task] for task in fault.reach), Fraction(0)), inside.lacks(fault),
            fault.source,
        )
        for name, fault in inside.faults.items()
    ]  # fmt: skip
    return tuple(sorted(lines, key=lambda line: (-line.odds, line.id)))


def _check_line(weighed: Weighed, trade: Trade, inside: Inside, odds: Mapping[str, float]) -> CheckLine:
    test = weighed.test

    def said(after: Mapping[str, float]) -> str:
        moved = max(inside.faults, key=lambda one: (abs(after.get(one, 0) - odds.get(one, 0)), one))
        now, then = words.likelihood(odds.get(moved, 0)), words.likelihood(after.get(moved, 0))
        return f"{trade.causes[moved].label}: {now} becomes {then}" if moved in trade.causes else ""

    return CheckLine(
        test.id, test.asks, test.how, test.minutes, "", weighed.share, said(weighed.after_yes), said(weighed.after_no),
        test.source,
    )  # fmt: skip


def _said(test: Test, said: str) -> CheckLine:
    return CheckLine(test.id, test.asks, test.how, test.minutes, said, 0.0, "", "", test.source)


def _variants(index: CatalogueIndex, gearbox: str) -> tuple[str, ...]:
    return tuple(index.catalogue.parts[one].label for _, one in index.descent(gearbox))


def _tell_apart(index: CatalogueIndex, gearbox: str) -> tuple[TellApart, ...]:
    """What tells the variants of the family apart; nothing for a family of one, or of which nothing is measured."""
    family = next((one for one in (*index.lineage(gearbox)[1:], gearbox) if len(index.descent(one)) > 1), "")
    if not family:
        return ()
    try:
        steps = identify_unit(index, family, {}).next_steps
    except InvalidInput:
        return ()
    parts = index.catalogue.parts

    def pointing(ids: Sequence[str]) -> str:
        return words.listed([parts[one].label for one in ids[:6]])

    return tuple(
        TellApart(
            step.label, step.how, step.minutes,
            tuple(f"{finding}: {pointing(ids)}" for finding, ids in step.outcomes[:8]),
        )
        for step in [one for one in steps if len(one.outcomes) > 1][:MOST_TELLING]
    )  # fmt: skip


def _notes(worn: tuple[WornLine, ...], inside: Inside) -> tuple[str, ...]:
    notes = [ESTIMATES]
    lacking = [f"{line.renews}: {words.listed(line.lacks)}" for line in worn if line.lacks]
    if lacking:
        notes.append(f"Not stated, so in no sum: {'; '.join(lacking)}.")
    if inside.not_known:
        notes.append(f"Nobody says whether there is one: {words.listed(list(inside.not_known))}.")
    return tuple(notes)
