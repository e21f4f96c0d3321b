"""What a job built, for a complaint about it: its units and the lengths that were read on it."""

from __future__ import annotations

from dataclasses import replace

from graph.catalogue.model import Catalogue
from graph.complaints.enquiry import Enquiry, find_chain
from graph.costing.jobs.job import Job
from graph.errors import InvalidInput
from graph.fits.quantity import quantity_of


def with_job(enquiry: Enquiry, job: Job, catalogue: Catalogue) -> tuple[Enquiry, tuple[str, ...]]:
    """The enquiry with the job's units and readings, and what the reader is told. What the enquiry says itself wins;
    of two readings of one dimension the last holds."""
    used: dict[str, str] = {}
    unused: list[str] = []
    for one in job.measurements:
        chain = find_chain(one.what, catalogue)
        if chain is not None and _is_length(one.reading):
            used[chain.id] = one.reading
        else:
            unused.append(f"{one.what} {one.reading}")
    told = [f"Job {job.id} has no reading as built of a dimension that is known: the odds are wider for it."]
    if used:
        names = ", ".join(f"{catalogue.chain_kinds[chain].label} {text}" for chain, text in used.items())
        told = [f"Readings of job {job.id}: {names}."]
    if unused:
        told.append(f"Readings of the job that no cause is known by: {', '.join(unused[:8])}.")
    whole = replace(
        enquiry, gearbox=enquiry.gearbox or job.gearbox, engine=enquiry.engine or job.engine,
        measured={**used, **enquiry.measured},
    )  # fmt: skip
    return whole, tuple(told)


def _is_length(text: str) -> bool:
    try:
        quantity_of(text)
    except InvalidInput:
        return False
    return True
