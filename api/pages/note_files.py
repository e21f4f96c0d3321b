"""`/notebook/files`: notes in and out. Facts and tables become notes, another shop's are merged; all or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import pyoxigraph as ox
from fastapi import Query, Request, Response
from starlette.datastructures import UploadFile

from api.files import FileAnswer
from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.notes import Options, SentForm, options_of
from api.roles import needs
from api.routers.graph_export import PREFIXES
from api.workshop import UsesWorkshop
from graph.errors import InvalidInput, LimitExceeded, Problem
from graph.guarded.bounds import BOUNDS, Bounds
from graph.guarded.reader import temporary_file
from graph.ledger.exchange import export_quads, merge_source
from graph.ledger.imports import ImportedAs, import_source
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft

router = page_router()
EXPORTS = {"trig": "application/trig", "jsonld": "application/ld+json", "nq": "application/n-quads"}
MERGED = (".trig", ".nq", ".jsonld")


@dataclass(frozen=True, slots=True)
class FilesView:
    """What came of the last import, if there was one: `done` in a sentence, or `problems`."""

    options: Options
    done: str = ""
    problems: tuple[Problem, ...] = ()
    author: str = ""


@needs("read")
@router.get("/notebook/files")
def show_files(request: Request, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """The forms of import and export."""
    view = FilesView(options_of(workshop.index.catalogue))
    return page(request, "note_files.html", view, title="Notes in and out", form=True)


@needs("note")
@router.post("/notebook/files")
def take_file(request: Request, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Imports the file, or only checks it."""
    access = writer_of(request, form)
    options, author = options_of(workshop.index.catalogue), text_of(form, "author").strip()
    try:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise InvalidInput([Problem("file", "choose a file")])
        others = text_of(form, "as") == "merge"
        if others:
            access.need("manage")
        words = Draft(
            text=f"Imported from {file.filename}.", author=author, evidence=text_of(form, "evidence"),
            document=file.filename[:200], recorded_by=access.name,
        )  # fmt: skip
        done = _taken(notebook, file, None if others else words, text_of(form, "write") != "yes", BOUNDS[access.role])
    except (InvalidInput, LimitExceeded) as error:
        found = error.problems[:50] if isinstance(error, InvalidInput) else (Problem("file", str(error)),)
        view = FilesView(options, problems=found, author=author)
        return page(request, "note_files.html", view, title="Notes in and out", status=422, form=True)
    view = FilesView(options, done, author=author)
    return page(request, "note_files.html", view, title="Notes in and out", form=True)


def _taken(notebook: Notebook, file: UploadFile, words: Draft | None, dry_run: bool, bounds: Bounds) -> str:
    """What was done, in a sentence. `words`: of the notes that facts and tables become; None merges another shop's."""
    name, source = file.filename or "", file.file
    if words is None:
        if not name.lower().endswith(MERGED):
            raise InvalidInput([Problem("file", f"another shop's notes come as one of {', '.join(MERGED)}")])
        merged = merge_source(notebook.ledger, name, source, bounds=bounds, dry_run=dry_run)
        did = "would be" if dry_run else "are"
        return f"{merged.new} notes {did} new, {merged.newer} newer than ours, {merged.known} known already."
    done = import_source(notebook.ledger, name, source, ImportedAs(words), bounds=bounds, dry_run=dry_run)
    did = "would be written; nothing was" if dry_run else "were written"
    return f"{done.notes} notes with {done.statements} statements {did}."


@needs("read")
@router.get("/notebook/export")
def export(
    notebook: UsesNotebook, spelling: Annotated[Literal["trig", "jsonld", "nq"], Query(alias="as")] = "trig",
    all_notes: Annotated[str, Query(alias="all", max_length=5)] = "",
) -> Response:  # fmt: skip
    """The notes that may leave the shop (or all), each as a named graph with who says so, as a file."""
    media_type = EXPORTS[spelling]
    form = ox.RdfFormat.from_media_type(media_type)
    assert form is not None
    file = temporary_file()
    try:
        ox.serialize(export_quads(notebook.ledger, shareable_only=not all_notes), file, form, prefixes=PREFIXES)
    except BaseException:
        file.close()
        raise
    headers = {"Content-Disposition": f'attachment; filename="notes.{spelling}"'}
    return FileAnswer(file, media_type, headers=headers)
