"""`/notebook/files`: notes in and out. Facts and tables become notes, another shop's are merged; all or nothing."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

import pyoxigraph as ox
from fastapi import Query, Request, Response
from starlette.background import BackgroundTask
from starlette.datastructures import UploadFile
from starlette.responses import FileResponse

from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.notes import Options, SentForm, options_of
from api.roles import needs
from api.routers.graph_export import PREFIXES
from api.workshop import UsesWorkshop
from graph.errors import InvalidInput, Problem
from graph.ledger.exchange import export_quads, merge
from graph.ledger.imports import ImportedAs, import_bytes
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft
from graph.ledger.statements import parse

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
        data = file.file.read()
        done = _taken(notebook, file.filename, data, None if others else words, text_of(form, "write") != "yes")
    except InvalidInput as error:
        view = FilesView(options, problems=error.problems[:50], author=author)
        return page(request, "note_files.html", view, title="Notes in and out", status=422, form=True)
    view = FilesView(options, done, author=author)
    return page(request, "note_files.html", view, title="Notes in and out", form=True)


def _taken(notebook: Notebook, name: str, data: bytes, words: Draft | None, dry_run: bool) -> str:
    """What was done, in a sentence. `words`: of the notes that facts and tables become; None merges another shop's."""
    if words is None:
        form = ox.RdfFormat.from_extension(name.rpartition(".")[2].lower())
        if form is None or not name.lower().endswith(MERGED):
            raise InvalidInput([Problem("file", f"another shop's notes come as one of {', '.join(MERGED)}")])
        merged = merge(notebook.ledger, parse(data, form, notebook.ledger.base, name), dry_run=dry_run)
        did = "would be" if dry_run else "are"
        return f"{merged.new} notes {did} new, {merged.newer} newer than ours, {merged.known} known already."
    done = import_bytes(notebook.ledger, name, data, ImportedAs(words), dry_run=dry_run)
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
    handle, name = tempfile.mkstemp(prefix="layshaft-notes-")
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            ox.serialize(export_quads(notebook.ledger, shareable_only=not all_notes), file, form, prefixes=PREFIXES)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    gone = BackgroundTask(path.unlink, missing_ok=True)
    return FileResponse(path, media_type=media_type, filename=f"notes.{spelling}", background=gone)
