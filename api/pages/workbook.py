"""`/workbook/page`: the workshop as a spreadsheet: fetch it, send it in, see what would change, take it in and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.background import BackgroundTask
from starlette.datastructures import UploadFile

from api.files import read_in_turn
from api.kept_uploads import uploads_of
from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.pages.extra import last_writer, remember_writer, text_of, writer_of
from api.pages.notes import SentForm
from api.roles import needs
from api.routers.workbook import finds_in, words_by
from api.security import access_of
from api.workshop import UsesWorkshop
from graph.catalogue.terms import EvidenceLevel
from graph.errors import InvalidInput, LimitExceeded, NotFound, Problem
from graph.guarded.bounds import BOUNDS
from graph.ledger.notebook import Notebook
from graph.workbook.batches import Batch, Preview, Sent, list_batches, preview, take_back, take_in
from graph.workbook.changes import Fate
from graph.workbook.sent import make_ready

router = page_router()
MOST_SHOWN = 300
TITLE = "The workshop as a spreadsheet"


@dataclass(frozen=True, slots=True)
class WorkbookView:
    """The page. `kept`: under which name the file waits to be taken in, its own is `name`; `counts`: per sheet how many
    rows are new, changed, as they stand; `fates`: rows that change something, `more` of them not shown.
    `by`: who is likely to take one back."""

    levels: tuple[EvidenceLevel, ...]
    batches: tuple[Batch, ...]
    author: str = ""
    by: str = ""
    evidence: str = ""
    done: str = ""
    problems: tuple[Problem, ...] = ()
    name: str = ""
    kept: str = ""
    counts: Mapping[str, Mapping[str, int]] | None = None
    fates: tuple[Fate, ...] = ()
    more: int = 0
    told: tuple[str, ...] = ()


def _view(request: Request, notebook: Notebook, **more: object) -> WorkbookView:
    more = {"by": last_writer(request), "author": last_writer(request), **more}
    levels = sorted(notebook.kinds.evidence_levels.values(), key=lambda level: level.rank)
    return WorkbookView(tuple(levels), tuple(list_batches(notebook)), **more)  # type: ignore[arg-type]


@needs("read")
@router.get("/workbook/page")
def show_workbook(
    request: Request, notebook: UsesNotebook, done: Annotated[str, Query(max_length=300)] = ""
) -> Response:
    """What can be fetched, the form for what comes in, and what came in."""
    shown = page(request, "workbook.html", _view(request, notebook, done=done), title=TITLE, form=True)
    shown.background = BackgroundTask(make_ready, BOUNDS[access_of(request).role])
    return shown


@needs("note")
@router.post("/workbook/page")
async def show_preview(request: Request, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """What the file would change, or what is wrong with it."""
    access = writer_of(request, form)
    author, evidence, file = text_of(form, "author").strip(), text_of(form, "evidence"), form.get("file")
    typed = {"author": author, "evidence": evidence}
    try:
        problems = [] if author else [Problem("author", "say who says so: initials or a role will do")]
        if not isinstance(file, UploadFile) or not file.filename:
            raise InvalidInput([Problem("file", "choose a file"), *problems])
        if problems:
            raise InvalidInput(problems)
        opened, name = file.file, file.filename[:200]
        sent = Sent(opened, name, words_by(access, author, evidence), BOUNDS[access.role])
        finds = finds_in(workshop, notebook.ledger.base)
        shown = await read_in_turn(request, lambda: preview(notebook, sent, finds))
        kept = "" if shown.problems or not shown.changes else uploads_of(request).keep(opened)
    except (InvalidInput, LimitExceeded) as error:
        found = error.problems if isinstance(error, InvalidInput) else [Problem("file", str(error))]
        view = _view(request, notebook, problems=tuple(found[:MOST_SHOWN]), **typed)
        return page(request, "workbook.html", view, title=TITLE, status=422, form=True)
    view = _view(request, notebook, kept=kept, **_shown(shown), **typed)
    return page(request, "workbook.html", view, title=TITLE, status=422 if shown.problems else 200, form=True)


def _shown(shown: Preview) -> dict[str, object]:
    more = max(0, len(shown.fates) - MOST_SHOWN)
    return {"name": shown.name, "counts": shown.counts, "fates": shown.fates[:MOST_SHOWN], "more": more,
            "problems": shown.problems[:MOST_SHOWN], "told": shown.told}  # fmt: skip


@needs("note")
@router.post("/workbook/take")
async def take_workbook(request: Request, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Takes in the file that was shown, as one batch."""
    access = writer_of(request, form)
    author, evidence, name = (text_of(form, field) for field in ("author", "evidence", "name"))
    uploads, kept = uploads_of(request), text_of(form, "kept")
    words, finds = words_by(access, author, evidence), finds_in(workshop, notebook.ledger.base)
    try:
        with uploads.open(kept) as file:
            sent = Sent(file, name[:200] or "workshop.xlsx", words, BOUNDS[access.role])
            batch, shown = await read_in_turn(request, lambda: take_in(notebook, sent, finds))
    except (InvalidInput, LimitExceeded, NotFound) as error:
        gone = "the file is not kept any more: send it again"
        problems = error.problems if isinstance(error, InvalidInput) else [
            Problem("file", gone if isinstance(error, NotFound) else str(error))
        ]  # fmt: skip
        view = _view(request, notebook, problems=tuple(problems[:MOST_SHOWN]), author=author, evidence=evidence)
        return page(request, "workbook.html", view, title=TITLE, status=422, form=True)
    uploads.forget(kept)
    done = f"Taken in: {shown.changes} rows." if batch else "Nothing changed: it was taken in already."
    answer = RedirectResponse(f"/workbook/page?{urlencode({'done': done})}", status_code=303)
    return remember_writer(request, answer, author)


@needs("note")
@router.post("/workbook/back")
def take_workbook_back(request: Request, form: SentForm, notebook: UsesNotebook) -> Response:
    """Takes a batch back."""
    access = writer_of(request, form)
    author = text_of(form, "author").strip() or access.default_author
    by = words_by(access, author, "")
    if not author:
        told = (Problem("", "say who takes it back: initials or a role will do"),)
        view = _view(request, notebook, problems=told)
        return page(request, "workbook.html", view, title=TITLE, status=422, form=True)
    try:
        batch = take_back(notebook, text_of(form, "batch"), by)
    except InvalidInput as error:
        first = Problem("", "nothing was taken back, for something written since rests on it")
        view = _view(request, notebook, problems=(first, *error.problems[:MOST_SHOWN]))
        return page(request, "workbook.html", view, title=TITLE, status=422, form=True)
    done = f"Taken back: {batch.name}, {batch.lines} notes."
    answer = RedirectResponse(f"/workbook/page?{urlencode({'done': done})}", status_code=303)
    return remember_writer(request, answer, author)
