"""What was ticked when a job was planned, as the job keeps it."""

from __future__ import annotations

from graph.costing.asking import CostedAnswer
from graph.costing.jobs.job import Job
from graph.costing.jobs.plan import Plan, find_renewals, plan_and_open
from graph.costing.notes import CostNotes, Provenance
from graph.costing.thaw import thaw
from graph.wear.model import WhileOut


def open_as_wished(
    notes: CostNotes, found: CostedAnswer, rank: int, title: str, provenance: Provenance, job: str = "",
    ticked: WhileOut | None = None, form: str = "",
) -> Job:  # fmt: skip
    """A job from the route of that rank with what the customer ticked among its steps. `form`: see `open_job`.
    Raises as `plan_and_open`."""
    return plan_and_open(notes, found, rank, title, provenance, job, ticked, ticked.steps if ticked else (), form)


def planned_renewals(plan: Plan) -> WhileOut | None:
    """The list as it stood when the job was planned; None where nobody asked for it. Raises Conflict if unreadable."""
    return _read(plan.renewals)


def renewals_of_job(notes: CostNotes, job: Job) -> WhileOut | None:
    """The same, by the job."""
    return _read(find_renewals(notes, job))


def _read(kept: object) -> WhileOut | None:
    return None if kept is None else thaw(WhileOut, kept)
