"""From a complaint to the joint: weighs what was said, found and measured, and says what to look at next.

Where gearbox and engine are named, the odds of what the shop's facts and record know of them are used, and its prices;
what nobody has priced is said to be not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from graphlib import TopologicalSorter

from graph.answer import words
from graph.catalogue.model import StatedFault
from graph.complaints.enquiry import YES, Enquiry, ReadLength, check, lengths_read, state_of
from graph.complaints.model import OUTSIDE, Cause, Test, Trade
from graph.complaints.network import Belief, Network
from graph.complaints.order import Weighed, suspects_of, weigh_tests
from graph.complaints.verdict import ComplaintVerdict, DoubtedCause, NextTest, Suspect
from graph.exact import HUNDREDTHS
from graph.lookups.index import CatalogueIndex
from graph.reading.tasks import UnitTasks, assembly_shared

FOUND_AT = 0.9  # common practice: sure enough to act on, and to look at once it is laid open
DOUBTED_BELOW = 0.03  # less often than one time in thirty beside all else that was said
SHOWN_SUSPECTS, SHOWN_TESTS, MOVES = 8, 10, 1.15  # a finding that moves odds by less than this ratio goes unmentioned
Unsaid = Mapping[str, Mapping[str, float]]  # per complaint and answer, the odds of each cause without it
CAUTIONS = (
    "Wheels blocked, parking brake on, gear out before the engine is turned or a switch is made by hand.",
    "Nobody under the car while it is only on a jack; hands clear of fan, flywheel and starter.",
    "A car that will not release or drops out of gear is not driven on the road to try it. Local rules and a licensed"
    " mechanic come before this list.",
)


def judge(enquiry: Enquiry, index: CatalogueIndex, trade: Trade, notes: Sequence[str] = ()) -> ComplaintVerdict:
    """The verdict. `index`: with the shop's own odds, prices and hours. Raises NotFound and InvalidInput."""
    check(enquiry, index, trade)
    lengths = lengths_read(enquiry.measured, index.catalogue)
    faults = faults_here(enquiry, index, trade)
    plain = Network(trade, {}, {cause: float(fault.odds) for cause, fault in faults.items() if 0 < fault.odds < 1})
    read = {cause: state for cause in trade.causes if (state := state_of(trade.causes[cause], lengths))}
    network = Network(trade, {cause: trade.readings[state] for cause, (state, _) in read.items()}, plain.priors)
    given = (*enquiry.complaints, *(one for one, answer in enquiry.findings.items() if answer == YES))
    absent = tuple(one for one, answer in enquiry.findings.items() if answer != YES)
    belief = Belief(network, tuple(dict.fromkeys(given)), absent)
    wrong = [cause for cause, (state, _) in read.items() if state == OUTSIDE]
    suspects = tuple(dict.fromkeys((*suspects_of(trade, enquiry.complaints), *wrong)))
    opening = Opening(index, enquiry)
    weighed = weigh_tests(belief, suspects, opening.opens)
    ranked = sorted(suspects, key=lambda one: (-belief.odds[one], one))
    before = Belief(plain, (), ()).odds
    unsaid = {node: belief.without(node).odds for node in (*belief.present, *belief.absent)}
    standing = tuple(
        _suspect(trade.causes[one], belief, unsaid, before[one], index, faults.get(one), read.get(one))
        for one in ranked[:SHOWN_SUSPECTS]
    )
    found = belief.odds[ranked[0]] >= FOUND_AT
    return ComplaintVerdict(
        tuple(trade.complaints[one].label for one in dict.fromkeys(enquiry.complaints)),
        _summary(standing, found, weighed), found, standing, belief.none_of(suspects),
        tuple(_next_test(one, trade, suspects, opening) for one in weighed[:SHOWN_TESTS]),
        tuple(_doubted(belief)), (*notes, *_notes(enquiry, lengths, faults)), CAUTIONS,
    )  # fmt: skip


class Opening:
    """What must be opened for a test beyond what is open, as such a job is parted."""

    def __init__(self, index: CatalogueIndex, enquiry: Enquiry):
        self._index, self._work = index, UnitTasks(index, enquiry.units, assembly_shared(index, enquiry.units))
        self._open = {task.id for task in self._work.closed(enquiry.opened)}

    def tasks(self, test: Test) -> tuple[tuple[str, int], ...]:
        """Name and hours (hundredths) of each task that is still to be done for the test."""
        known = [one for one in test.needs if one in self._index.catalogue.tasks]
        tasks = {task.id: task for task in self._work.closed(known)}
        order = TopologicalSorter({one: self._work.after(one) for one in tasks}).static_order()
        return tuple((tasks[one].label, tasks[one].hours_hundredths) for one in order if one not in self._open)

    def opens(self, test: Test) -> dict[str, float]:
        """The same with minutes instead of hours."""
        return {label: hours * 60 / HUNDREDTHS for label, hours in self.tasks(test)}


def faults_here(enquiry: Enquiry, index: CatalogueIndex, trade: Trade) -> dict[str, StatedFault]:
    """Per cause of a worn part, what the shop's facts know of that fault in these very units."""
    lines = [one for unit in enquiry.units for one in ("", *index.lineage(unit))]
    found: dict[str, StatedFault] = {}
    for cause in trade.causes.values() if enquiry.units else ():
        known = [fault for of in dict.fromkeys(lines) for fault in index.faults_at(cause.position, of)]
        if cause.fault and known:
            found[cause.id] = min(known, key=lambda fault: fault.id)
    return found


def _suspect(
    cause: Cause, belief: Belief, unsaid: Unsaid, before: float, index: CatalogueIndex, fault: StatedFault | None,
    read: tuple[str, ReadLength] | None,
) -> Suspect:  # fmt: skip
    known = index.catalogue
    speaks_for, speaks_against = _moved_by(cause, belief, unsaid)
    if read is not None:
        state, length = read
        reading = f"{length.chain.label} {length.text}, {state}"
        (speaks_for if belief.network.ratios[cause.id] > 1 else speaks_against).append(reading)
    joint, position = known.joint_kinds.get(cause.joint), known.position_kinds.get(cause.position)
    return Suspect(
        cause.id, cause.label, joint.label if joint else "", position.label if position else "", belief.odds[cause.id],
        before, tuple(speaks_for), tuple(speaks_against), cause.remedy, cause.looks_like, _price(fault, index),
        cause.source,
    )  # fmt: skip


def _moved_by(cause: Cause, belief: Belief, unsaid: Unsaid) -> tuple[list[str], list[str]]:
    """Which of what was said raises the odds of the cause, and which lowers them: left out, they would be others."""
    trade, speaks_for, speaks_against = belief.network.trade, [], []
    for node, odds in unsaid.items():
        ratio = _ratio(belief.odds[cause.id]) / _ratio(odds[cause.id])
        if ratio > MOVES:
            speaks_for.append(_said(node, node in belief.present, trade))
        elif ratio < 1 / MOVES:
            speaks_against.append(_said(node, node in belief.present, trade))
    return speaks_for, speaks_against


def _ratio(odds: float) -> float:
    kept = min(max(odds, 1e-9), 1 - 1e-9)
    return kept / (1 - kept)


def _said(node: str, yes: bool, trade: Trade) -> str:
    if node in trade.complaints:
        return trade.complaints[node].label
    return f"{trade.tests[node].asks} {'Yes' if yes else 'No'}"


def _price(fault: StatedFault | None, index: CatalogueIndex) -> str:
    if fault is None:
        return "not known, nobody has stated it"
    currency = index.catalogue.currency
    opened = words.listed([index.catalogue.tasks[one].label for one in index.laid_open_by(fault.id)])
    hours = "hours not stated" if fault.hours_hundredths is None else words.hours(fault.hours_hundredths)
    price = "price not stated" if fault.cash_hundredths is None else words.cash(fault.cash_hundredths, currency)
    own = f"{price} and {hours}"
    return f"{own}{f', once open: {opened}' if opened else ''}"


def _next_test(weighed: Weighed, trade: Trade, suspects: Sequence[str], opening: Opening) -> NextTest:
    test, tasks = weighed.test, opening.tasks(weighed.test)
    return NextTest(
        test.id, test.asks, test.how, test.minutes, tuple(label for label, _ in tasks),
        sum(hours for _, hours in tasks), weighed.share, _likeliest(weighed.after_yes, trade, suspects),
        _likeliest(weighed.after_no, trade, suspects), test.source,
    )  # fmt: skip


def _likeliest(odds: Mapping[str, float], trade: Trade, suspects: Iterable[str]) -> str:
    first = min(suspects, key=lambda one: (-odds[one], one))
    return f"{trade.causes[first].label}, {words.likelihood(odds[first])}"


def _doubted(belief: Belief) -> Iterable[DoubtedCause]:
    """What would hardly come beside all the rest; the hardest to believe first."""
    trade, found = belief.network.trade, []
    for node in belief.present:
        other = trade.tests[node].not_with if node in trade.tests else ""
        if other > node and other in belief.present:
            said = f"{trade.tests[node].asks} {trade.tests[other].asks}"
            found.append(
                DoubtedCause(said, 0.0, f"{said} Both cannot be so: one of the two answers is wrong; look again")
            )
    for node in (*belief.present, *belief.absent):
        rest = belief.without(node)
        odds = belief.chance / rest.chance
        if len(belief.present) + len(belief.absent) > 1 and odds < DOUBTED_BELOW:
            said = _said(node, node in belief.present, trade)
            found.append(DoubtedCause(said, odds, f"{said}: hard to believe beside the rest; ask or look again"))
    return sorted(found, key=lambda one: (one.odds, one.said))


def _summary(standing: Sequence[Suspect], found: bool, weighed: Sequence[Weighed]) -> str:
    first = standing[0]
    where = f" ({first.joint})" if first.joint else ""
    if found:
        return f"{first.label}{where}: {words.likelihood(first.odds)}. {first.remedy}."
    lead = f"Likeliest: {first.label}{where}, {words.likelihood(first.odds)}"
    if not weighed:
        return f"{lead}. No test of the table tells more; what is left is to open it and look."
    test = weighed[0].test
    return f"{lead}; not sure enough to act on. Next: {test.asks} ({test.how})"


def _notes(enquiry: Enquiry, lengths: Sequence[ReadLength], faults: Mapping[str, StatedFault]) -> Iterable[str]:
    if not enquiry.units:
        yield "Gearbox and engine are not named: the odds are estimates of the trade, and no price of the shop counts."
    elif not faults:
        yield "The shop's facts know no worn part of these units: the odds are estimates of the trade."
    if not lengths:
        yield "No reading of the job as built is used, so a length that is wrong is neither found nor ruled out."
    yield "Odds are estimates, not measurements; several causes may be there at once."
