"""Files in: imports of facts and tables, another shop's notes, photos and papers. The file is the request's body."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import IO, Annotated, Any, Literal

from fastapi import APIRouter, Header, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel

from api import problems
from api.files import read_in_turn, uploaded
from api.json import PlainJson
from api.long_work import Progress
from api.notebook import UsesLongWork, UsesNotebook
from api.roles import needs
from api.security import access_of
from graph.guarded.bounds import BOUNDS
from graph.ledger import attachments
from graph.ledger.exchange import merge_source
from graph.ledger.foreign import read_preview
from graph.ledger.imports import ImportedAs, import_source
from graph.ledger.photos import keep_photo
from graph.ledger.record import Draft

router = APIRouter(tags=["notes"])
Short = Annotated[str, Query(max_length=500)]
FileName = Annotated[
    str, Query(max_length=200, min_length=3, description="its ending tells the kind", examples=["shelf.csv"])
]
Prefer = Annotated[str, Header(max_length=200, description="`respond-async`: answer 202 at once")]
DryRun = Annotated[bool, Query(description="check everything, write nothing")]
Columns = Annotated[
    list[str], Query(max_length=200, description="HEADER=PROPERTY, for a table", examples=[["price=cash"]])
]
BODY: dict[str, Any] = {
    "requestBody": {"required": True, "content": {"application/octet-stream": {"schema": {"type": "string"}}}}
}


class ImportAnswer(BaseModel):
    """What was written, or would be in a dry run."""

    notes: int
    statements: int
    dry_run: bool


class ImportProblem(BaseModel):
    """Where in the file, and what is wrong there."""

    path: str
    message: str


class ImportProgress(BaseModel):
    """An import that outlasts its request. `result` once it is done; `detail` and `problems` where it failed."""

    id: str
    state: Literal["waiting", "running", "done", "failed"]
    said: str
    result: ImportAnswer | None
    detail: str
    problems: list[ImportProblem]


class MergeAnswer(BaseModel):
    """Notes that were new here, newer than ours, known already."""

    new: int
    newer: int
    known: int
    dry_run: bool


class AttachmentAnswer(BaseModel):
    """A kept file; name `iri` as the `document` of a note."""

    hash: str
    media_type: str
    size: int
    name: str
    recorded_at: str
    iri: str


def _columns(items: list[str]) -> Mapping[str, str]:
    return dict(item.partition("=")[::2] for item in items)


_IMPORTED = problems.responses(
    {"model": ImportAnswer, "description": "A dry run: nothing was written"}, 400, 401, 403, 413, 422, 429, 503
) | {202: {"model": ImportProgress, "description": "Being imported; ask at Location how far it is"}}


@needs("note")
@router.post("/imports", status_code=201, summary="Import facts or a table", response_model=ImportAnswer,
             openapi_extra=BODY, responses=_IMPORTED)  # fmt: skip
async def import_body(
    request: Request, notebook: UsesNotebook, long_work: UsesLongWork, name: FileName, author: Short,
    evidence: Short, text: Short = "", shareable: bool = False,
    of_class: Annotated[str, Query(max_length=50, pattern="^[A-Za-z]+$")] = "Part",
    column: Columns = [], dry_run: DryRun = False, prefer: Prefer = "",  # noqa: B006 (FastAPI copies it)
) -> Response:  # fmt: skip
    """Turtle, N-Triples, N-Quads, TriG, JSON-LD, RDF/XML, CSV or XLSX; all or nothing, faults by row and column.

    `Prefer: respond-async` (RFC 7240) answers 202 at once, with a Location that tells how far the import is."""
    access = access_of(request)
    words = Draft(text=text or f"Imported from {name}.", author=author, evidence=evidence, document=name,
                  shareable=shareable, recorded_by=access.name)  # fmt: skip
    how, bounds = ImportedAs(words, of_class=of_class, columns=_columns(column)), BOUNDS[access.role]

    def work(file: IO[bytes], tell: Callable[[str], None] | None = None) -> dict[str, Any]:
        with file:
            done = import_source(notebook.ledger, name, file, how, bounds=bounds, dry_run=dry_run, tell=tell)
        return asdict(done) | {"dry_run": dry_run}

    async with uploaded(request) as file:
        if "respond-async" not in prefer.lower():
            return PlainJson(await read_in_turn(request, lambda: work(file)), 200 if dry_run else 201)
        kept = os.fdopen(os.dup(file.fileno()), "rb")  # outlasts the request
    try:
        started = long_work.start(lambda tell: work(kept, tell))
    except BaseException:
        kept.close()
        raise
    headers = {"Location": f"/imports/{started.id}", "Preference-Applied": "respond-async", "Retry-After": "1"}
    return PlainJson(_progress_as_json(started), 202, headers=headers)


@needs("note")
@router.get("/imports/{import_id}", summary="How far an import is", response_model=ImportProgress,
            responses=problems.responses({"model": ImportProgress}, 401, 403, 404, 422, 429))  # fmt: skip
def get_import(
    import_id: Annotated[str, Path(max_length=36, description="from the Location of a 202")], request: Request,
    long_work: UsesLongWork,
) -> Response:  # fmt: skip
    """Its state and last words; when it has ended, the result or every problem. Known until the service stops."""
    found = long_work.get(import_id)
    return PlainJson(_progress_as_json(found), headers={} if found.ended else {"Retry-After": "1"})


def _progress_as_json(progress: Progress) -> dict[str, Any]:
    values = {name: getattr(progress, name) for name in ("id", "state", "said", "result", "detail")}
    return values | {"problems": [{"path": one.path, "message": one.message} for one in progress.problems]}


@needs("note")
@router.post("/imports/preview", summary="What the columns of a table would mean", response_model=list[str],
             openapi_extra=BODY, responses=problems.responses({}, 400, 401, 413, 422, 429, 503))  # fmt: skip
async def preview_body(request: Request, name: FileName, column: Columns = []) -> Response:  # noqa: B006
    """One line a column: its header, the property it is taken as, its first values."""
    async with uploaded(request) as file:
        return PlainJson(await read_in_turn(request, lambda: read_preview(name, file, _columns(column))))


@needs("manage")
@router.post("/merges", summary="Take in another shop's notes", response_model=MergeAnswer, openapi_extra=BODY,
             responses=problems.responses({}, 400, 401, 403, 413, 415, 422, 429, 503))  # fmt: skip
async def merge_body(request: Request, notebook: UsesNotebook, name: FileName, dry_run: DryRun = False) -> Response:
    """TriG, N-Quads or JSON-LD as /graph writes it; nothing clashes, nothing is doubled, provenance is kept."""
    bounds = BOUNDS[access_of(request).role]
    async with uploaded(request) as file:

        def taken() -> dict[str, Any]:
            merged = merge_source(notebook.ledger, name, file, bounds=bounds, dry_run=dry_run)
            return asdict(merged) | {"dry_run": dry_run}

        return PlainJson(await read_in_turn(request, taken))


@needs("note")
@router.post("/attachments", status_code=201, summary="Keep a photo or a paper", response_model=AttachmentAnswer,
             openapi_extra=BODY, responses=problems.responses({}, 400, 401, 403, 413, 422, 429, 503))  # fmt: skip
async def keep_attachment(request: Request, notebook: UsesNotebook, name: Short = "") -> Response:
    """JPEG, PNG, WebP or PDF. Pictures are turned upright and kept without what the camera says of place, time and
    device. The same content is kept once."""
    stated = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    stated = "" if stated == "application/octet-stream" else stated
    data = await request.body()
    kept = await run_in_threadpool(keep_photo, notebook.ledger, data, stated, name)
    return PlainJson(asdict(kept), 201, headers={"Location": f"/attachments/{kept.hash}"})


@needs("read")
@router.get(
    "/attachments/{key}",
    summary="Read a kept file",
    response_model=None,
    responses=problems.responses(
        {"description": "The file", "content": {"application/octet-stream": {"schema": {"type": "string"}}}},
        401,
        404,
        422,
    ),
)
def get_attachment(
    key: Annotated[str, Path(max_length=64, description="SHA-256 of the content")], notebook: UsesNotebook
) -> Response:
    """It never changes, so it may be kept for good."""
    known, content = attachments.get(notebook.ledger, key)
    return Response(content, media_type=known.media_type, headers={
        "Cache-Control": "private, max-age=31536000, immutable", "Content-Disposition": "inline",
        "Content-Security-Policy": "sandbox; default-src 'none'"})  # fmt: skip
