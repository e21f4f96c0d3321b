"""The job sheet: what the fitter measures, does in order, stops at, and writes down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from graph.answer import words
from graph.answer.measuring_sheet import measuring_sheet
from graph.answer.model.answer import Answer
from graph.answer.model.fit import MACHINING, MADE_SPECIALLY, JointLine
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import RENEWAL, SEND_OUT, Step
from graph.answer.sums import hours_of_step, hours_of_work
from graph.answer.why_here import leaving
from graph.answer.words import days, hours
from graph.catalogue.terms import TaskKind
from graph.costing.jobs.job import Job, JobMeasurement
from graph.costing.jobs.stops import step_of_stop, stops_of
from graph.papers.common import (
    BOX,
    allowed,
    assumptions_section,
    cautions_of,
    checks_section,
    demands_section,
    identity,
    lengths_section,
    safety_lines,
)
from graph.papers.details import Details
from graph.papers.lines import parts_to_come
from graph.papers.made_sketch import made_sketches
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Points, Section, Table, Text
from graph.papers.sheets import rows_of
from graph.reading.conditions import TO_CONFIRM
from graph.reading.untold import prices_among

ORDER_OF_WORK = "Order of work"
TO_SET = "to-set"  # the setting that stands for what the route has to set anew
CUT_HERE, SENT = "Do not cut before sign-off.", "Nothing leaves before sign-off."
RENEW, ORDER_TICKED = "Renew as ticked, ", "Order as ticked, "  # how such steps begin
NOT_KNOWN = "not known"
AFTER = (
    "Road test: result, distance, by whom", "Differs from the plan; photographs at",
    "To be looked at again on",
)  # fmt: skip


DRAWN_ELSEWHERE = "Drawn to scale on the build record and with the route."


def job_sheet(
    answer: Answer, route: AnsweredRoute, details: Details, job: Job | None = None,
    known: Mapping[str, TaskKind] = MappingProxyType({}), ticked: Sequence[Step] = (),
) -> Paper:  # fmt: skip
    """The paper. `known`: tasks by id, since one may stand in for another that has a stop. `job`: its measurements
    and hours so far are printed in; without one their fields are blank. `ticked`: the steps with what the customer
    ticked among them, where anything is; every number of a step on the paper is then of these."""
    route = replace(route, steps=tuple(ticked) or route.steps)
    sections = [
        identity(answer, details),
        _stop_points(route, known),
        assumptions_section(answer, route),
        _order_of_work(route, job),
        checks_section(route),
        _settings(route, details.units),
        _lengths(route, details.units),
        demands_section(route),
        *_sketches(route),
        *made_sketches(route),
        _to_get(route),
        _faults(route),
        _take_care(answer, route),
        _measuring(job.measurements if job else ()),
        _after(),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    kept = tuple(section for section in sections if section is not None)
    return Paper("Job sheet", title, details.number, details.dated, kept)


def _stop_points(route: AnsweredRoute, known: Mapping[str, TaskKind]) -> Section:
    """What must not be passed unseen, then where the job can be halted, as on the page of the job."""
    visits = {step.number for step in route.steps if step.irreversible and step.source_kind == "task"}
    stops = []
    for step in (step for step in route.steps if step.irreversible and step.number not in visits):
        leaves = next((one.number for one in step.needs_done if one.number in visits), 0)
        at = f"step {leaves}, where the parts leave for step {step.number}" if leaves else f"step {step.number}"
        rest = SENT if leaves else CUT_HERE
        stops.append(f"Stop before {at} ({step.text}): it cannot be undone. {rest}")
    stops += [f"Make sure before money is spent: {text}" for text in route.to_confirm]
    for stop in stops_of(route.tasks, known):
        where = step_of_stop(stop, route.steps, known)
        stops.append(f"{stop.label}{f' ({where})' if where else ''}: {'; '.join(stop.measures)}.")
    stops.append("Found worse than the estimate allows for: stop and call.")
    signed = Facts((("Signed off by, date", BLANK),))
    return Section("Stop points", (Points(tuple(stops), tick=True), signed), caution=True)


def _lengths(route: AnsweredRoute, units: str) -> Section | None:
    """The lengths, and where they are drawn: a drawing here would add two pages to carry to the bench."""
    section = lengths_section(route, units)
    if section is None or route.section is None or not route.section.cuts():
        return section
    said, *rest = section.blocks
    said = Text(f"{said.text} {DRAWN_ELSEWHERE}") if isinstance(said, Text) else said
    return replace(section, blocks=(said, *rest))


def _measuring(measured: tuple[JobMeasurement, ...]) -> Section:
    noted = {each.what.casefold(): each for each in measured}
    rows = []
    for row in measuring_sheet():
        done = noted.pop(row.what.casefold(), None)
        reading, by = (done.reading, done.by) if done else ("", "")
        rows.append((row.what, row.datum, row.tool, reading, "", by))
    rows += [(each.what, each.datum, each.tool, each.reading, "", each.by) for each in noted.values()]
    head = ("What", "From (datum)", "Tool", "First, with unit", "Second", "Who")
    said = "Clean faces, parts at room temperature. Write every reading with its unit (mm, in, thou); read twice."
    return Section("Measuring sheet", (Text(said), Table(head, tuple(rows), (60, 30, 47, 22, 13, 10))))


def _take_care(answer: Answer, route: AnsweredRoute) -> Section:
    """What holds for the whole job; what one step must beware of stands at that step."""
    at_steps = {caution for step in route.steps for caution in step.cautions}
    lines = (*cautions_of(answer, route), *safety_lines(answer.assembly))
    kept = tuple(dict.fromkeys(line for line in lines if line not in at_steps))
    return Section("All through the job", (Points(kept),), caution=True)


def _order_of_work(route: AnsweredRoute, job: Job | None) -> Section:
    noted = (job.actual_hundredths if job else None) or {}
    rows = tuple(
        (
            BOX, str(step.number), _step_words(step),
            hours_of_step(step),
            hours(noted[step.number]) if step.number in noted else "",
        )
        for step in route.steps
    )  # fmt: skip
    head = ("Done", "No", "Work", "Planned", "Actual")
    total = ("", "", "Total", hours_of_work(route, route.steps), hours(sum(noted.values())) if noted else "")
    return Section(ORDER_OF_WORK, (Table(head, rows, (11, 8, 128, 17, 17), (3, 4), total),))


def _step_words(step: Step) -> str:
    said = [step.text]
    said += [f"- {operation}" for operation in step.operations if operation not in step.text]
    said += map(words.sentence, leaving(step))
    said += [f"To confirm: {one.text}" for one in step.conditions if one.state == TO_CONFIRM]
    said += [f"Check: {'; '.join(step.checks)}"] if step.checks else []
    said += [f"CAUTION: {caution}" for caution in step.cautions]
    if step.irreversible and step.source_kind == "task":
        said[0] += f". {SENT}"
    elif step.irreversible:
        said.append("CANNOT BE UNDONE: sign-off first.")
    return "\n".join(said)


def _to_get(route: AnsweredRoute) -> Section | None:
    rows = [
        (
            part.label, part.number, part.condition.replace("-", " "),
            days(part.lead_days) if part.lead_days else "here", BLANK,
        )
        for part in route.parts
    ]  # fmt: skip
    rows += [(part.label, "", "unknown", NOT_KNOWN, BLANK) for part in parts_to_come(route)]
    ticked = [
        f"{step.text.removeprefix(RENEW).partition(':')[0]} (step {step.number})"
        for step in route.steps
        if step.source_kind == RENEWAL and not step.order and step.stage != SEND_OUT and _is_to_get(step)
    ]  # of a plan that was kept before what is ticked had its orders
    said = [Text(f"To get as ticked, lead not known: {'; '.join(ticked)}.")] if ticked else []
    ordered = [_ordered_words(step) for step in route.steps if step.source_kind == RENEWAL and step.order]
    said += [Text(f"To get as ticked: {'; '.join(ordered)}.")] if ordered else []
    if not rows:
        return Section("Parts", tuple(said)) if said else None
    head = ("Part", "Number", "Condition", "Lead", "Fitted: number as on the part")
    return Section("Parts", (Table(head, tuple(rows), (74, 22, 26, 16, 44)), *said))


def _ordered_words(step: Step) -> str:
    what = step.text.removeprefix(ORDER_TICKED).partition(";")[0]
    return f"{what} (step {step.number}, {days(step.days) if step.days else f'lead {NOT_KNOWN}'})"


def _is_to_get(step: Step) -> bool:
    return bool(step.cash_hundredths) or bool(prices_among(step.not_stated))


def _sketches(route: AnsweredRoute) -> list[Section]:
    """One sketch for each joint that is machined or made, with all that is known of it filled in."""
    wanted = {joint.link: joint for joint in route.joints if joint.verdict in (MACHINING, MADE_SPECIALLY)}
    done = {step.source: step.text for step in route.steps}
    return [_sketch(joint, done.get(joint.link, joint.way)) for joint in wanted.values()]


def _sketch(joint: JointLine, work: str) -> Section:
    """`work`: what is done, in clauses between semicolons; each goes into the field that it answers."""
    clauses = [piece.strip() for piece in work.split(";")]
    rows = [("Part", words.listed([part.label for part in joint.via or joint.parts])), ("To be done", work)]
    rows += [("Goes between", words.listed([part.label for part in joint.parts]))] if joint.via else []
    for row in rows_of("sublet_sketch"):
        said = [clause for clause in clauses if row["said_by"] and row["said_by"] in clause]
        rows.append((row["field"], "; ".join(said)))
    note = Text("Never give a size without its fit or its plus and minus.")
    return Section(f"Sketch for work sent out: {joint.label}", (note, Facts(tuple(rows)), Blank("Sketch", 2, True)))


def _settings(route: AnsweredRoute, units: str) -> Section:
    """What is set on this route: a setting that only some task brings is left out where the route does without it."""
    rows = tuple(
        (row["what"], *_limit(row, route, units), "", "")
        for row in rows_of("settings")
        if not row["tasks"] or any(task.startswith(tuple(row["tasks"].split())) for task in route.tasks)
    )
    head = ("Setting", "Limit", "Source", "First", "Second")
    return Section("Settings", (Table(head, rows, (50, 73, 33, 12, 14)),))


def _limit(row: dict[str, str], route: AnsweredRoute, units: str) -> tuple[str, str]:
    """The limit that this route's facts state, with where it is said; else the trade's, or the maker's."""
    moved = next((effect for effect in route.side_effects if row["chain"] and effect.chain == row["chain"]), None)
    if moved is not None and (moved.low_um is not None or moved.high_um is not None):
        return allowed(moved, units), "lengths below"
    said = [
        (check, step) for step in route.steps for check in step.checks if row["said_by"] and row["said_by"] in check
    ]
    worked = [line.words for line in route.checks if line.check in row["check"].split()]
    worked += _set_anew(route) if row["check"] == TO_SET else []
    if said:
        told = dict.fromkeys((*(check for check, _ in said), *worked))
        return "; ".join(told) if worked else words.listed(
            list(told)
        ), f"step {_set_at(row, route) or said[0][1].number}"
    if worked:
        return "; ".join(worked), "these parts"
    return row["limit"], row["source"]


def _set_at(row: dict[str, str], route: AnsweredRoute) -> int:
    """The step at which it is set: where what it is measured over is put back; 0 where the route has none."""
    tasks = row["set_at"].split()
    return max((step.number for step in route.steps if step.source.startswith(tuple(tasks))), default=0) if tasks else 0


def _set_anew(route: AnsweredRoute) -> list[str]:
    """Each value that is known, and of the rest the sum that gives it, those of one sum together."""
    by_sum: dict[str, list[str]] = {}
    for line in route.to_set:
        by_sum.setdefault(line.value or line.formula, []).append(line.label.removesuffix(" end float"))
    return [f"{words.listed(labels)}: {told}" for told, labels in by_sum.items()]


def _faults(route: AnsweredRoute) -> Section | None:
    """What is changed anyway needs no looking at."""
    found = [fault for fault in route.faults if fault.state != "gone"]
    if not found:
        return None
    rows = tuple((fault.label, fault.words, BLANK, BLANK) for fault in found)
    head = ("Look for", "What it means on this route", "Laid open", "Worn")
    return Section("What to look at while it is open", (Table(head, rows, (40, 98, 22, 22)),))


def _after() -> Section:
    blocks: tuple[Block, ...] = (
        Points(("Oil level at the installed angle, bled, no leak",), tick=True),
        Facts(tuple((label, BLANK) for label in AFTER)),
    )  # fmt: skip
    return Section("After", blocks)
