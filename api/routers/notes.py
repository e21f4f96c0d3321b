"""Notes: add, read, revise, take back, list; and the disputes between them.

A revision carries the revision that was read (`If-Match`); whoever loses a race gets 412 with both texts. A POST
with an `Idempotency-Key` that is sent again writes once.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Header, Path, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.roles import needs
from api.security import Access, access_of
from graph.errors import InvalidInput, Problem
from graph.ledger.book import MAX_LIST, Retry, RevisionConflict
from graph.ledger.disputes import ClaimDispute
from graph.ledger.drafts import MAX_FIELD, MAX_TEXT
from graph.ledger.foreign import read_statements
from graph.ledger.identity import digest, new_id, note_iri
from graph.ledger.notebook import Notebook
from graph.ledger.record import DRAFT_FIELDS, Draft, Entry
from graph.ledger.statements import FORMATS

router = APIRouter(tags=["notes"])
NoteId = Annotated[
    str, Path(description="id of the note", max_length=36, examples=["0190c1a0-0000-7000-8000-000000000001"])
]
AsOf = Annotated[str, Query(max_length=40, description="a position in the ledger, or a time (ISO 8601): the past then")]
IfMatch = Annotated[str, Header(max_length=40, description='the revision that was read, as its ETag: "3"')]
Key = Annotated[str, Header(max_length=255, description="sent again after a lost answer, the request writes once")]
Short = Annotated[str, Field(max_length=MAX_FIELD)]
TURTLE = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> .
shop:disc-on-shaft a lay:DoesNotFit ; lay:source shop:disc-240 ; lay:target shop:shaft-23 ;
    lay:joint kind:clutch-spline ; lay:reason "right count, loose on the major diameter" ."""


class NoteBody(BaseModel):
    """What is known, and how. Statements are facts in any RDF syntax; a note may also be text alone."""

    model_config = ConfigDict(extra="forbid")

    text: str = Field(max_length=MAX_TEXT, min_length=1, description="in a mechanic's words")
    statements: str = Field("", max_length=1_000_000, description="the same as facts", examples=[TURTLE])
    syntax: Literal["turtle", "n-triples", "json-ld", "rdf-xml"] = Field("turtle", description="of the statements")
    author: Short = Field(
        "", description="who says so: a role or initials; the name on the token if left out", examples=["bench"]
    )
    evidence: Short = Field("", description="an evidence level's id", examples=["measured-on-these-parts"])
    method: Short = Field("", description="how it was found out, with what tool", examples=["depth micrometer"])
    job: Short = Field("", description="the shop's own job number")
    document: Short = Field("", description="IRI, title, or attachment of what it rests on")
    made_at: Short = Field("", description="when it was found out, ISO 8601; empty: now", examples=["2024-05-17"])
    settles: list[Short] = Field(
        default_factory=list, max_length=50, description="IRIs of notes that this one overrules"
    )
    shareable: bool = Field(False, description="may leave the shop")

    def draft(self, base: str, iri: str, by: Access) -> Draft:
        """The same as the core's draft. Raises InvalidFacts for statements that do not parse."""
        values = {name: getattr(self, name) for name in DRAFT_FIELDS if name not in ("statements", "recorded_by")}
        statements = read_statements(self.statements, FORMATS[self.syntax], base, iri) if self.statements else ""
        said = {"settles": tuple(self.settles), "author": self.author or by.default_author}
        return Draft(**values | said, statements=statements, recorded_by=by.name)


class RetractionBody(BaseModel):
    """Why a note is taken back, and by whom."""

    model_config = ConfigDict(extra="forbid")

    text: str = Field(max_length=MAX_TEXT, min_length=1, description="why")
    author: Short = ""


class NoteAnswer(BaseModel):
    """One revision of a note, as the ledger holds it. `statements`: canonical N-Triples."""

    position: int
    id: str
    iri: str
    revision: int
    action: Literal["note", "revise", "retract"]
    revises: str
    recorded_at: str
    made_at: str
    text: str
    statements: str
    author: str
    evidence: str
    method: str
    job: str
    document: str
    settles: list[str]
    shareable: bool
    recorded_by: str
    hash: str


class NoteList(BaseModel):
    """Notes by position. `next`: what to send as `after` for the next page; null on the last."""

    notes: list[NoteAnswer]
    next: int | None


class ClaimAnswer(BaseModel):
    """One side of a dispute. `set_aside_by`: the note that overruled it, empty while it counts."""

    note: str
    edge: str
    says: str
    evidence: str
    rank: int
    made_at: str
    set_aside_by: str


class DisputeAnswer(BaseModel):
    """Claims that cannot all be true, best evidence first."""

    kind: Literal["fit", "length", "measurement"]
    about: list[str]
    settled: bool
    claims: list[ClaimAnswer]


class LeftOutAnswer(BaseModel):
    """A note that no answer rests on, and why."""

    note: str
    reason: str


class LedgerAnswer(BaseModel):
    """Where the ledger stands. `checkpoint`: write it down; `verify` compares with it."""

    base: str
    position: int
    checkpoint: str
    catalogue_fault: str = Field(description="why the newest notes are not in the answers; empty if they are")
    left_out: list[LeftOutAnswer] = Field(description="notes that contradict facts or others: no answer rests on them")


def note_as_json(entry: Entry) -> dict[str, Any]:
    """The JSON form of a line of the ledger."""
    values = asdict(entry)
    del values["previous_hash"], values["covers"]
    return {"id": values.pop("note_id"), **values, "settles": list(entry.settles), "revises": entry.revises}


def _found(entry: Entry, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    return PlainJson(note_as_json(entry), status, headers={"ETag": f'"{entry.revision}"', **(headers or {})})


def _model(kind: type[BaseModel]) -> dict[str, Any]:
    return {"model": kind}


def _errors(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Those of the route, and those that any of these routes can meet."""
    found = problems.responses({}, *sorted({*statuses, 400, 401, 422, 429, 503}))
    del found[200]
    return found


def retry_of(request: Request, key: str, body: BaseModel) -> Retry | None:
    """What makes a request that is sent again under its key write once; None for one without a key."""
    if not key:
        return None
    name = access_of(request).name
    return Retry(digest(f"{name}\n{key}"), digest(f"{request.method} {request.url.path}\n{body.model_dump_json()}"))


def _revision(if_match: str) -> int:
    found = re.fullmatch(r'"(\d{1,9})"', if_match)
    if not found:
        raise InvalidInput([Problem("If-Match", f'expected the ETag that was read, such as "3"; found {if_match!r}')])
    return int(found[1])


def _position(notebook: Notebook, as_of: str) -> int | None:
    if not as_of:
        return None
    return int(as_of) if as_of.isdecimal() and len(as_of) < 19 else notebook.ledger.position_at(as_of)


def _lost(request: Request, error: RevisionConflict) -> Response:
    """412 with what was sent and what stands, so that a person can put the two together."""
    answer = problems.problem(request.url.path, 412, str(error))
    body = json.loads(bytes(answer.body))
    sent = {name: getattr(error.sent, name) for name in DRAFT_FIELDS} | {"settles": list(error.sent.settles)}
    body |= {"sent": sent, "stored": note_as_json(error.stored)}
    headers = {"ETag": f'"{error.stored.revision}"'}
    return PlainJson(body, 412, headers=headers, media_type=problems.MEDIA_TYPE)


def _unnamed(request: Request) -> Response:
    return problems.problem(request.url.path, 428, 'send If-Match with the ETag of the revision that was read: "3"')


@needs("note")
@router.post(
    "/notes", status_code=201, summary="Add a note", response_model=NoteAnswer,
    responses=_errors(401, 403, 409, 413, 422, 429, 503),
)  # fmt: skip
def add_note(body: NoteBody, request: Request, notebook: UsesNotebook, idempotency_key: Key = "") -> Response:
    """Synced to the disk before this answers. The ETag is the revision, for the next change."""
    access = access_of(request)
    note_id, base = new_id(), notebook.ledger.base
    draft = body.draft(base, note_iri(base, note_id), access)
    entry = notebook.ledger.append(draft, note_id=note_id, retry=retry_of(request, idempotency_key, body))
    return _found(entry, 201, {"Location": f"/notes/{entry.note_id}"})


@needs("read")
@router.get("/notes", summary="List notes", response_model=NoteList, responses=_errors(422, 503))
def get_notes(
    notebook: UsesNotebook,
    as_of: AsOf = "",
    author: Annotated[str, Query(max_length=MAX_FIELD)] = "",
    evidence: Annotated[str, Query(max_length=MAX_FIELD)] = "",
    job: Annotated[str, Query(max_length=MAX_FIELD)] = "",
    shareable: bool | None = None,
    after: Annotated[int, Query(ge=0, le=2**62)] = 0,
    limit: Annotated[int, Query(ge=1, le=MAX_LIST)] = 100,
) -> Response:
    """Notes that stand (or stood, with `as_of`), by position."""
    found = notebook.ledger.list_notes(
        as_of=_position(notebook, as_of), author=author, evidence=evidence, job=job, shareable=shareable, after=after,
        limit=limit,
    )  # fmt: skip
    more = found[-1].position if len(found) == limit else None
    return PlainJson({"notes": [note_as_json(entry) for entry in found], "next": more})


@needs("read")
@router.get("/notes/{note_id}", summary="Read a note", response_model=NoteAnswer, responses=_errors(404, 422, 503))
def get_note(note_id: NoteId, notebook: UsesNotebook, as_of: AsOf = "") -> Response:
    """Its newest revision (at a past moment); also of a note that was taken back (`action`: retract)."""
    return _found(notebook.ledger.get_note(note_id, _position(notebook, as_of)))


@needs("read")
@router.get(
    "/notes/{note_id}/revisions", summary="Read a note's history", response_model=NoteList, responses=_errors(404, 503)
)
def get_revisions(note_id: NoteId, notebook: UsesNotebook) -> Response:
    """Every revision, oldest first."""
    return PlainJson({"notes": [note_as_json(line) for line in notebook.ledger.get_history(note_id)], "next": None})


@needs("note")
@router.put(
    "/notes/{note_id}", summary="Revise a note", response_model=NoteAnswer,
    responses=_errors(401, 403, 404, 409, 412, 413, 422, 428, 429, 503),
)  # fmt: skip
def revise_note(
    note_id: NoteId, body: NoteBody, request: Request, notebook: UsesNotebook, if_match: IfMatch = "",
    idempotency_key: Key = "",
) -> Response:  # fmt: skip
    """Adds a revision, if the one that was read is still the newest."""
    access = access_of(request)
    if not if_match:
        return _unnamed(request)
    base = notebook.ledger.base
    draft = body.draft(base, note_iri(base, note_id), access)
    try:
        retry = retry_of(request, idempotency_key, body)
        return _found(notebook.ledger.revise(note_id, _revision(if_match), draft, retry=retry))
    except RevisionConflict as error:
        return _lost(request, error)


@needs("note")
@router.post(
    "/notes/{note_id}/retraction", summary="Take a note back", response_model=NoteAnswer,
    responses=_errors(401, 403, 404, 409, 412, 422, 428, 429, 503),
)  # fmt: skip
def retract_note(
    note_id: NoteId, body: RetractionBody, request: Request, notebook: UsesNotebook, if_match: IfMatch = "",
    idempotency_key: Key = "",
) -> Response:  # fmt: skip
    """Adds a line that takes it back; what it said stays in its history."""
    access = access_of(request)
    if not if_match:
        return _unnamed(request)
    draft = Draft(text=body.text, author=body.author or access.default_author, recorded_by=access.name)
    try:
        retry = retry_of(request, idempotency_key, body)
        return _found(notebook.ledger.retract(note_id, _revision(if_match), draft, retry=retry))
    except RevisionConflict as error:
        return _lost(request, error)


@needs("read")
@router.get("/disputes", summary="What notes contradict each other", response_model=list[DisputeAnswer],
            responses=_errors(503))  # fmt: skip
def get_disputes(notebook: UsesNotebook, settled: bool | None = None) -> Response:
    """Both sides, best evidence first; a dispute is settled only by a note that names the loser under `settles`."""
    found = [one for one in notebook.disputes() if settled is None or one.settled == settled]
    return PlainJson([_dispute_as_json(one) for one in found])


@needs("read")
@router.get("/ledger", summary="Where the ledger stands", response_model=LedgerAnswer, responses=_errors(503))
def get_ledger(notebook: UsesNotebook) -> Response:
    """Position and checkpoint. Keep a checkpoint outside: `python -m graph verify --since` shows what was cut."""
    head = notebook.ledger.head()
    return PlainJson({"base": head.base, "position": head.position, "checkpoint": f"{head.position}:{head.hash}",
                      "catalogue_fault": notebook.catalogue_fault,
                      "left_out": [{"note": one.note, "reason": one.reason} for one in notebook.left_out]})  # fmt: skip


def _dispute_as_json(dispute: ClaimDispute) -> dict[str, Any]:
    return {
        "kind": dispute.kind, "about": list(dispute.about), "settled": dispute.settled,
        "claims": [asdict(claim) for claim in dispute.claims],
    }  # fmt: skip
