"""Photos and papers on notes: taken in with the note's form, shown small beside it (`/attachments/HASH/thumbnail`)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import Path, Response
from starlette.datastructures import FormData, UploadFile

from api.notebook import UsesNotebook
from api.pages.base import page_router
from api.roles import needs
from graph.errors import InvalidInput, NotFound, Problem
from graph.ledger import attachments
from graph.ledger.book import Ledger
from graph.ledger.notebook import Notebook
from graph.ledger.photos import keep_photo, thumbnail
from graph.ledger.record import Entry
from graph.notes.form import NoteForm

router = page_router()
FILES = ("photo", "paper")  # one straight from the camera, one from what the device holds
FIELD = "document"


@dataclass(frozen=True, slots=True)
class Photo:
    """A kept photo or paper: its `address`, its `name`; `small`: address of its small picture, empty for a paper."""

    address: str
    name: str
    small: str


def photo_of(ledger: Ledger, document: str) -> Photo | None:
    """The kept file that a note names as its document; None where that is something else."""
    kept = attachments.find(ledger, document) if document else None
    return None if kept is None else _shown(kept)


def photos_named(ledger: Ledger, entry: Entry) -> tuple[Photo, ...]:
    """The kept files that a note's words name besides the one it rests on."""
    return tuple(_shown(kept) for kept in attachments.named_in(ledger, entry.text) if kept.iri != entry.document)


def _shown(kept: attachments.Attachment) -> Photo:
    address = f"/attachments/{kept.hash}"
    return Photo(address, kept.name, f"{address}/thumbnail" if kept.media_type.startswith("image/") else "")


def photos_of(notebook: Notebook | None, notes: Iterable[Entry]) -> dict[str, Photo]:
    """The photos of those notes that rest on one, by note."""
    if notebook is None:
        return {}
    found = ((note.note_id, photo_of(notebook.ledger, note.document)) for note in notes if note.document)
    return {note: photo for note, photo in found if photo}


def with_photo(typed: NoteForm, form: FormData, ledger: Ledger) -> tuple[NoteForm, tuple[Problem, ...]]:
    """The form with the photo that was sent with it, kept even if the note is not written yet; and what is wrong."""
    files = [(name, one) for name, one in form.multi_items() if isinstance(one, UploadFile) and one.filename]
    sent = [one for name, one in files if name in FILES]
    if strange := [(name, one.filename) for name, one in files if name not in FILES]:
        told = ", ".join(f"{file!r} was sent as {name[:40]!r}" for name, file in strange)
        beside = "".join(f"; {one.filename!r} was not kept either" for one in sent)
        return typed, (Problem(FIELD, f"{told}: send it as {' or '.join(FILES)}{beside}"),)
    if len(sent) > 1:
        told = f"{sent[0].filename!r} and {sent[1].filename!r} were sent; a note has one: write another for the second"
        return typed, (Problem(FIELD, told),)
    if not sent:
        if typed.document and attachments.find(ledger, typed.document) is None:
            return replace(typed, document=""), (Problem(FIELD, f"{typed.document[:100]!r} is not kept here"),)
        return typed, ()
    if typed.document and attachments.find(ledger, typed.document) is None:
        told = f"{typed.document[:100]!r} is named as its paper, and {sent[0].filename!r} was sent: leave one of them"
        return typed, (Problem(FIELD, told),)
    file = sent[0]
    content = file.file.read(attachments.MAX_BYTES + 1)
    try:
        kept = keep_photo(ledger, content, "", (file.filename or "")[:200])
    except InvalidInput as error:
        return typed, tuple(Problem(FIELD, f"{(file.filename or '')[:80]!r}: {one.message}") for one in error.problems)
    return replace(typed, document=kept.iri), ()


@needs("read")
@router.get("/attachments/{key}/thumbnail")
def show_small(key: Annotated[str, Path(max_length=64)], notebook: UsesNotebook) -> Response:
    """A small picture of a kept photo; it never changes."""
    known, content = attachments.get(notebook.ledger, key)
    try:
        small = thumbnail(content, known.media_type)
    except InvalidInput:
        raise NotFound("small picture", key) from None
    return Response(small, media_type="image/jpeg", headers={
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Security-Policy": "sandbox; default-src 'none'",
    })  # fmt: skip
