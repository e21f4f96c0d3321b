"""The declaration: what was changed, in words an inspector or insurer reads, and where local rules must be asked.

It approves nothing. Of a planned job it prints what the fitter noted as built; before that it says that it is a plan.
"""

from __future__ import annotations

import csv
from functools import cache

from graph.answer.model.answer import Answer
from graph.answer.model.fit import MACHINING, MADE_SPECIALLY
from graph.answer.model.route import AnsweredRoute
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.model import Catalogue
from graph.complaints.readings import limits_words
from graph.costing.jobs.job import DONE_WELL, Job
from graph.papers.common import identity
from graph.papers.details import Details
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Points, Section, Table, Text

NO_APPROVAL = (
    "This paper says what was changed. It is no approval, no expert's report and no test certificate. Whether such a "
    "change needs approval, an inspection or an entry in the vehicle's papers, and what the insurer must be told, is "
    "settled by local law: ask the authority and a qualified person before the vehicle is used."
)
PLANNED = "AS PLANNED, NOT YET BUILT: to be put right by hand where it is built otherwise."
BUILT = "As noted by the fitter."
DONE = "As planned; the job is closed as done, and the fitter has noted no part otherwise."


def declaration(
    answer: Answer, route: AnsweredRoute, details: Details, job: Job | None = None, known: Catalogue | None = None
) -> Paper:
    """The paper. `job`: what was really fitted and measured; `known`: names what its record speaks of by id."""
    catalogue = known or Catalogue()
    sections = [
        identity(answer, details),
        _units(answer, details),
        _parts(route, job, catalogue),
        _worked(route),
        _touched(route),
        _measured(job, catalogue),
        Section("Approval, inspection and insurance", (Text(NO_APPROVAL),), caution=True),
        _signed(details),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    return Paper("Declaration of changes", title, details.number, details.dated, tuple(filter(None, sections)))


def _units(answer: Answer, details: Details) -> Section:
    rows = [
        ("Vehicle, its number", BLANK), ("Mileage or hours", BLANK),
        ("Engine now in it, its number", f"{answer.engine.label}; number:"),
        ("Gearbox now in it, its number", f"{answer.gearbox.label}; number:"), ("Gearbox before", BLANK),
    ]  # fmt: skip
    if details.vehicle:
        rows[0] = ("Vehicle, its number", f"{details.vehicle}; number:")
    return Section("Which units", (Facts(tuple(rows)),))


def _parts(route: AnsweredRoute, job: Job | None, known: Catalogue) -> Section:
    head, widths = ("Place", "Part fitted", "Number", "Condition"), (44, 70, 30, 30)
    if job is not None and job.as_built:
        rows = []
        for built in job.as_built:
            part, place = known.parts.get(built.part), known.position_kinds.get(built.position)
            rows.append((
                place.label if place else built.position, part.label if part else built.part,
                part.number if part else "", built.condition.replace("-", " ") or "not said",
            ))  # fmt: skip
        return Section("Parts that were changed", (Text(BUILT), Table(head, tuple(rows), widths)))
    planned = tuple((part.position, part.label, part.number, part.condition.replace("-", " ")) for part in route.parts)
    blocks: tuple[Block, ...] = (Table(head, planned, widths),) if planned else (Text("No part is changed."),)
    said = DONE if job is not None and job.outcome == DONE_WELL else PLANNED
    return Section("Parts that were changed", (Text(said), *blocks))


def _worked(route: AnsweredRoute) -> Section | None:
    made = [f"{joint.label}: {joint.way}" for joint in route.joints if joint.verdict in (MACHINING, MADE_SPECIALLY)]
    made += [f"Cannot be undone: {text}" for text in route.irreversible]
    return Section("Parts that were machined or made", (Points(tuple(dict.fromkeys(made))),)) if made else None


def _touched(route: AnsweredRoute) -> Section | None:
    tasks = set(route.tasks)
    points = [
        row["says"]
        for row in _points()
        if tasks & set(row["tasks"].split()) or any(_changed(one, route) for one in row["positions"].split())
    ]
    return Section("What else was touched", (Points(tuple(points), tick=True),)) if points else None


def _changed(position: str, route: AnsweredRoute) -> bool:
    """Whether the route fits another part there than was found."""
    fitted = {part.part for part in route.parts}
    return route.picks.get(position, "").partition("/")[2] in fitted


def _measured(job: Job | None, known: Catalogue) -> Section | None:
    if job is None or not job.measurements:
        return None
    rows = tuple(
        (one.what, one.reading, limits_words(one.what, one.reading, known), one.tool, one.by)
        for one in job.measurements
    )
    head = ("What", "Reading", "Limit", "Tool", "Who")
    return Section("Measured as built", (Table(head, rows, (50, 30, 50, 28, 18)),))


def _signed(details: Details) -> Section:
    rows = (("Built by", details.shop), ("Place, date, signature", BLANK), ("Handed over to", details.customer))
    return Section("Signed", (Facts(rows), Blank("Remarks of the inspector", 3)))


@cache
def _points() -> tuple[dict[str, str], ...]:
    with (FACTS_FOLDER / "kinds" / "declaration_points.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines))
