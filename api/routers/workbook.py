"""The workshop as one spreadsheet: the template, what stands, what another one would change, taking it in and back.

The file is the request's body. Nothing is taken in while anything is wrong with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel

from api import problems
from api.files import read_in_turn, uploaded
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.roles import needs
from api.routers.exchange import BODY, ImportProblem
from api.security import Access, access_of
from api.workshop import UsesWorkshop, Workshop
from graph.answer.find import find_parts
from graph.guarded.bounds import BOUNDS
from graph.ledger.book import Retry
from graph.ledger.identity import digest
from graph.ledger.record import Draft
from graph.workbook.batches import Batch, Preview, Sent, list_batches, preview, take_back, take_in
from graph.workbook.export import template_file, workshop_file
from graph.workbook.xlsx import MEDIA_TYPE

router = APIRouter(tags=["notes"])
Short = Annotated[str, Query(max_length=500)]
FileName = Annotated[str, Query(max_length=200, min_length=1, examples=["workshop.xlsx"])]
BatchId = Annotated[str, Path(max_length=36, description="as `/workbook/batches` lists it")]
_FILE = problems.responses(
    {"description": "The workbook", "content": {MEDIA_TYPE: {"schema": {"type": "string", "format": "binary"}}}},
    401, 403, 422, 429, 503,
)  # fmt: skip


class RowFate(BaseModel):
    """What becomes of a row: `new` or `changed`, and which columns change."""

    place: str
    sheet: str
    name: str
    fate: str
    what: str


class WorkbookPreview(BaseModel):
    """What taking the workbook in would do. `counts`: rows per sheet and fate; `told`: what is left as it is."""

    name: str
    counts: dict[str, dict[str, int]]
    fates: list[RowFate]
    problems: list[ImportProblem]
    told: list[str]


class WorkbookBatch(BaseModel):
    """A workbook that was taken in, with how many notes it wrote."""

    id: str
    name: str
    lines: int
    author: str
    recorded_at: str
    taken_back: bool
    taken_back_by: str = ""


class WorkbookTaken(BaseModel):
    """`batch` is null where nothing changed."""

    batch: WorkbookBatch | None
    preview: WorkbookPreview


def finds_in(workshop: Workshop, base: str) -> Callable[[str], list[str]]:
    """Parts by words of facts that are kept packed, as IRIs."""
    return lambda name: [
        part.id if "://" in part.id else base + part.id for part in find_parts(workshop.index, name).parts[:2]
    ]


def words_by(access: Access, author: str, evidence: str) -> Draft:
    """What holds of every row that does not say it itself."""
    return Draft(author=access.signed(author), evidence=evidence, recorded_by=access.name)


def as_json(shown: Preview) -> dict[str, Any]:
    """A preview as JSON values."""
    return {
        "name": shown.name, "counts": {sheet: dict(counts) for sheet, counts in shown.counts.items()},
        "fates": [asdict(fate) for fate in shown.fates],
        "problems": [{"path": one.path, "message": one.message} for one in shown.problems], "told": list(shown.told),
    }  # fmt: skip


@needs("read")
@router.get("/workbook/template", summary="An empty workbook", response_model=None, responses=_FILE)
async def get_template(notebook: UsesNotebook) -> Response:
    """Sheets, headers and lists of words to choose from, and a sheet that says how to fill it in."""
    data = await run_in_threadpool(template_file, notebook)
    headers = {"Content-Disposition": 'attachment; filename="workshop-template.xlsx"'}
    return Response(data, media_type=MEDIA_TYPE, headers=headers)


@needs("read")
@router.get("/workbook", summary="The workshop as a workbook", response_model=None, responses=_FILE)
async def get_workbook(
    request: Request, notebook: UsesNotebook,
    all_facts: Annotated[bool, Query(alias="all", description="what the files of facts say as well")] = False,
) -> Response:  # fmt: skip
    """What the notes say; what no sheet can hold stands on a sheet of its own, a line each."""
    made = await read_in_turn(request, lambda: workshop_file(notebook, whole=all_facts))
    headers = {"Content-Disposition": 'attachment; filename="workshop.xlsx"', "Rows-Left-Out": str(len(made.left_out))}
    return Response(made.data, media_type=MEDIA_TYPE, headers=headers)


@needs("note")
@router.post("/workbook/preview", summary="What a workbook would change", response_model=WorkbookPreview,
             openapi_extra=BODY, responses=problems.responses({}, 400, 401, 403, 413, 422, 429, 503))  # fmt: skip
async def preview_workbook(
    request: Request, notebook: UsesNotebook, workshop: UsesWorkshop, name: FileName = "workshop.xlsx",
    author: Short = "", evidence: Short = "",
) -> Response:  # fmt: skip
    """Every row's fate and every fault, by sheet, row and column; nothing is written."""
    access = access_of(request)
    words, finds = words_by(access, author, evidence), finds_in(workshop, notebook.ledger.base)
    async with uploaded(request) as file:
        sent = Sent(file, name, words, BOUNDS[access.role])
        return PlainJson(as_json(await read_in_turn(request, lambda: preview(notebook, sent, finds))))


@needs("note")
@router.post("/workbook", status_code=201, summary="Take a workbook in", response_model=WorkbookTaken,
             openapi_extra=BODY,
             responses=problems.responses({"model": WorkbookTaken, "description": "Nothing changed"},
                                          400, 401, 403, 409, 413, 422, 429, 503))  # fmt: skip
async def post_workbook(
    request: Request, notebook: UsesNotebook, workshop: UsesWorkshop, author: Short, evidence: Short = "",
    name: FileName = "workshop.xlsx",
    key: Annotated[str, Header(alias="Idempotency-Key", max_length=200, description="sent again, writes once")] = "",
) -> Response:  # fmt: skip
    """All or nothing, as one batch that `/workbook/batches/ID/back` takes back."""
    access = access_of(request)
    words, finds = words_by(access, author, evidence), finds_in(workshop, notebook.ledger.base)
    retry = Retry(digest(f"{access.name}\n{key}"), "") if key else None
    async with uploaded(request) as file:
        sent = Sent(file, name, words, BOUNDS[access.role])
        batch, shown = await read_in_turn(request, lambda: take_in(notebook, sent, finds, retry))
    told = {"batch": asdict(batch) if batch else None, "preview": as_json(shown)}
    return PlainJson(told, 201 if batch else 200)


@needs("read")
@router.get("/workbook/batches", summary="Workbooks that were taken in", response_model=list[WorkbookBatch],
            responses=problems.responses({}, 401, 429, 503))  # fmt: skip
def get_batches(notebook: UsesNotebook) -> Response:
    """Newest first, those that were taken back too."""
    return PlainJson([asdict(one) for one in list_batches(notebook)])


@needs("note")
@router.post("/workbook/batches/{batch_id}/back", summary="Take a workbook back", response_model=WorkbookBatch,
             responses=problems.responses({}, 400, 401, 403, 404, 409, 422, 429, 503))  # fmt: skip
def post_back(batch_id: BatchId, request: Request, notebook: UsesNotebook, author: Short) -> Response:
    """What was new goes, what was changed is as it was before; all of it or nothing."""
    back: Batch = take_back(notebook, batch_id, words_by(access_of(request), author, ""))
    return PlainJson(asdict(back))
