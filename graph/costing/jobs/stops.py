"""Stops of a job: where it can be halted, what is measured there and what that decides (facts/kinds/stops.csv)."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Protocol

from graph.catalogue.terms import TaskKind
from graph.costing.jobs.entries import check_open, job_entry
from graph.costing.jobs.job import Job
from graph.costing.notes import CostNote, Provenance
from graph.costing.priors import KINDS
from graph.errors import Conflict, InvalidInput, Problem


@dataclass(frozen=True, slots=True)
class StopKind:
    """A stop. `after`: tasks of which one makes a job have it, none: every job has it. `stands`: before, after or at,
    and the first or last step, of the tasks `by` it stands; none: of all."""

    id: str
    label: str
    after: tuple[str, ...]
    stands: str
    by: tuple[str, ...]
    measures: tuple[str, ...]
    decides: str
    source: str


@cache
def stop_table() -> tuple[StopKind, ...]:
    """All of them, in the order in which a job meets them."""
    with (KINDS / "stops.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(
            StopKind(
                row["stop"], row["label"], tuple(row["after"].split()), row["stands"], tuple(row["by"].split()),
                tuple(row["measures"].split(";")), row["decides"], row["source"],
            )
            for row in csv.DictReader(lines)
        )  # fmt: skip


def stops_of(tasks: Iterable[str], known: Mapping[str, TaskKind]) -> tuple[StopKind, ...]:
    """The stops of a job that does these tasks; one that stands in for another counts as that. `known`: tasks by id."""
    done = set(tasks)
    done |= {known[task].instead_of for task in done if task in known}
    return tuple(stop for stop in stop_table() if not stop.after or not done.isdisjoint(stop.after))


class Numbered(Protocol):
    """A step of a route or of a job."""

    @property
    def number(self) -> int:
        """From 1."""

    @property
    def source(self) -> str:
        """The task that it is of, or another id."""


def step_of_stop(stop: StopKind, steps: Sequence[Numbered], known: Mapping[str, TaskKind]) -> str:
    """Where among the steps a job stands at the stop, in words: "after step 6"; "" where no step tells."""

    def is_meant(step: Numbered) -> bool:
        task = known.get(step.source)
        return not stop.by or not {step.source, task.instead_of if task else ""}.isdisjoint(stop.by)

    numbers = [step.number for step in steps if is_meant(step)]
    side, _, end = stop.stands.partition(" ")
    return f"{side} step {numbers[0] if end == 'first' else numbers[-1]}" if numbers else ""


def stops_of_job(job: Job, known: Mapping[str, TaskKind]) -> tuple[StopKind, ...]:
    """The stops of a planned job."""
    return stops_of((step.source for step in job.steps), known)


def stop_label(stop: str) -> str:
    """The stop's name; "" for none."""
    return next((one.label for one in stop_table() if one.id == stop), stop)


def halt_entry(
    job: Job, stop: str, words: str, provenance: Provenance, tasks: Mapping[str, TaskKind]
) -> CostNote:  # fmt: skip
    """The job stands at a stop, and why; with "" it goes on, and `words` say what was decided. `tasks`: known, by id.

    Raises InvalidInput for a stop that this job does not have, Conflict where it is closed or goes on already.
    """
    check_open(job)
    known = {one.id: one.label for one in stops_of_job(job, tasks)}
    if stop and stop not in known:
        listed = ", ".join(f"{name} ({label})" for name, label in known.items())
        raise InvalidInput([Problem("stop", f"this job has no stop {stop[:80]!r}; it has {listed}")])
    if not stop and not job.stop:
        labels = "; ".join(known.values())
        raise Conflict(f"job {job.id!r} is under way and goes on already; to halt it, choose the stop: {labels}")
    return job_entry(job, {"entry": "halt", "stop": stop, "words": words}, provenance)
