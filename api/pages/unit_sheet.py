"""`/unit/{id}`: what a gearbox, engine or vehicle contains, place by place, kept as one note of the unit.

Written again, the sheet's note is revised: what others wrote meanwhile at other places is kept; where both wrote, both
are shown and one is chosen. Every writing is told with what it changed, and can be gone back to.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated
from urllib.parse import quote

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.exceptions import HTTPException

from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.extra import KeptNotebook, last_writer, remember_writer, text_of, writer_of
from api.pages.first_run import empty_view
from api.pages.notes import SentForm
from api.pages.sheet_history import draft_of_earlier, history_of
from api.pages.sheet_view import SheetView, standing_sheet
from api.pages.sheet_writing import SheetProblem, find_sheet, write_sheet_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.browse import get_part
from graph.catalogue.model import UNIT_KINDS, Part
from graph.errors import InvalidInput, Problem
from graph.ledger.book import RevisionConflict
from graph.ledger.notebook import Notebook
from graph.lookups.index import CatalogueIndex

router = page_router()


@needs("note")
@router.get("/unit/{id:path}")
def show_sheet(
    request: Request, id: str, notebook: KeptNotebook, workshop: UsesWorkshop,
    saved: Annotated[str, Query(max_length=5)] = "", job: Annotated[str, Query(max_length=500)] = "",
    met: Annotated[str, Query(max_length=5)] = "",
) -> Response:  # fmt: skip
    """The sheet as it stands; `job` shows the places of one kind of job alone."""
    index, unit = workshop.index, get_unit(workshop.index, id)
    empty = empty_view(index) if saved else None
    view = standing_sheet(index, notebook, unit, find_sheet(notebook, unit))
    view = replace(view, saved=bool(saved), met=bool(met), missing=empty.missing if empty else (),
                   author=last_writer(request) or view.author)  # fmt: skip
    made_for = index.made_for(unit.id)
    return _shown(request, notebook, index, _of_job(index, view, job or (made_for[0] if made_for else "")))


def _of_job(index: CatalogueIndex, view: SheetView, job: str) -> SheetView:
    """The sheet with the places of one kind of job, and those of which it says something."""
    known = index.catalogue.assemblies
    if job not in known:
        return view
    wanted = known[job].positions
    places = tuple(one for one in view.places if one.position.id in wanted or one.says or one.elsewhere
                   or any(problem.path.partition("/")[0] == one.name for problem in view.problems))  # fmt: skip
    made_for = view.made_for or ("" if index.made_for(view.unit.id) else job)
    return replace(view, assembly=job, places=places, made_for=made_for)


def get_unit(index: CatalogueIndex, name: str) -> Part:
    """The unit. Raises NotFound; a 404 problem for a part that contains nothing."""
    unit = get_part(index, name)
    if not set(UNIT_KINDS) & set(index.kinds_of(unit.kind)):
        raise HTTPException(404, f"{unit.label} is no gearbox, engine or vehicle: only these contain parts")
    return unit


@needs("note")
@router.post("/unit/{id:path}")
def write_sheet(request: Request, id: str, form: SentForm, notebook: KeptNotebook, workshop: UsesWorkshop) -> Response:
    """Writes the sheet as one note, or revises it; or shows it again with what is wrong."""
    access = writer_of(request, form)
    unit = get_unit(workshop.index, id)
    sent = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    sent.pop("form_token", None)
    try:
        entry, met = write_sheet_of(workshop, notebook, unit, sent, access)
    except SheetProblem as error:
        made_for, job = error.view.made_for, sent.get("job", "")
        view = replace(_of_job(workshop.index, error.view, job), made_for=made_for)
        return _shown(request, notebook, workshop.index, view, 409 if error.clashes else 422)
    shown = f"&job={quote(sent['job'], safe='')}" if sent.get("job") in workshop.index.catalogue.assemblies else ""
    address = f"/unit/{quote(unit.id)}?saved=yes{'&met=yes' if met else ''}{shown}"
    answer = RedirectResponse(with_back(request, address), status_code=303)
    return remember_writer(request, answer, entry.author)


@needs("note")
@router.post("/unit-sheet/back")
def go_back(request: Request, form: SentForm, notebook: KeptNotebook, workshop: UsesWorkshop) -> Response:
    """Makes an earlier writing of a sheet the newest one again; what came after stays readable in its history."""
    access = writer_of(request, form)
    unit = get_unit(workshop.index, text_of(form, "unit"))
    sheet, numbers = find_sheet(notebook, unit), [text_of(form, name) for name in ("revision", "to")]
    if sheet is None or not all(one.isdecimal() and len(one) < 9 for one in numbers):
        raise InvalidInput([Problem("revision", "there is no such writing of this sheet: load it again")])
    revision, to = map(int, numbers)
    author = text_of(form, "undo_author").strip()
    try:
        draft = draft_of_earlier(notebook, sheet, min(to, revision - 1), author, access)
        notebook.ledger.revise(sheet.note_id, revision, draft)
    except (InvalidInput, RevisionConflict) as error:
        told = (
            error.problems
            if isinstance(error, InvalidInput)
            else (Problem("", "meanwhile somebody wrote this sheet: what stands now is shown, nothing was taken back"),)
        )
        view = replace(standing_sheet(workshop.index, notebook, unit, sheet), problems=told, undo_author=author)
        status = 422 if isinstance(error, InvalidInput) else 409
        return _shown(request, notebook, workshop.index, view, status)
    answer = RedirectResponse(with_back(request, f"/unit/{quote(unit.id)}?saved=yes"), status_code=303)
    return remember_writer(request, answer, draft.author)


def _shown(
    request: Request, notebook: Notebook, index: CatalogueIndex, view: SheetView, status: int = 200
) -> Response:  # fmt: skip
    turns = history_of(index.catalogue, notebook, view.unit, find_sheet(notebook, view.unit))
    view = replace(view, history=turns, undo_author=view.undo_author or last_writer(request))
    return page(request, "unit_sheet.html", view, title=view.unit.label, status=status, form=True)
