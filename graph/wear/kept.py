"""What was ticked when a job was planned, as the job keeps it."""

from __future__ import annotations

from graph.costing.jobs import Job
from graph.costing.notes import CostNotes
from graph.costing.plan import Plan, find_renewals
from graph.costing.thaw import thaw
from graph.wear.model import WhileOut


def planned_renewals(plan: Plan) -> WhileOut | None:
    """The list as it stood when the job was planned; None where nobody asked for it. Raises Conflict if unreadable."""
    return _read(plan.renewals)


def renewals_of_job(notes: CostNotes, job: Job) -> WhileOut | None:
    """The same, by the job."""
    return _read(find_renewals(notes, job))


def _read(kept: object) -> WhileOut | None:
    return None if kept is None else thaw(WhileOut, kept)
