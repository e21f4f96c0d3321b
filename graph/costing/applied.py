"""The catalogue as the shop's own record makes it: its prices and shelf, its bench rate, its hours, its odds.

Facts say what is known of the trade; this puts what the shop has found out in their place, and keeps a list of what
the reader must be told. Nothing is written back: taking a note back changes the next answer.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Callable, Iterable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import cast

from graph.catalogue.layered import Joined, OnDemand, Revised
from graph.catalogue.measurements import evidence_rank
from graph.catalogue.model import Catalogue, Edge, Note, OperationPrice, Part, StatedFault
from graph.catalogue.terms import TaskKind
from graph.costing.causes import CommonCauses
from graph.costing.hours import ShopHours
from graph.costing.jobs.closing import CONTRADICTED, hours_of
from graph.costing.joints import joint_odds, with_joint_odds
from graph.costing.notes import CostNote, CostNotes
from graph.costing.odds import STRENGTH, TEN_THOUSANDTHS, BetaOdds, boxes_counted, odds_text
from graph.costing.prices import half_up, priced_part
from graph.costing.priors import fault_at_position, load_priors_once, load_shares, load_signs
from graph.costing.rates import BENCH
from graph.costing.record import Record, holding
from graph.costing.shop import finding_of
from graph.costing.signs import SignedOdds, SignRatio, check_signs, odds_given_signs
from graph.costing.works import with_rates, with_sublets


@dataclass(frozen=True, slots=True)
class Costed:
    """The catalogue with the shop's record in it. `odds`: before signs; `signed`: after.

    `signs`: known before opening. `told_of`: what the reader must be told, by the part, fault or task that it is about.
    `joint_odds`: that a joint nobody has stated does not close, by the key that findings of such are counted under.
    """

    catalogue: Catalogue
    odds: Mapping[str, BetaOdds]
    signed: Mapping[str, SignedOdds] = field(default_factory=dict)
    told_of: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    signs: Mapping[str, str] = field(default_factory=dict)
    joint_odds: Mapping[str, BetaOdds] = field(default_factory=dict)

    @property
    def told(self) -> tuple[str, ...]:
        """All of it, each line once."""
        return tuple(dict.fromkeys(line for lines in self.told_of.values() for line in lines))

    def told_about(self, ids: Iterable[str]) -> tuple[str, ...]:
        """What is told of these, each line once."""
        return tuple(dict.fromkeys(line for each in ids for line in self.told_of.get(each, ())))


def costed_catalogue(
    catalogue: Catalogue, notes: CostNotes, today: date, signs: Mapping[str, str] | None = None
) -> Costed:
    """The catalogue with the shop's record. `signs`: what is known before opening (sign -> state).

    Raises InvalidQuestion for a sign or state that no ratio is stated for.
    """
    record = Record().after(notes)
    return costed_by(record, catalogue, work_costed(catalogue, record), today, signs)


def costed_by(
    record: Record, catalogue: Catalogue, work: WorkCosted, today: date, signs: Mapping[str, str] | None = None
) -> Costed:
    """The same from a record that is known already, and from what it makes of the work (`work_costed`).

    Parts, edges and faults are looked at one by one, when an answer asks for them.
    """
    known, ratios = signs or {}, load_signs()
    check_signs(known, ratios)
    odds = _odds(catalogue, record)
    signed = OnDemand(odds, lambda fault: _signed(catalogue.faults[fault], odds[fault], known, ratios))
    result = replace(
        catalogue, tasks=work.tasks, operation_prices=work.operation_prices, rate_hundredths=work.rate_hundredths,
        fitting_hours=work.fitting_hours,
    ) if work.is_other_than(catalogue) else catalogue  # fmt: skip
    if known or record.findings:
        result = replace(result, faults=OnDemand(result.faults, lambda fault: _with_odds(catalogue, fault, signed)))
    result = replace(result, common_causes=CommonCauses(known, ratios, load_shares()))
    joints = joint_odds(catalogue, record)
    result = _with_evidence(with_joint_odds(result, joints), record)
    of_parts: Mapping[str, tuple[str, ...]] = {}
    if record.priced:
        priced = record.priced
        parts = Revised(result.parts, priced, lambda part: _priced(part, record, catalogue, today)[0])
        of_parts = OnDemand(priced, lambda part: _told_of_part(part, record, catalogue, today))
        result = replace(result, parts=parts)
    of_faults = OnDemand(catalogue.faults, lambda fault: _told_of_fault(catalogue.faults[fault], odds, signed))
    told = (dict(work.told), of_parts, of_faults)
    of_all = ChainMap(*cast("list[MutableMapping[str, tuple[str, ...]]]", told))
    return Costed(result, odds, signed, of_all, known, joints)


@dataclass(frozen=True, slots=True)
class WorkCosted:
    """What the record makes of tasks, operations, fitting and the bench rate, with what is told of tasks."""

    tasks: Mapping[str, TaskKind]
    operation_prices: Mapping[str, OperationPrice]
    rate_hundredths: int
    fitting_hours: Callable[[str, int], int] | None = None
    told: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def is_other_than(self, catalogue: Catalogue) -> bool:
        """Is any of it another than the catalogue's?"""
        same = self.tasks is catalogue.tasks and self.operation_prices is catalogue.operation_prices
        return not same or self.rate_hundredths != catalogue.rate_hundredths or self.fitting_hours is not None


def work_costed(catalogue: Catalogue, record: Record) -> WorkCosted:
    """Hours as learnt, work sent out at its price, each kind of work at its rate."""
    result, rates = _with_hours(catalogue, record), record.list_rates()
    for rate in rates:
        if rate.kind == BENCH and rate.currency == catalogue.currency:
            result = replace(result, rate_hundredths=rate.hundredths)
    result, sent_out = with_sublets(result, record.list_sublets())
    result, charged = with_rates(result, rates)
    shop = result.fitting_hours
    learnt = {task.id: shop.words for task in result.tasks.values() if task.hours_hundredths} \
        if isinstance(shop, ShopHours) else {}  # fmt: skip
    told = {task: tuple(words[task] for words in (learnt, sent_out, charged) if task in words)
            for task in sorted({*learnt, *sent_out, *charged})}  # fmt: skip
    return WorkCosted(result.tasks, result.operation_prices, result.rate_hundredths, result.fitting_hours, told)


def _priced(part: Part, record: Record, catalogue: Catalogue, today: date) -> tuple[Part, str]:
    return priced_part(part, record.prices.get(part.id, ()), record.stock(part.id), catalogue.currency, today)


def _told_of_part(name: str, record: Record, catalogue: Catalogue, today: date) -> tuple[str, ...] | None:
    part = catalogue.parts.get(name)
    words = "" if part is None else _priced(part, record, catalogue, today)[1]
    return (words,) if words else None


def _told_of_fault(
    fault: StatedFault, odds: Mapping[str, BetaOdds], signed: Mapping[str, SignedOdds]
) -> tuple[str, ...] | None:
    if fault.id not in odds:
        return None
    beta = odds[fault.id]
    counted = (f"{fault.label}: {odds_text(beta)}",) if beta.opened else ()
    assumed = (signed[fault.id].assumed,) if signed[fault.id].assumed else ()
    return (*counted, *assumed)


def _odds(catalogue: Catalogue, record: Record) -> Mapping[str, BetaOdds]:
    """The odds of the catalogue's faults: what the facts state as prior, the shop's findings counted in.

    Each is reckoned when it is asked for: a trade has tens of thousands of faults, a question a handful.
    """
    ratios = load_signs()

    def learnt(name: str) -> BetaOdds | None:
        fault = catalogue.faults[name]
        if not 0 < fault.odds < 1:
            return None
        prior = BetaOdds(name, fault.odds, boxes_behind(fault), fault.source or "common practice")
        return prior.with_findings(map(finding_of, record.findings.get(name, ())), _own_ratios(fault, ratios))

    return OnDemand(catalogue.faults, learnt)


def _signed(fault: StatedFault, odds: BetaOdds, known: Mapping[str, str], ratios: Sequence[SignRatio]) -> SignedOdds:
    """Ratios are stated for the table's faults; a fault of the facts takes those of its position."""
    return odds_given_signs(odds, known, _own_ratios(fault, ratios))


def _own_ratios(fault: StatedFault, ratios: Sequence[SignRatio]) -> list[SignRatio]:
    named = fault_at_position().get(fault.position, fault.id)
    return [replace(ratio, fault=fault.id) for ratio in ratios if ratio.fault in (named, fault.id)]


def boxes_behind(fault: StatedFault) -> Fraction:
    """How many boxes the stated odds are worth: as many as their source counts (`5 worn of 12 opened`), else what the
    table of priors says for the position, else STRENGTH."""
    tabled = load_priors_once().get(fault_at_position().get(fault.position, fault.id))
    return boxes_counted(fault.source, tabled.strength if tabled else STRENGTH)


def _with_odds(catalogue: Catalogue, name: str, signed: Mapping[str, SignedOdds]) -> StatedFault:
    fault = catalogue.faults[name]
    odds = signed.get(name)
    if odds is None or odds.after == fault.odds:
        return fault
    return replace(fault, odds=Fraction(half_up(odds.after * TEN_THOUSANDTHS), TEN_THOUSANDTHS))


def _with_hours(catalogue: Catalogue, record: Record) -> Catalogue:
    records = [hours_of(note) for said in record.hours.values() for note in said]
    if not records:
        return catalogue
    shop = ShopHours.of(records)
    tasks = {
        name: _moved_to(task, shop.learnt(task.id, task.hours_hundredths).expected_hundredths)
        if task.hours_hundredths is not None else task
        for name, task in catalogue.tasks.items()
    }  # fmt: skip
    return replace(catalogue, tasks=tasks, fitting_hours=shop)


def _moved_to(task: TaskKind, hundredths: int) -> TaskKind:
    """The task with other hours; the ends of its range move in proportion."""
    if hundredths == task.hours_hundredths or not task.hours_hundredths:
        return task
    factor = Fraction(hundredths, task.hours_hundredths)
    low, high = (
        None if end is None else half_up(end * factor)
        for end in (task.low_hours_hundredths, task.high_hours_hundredths)
    )
    return replace(task, hours_hundredths=hundredths, low_hours_hundredths=low, high_hours_hundredths=high)


def _with_evidence(catalogue: Catalogue, record: Record) -> Catalogue:
    """Edges that jobs rested on rest on the job's note, if that is better known than before, or contradicted last."""
    if not record.evidence:
        return catalogue

    def rested(edge: Edge) -> Edge:
        said = holding(record.evidence[edge.id])
        outweighs = _outweighs(catalogue, said.evidence, edge)
        return replace(edge, note=said.id, evidence=said.evidence) if outweighs else edge

    def job_note(name: str) -> Note | None:
        said = holding(record.evidence[record.known_by[name]])
        edge = catalogue.edges.get(said.about)
        if edge is None or not _outweighs(catalogue, said.evidence, edge):
            return None
        return _job_note(said, catalogue.notes.get(edge.note))

    edges, notes = Revised(catalogue.edges, record.evidence, rested), OnDemand(record.known_by, job_note)
    return replace(catalogue, edges=edges, notes=Joined(catalogue.notes, notes))


def _outweighs(catalogue: Catalogue, level: str, edge: Edge) -> bool:
    if level == CONTRADICTED:
        return True
    note = catalogue.notes.get(edge.note)
    stated = edge.evidence or (note.evidence if note else "")
    return evidence_rank(catalogue, level) < evidence_rank(catalogue, stated)


def _job_note(said: CostNote, before: Note | None) -> Note:
    words = f"Job {said.job}: {said.evidence.replace('-', ' ')}."
    if said.body.get("words"):
        words += f" {said.body['words']}"
    if before is not None:
        words += f" Before: {before.text}"
    return Note(said.id, words, said.evidence, said.author, said.made_on, said.method, said.job)
