"""The build record that stays with the gearbox: what is inside, whatever the housing says."""

from __future__ import annotations

from collections.abc import Sequence

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.answer.sums import hours_of_step, hours_of_work
from graph.answer.words import hours
from graph.catalogue.model import Catalogue
from graph.complaints.readings import limits_words
from graph.costing.jobs.job import AsBuilt, Job
from graph.papers.common import demands_section, identity, lengths_section
from graph.papers.cut import cut_section
from graph.papers.details import Details
from graph.papers.lines import unnamed_parts
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Points, QrCode, Section, Table, Text
from graph.papers.sheets import rows_of


def build_record(
    answer: Answer, route: AnsweredRoute, details: Details, job: Job | None = None, known: Catalogue | None = None,
    ticked: Sequence[Step] = (),
) -> Paper:  # fmt: skip
    """The paper. `job`: what was really fitted, found and measured; without one it is the plan, and says so. `known`:
    names what the job's record speaks of by id. `ticked`: the steps with what was renewed besides, if anything."""
    known = known or Catalogue()
    sections = [
        _page(details),
        identity(answer, details),
        _inside(route, job, known),
        _work_done(route, tuple(ticked) or route.steps, job),
        _changed(route),
        demands_section(route),
        lengths_section(route, details.units),
        cut_section(route),
        _measured(job, known),
        _found(job, known),
        _settings(),
        _care(answer),
        _next_time(route, job),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    kept = tuple(section for section in sections if section is not None)
    return Paper("Build record", title, details.number, details.dated, kept)


def _page(details: Details) -> Section | None:
    if not details.address:
        return None
    return Section("This record's page", (QrCode(details.address, f"Record {details.number}"),))


def _care(answer: Answer) -> Section:
    return Section("For whoever opens it next", (Points(answer.cautions),), caution=True)


def _inside(route: AnsweredRoute, job: Job | None, known: Catalogue) -> Section:
    head = ("Place", "Part", "Number", "Condition", "Remark")
    widths = (34, 44, 26, 26, 40)
    if job is not None and job.as_built:
        built = tuple(_built_row(each, known) for each in job.as_built)
        words = "Inside, although the housing may say otherwise. As noted by the fitter."
        return Section("What is inside", (Text(words), Table(head, built, widths)))
    planned = (
        *((part.position, part.label, part.number, part.condition.replace("-", " "), BLANK) for part in route.parts),
        *((part.place, part.label, "", "unknown", BLANK) for part in unnamed_parts(route)),
    )
    words = "Inside, although the housing may say otherwise. As planned: correct it by hand where it differs."
    return Section("What is inside", (Text(words), Table(head, planned, widths), Blank("Built differently", 2)))


def _built_row(built: AsBuilt, known: Catalogue) -> tuple[str, ...]:
    part, place = known.parts.get(built.part), known.position_kinds.get(built.position)
    condition = known.part_conditions.get(built.condition)
    return (
        place.label if place else built.position, part.label if part else built.part, part.number if part else "",
        condition.label if condition else built.condition, built.remark,
    )  # fmt: skip


def _work_done(route: AnsweredRoute, steps: Sequence[Step], job: Job | None) -> Section:
    noted = (job.actual_hundredths if job else None) or {}
    rows = tuple(
        (
            str(step.number), step.text, hours_of_step(step),
            hours(noted[step.number]) if step.number in noted else "",
        )
        for step in steps
    )  # fmt: skip
    head = ("No", "Work", "Planned", "Actual")
    total = ("", "Total", hours_of_work(route, steps), hours(sum(noted.values())) if noted else "")
    return Section("Work done", (Table(head, rows, (8, 130, 22, 22), (2, 3), total),))


def _changed(route: AnsweredRoute) -> Section | None:
    items = [f"Cannot be undone: {text}" for text in route.irreversible]
    items += [f"{joint.label}: {joint.way} ({joint.verdict})" for joint in route.joints]
    items += [f"Gained: {feature.label}" for feature in route.features_gained]
    return Section("How it was joined, and what was changed for good", (Points(tuple(items)),)) if items else None


def _measured(job: Job | None, known: Catalogue) -> Section | None:
    if job is None or not job.measurements:
        return None
    rows = tuple(
        (each.what, each.reading, limits_words(each.what, each.reading, known), each.datum, each.tool, each.by)
        for each in job.measurements
    )
    head = ("What", "Reading", "Limit", "From (datum)", "Tool", "Who")
    return Section("Measured", (Table(head, rows, (40, 24, 42, 28, 28, 14)),))


def _found(job: Job | None, known: Catalogue) -> Section | None:
    if job is None or not job.findings:
        return None
    rows = tuple(
        (
            job.words_of_fault(found.fault, known.faults),
            "yes" if found.laid_open else "no",
            _state(found.laid_open, found.worn),
            found.author,
        )
        for found in job.findings
    )  # fmt: skip
    return Section("Found", (Table(("Looked for", "Laid open", "State", "Who"), rows, (60, 24, 40, 30)),))


def _state(laid_open: bool, worn: bool) -> str:
    return "not seen" if not laid_open else "worn, put right" if worn else "within limits"


def _settings() -> Section:
    rows = tuple((row["what"], BLANK) for row in rows_of("settings"))
    return Section("Settings as left", (Facts(rows),))


def _next_time(route: AnsweredRoute, job: Job | None) -> Section:
    remarks = job.remarks if job is not None else ()
    blocks: list[Block] = [Points(remarks)] if remarks else []
    blocks.append(Blank("What the next one should know", 3))
    blocks.append(Facts((("Built by, date", BLANK), ("Looked at again", BLANK))))
    return Section("Next time", tuple(blocks))
