"""`/bench/face`: a face from photos: the sheet, what the photos show, which holes belong, and the note.

`/bench/face/by-hand`: the same from distances, angles and radii. Both work without scripts. A photo that was sent stays
with the form until its note is written, so that no step asks for it again.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Depends, Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData, UploadFile

from api.files import read_in_turn
from api.kept_uploads import KeptUploads, uploads_of
from api.notebook import UsesNotebook
from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.extra import last_writer, remember_writer, text_of, writer_of
from api.pages.face_view import (
    OF_HOLES,
    TYPED,
    FacePage,
    check_lines,
    choices_of,
    empty_page,
    hand_picture,
    hand_rows,
    known_again,
    names_shown,
    photo_lines,
    photo_picture,
    photo_rows,
)
from api.roles import needs
from api.security import Access
from api.workshop import UsesWorkshop
from graph.errors import Busy, InvalidInput, LimitExceeded, NotFound, Problem
from graph.ledger.attachments import MAX_BYTES
from graph.ledger.book import Retry
from graph.ledger.identity import digest, new_id
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.lookups.index import CatalogueIndex
from graph.notes.faces import (
    FaceAsked,
    HandAsked,
    PhotosAsked,
    PhotosRead,
    keep_photos,
    read_photos,
    solve_by_hand,
    write_face,
)
from graph.notes.form import FormInDoubt, own_kinds
from graph.photo.combine import MOST_PHOTOS
from graph.photo.hand import Solved

router = page_router()
TITLE, TITLE_BY_HAND = "A face from a photo", "A hole pattern by hand"
PATH, PATH_BY_HAND = "/bench/face", "/bench/face/by-hand"
MOST_FIELDS = 600
LOOK = "a further photo was sent along: look at the holes below, then keep them"
OTHERS = "the holes read now are others than those shown before: look at them below, then keep them"
Typed = Mapping[str, str]
Short = Annotated[str, Query(max_length=500)]


async def _face_form(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=MOST_PHOTOS, max_fields=MOST_FIELDS) as form:
        yield form


FaceForm = Annotated[FormData, Depends(_face_form)]


@needs("read")
@router.get(PATH)
def show_face(
    request: Request, workshop: UsesWorkshop, part: Short = "", joint: Short = "", saved: Short = ""
) -> Response:
    """What to print and to do, and the form for the photos."""
    view = empty_page(workshop.index, _begun(request, part, joint), by_hand=False)
    return _shown(request, replace(view, saved=saved, saved_part=part, saved_joint=joint), 200)


@needs("read")
@router.get(PATH_BY_HAND)
def show_face_by_hand(
    request: Request, workshop: UsesWorkshop, part: Short = "", joint: Short = "", saved: Short = ""
) -> Response:
    """The form for readings by hand."""
    view = empty_page(workshop.index, _begun(request, part, joint), by_hand=True)
    return _shown(request, replace(view, saved=saved, saved_part=part, saved_joint=joint), 200)


def _begun(request: Request, part: str, joint: str) -> dict[str, str]:
    return {"part": part, "joint": joint, "author": last_writer(request)}


def _retry(access: Access, typed: Typed, ticked: frozenset[str]) -> Retry | None:
    """A form that is sent again (a lost answer) writes once."""
    if not typed["key"]:
        return None
    return Retry(digest(f"{access.name}\nface\n{typed['key']}"), digest(repr((sorted(typed.items()), sorted(ticked)))))


def _shown(request: Request, view: FacePage, status: int) -> Response:
    title = TITLE_BY_HAND if view.by_hand else TITLE
    return page(request, "face.html", view, title=title, status=status, form=True)


@needs("note")
@router.post(PATH)
async def read_face(request: Request, form: FaceForm, workshop: UsesWorkshop) -> Response:
    """The photos, read: the picture with its holes, to choose from. Nothing is written yet."""
    writer_of(request, form)
    return await _read(request, form, workshop.index, ())


async def _read(request: Request, form: FormData, index: CatalogueIndex, said: tuple[Problem, ...]) -> Response:
    """The page with what the photos show and all that was typed before; `said`: why it is shown instead of kept."""
    typed = _typed(form)
    before, view = typed["kept"], empty_page(index, typed, by_hand=False)

    async def read_these(kept: str) -> PhotosRead:
        return await read_in_turn(request, lambda: read_photos(_photos({**typed, "kept": kept}, uploads_of(request))))

    try:
        kept = _with_sent(form, typed, uploads_of(request))
        view = replace(view, typed={**view.typed, "kept": kept})
        read = await read_these(kept)
    except (InvalidInput, LimitExceeded, Busy, NotFound) as error:
        said = (*said, *_problems(error))
        if not before or view.typed["kept"] == before:
            return _shown(request, replace(view, problems=said), _status(error))
        try:  # a further photo that is no good is left out; those before it still count
            read = await read_these(before)
        except (InvalidInput, LimitExceeded, Busy, NotFound):
            return _shown(request, replace(view, problems=said), 422)
        view = replace(view, typed={**view.typed, "kept": before})
        said = (*said, Problem("photo", "the photo sent last is left out; what was read before it stands below"))
    typed, ticked, _ = known_again(read, typed, _ticked(form))
    return _shown(request, replace(_with_photos(view, read, typed, ticked), problems=said), 422 if said else 200)


@needs("note")
@router.post(f"{PATH}/keep")
async def keep_face_of_photos(
    request: Request, form: FaceForm, notebook: UsesNotebook, workshop: UsesWorkshop
) -> Response:
    """Keeps the chosen holes and the photos as one note."""
    uploads = uploads_of(request)

    def seen(view: FacePage, typed: Typed, ticked: frozenset[str]) -> FoundFace:
        photos = _photos(typed, uploads)
        read = read_photos(photos)
        typed, again, same = known_again(read, typed, ticked)
        shown = _with_photos(view, read, typed, ticked if again is None else again)
        return FoundFace(shown, typed, same, read, photos.photos)

    return await _keep(request, form, notebook, workshop.index, PATH, seen)


@needs("note")
@router.post(PATH_BY_HAND)
async def solve_face(request: Request, form: FaceForm, workshop: UsesWorkshop) -> Response:
    """The readings, solved: where each hole lies, what does not agree, what is missing. Nothing is written yet."""
    writer_of(request, form)
    typed = _typed(form)
    view = empty_page(workshop.index, typed, by_hand=True)
    try:
        found = await read_in_turn(request, lambda: solve_by_hand(_hand(typed)))
    except InvalidInput as error:
        return _shown(request, replace(view, problems=error.problems), 422)
    return _shown(request, _with_readings(view, found, typed, _ticked(form) if names_shown(typed) else None), 200)


@needs("note")
@router.post(f"{PATH_BY_HAND}/keep")
async def keep_face_by_hand(
    request: Request, form: FaceForm, notebook: UsesNotebook, workshop: UsesWorkshop
) -> Response:
    """Keeps the pattern as a note, once every place is determined."""

    def solved(view: FacePage, typed: Typed, ticked: frozenset[str]) -> FoundFace:
        found = solve_by_hand(_hand(typed))
        view, shown = _with_readings(view, found, typed, ticked), names_shown(typed)
        return FoundFace(view, typed, not shown or set(shown) == {row.name for row in view.rows}, found)

    return await _keep(request, form, notebook, workshop.index, PATH_BY_HAND, solved)


@dataclass(frozen=True, slots=True)
class FoundFace:
    """What photos or readings show, on the page that shows it. `same`: the holes are those that the form was shown
    with, so that what was said of each still holds."""

    view: FacePage
    typed: Typed
    same: bool
    found: PhotosRead | Solved
    photos: Sequence[tuple[str, bytes]] = ()


async def _keep(
    request: Request, form: FormData, notebook: Notebook, index: CatalogueIndex, path: str,
    find: Callable[[FacePage, Typed, frozenset[str]], FoundFace],
) -> Response:  # fmt: skip
    """Finds the face anew and writes it; shown again, with the reason, where that cannot be."""
    access = writer_of(request, form)
    typed, ticked = _typed(form), _ticked(form)
    view = empty_page(index, typed, by_hand=path == PATH_BY_HAND)
    retry = _retry(access, typed, ticked)
    if done := notebook.ledger.sent_before(retry):
        return _gone_on(request, path, view, typed["part"], done[0], index)
    if not view.by_hand and any(isinstance(one, UploadFile) and one.filename for _, one in form.multi_items()):
        return await _read(request, form, index, (Problem("photo", LOOK),))
    try:
        shown = await read_in_turn(request, lambda: find(view, typed, ticked))
    except (InvalidInput, LimitExceeded, Busy, NotFound) as error:
        return _shown(request, replace(view, problems=_problems(error)), _status(error))
    if not shown.same:
        return _shown(request, replace(shown.view, problems=(Problem("holes", OTHERS),)), 422)
    asked = _asked(shown.view, shown.typed, access.signed(typed["author"]) or access.default_author)
    own = tuple(own_kinds(notebook, index.catalogue))

    def kept() -> tuple[Entry, str]:
        return write_face(notebook.ledger, index, asked, shown.found, own=own, retry=retry, recorded_by=access.name,
                         documents=lambda: keep_photos(notebook.ledger, shown.photos))  # fmt: skip

    try:
        entry, part = await read_in_turn(request, kept)
    except InvalidInput as error:
        return _refused(request, shown.view, error)
    for name in typed["kept"].split():
        uploads_of(request).forget(name)
    return _gone_on(request, path, view, part, entry, index)


def _refused(request: Request, view: FacePage, error: InvalidInput) -> Response:
    choices = error.choices.get("part", ()) if isinstance(error, FormInDoubt) else ()
    return _shown(request, replace(view, problems=error.problems, part_choices=choices), 422)


def _gone_on(request: Request, path: str, view: FacePage, part: str, entry: Entry, index: CatalogueIndex) -> Response:
    part = part if part in index.catalogue.parts else ""
    query = urlencode({"saved": entry.note_id, "part": part, "joint": view.typed["joint"]})
    answer = RedirectResponse(with_back(request, f"{path}?{query}"), status_code=303)
    return remember_writer(request, answer, view.typed["author"])


def _with_photos(view: FacePage, read: PhotosRead, typed: Typed, ticked: frozenset[str] | None) -> FacePage:
    rows = photo_rows(read, typed, ticked)
    level = {**view.typed, "level": typed["level"]}
    return replace(view, typed=level, rows=rows, picture=photo_picture(read, rows), notes=read.combined.notes,
                   seen=photo_lines(read.photos))  # fmt: skip


def _with_readings(view: FacePage, solved: Solved, typed: Typed, ticked: frozenset[str] | None) -> FacePage:
    rows = hand_rows(solved, typed, ticked)
    return replace(view, rows=rows, picture=hand_picture(solved, rows), notes=solved.notes, checks=check_lines(solved))


def _typed(form: FormData) -> dict[str, str]:
    """The fields as text, also those of each hole."""
    names = [*TYPED, *(name for name in form if name.startswith(OF_HOLES))]
    found = {name: text_of(form, name).replace("\r\n", "\n").strip() for name in names}
    return found | {"part": text_of(form, "part_chosen") or found["part"], "key": found["key"] or new_id()}


def _ticked(form: FormData) -> frozenset[str]:
    return frozenset(name.removeprefix("take.") for name in form if name.startswith("take."))


def _with_sent(form: FormData, typed: Typed, uploads: KeptUploads) -> str:
    """The names of the photos kept so far and those sent now. Raises InvalidInput."""
    kept = typed["kept"].split()
    for name, one in form.multi_items():
        if isinstance(one, UploadFile) and one.filename:
            if name != "photo":
                raise InvalidInput([Problem(name[:40], f"{one.filename[:80]!r}: send photos as photo")])
            if (one.size or 0) > MAX_BYTES:
                raise InvalidInput([Problem("photo", f"{one.filename[:80]!r}: at most {MAX_BYTES:,} bytes a photo")])
            kept.append(uploads.keep(one.file))
    kept = list(dict.fromkeys(kept))
    if len(kept) > MOST_PHOTOS:
        raise InvalidInput([Problem("photo", f"at most {MOST_PHOTOS} photos of one face, found {len(kept)}")])
    return " ".join(kept)


def _photos(typed: Typed, uploads: KeptUploads) -> PhotosAsked:
    """The kept photos as asked. Raises NotFound where one is not kept any more."""
    photos = []
    for number, name in enumerate(typed["kept"].split()[: MOST_PHOTOS + 1], start=1):
        with uploads.open(name) as file:
            photos.append((f"face, photo {number}", file.read(MAX_BYTES + 1)))
    return PhotosAsked(
        photos=tuple(photos), across=typed["across"], along=typed["along"], tool=typed["tool"] or "calliper",
        under=typed["under"], moved=typed["moved"] == "yes",
    )  # fmt: skip


def _hand(typed: Typed) -> HandAsked:
    return HandAsked(holes=typed["holes"], entries=typed["entries"], uncertainty=typed["uncertainty"],
                     clockwise=typed["clockwise"])  # fmt: skip


def _asked(view: FacePage, typed: Typed, author: str) -> FaceAsked:
    return FaceAsked(
        part=typed["part"], joint=typed["joint"], seen_from=typed["seen_from"], choices=choices_of(view.rows, typed),
        datum=typed["datum"], by_bolts=typed["by_bolts"] == "yes", level=typed["level"], author=author,
        text=typed["text"], job=typed["job"],
    )  # fmt: skip


def _status(error: Exception) -> int:
    """503 where nothing is wrong with what was sent: the same does in a moment."""
    return 503 if isinstance(error, Busy) else 422


def _problems(error: Exception) -> tuple[Problem, ...]:
    if isinstance(error, InvalidInput):
        return error.problems
    gone = "a photo is not kept any more: send it again"
    return (Problem("photo", gone if isinstance(error, NotFound) else str(error)),)
