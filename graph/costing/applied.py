"""The catalogue as the shop's own record makes it: its prices and shelf, its bench rate, its hours, its odds.

Facts say what is known of the trade; this puts what the shop has found out in their place, and keeps a list of what
the reader must be told. Nothing is written back: taking a note back changes the next answer.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterable, Mapping, MutableMapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import cast

from graph.catalogue.layered import OnDemand, changed_table
from graph.catalogue.measurements import evidence_rank
from graph.catalogue.model import Catalogue, Edge, Fault, Note, Task
from graph.costing.hours import learnt_hours
from graph.costing.jobs import CONTRADICTED, hours_records
from graph.costing.notes import EVIDENCE, CostNote, CostNotes, standing
from graph.costing.odds import BetaOdds, odds_text
from graph.costing.prices import half_up, priced_catalogue
from graph.costing.priors import fault_at_position, findings_by_fault, load_signs
from graph.costing.rates import BENCH
from graph.costing.shop import list_findings, list_prices, list_rates, list_stock, list_sublets
from graph.costing.signs import SignedOdds, SignRatio, odds_given_signs
from graph.costing.works import with_rates, with_sublets
from graph.errors import InvalidQuestion, Problem
from graph.reading.near import near_matches

STRENGTH = Fraction(4)  # boxes that a stated figure is worth against the shop's own count (working estimate)
TEN_THOUSANDTHS = 10_000  # odds are handed on to this, so that a document carries them exactly


@dataclass(frozen=True, slots=True)
class Costed:
    """The catalogue with the shop's record in it. `odds`: before signs; `signed`: after.

    `signs`: known before opening. `told_of`: what the reader must be told, by the part, fault or task that it is about.
    """

    catalogue: Catalogue
    odds: Mapping[str, BetaOdds]
    signed: Mapping[str, SignedOdds] = field(default_factory=dict)
    told_of: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    signs: Mapping[str, str] = field(default_factory=dict)

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
    known = signs or {}
    ratios = load_signs()
    check_signs(known, ratios)
    priced, stale = priced_catalogue(catalogue, list_prices(notes), list_stock(notes), today)
    odds = catalogue_odds(catalogue, notes)
    signed = OnDemand(odds, lambda fault: _signed(catalogue.faults[fault], odds[fault], known, ratios))
    told: dict[str, tuple[str, ...]] = {part: (words,) for part, words in stale.items()}
    result = _with_evidence(_with_hours(priced, notes), notes)
    if known or list_findings(notes):
        result = replace(result, faults=OnDemand(result.faults, lambda fault: _with_odds(catalogue, fault, signed)))
    rates = list_rates(notes)
    for rate in rates:
        if rate.kind == BENCH and rate.currency == catalogue.currency:
            result = replace(result, rate_hundredths=rate.hundredths)
    result, sent_out = with_sublets(result, list_sublets(notes))
    result, charged = with_rates(result, rates)
    for task in sorted({*sent_out, *charged}):
        told[task] = tuple(words[task] for words in (sent_out, charged) if task in words)
    of_faults = OnDemand(catalogue.faults, lambda fault: _told_of_fault(catalogue.faults[fault], odds, signed))
    return Costed(result, odds, signed, ChainMap(told, cast("MutableMapping[str, tuple[str, ...]]", of_faults)), known)


def _told_of_fault(
    fault: Fault, odds: Mapping[str, BetaOdds], signed: Mapping[str, SignedOdds]
) -> tuple[str, ...] | None:
    if fault.id not in odds:
        return None
    beta = odds[fault.id]
    counted = (f"{fault.label}: {odds_text(beta)}",) if beta.opened else ()
    assumed = (signed[fault.id].assumed,) if signed[fault.id].assumed else ()
    return (*counted, *assumed)


def catalogue_odds(catalogue: Catalogue, notes: CostNotes) -> Mapping[str, BetaOdds]:
    """The odds of the catalogue's faults: what the facts state as prior, the shop's findings counted in.

    Each is reckoned when it is asked for: a trade has tens of thousands of faults, a question a handful.
    """
    findings = findings_by_fault(list_findings(notes))

    def learnt(name: str) -> BetaOdds | None:
        fault = catalogue.faults[name]
        if not 0 < fault.odds < 1:
            return None
        prior = BetaOdds(name, fault.odds, STRENGTH, fault.source or "common practice")
        return prior.with_findings(findings.get(name, ()))

    return OnDemand(catalogue.faults, learnt)


def check_signs(known: Mapping[str, str], ratios: list[SignRatio]) -> None:
    """Raises InvalidQuestion for a sign, or a state of it, that no likelihood ratio is stated for."""
    states: dict[str, list[str]] = {}
    for ratio in ratios:
        states.setdefault(ratio.sign, []).append(ratio.state)
    problems = []
    for sign, state in known.items():
        if sign not in states:
            near = ", ".join(near_matches(sign, states)) or ", ".join(sorted(states))
            problems.append(Problem(f"signs.{sign}", f"no such sign; near: {near}"))
        elif state not in states[sign]:
            expected = ", ".join(sorted(set(states[sign])))
            problems.append(Problem(f"signs.{sign}", f"expected one of {expected}, found {state!r}"))
    if problems:
        raise InvalidQuestion(problems)


def _signed(fault: Fault, odds: BetaOdds, known: Mapping[str, str], ratios: list[SignRatio]) -> SignedOdds:
    """Ratios are stated for the table's faults; a fault of the facts takes those of its position."""
    named = fault_at_position().get(fault.position, fault.id)
    own = [replace(ratio, fault=fault.id) for ratio in ratios if ratio.fault in (named, fault.id)]
    return odds_given_signs(odds, known, own)


def _with_odds(catalogue: Catalogue, name: str, signed: Mapping[str, SignedOdds]) -> Fault:
    fault = catalogue.faults[name]
    odds = signed.get(name)
    if odds is None or odds.after == fault.odds:
        return fault
    return replace(fault, odds=Fraction(half_up(odds.after * TEN_THOUSANDTHS), TEN_THOUSANDTHS))


def _with_hours(catalogue: Catalogue, notes: CostNotes) -> Catalogue:
    records = hours_records(notes)
    if not records:
        return catalogue
    learnt = learnt_hours({task.id: task.hours_hundredths for task in catalogue.tasks.values()}, records)
    tasks = {name: _moved_to(task, learnt[task.id].expected_hundredths) for name, task in catalogue.tasks.items()}
    return replace(catalogue, tasks=tasks)


def _moved_to(task: Task, hundredths: int) -> Task:
    """The task with other hours; the ends of its range move in proportion."""
    if hundredths == task.hours_hundredths or not task.hours_hundredths:
        return task
    factor = Fraction(hundredths, task.hours_hundredths)
    low, high = (
        None if end is None else half_up(end * factor)
        for end in (task.low_hours_hundredths, task.high_hours_hundredths)
    )
    return replace(task, hours_hundredths=hundredths, low_hours_hundredths=low, high_hours_hundredths=high)


def _with_evidence(catalogue: Catalogue, notes: CostNotes) -> Catalogue:
    """Edges that jobs rested on rest on the job's note, if that is better known than before, or contradicted last."""
    last: dict[str, CostNote] = {note.about: note for note in standing(notes, kind=EVIDENCE)}
    edges: dict[str, Edge] = {}
    known: dict[str, Note] = {}
    for about, said in last.items():
        edge = catalogue.edges.get(about)
        if edge is None or not _outweighs(catalogue, said.evidence, edge):
            continue
        before = catalogue.notes.get(edge.note)
        known[said.id] = _job_note(said, before)
        edges[about] = replace(edge, note=said.id, evidence=said.evidence)
    if not edges:
        return catalogue
    return replace(
        catalogue, edges=changed_table(catalogue.edges, edges, ()), notes=changed_table(catalogue.notes, known, ())
    )


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
