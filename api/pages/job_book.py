"""`/job-book`: the shop's jobs; `/job-book/JOB`: one job from its hours to the look back, each entry typed on its page.

Wrong entries are taken back while a job is open; a closed one is opened again first. Its papers print its own plan.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Annotated
from urllib.parse import quote, urlencode

from fastapi import Path, Query, Request, Response
from fastapi.responses import RedirectResponse

from api.pages.base import page, page_router
from api.pages.extra import notebook_or_none, writer_of
from api.pages.job_view import (
    SOUND,
    UNSEEN,
    WORN,
    JobView,
    address_of_job,
    job_book_view,
    job_view,
    sign_choices,
    signs_of,
    with_notes,
)
from api.pages.notes import SentForm
from api.pages.route import Form, Kind, Said, as_response, details_of, written
from api.questions import QuestionBody
from api.roles import needs
from api.workshop import UsesWorkshop, Workshop
from graph.costing.asking import CostedAnswer
from graph.costing.jobs import closing
from graph.costing.jobs.entries import (
    as_built_entry,
    finding_entry,
    hours_entry,
    measurement_entry,
    remark_entry,
    take_entry_back,
    words_of_entry,
)
from graph.costing.jobs.job import AsBuilt, Job, JobMeasurement, get_job
from graph.costing.jobs.past import JobFilter, find_jobs
from graph.costing.jobs.plan import find_plan
from graph.costing.jobs.stops import halt_entry
from graph.costing.notes import CostNote, Provenance
from graph.costing.shop import list_stock
from graph.errors import Conflict, InvalidInput, InvalidQuestion, NotFound, Problem
from graph.fits.decimals import decimal_of
from graph.notes.form import Choice, FormInDoubt, chosen_of, find_part
from graph.papers.making import make_paper
from graph.papers.model import PaperWay
from graph.wear import renewals_of_job
from graph.wear.said import ticked_words

router = page_router()
JobName = Annotated[str, Path(max_length=200)]
Typed = Mapping[str, str]


@needs("read")
@router.get("/job-book")
def show_jobs(
    request: Request, workshop: UsesWorkshop, words: Said = "", gearbox: Said = "", engine: Said = ""
) -> Response:
    """The list, or those of it that were looked for."""
    wanted = JobFilter(words=words.strip(), gearbox=gearbox, engine=engine)
    found = find_jobs(workshop.shop.notes, workshop.index, wanted)
    return page(request, "job_book.html", job_book_view(found, wanted, workshop.index), title="Jobs")


@needs("read")
@router.get("/job-book/{job}")
def show_job(
    request: Request, job: JobName, workshop: UsesWorkshop, done: Said = "",
    author: Annotated[str, Query(max_length=500)] = "",
) -> Response:  # fmt: skip
    """One job with its entries and forms; `author` stays from the entry before."""
    found = get_job(workshop.shop.notes, job)
    view = job_view(found, workshop.index.catalogue, typed={"author": author}, done=done)
    view = _with_what_is_kept(view, request, workshop, found)
    return page(request, "job.html", view, title=view.title, form=True)


def _with_what_is_kept(view: JobView, request: Request, workshop: Workshop, job: Job) -> JobView:
    """With the notes on its parts, and with what was ticked when it was planned."""
    renewals = renewals_of_job(workshop.shop.notes, job)
    ticked = "" if renewals is None else ticked_words(renewals)
    return replace(with_notes(view, notebook_or_none(request)), ticked=ticked)


@needs("read")
@router.get("/job-book/{job}/paper/{kind}")
async def job_paper(
    job: JobName, kind: Kind, workshop: UsesWorkshop, customer: Said = "", shop: Said = "",
    form: Form = "html",
) -> Response:  # fmt: skip
    """A paper of the job: the figures that it was planned on, and what has changed since."""
    details = details_of(job, customer, shop)
    ways = (PaperWay("Back to the job", f"/job-book/{quote(job)}"),)

    def made() -> str | bytes:
        found = get_job(workshop.shop.notes, job)
        again = _asked_again(workshop, found)
        return written(
            make_paper(kind, again, 1, details, workshop.shop.notes, job, workshop.index.catalogue), form, ways
        )

    return as_response(await workshop.work_out(made), kind)


def _asked_again(workshop: Workshop, job: Job) -> CostedAnswer | None:
    """Today's answer to the question that the job was planned on; None where the facts no longer know its units."""
    plan = find_plan(workshop.shop.notes, job)
    if plan is None:
        raise Conflict(f"job {job.id!r} was opened without a plan; ask again and print the paper from the answer")
    try:
        question = QuestionBody.model_validate(dict(plan.answer.question)).question()
        return workshop.shop.ask_costed(question, dict(job.signs or {}))
    except (NotFound, InvalidQuestion):
        return None


@needs("note")
@router.post("/job-book/{job}/reopening")
def reopen_job(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes the closing back."""
    notes = workshop.shop.notes
    return _entered(
        request, workshop, job, form,
        lambda found, typed, said: [closing.reopen(notes, found, said, typed.get("reason", ""))],
    )  # fmt: skip


@needs("note")
@router.post("/job-book/{job}/entry-back")
def take_one_back(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes one entry back."""
    notes = workshop.shop.notes
    return _entered(
        request, workshop, job, form,
        lambda found, typed, said: [
            take_entry_back(notes, found, typed.get("entry", ""), said, typed.get("reason", ""))
        ],
    )  # fmt: skip


@needs("note")
@router.post("/job-book/{job}/hours")
def note_hours(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Hours on a step."""

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        step, hours, problems = typed.get("step", ""), "", list[Problem]()
        try:
            hours = decimal_of(typed.get("hours", ""), "hours", "1.5")
            problems += _needed({"hours": hours}, "say how long, such as 1.5")
        except InvalidInput as error:
            problems += error.problems
        if step not in {str(one.number) for one in found.steps}:
            problems.append(Problem("step", f"choose a step of this job, found {step[:40]!r}"))
        if problems:
            raise InvalidInput(problems)
        return [hours_entry(found, int(step), hours, said)]

    return _entered(request, workshop, job, form, entries)


@needs("note")
@router.post("/job-book/{job}/finding")
def note_finding(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """How a part that was to be feared for was found."""

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        fault, state = typed.get("fault", ""), typed.get("state", "")
        problems = []
        if fault not in found.faults:
            problems.append(Problem("fault", "choose what was looked at"))
        if state not in (WORN, SOUND, UNSEEN):
            problems.append(Problem("state", "say how it was found"))
        if (sign := typed.get("sign", "")) and sign not in {one.id for one in sign_choices()}:
            problems.append(Problem("sign", f"choose a sign of the list, found {sign[:80]!r}"))
        if problems:
            raise InvalidInput(problems)
        signs, words = signs_of(typed.get("sign", "")), typed.get("found", "")
        return [finding_entry(found, fault, state != UNSEEN, state == WORN, said, words, signs)]

    return _entered(request, workshop, job, form, entries)


@needs("note")
@router.post("/job-book/{job}/measurement")
def note_measurement(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """A reading taken on this job."""

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        read = {name: typed.get(name, "") for name in ("what", "reading", "datum", "tool", "by")}
        problems = _needed({"what": read["what"]}, "say what was measured, such as: stick-out of the input shaft")
        problems += _needed({"reading": read["reading"]}, "say how much and in what unit, such as 38,1 mm")
        if problems:
            raise InvalidInput(problems)
        try:
            return [measurement_entry(found, JobMeasurement(**read), said)]
        except InvalidInput as error:
            raise InvalidInput([Problem("reading", one.message) for one in error.problems]) from None

    return _entered(request, workshop, job, form, entries)


@needs("note")
@router.post("/job-book/{job}/as-built")
def note_as_built(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """What was fitted at a place."""
    known = workshop.index.catalogue

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        problems: list[Problem] = []
        choices: dict[str, tuple[Choice, ...]] = {}
        place, condition = typed.get("position", ""), typed.get("condition", "")
        if place not in known.position_kinds:
            problems.append(Problem("position", "choose where it was fitted"))
        if condition and condition not in known.part_conditions:
            problems.append(Problem("condition", "choose one of the conditions"))
        meant = chosen_of(
            "part", typed.get("part", ""), typed.get("part_for", ""), typed.get("part_chosen", ""), problems
        )
        part = find_part(workshop.index, "part", meant, problems, choices)
        if problems or part is None:
            raise FormInDoubt(problems, choices)
        return [as_built_entry(found, AsBuilt(place, part.id, condition, typed.get("remark", "")), said)]

    return _entered(request, workshop, job, form, entries)


@needs("note")
@router.post("/job-book/{job}/remark")
def note_remark(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """For whoever opens it next."""

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        if problems := _needed({"words": typed.get("words", "")}, "say what is to be remembered"):
            raise InvalidInput(problems)
        return [remark_entry(found, typed["words"], said)]

    return _entered(request, workshop, job, form, entries)


@needs("note")
@router.post("/job-book/{job}/halt")
def halt_job(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Halts it at a stop, or lets it go on."""
    tasks = workshop.index.catalogue.tasks
    return _entered(
        request, workshop, job, form,
        lambda found, typed, said: [halt_entry(found, typed.get("stop", ""), typed.get("why", ""), said, tasks)],
    )  # fmt: skip


@needs("note")
@router.post("/job-book/{job}/closing")
def close_job(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Closes it, again if it was opened again."""
    notes = workshop.shop.notes
    return _entered(
        request, workshop, job, form,
        lambda found, typed, said: closing.close_job(found, typed.get("outcome", ""), said, list_stock(notes)),
    )  # fmt: skip


@needs("note")
@router.post("/job-book/{job}/follow-up")
def look_back(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """How it goes after so many months."""

    def entries(found: Job, typed: Typed, said: Provenance) -> list[CostNote]:
        months, good = typed.get("months", ""), typed.get("good", "")
        problems = []
        if not months.isdecimal() or not int(months[:9]) <= 600:
            problems.append(Problem("months", f"expected whole months, 0 to 600, found {months[:40]!r}"))
        if good not in ("yes", "no"):
            problems.append(Problem("good", "say how it goes"))
        if problems:
            raise InvalidInput(problems)
        return closing.follow_up(found, int(months), good == "yes", said, typed.get("looked", ""))

    return _entered(request, workshop, job, form, entries)


def _needed(typed: Typed, told: str) -> list[Problem]:
    return [Problem(name, told) for name, value in typed.items() if not value]


Makes = Callable[[Job, Typed, Provenance], list[CostNote]]


def _entered(request: Request, workshop: UsesWorkshop, job: str, form: SentForm, makes: Makes) -> Response:
    """Keeps what the form makes, and shows the job; or shows it with what is wrong, and what was typed."""
    access, notes = writer_of(request, form), workshop.shop.notes
    typed = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    author = typed.get("author", "")
    found = get_job(notes, job)
    choices: Mapping[str, tuple[Choice, ...]] = {}
    try:
        made = makes(found, typed, Provenance(access.signed(author), "job book"))
        workshop.shop.keep_entry(made, f"{access.name}\njob {job}\n{typed['key']}" if typed.get("key") else "")
    except InvalidInput as error:
        problems, status = error.problems, 422
        choices = error.choices if isinstance(error, FormInDoubt) else {}
    except Conflict as error:
        problems, status = (Problem("", str(error)),), 409
    else:
        query = urlencode(
            {"done": _kept(made, typed, workshop.shop.names.names_in(made[0], found))[:200], "author": author}
        )
        return RedirectResponse(f"{address_of_job(job)}?{query}", status_code=303)
    view = job_view(found, workshop.index.catalogue, problems, typed, choices.get("part", ()))
    view = _with_what_is_kept(view, request, workshop, found)
    return page(request, "job.html", view, title=view.title, status=status, form=True)


def _kept(made: list[CostNote], typed: Typed, names: Mapping[str, str]) -> str:
    """What was kept, in words."""
    if "entry" in typed or "reason" in typed:
        return "Taken back." if "entry" in typed else "Open again."
    return f"Kept: {words_of_entry(made[0], names)}."
