"""GET /search: notes by their words, parts by their names, misspelt ones too."""

from __future__ import annotations

from collections.abc import Mapping
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
from graph.answer.find_notes import find_fact_notes
from graph.catalogue.model import Catalogue, Note
from graph.costing.jobs.past import JobFilter, find_jobs, state_words
from graph.errors import InvalidInput, Problem
from graph.ledger.identity import names_note

router = APIRouter(tags=["notes"])
Short = Annotated[str, Query(max_length=200)]


MOST_FACT_NOTES = 1_000  # looked at before author and evidence are asked for


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


class FactNoteFound(BaseModel):
    """A note of the fact files."""

    id: str
    text: str
    author: str
    evidence: str
    job: str
    made_on: str


class JobFound(BaseModel):
    """A job of the shop, and how it stands."""

    id: str
    title: str
    state: str


class FoundAnswer(BaseModel):
    """What was found, best first; jobs newest first."""

    notes: list[NoteFound]
    parts: list[PartFound]
    fact_notes: list[FactNoteFound]
    jobs: list[JobFound]


@needs("read")
@router.get(
    "/search", summary="Find notes, jobs and parts",
    responses=problems.responses({"model": FoundAnswer}, 401, 404, 422, 503),
)  # fmt: skip
def search(
    notebook: UsesNotebook,
    workshop: UsesWorkshop,
    q: Annotated[str, Query(min_length=1, max_length=200, description="words, or a name", examples=["pilot bush"])],
    what: Annotated[Literal["all", "notes", "parts", "jobs"], Query(description="where to look")] = "all",
    author: Short = "", evidence: Short = "", job: Short = "",
    kind: Annotated[str, Query(max_length=200, description="only parts of this kind or a narrower one")] = "",
    limit: Annotated[int, Query(ge=1, le=100)] = 20,
) -> Response:  # fmt: skip
    """Words may be begun or misspelt: `clutch disk` finds the clutch disc. Jobs need every word as it is written.

    `author`, `evidence` and `job` are of notes, `kind` of parts: 422 where nothing of that sort is looked for.
    """
    _check_filters(what, {"notes": {"author": author, "evidence": evidence, "job": job}, "parts": {"kind": kind}})
    filters = {"author": author, "evidence": evidence, "job": job}
    index, wants_notes = workshop.index, what in ("all", "notes")
    notes = notebook.search.find_notes(q, filters, limit) if wants_notes else []
    parts = rank_parts(index, q, kind, limit) if what in ("all", "parts") else []
    stated = fact_notes_beside(index.catalogue, q, MOST_FACT_NOTES, job) if wants_notes else ()
    done = find_jobs(workshop.shop.notes, index, JobFilter(words=q))[:limit] if what in ("all", "jobs") else []
    return PlainJson({
        "notes": [asdict(hit) for hit in notes], "parts": [asdict(hit) for hit in parts],
        "fact_notes": [asdict(hit) for hit in stated if _wanted(hit, author, evidence)][:limit],
        "jobs": [{"id": one.id, "title": one.title, "state": state_words(one)} for one in done],
    })  # fmt: skip


def _check_filters(what: str, filters: Mapping[str, Mapping[str, str]]) -> None:
    said = [(of, name) for of, names in filters.items() for name, text in names.items() if text]
    wrong = [
        Problem(name, f"is of {of}; `what={what}` looks for none: leave it out, or look for {of}")
        for of, name in said
        if what not in ("all", of)
    ]
    if wrong:
        raise InvalidInput(wrong)


def _wanted(note: Note, author: str, evidence: str) -> bool:
    return (not author or note.author == author) and (not evidence or note.evidence == evidence)


def fact_notes_beside(known: Catalogue, words: str, limit: int, job: str = "") -> list[Note]:
    """What fact files note with these words: what the ledger has is found by its own search."""
    return [one for one in find_fact_notes(known, words, limit, job) if not names_note(one.id)]
