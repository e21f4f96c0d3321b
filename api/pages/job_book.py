"""`/job-book`: the shop's jobs; `/job-book/JOB`: one job, its entries, and how to put wrong ones right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import Path, Request, Response
from fastapi.responses import RedirectResponse

from api.pages.base import page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.notes import SentForm
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.costing import jobs
from graph.costing.notes import CostNote, Provenance
from graph.costing.shop import list_stock
from graph.errors import Conflict, InvalidInput, Problem
from graph.exact import HUNDREDTHS

router = page_router()
JobName = Annotated[str, Path(max_length=200)]


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job in the list: its `id`, `title`, how it stands (`state`) and the `address` of its page."""

    id: str
    title: str
    state: str
    address: str


@dataclass(frozen=True, slots=True)
class JobBookView:
    """All jobs, newest first (`lines`)."""

    lines: tuple[JobLine, ...]


@dataclass(frozen=True, slots=True)
class EntryLine:
    """An entry: its `id`, what it says (`words`), `author`, the day (`made_on`); `can_go`: can be taken back."""

    id: str
    words: str
    author: str
    made_on: str
    can_go: bool


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step: `number`, `text`, `planned` and `actual` hours in words (empty where none are noted)."""

    number: int
    text: str
    planned: str
    actual: str


@dataclass(frozen=True, slots=True)
class JobView:
    """One job: `id`, `title`. `state`: open, or how it was closed; `is_open`; `steps`, `entries`; `problems`: of what
    was sent.

    `address`: of the page; forms are sent below it.
    """

    id: str
    title: str
    state: str
    is_open: bool
    steps: tuple[StepLine, ...]
    entries: tuple[EntryLine, ...]
    address: str
    problems: tuple[Problem, ...] = ()


@needs("read")
@router.get("/job-book")
def show_jobs(request: Request, workshop: UsesWorkshop) -> Response:
    """The list."""
    found = reversed(jobs.list_jobs(workshop.shop.notes))
    lines = tuple(JobLine(job.id, job.title, job.outcome or "open", _address(job.id)) for job in found)
    return page(request, "job_book.html", JobBookView(lines), title="Jobs")


@needs("read")
@router.get("/job-book/{job}")
def show_job(request: Request, job: JobName, workshop: UsesWorkshop) -> Response:
    """One job with its entries."""
    return _shown(request, workshop, job)


@needs("note")
@router.post("/job-book/{job}/reopening")
def reopen_job(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes the closing back."""
    said, notes = _said(request, form), workshop.shop.notes
    return _entered(
        request, workshop, job, lambda: [jobs.reopen(notes, jobs.get_job(notes, job), said, text_of(form, "reason"))]
    )


@needs("note")
@router.post("/job-book/{job}/entry-back")
def take_entry_back(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes one entry back."""
    said, notes, entry = _said(request, form), workshop.shop.notes, text_of(form, "entry")
    return _entered(
        request, workshop, job,
        lambda: [jobs.take_entry_back(notes, jobs.get_job(notes, job), entry, said, text_of(form, "reason"))],
    )  # fmt: skip


@needs("note")
@router.post("/job-book/{job}/hours")
def note_hours(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Hours on a step."""
    said, notes, step = _said(request, form), workshop.shop.notes, text_of(form, "step").strip()

    def entries() -> list[CostNote]:
        if not step.isdecimal():
            raise InvalidInput([Problem("step", f"expected the number of a step, found {step!r}")])
        return [jobs.hours_entry(jobs.get_job(notes, job), int(step), text_of(form, "hours").strip(), said)]

    return _entered(request, workshop, job, entries)


@needs("note")
@router.post("/job-book/{job}/closing")
def close_job(request: Request, job: JobName, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Closes it, again if it was opened again."""
    said, notes = _said(request, form), workshop.shop.notes
    return _entered(
        request, workshop, job,
        lambda: jobs.close_job(jobs.get_job(notes, job), text_of(form, "outcome"), said, list_stock(notes)),
    )  # fmt: skip


def _said(request: Request, form: SentForm) -> Provenance:
    access = writer_of(request, form)
    return Provenance(text_of(form, "author").strip() or access.name, "job book")


def _entered(request: Request, workshop: UsesWorkshop, job: str, made: Callable[[], list[CostNote]]) -> Response:
    try:
        workshop.shop.notes.append(made())
    except InvalidInput as error:
        return _shown(request, workshop, job, error.problems, 422)
    except Conflict as error:
        return _shown(request, workshop, job, (Problem("", str(error)),), 409)
    return RedirectResponse(_address(job), status_code=303)


def _shown(
    request: Request, workshop: UsesWorkshop, name: str, problems: Sequence[Problem] = (), status: int = 200
) -> Response:
    job = jobs.get_job(workshop.shop.notes, name)
    noted = job.actual_hundredths or {}
    steps = tuple(
        StepLine(step.number, step.text, _hours(step.hours_hundredths), _hours(noted.get(step.number, 0)))
        for step in job.steps
    )
    entries = tuple(
        EntryLine(note.id, jobs.words_of_entry(note), note.author, note.made_on[:10],
                  not job.closing and note.batch == note.id)
        for note in job.noted
    )  # fmt: skip
    view = JobView(
        job.id, job.title, job.outcome or "open", not job.closing, steps, entries, _address(job.id), tuple(problems)
    )
    return page(request, "job.html", view, title=job.title, status=status, form=True)


def _hours(hundredths: int) -> str:
    return f"{hundredths / HUNDREDTHS:.2f} h" if hundredths else ""


def _address(job: str) -> str:
    return f"/job-book/{quote(job, safe='')}"
