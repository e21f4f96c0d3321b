"""GET /search: notes by their words, parts by their names, misspelt ones too."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from api import problems
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.find import rank_parts

router = APIRouter(tags=["notes"])
Short = Annotated[str, Query(max_length=200)]


class NoteFound(BaseModel):
    """A note; the words that were hit stand between [ and ]."""

    id: str
    iri: str
    excerpt: str
    author: str
    evidence: str
    job: str
    made_at: str


class PartFound(BaseModel):
    """A part; a likeness of 100 is the name itself."""

    id: str
    label: str
    kind: str
    likeness: int


class FoundAnswer(BaseModel):
    """What was found, best first."""

    notes: list[NoteFound]
    parts: list[PartFound]


@needs("read")
@router.get(
    "/search", summary="Find notes and parts",
    responses=problems.responses({"model": FoundAnswer}, 401, 404, 422, 503),
)  # fmt: skip
def search(
    notebook: UsesNotebook,
    workshop: UsesWorkshop,
    q: Annotated[str, Query(min_length=1, max_length=200, description="words, or a name", examples=["pilot bush"])],
    what: Annotated[Literal["all", "notes", "parts"], Query(description="where to look")] = "all",
    author: Short = "", evidence: Short = "", job: Short = "",
    kind: Annotated[str, Query(max_length=200, description="only parts of this kind or a narrower one")] = "",
    limit: Annotated[int, Query(ge=1, le=100)] = 20,
) -> Response:  # fmt: skip
    """Words may be begun or misspelt: `clutch disk` finds the clutch disc."""
    filters = {"author": author, "evidence": evidence, "job": job}
    notes = notebook.search.find_notes(q, filters, limit) if what != "parts" else []
    parts = rank_parts(workshop.index, q, kind, limit) if what != "notes" else []
    return PlainJson({"notes": [asdict(hit) for hit in notes], "parts": [asdict(hit) for hit in parts]})
