"""A paper of a kind from an answer with the shop's record: the one call that API and command line share."""

from __future__ import annotations

from dataclasses import replace

from graph.answer.model.route import AnsweredRoute
from graph.catalogue.model import Catalogue
from graph.costing.asking import CostedAnswer, route_at
from graph.costing.jobs.job import Job, get_job
from graph.costing.jobs.opening import route_of_job
from graph.costing.jobs.plan import Plan, changed_since, find_plan, plan_of
from graph.costing.notes import CostNotes
from graph.costing.tax import find_tax
from graph.errors import Conflict, InvalidInput, NotFound, Problem
from graph.papers.build_record import build_record
from graph.papers.declaration import declaration
from graph.papers.details import Details
from graph.papers.estimate import PRICE, estimate
from graph.papers.job_sheet import ORDER_OF_WORK, job_sheet
from graph.papers.model import BUILD_RECORD, DECLARATION, ESTIMATE, JOB_SHEET, KINDS, Paper, Points, Section
from graph.papers.renewals import offered_section, to_do_section, wished_section
from graph.wear import WhileOut, planned_renewals

UNITS_ASKED = ("gearbox", "engine")


def make_paper(
    kind: str, found: CostedAnswer | None, rank: int, details: Details, notes: CostNotes, job: str = "",
    known: Catalogue | None = None, renewals: WhileOut | None = None,
) -> Paper:  # fmt: skip
    """The paper of a route of the answer. `job`: the number of a planned job, whose own plan is then printed, with
    what has changed since; `found` may be None for it, where the question can no longer be asked. `known`: names what
    the job's record speaks of, and the workshop where the details do not. `renewals`: what the customer ticked, and may
    tick, for estimate and job sheet.

    A job's papers have what was ticked when it was planned.

    Raises NotFound for kind, rank or job; Conflict if the plan of the job was not kept and its route is gone;
    InvalidInput for a paper that has no place for what is ticked, and for a job that is about other units.
    """
    if kind not in KINDS:
        raise NotFound("kind of paper", kind, KINDS)
    at = get_job(notes, job) if job else None
    kept = find_plan(notes, at) if at is not None else None
    if kept is not None and found is not None:
        _check_same_units(kept, found, job)
    plan = kept or _fresh_plan(found, rank, at)
    headed = with_tax(_headed(details, kind, known), notes)
    ticked = renewals if kept is None else planned_renewals(kept)
    paper = _paper(kind, plan, headed, at, known, ticked)
    if renewals is not None and kind not in (ESTIMATE, JOB_SHEET):
        raise InvalidInput([Problem("renew", f"has no place on a {kind}; print it on the {ESTIMATE} or {JOB_SHEET}")])
    if ticked is not None:
        paper = _with_renewals(kind, paper, ticked, headed)
    changed = changed_since(kept, found) if kept is not None else ()
    return _with_changes(paper, changed) if changed and kind != DECLARATION else paper


def _check_same_units(plan: Plan, found: CostedAnswer, job: str) -> None:
    asked = [(name, str(found.answer.question.get(name)), str(plan.answer.question.get(name))) for name in UNITS_ASKED]
    wrong = [
        Problem(
            f"question.{name}", f"is {now}, but job {job} was planned for {then}; ask about that, or leave out the job"
        )
        for name, now, then in asked
        if now != then
    ]
    if wrong:
        raise InvalidInput(wrong)


def _headed(details: Details, kind: str, known: Catalogue | None) -> Details:
    """With the workshop's name at the head, where the details name none; the job sheet stays in the house."""
    if kind == JOB_SHEET or known is None or details.shop:
        return details
    return replace(details, shop=known.workshop)


def with_tax(details: Details, notes: CostNotes) -> Details:
    """The details with the tax that the shop's record states, where they state none themselves."""
    tax = find_tax(notes)
    return details if tax is None or details.tax_percent is not None else replace(details, tax_percent=tax.percent)


def _fresh_plan(found: CostedAnswer | None, rank: int, known: Job | None) -> Plan:
    if found is None:
        raise Conflict("the facts no longer know what was asked about; ask about gearbox and engine that they know")
    return plan_of(found, route_at(found.answer, rank) if known is None else route_of_job(known, found.answer))


def _paper(
    kind: str, plan: Plan, details: Details, job: Job | None, known: Catalogue | None, ticked: WhileOut | None
) -> Paper:
    steps = ticked.steps if ticked else ()
    if kind == JOB_SHEET:
        return job_sheet(plan.answer, plan.route, details, job, known.tasks if known else {}, steps)
    if kind == DECLARATION:
        return declaration(plan.answer, plan.route, details, job, known)
    if kind == BUILD_RECORD:
        return build_record(plan.answer, plan.route, details, job, known, steps)
    quoted = replace(details, quoted=(*details.quoted, *quoted_words(plan.route)))
    return estimate(plan.answer, plan.route, quoted, plan.options, plan.spread, ticked is not None)


def _with_renewals(kind: str, paper: Paper, found: WhileOut, details: Details) -> Paper:
    """After the price on the estimate, after the order of work on the job sheet; a build record says what was done."""
    if kind == JOB_SHEET:
        return _after(paper, ORDER_OF_WORK, to_do_section(found))
    if kind == ESTIMATE:
        return _after(paper, PRICE, wished_section(found, details), offered_section(found))
    return paper


def _after(paper: Paper, heading: str, *more: Section | None) -> Paper:
    sections = list(paper.sections)
    at = next((place for place, one in enumerate(sections, start=1) if one.heading == heading), len(sections))
    return replace(paper, sections=(*sections[:at], *(one for one in more if one is not None), *sections[at:]))


def quoted_words(route: AnsweredRoute) -> tuple[str, ...]:
    """Where each part's price is from: date, supplier, core deposit, and whether it is stale."""
    return tuple(f"{part.label}: {part.price_source}" for part in route.parts if part.price_source)


def _with_changes(paper: Paper, changed: tuple[str, ...]) -> Paper:
    """The changes stand right after whose job it is, so that nobody overlooks them."""
    first, *rest = paper.sections
    return replace(paper, sections=(first, Section("Changed since it was planned", (Points(changed),)), *rest))
