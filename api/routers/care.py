"""What whoever looks after the service does over HTTP: access tokens, the ledger's soundness, a backup to take away.

All of it needs the role `manage`, but for checkpoints: everybody who may read may hold the shop to what it says.
"""

from __future__ import annotations

import tempfile
from dataclasses import asdict
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.background import BackgroundTask
from starlette.responses import FileResponse

from api import problems
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.roles import needs
from api.routers.notes import LeftOutAnswer
from graph.ledger.care import backup
from graph.ledger.checkpoint import take_checkpoint
from graph.ledger.tokens import Token, Tokens
from graph.ledger.verify import parse_checkpoint, verify
from graph.papers.checkpoint import checkpoint_paper
from graph.papers.html import as_html, content_policy
from graph.papers.pdf import as_pdf

router = APIRouter(tags=["service"])
SQLITE = "application/vnd.sqlite3"  # registered with IANA


class TokenBody(BaseModel):
    """For whom, and what it may do."""

    model_config = ConfigDict(extra="forbid")

    name: str = Field(min_length=1, max_length=100, pattern=r"\S", examples=["bench tablet"])
    role: Literal["read", "note", "manage"] = "read"


class TokenAnswer(BaseModel):
    """What is known of a token: everything but the token."""

    id: str
    name: str
    role: str
    made_at: str
    revoked_at: str


class NewToken(TokenAnswer):
    """`token` is shown this once and not kept."""

    token: str


class FaultBody(BaseModel):
    """Where, and what is wrong there."""

    path: str
    message: str


class Soundness(BaseModel):
    """What was found. Keep the checkpoint outside the ledger."""

    sound: bool
    lines: int
    attachments: int
    checkpoint: str
    faults: list[FaultBody]
    left_out: list[LeftOutAnswer] = Field(description="sound notes that contradict facts or others: not in any answer")


class CheckpointAnswer(BaseModel):
    """The last line's `position` and `hash` (SHA-256, hexadecimal), `at` which time (UTC); `text`: all in one line."""

    position: int
    hash: str
    at: str
    text: str


_ENDED = problems.responses({}, 401, 403, 404, 422, 429, 503)
_ENDED[204] = {"description": "It is ended"}
del _ENDED[200]


def _shown(token: Token) -> dict[str, Any]:
    return asdict(token)


@needs("manage")
@router.get("/tokens", summary="List the access tokens", response_model=list[TokenAnswer],
            responses=problems.responses({"model": list[TokenAnswer]}, 401, 403, 429, 503))  # fmt: skip
def list_tokens(notebook: UsesNotebook) -> Response:
    """Every token ever made, revoked ones too, without its secret."""
    return PlainJson([_shown(token) for token in Tokens(notebook.ledger.engine).list_tokens()])


@needs("manage")
@router.post("/tokens", status_code=201, summary="Make an access token", response_model=NewToken,
             responses=problems.responses({}, 400, 401, 403, 413, 422, 429, 503))  # fmt: skip
def make_token(body: TokenBody, notebook: UsesNotebook) -> Response:
    """The secret is in this answer and nowhere else."""
    token, secret = Tokens(notebook.ledger.engine).add(body.name, body.role)
    return PlainJson({**_shown(token), "token": secret}, 201, headers={"Cache-Control": "no-store"})


@needs("manage")
@router.delete("/tokens/{token_id}", status_code=204, summary="End an access token", response_model=None,
               responses=_ENDED)  # fmt: skip
def end_token(
    token_id: Annotated[str, Path(max_length=36)], notebook: UsesNotebook
) -> Response:  # fmt: skip
    """At once and everywhere; its sessions end with it. A second time changes nothing."""
    Tokens(notebook.ledger.engine).revoke(token_id)
    return Response(status_code=204)


@needs("manage")
@router.get("/ledger/verification", summary="Does the ledger still say what was written?", response_model=Soundness,
            responses=problems.responses({"model": Soundness}, 401, 403, 422, 429, 503))  # fmt: skip
def verify_ledger(
    notebook: UsesNotebook,
    since: Annotated[str, Query(max_length=200, description="a checkpoint kept outside, or its line")] = "",
) -> Response:  # fmt: skip
    """Reads every page, line and attachment and checks the chain; with a checkpoint, also that nothing before it was
    cut or rewritten."""
    report = verify(notebook.ledger, [parse_checkpoint(since)] if since else ())
    faults = [{"path": fault.path, "message": fault.message} for fault in report.faults]
    counted = {"lines": report.lines, "attachments": report.attachments, "checkpoint": str(report.checkpoint)}
    out = [{"note": one.note, "reason": one.reason} for one in notebook.left_out]
    return PlainJson({"sound": report.sound, **counted, "faults": faults, "left_out": out})


@needs("read")
@router.get("/ledger/checkpoint", summary="Where the ledger stands, to keep outside", response_model=CheckpointAnswer,
            responses=problems.responses({"model": CheckpointAnswer}, 401, 403, 429, 503))  # fmt: skip
def get_checkpoint(notebook: UsesNotebook) -> Response:
    """The chain's head. Kept elsewhere, it shows later whether anything up to it was cut or rewritten."""
    taken = take_checkpoint(notebook.ledger)
    where = {"position": taken.checkpoint.position, "hash": taken.checkpoint.hash, "at": taken.at}
    return PlainJson({**where, "text": taken.text}, headers={"Cache-Control": "no-store"})


@needs("read")
@router.get("/ledger/checkpoint.{form}", summary="The checkpoint on paper, with a QR code", response_class=Response,
            responses=problems.responses({"description": "the paper",
                                          "content": {"application/pdf": {}, "text/html": {}}},
                                         401, 403, 422, 429, 503))  # fmt: skip
def print_checkpoint(form: Annotated[Literal["html", "pdf"], Path()], notebook: UsesNotebook) -> Response:
    """To be signed and put where nobody who can write the ledger can reach it."""
    paper = checkpoint_paper(take_checkpoint(notebook.ledger))
    if form == "pdf":
        headers = {"content-disposition": 'inline; filename="checkpoint.pdf"', "Cache-Control": "no-store"}
        return Response(as_pdf(paper), media_type="application/pdf", headers=headers)
    headers = {"content-security-policy": content_policy(), "Cache-Control": "no-store"}
    return Response(as_html(paper), media_type="text/html", headers=headers)


@needs("manage")
@router.get("/ledger/backup", summary="Take a backup away", response_model=None,
            responses=problems.responses({"description": "One SQLite file, as `python -m graph restore` takes it",
                                          "content": {SQLITE: {"schema": {"type": "string", "format": "binary"}}}},
                                         401, 403, 429, 503))  # fmt: skip
def take_backup(notebook: UsesNotebook) -> Response:
    """Consistent while others write, and verified before it is sent. It holds private notes and the tokens' hashes."""
    folder = tempfile.TemporaryDirectory(prefix="layshaft-backup-")
    try:
        report = backup(notebook.ledger, FilePath(folder.name) / "ledger.db")
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        FilePath(folder.name) / "ledger.db", media_type=SQLITE, filename=f"ledger-{report.checkpoint.position}.db",
        headers={"Cache-Control": "no-store",
                 "Layshaft-Checkpoint": str(report.checkpoint)},
        background=BackgroundTask(folder.cleanup),
    )  # fmt: skip
