"""A paper of a kind from an answer with the shop's record: the one call that API and command line share."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from graph.answer.model import AnsweredRoute
from graph.costing.asking import CostedAnswer, route_at, spread_at
from graph.costing.found import found_options
from graph.costing.jobs import get_job, route_of_job
from graph.costing.notes import CostNotes
from graph.costing.prices import find_source
from graph.costing.shop import list_prices, list_stock
from graph.errors import NotFound
from graph.papers.build_record import build_record
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.job_sheet import job_sheet
from graph.papers.model import BUILD_RECORD, JOB_SHEET, KINDS, Paper


def make_paper(
    kind: str, found: CostedAnswer, rank: int, details: Details, notes: CostNotes, job: str, today: date
) -> Paper:
    """The paper of a route of the answer. `job`: the number of a planned job, whose own route is then taken.

    Raises NotFound for kind, rank or job; Conflict if the job's route is no longer among the answer's.
    """
    if kind not in KINDS:
        raise NotFound("kind of paper", kind, KINDS)
    known = get_job(notes, job) if job else None
    route = route_of_job(known, found.answer) if known is not None else route_at(found.answer, rank)
    if kind == JOB_SHEET:
        return job_sheet(found.answer, route, details, known)
    if kind == BUILD_RECORD:
        return build_record(found.answer, route, details, known)
    options = found_options(found.conversion, route.picks, route.tasks)
    quoted = replace(details, quoted=(*details.quoted, *quoted_words(route, notes, found.answer.currency, today)))
    return estimate(found.answer, route, quoted, options, spread_at(found, route))


def quoted_words(route: AnsweredRoute, notes: CostNotes, currency: str, today: date) -> tuple[str, ...]:
    """Where each part's price is from: date, supplier, core deposit, and whether it is stale."""
    words = []
    for part in route.parts:
        source = find_source(part.part, list_prices(notes, part.part), list_stock(notes, part.part), currency, today)
        if source is not None:
            words.append(f"{part.label}: {source.why}")
    return tuple(words)
