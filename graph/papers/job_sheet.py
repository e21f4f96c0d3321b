"""The job sheet: what the fitter measures, does in order, stops at, and writes down."""

from __future__ import annotations

from graph.answer.assumed import shortly
from graph.answer.model import MACHINING, MADE_SPECIALLY, SEND_OUT, Answer, AnsweredRoute, Step
from graph.answer.words import days, hours
from graph.costing.jobs import Job, JobMeasurement
from graph.papers.common import (
    assumptions_section,
    blanks,
    caution_section,
    demands_section,
    identity,
    lengths_section,
    safety_lines,
)
from graph.papers.details import Details
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Points, Section, Table, Text
from graph.papers.sheets import rows_of
from graph.reading.conditions import TO_CONFIRM


def job_sheet(answer: Answer, route: AnsweredRoute, details: Details, job: Job | None = None) -> Paper:
    """The paper. `job`: its measurements and hours so far are printed in; without one their fields are blank."""
    sections = [
        identity(answer, details),
        caution_section(answer, route, safety_lines()),
        assumptions_section(answer, route),
        _stop_points(route),
        _measuring(job.measurements if job else ()),
        demands_section(route),
        lengths_section(route, details.units),
        _order_of_work(route, job),
        _to_get(route),
        *_sketches(route),
        _settings(),
        _faults(route),
        _after(),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    kept = tuple(section for section in sections if section is not None)
    return Paper("Job sheet", title, details.number, details.dated, kept)


def _stop_points(route: AnsweredRoute) -> Section:
    stops = [
        f"Stop before step {step.number} ({step.text}): it cannot be undone. Do not cut before sign-off."
        for step in route.steps
        if step.irreversible
    ]
    stops += [f"Before work starts, find out: {line.text}" for line in shortly(route.assumptions)]
    stops += [f"Before parts are ordered: {text}" for text in route.to_confirm]
    stops += [
        f"Step {step.number}: {condition.text} ({condition.state})"
        for step in route.steps
        for condition in step.conditions
        if condition.state == TO_CONFIRM
    ]
    stops.append("Last 10 mm of closing: stop and look; the gearbox must reach the block by hand.")
    stops.append("Found worse than the estimate allows for: stop and call.")
    signed = Facts((("Signed off by, date", BLANK),))
    return Section("Stop points", (Points(tuple(stops), tick=True), signed), caution=True)


def _measuring(measured: tuple[JobMeasurement, ...]) -> Section:
    noted = {each.what.casefold(): each for each in measured}
    rows = []
    for row in rows_of("measuring_sheet"):
        done = noted.pop(row["what"].casefold(), None)
        reading, by = (done.reading, done.by) if done else ("", "")
        rows.append((row["side"], row["what"], row["datum"], row["tool"], reading, "", by))
    rows += [("job", each.what, each.datum, each.tool, each.reading, "", each.by) for each in noted.values()]
    head = ("Side", "What", "From (datum)", "Tool", "First, with unit", "Second", "Who")
    words = "Clean faces, parts at room temperature. Write every reading with its unit (mm, in, thou); read twice."
    table = Table(head, tuple(rows), (12, 44, 26, 28, 22, 16, 12))
    return Section("Measuring sheet", (Text(words), *blanks("Temperature"), table))


def _order_of_work(route: AnsweredRoute, job: Job | None) -> Section:
    noted = (job.actual_hundredths if job else None) or {}
    rows = tuple(
        (
            str(step.number), step.stage, _step_words(step),
            hours(step.hours_hundredths) if step.hours_hundredths else "",
            hours(noted[step.number]) if step.number in noted else "", BLANK,
        )
        for step in route.steps
    )  # fmt: skip
    head = ("No", "Stage", "Work", "Planned", "Actual", "Done")
    total = ("", "", "Total", hours(route.hours_hundredths), hours(sum(noted.values())) if noted else "", "")
    return Section("Order of work", (Table(head, rows, (7, 14, 92, 16, 16, 14), (3, 4), total),))


def _step_words(step: Step) -> str:
    words = [step.text]
    words += [f"- {operation}" for operation in step.operations]
    words += [f"{condition.state}: {condition.text}" for condition in step.conditions]
    words += [f"CAUTION: {caution}" for caution in step.cautions]
    words += [f"Note ({note.level or note.evidence or 'not said how known'}): {note.text}" for note in step.notes]
    if step.irreversible:
        words.append("CANNOT BE UNDONE: sign-off first.")
    return "\n".join(words)


def _to_get(route: AnsweredRoute) -> Section | None:
    if not route.parts:
        return None
    rows = tuple(
        (
            part.label, part.number, part.condition.replace("-", " "),
            days(part.lead_days) if part.lead_days else "here", BLANK,
        )
        for part in route.parts
    )  # fmt: skip
    head = ("Part", "Number", "Condition", "Lead", "Fitted: number as on the part")
    return Section("Parts", (Table(head, rows, (50, 24, 24, 20, 40)),))


def _sketches(route: AnsweredRoute) -> list[Section]:
    """One sketch sheet per joint that is machined or made, and per visit to another shop."""
    wanted = [f"{joint.label}: {joint.way}" for joint in route.joints if joint.verdict in (MACHINING, MADE_SPECIALLY)]
    wanted += [step.text for step in route.steps if step.stage == SEND_OUT and step.source_kind != "candidate"]
    fields = tuple((row["field"], BLANK) for row in rows_of("sublet_sketch"))
    words = "Never give a size without its fit or its plus and minus."
    return [
        Section(f"Sketch for work sent out: {name}", (Text(words), Facts(fields), Blank("Sketch", 12, boxed=True)))
        for name in dict.fromkeys(wanted)
    ]


def _settings() -> Section:
    rows = tuple((row["what"], row["limit"], row["source"], "", "") for row in rows_of("settings"))
    head = ("Setting", "Limit", "Source", "First", "Second")
    return Section("Settings", (Table(head, rows, (50, 46, 32, 16, 16)),))


def _faults(route: AnsweredRoute) -> Section | None:
    if not route.faults:
        return None
    rows = tuple((fault.label, fault.state, fault.words, BLANK, BLANK) for fault in route.faults)
    head = ("Look for", "On this route", "What it means", "Laid open", "Worn")
    return Section("What to look at while it is open", (Table(head, rows, (36, 18, 76, 16, 14)),))


def _after() -> Section:
    blocks: tuple[Block, ...] = (
        Points(
            (
                "Hand-turned: free in every gear, crank end float as before",
                "Oil level at the installed angle, bled, no leak",
                "Run with the wheels clear of the ground, all gears and reverse",
                "Road test hot and cold, then looked over again",
            ),
            tick=True,
        ),
        *blanks("Road test: result, distance, by whom", "As built differs from the plan in", "Photographs kept at"),
        *blanks("To be looked at again on"),
    )  # fmt: skip
    return Section("After", blocks)
