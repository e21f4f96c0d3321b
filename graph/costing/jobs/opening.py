"""A chosen route becomes a job, and a job finds its route again among those of a fresh answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import RENEWAL, Step
from graph.costing.jobs.job import Job, get_job
from graph.costing.jobs.numbering import keep_numbered, read_number
from graph.costing.notes import JOB, CostNote, CostNotes, Provenance, made_note
from graph.errors import Conflict


def plan_job(
    answer: Answer, route: AnsweredRoute, title: str, provenance: Provenance, job: str = "",
    book: Mapping[str, int] | None = None, signs: Mapping[str, str] | None = None,
) -> CostNote:  # fmt: skip
    """The note that opens a job from a route of an answer. `job`: the shop's own number; left out, the job is given a
    running one when it is opened.

    `book`: per task, candidate or link its hours before anything was learnt, where they differ from the answer's.
    `signs`: known before opening, sign -> state. Raises InvalidInput for a number that cannot be one.
    """
    name, before = read_number(job), book or {}
    doubts = [line for line in route.assumptions if line.fault]
    body: dict[str, object] = {
        "title": title, "gearbox": answer.gearbox.id, "engine": answer.engine.id, "summary": route.summary,
        "currency": answer.currency, "rate": str(Decimal(answer.rate_hundredths) / 100), "total": str(route.total),
        "picks": dict(route.picks), "links": dict(route.links), "tasks": list(route.tasks),
        "faults": [*(fault.fault for fault in route.faults), *(line.fault for line in doubts)],
        "doubts": {line.fault: {"text": line.text, "counts_as": line.counts_as} for line in doubts},
        "signs": dict(signs or {}),
        "from_shelf": [
            {"part": part.part, "position": part.position} for part in route.parts if part.in_stock and not part.in_hand
        ],
        "steps": [
            {
                "number": step.number, "stage": step.stage, "text": step.text, "source": step.source,
                "hours_hundredths": step.hours_hundredths, "edges": list(step.edges),
                "book_hundredths": _book(step, before),
            }
            for step in route.steps
        ],
    }  # fmt: skip
    return made_note(JOB, name, body, replace(provenance, job=name))


def _book(step: Step, before: Mapping[str, int]) -> int:
    """The hours that actual ones are learnt against; none of what was renewed besides, which no route is made of."""
    if not step.hours_hundredths or step.source_kind == RENEWAL:
        return 0
    return before.get(step.source, step.hours_hundredths)


def open_job(notes: CostNotes, plan: CostNote, besides: Sequence[CostNote] = (), form: str = "") -> Job:
    """Keeps a plan, with the notes `besides` or not at all, and hands back its job; of one sent twice (`form`: the key
    of the form or request, and who sent it) the job that is there.

    Raises NumberTaken if the shop has a job of that number already, SentBefore if another one came of the form.
    """
    return get_job(notes, keep_numbered(notes, [plan, *besides], form))


def route_of_job(job: Job, answer: Answer) -> AnsweredRoute:
    """The route of a fresh answer that the job was planned on. Raises Conflict if it is no longer among them."""
    for route in answer.routes:
        if dict(route.picks) == dict(job.picks or {}) and dict(route.links) == dict(job.links or {}):
            return route
    raise Conflict(
        f"job {job.id!r} was planned on a route that is no longer among the answer's; ask for more alternatives, "
        "or plan the job again"
    )
