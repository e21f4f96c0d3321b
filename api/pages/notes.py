"""`/notebook`: write a note in half a minute, find it again, see its history, revise it or take it back.

Forms work without scripts. A form that is sent twice (a lost answer) writes once: it carries a key. What was typed
comes back with every fault at its field.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar
from urllib.parse import urlencode
from uuid import UUID

from fastapi import Depends, Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData

from api.notebook import UsesNotebook
from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.extra import last_writer, remember_writer, text_of, writer_of
from api.pages.form_faults import FormFaults
from api.pages.job_view import JobLine, job_line
from api.pages.note_view import NoteRow, row_of
from api.pages.photos import Photo, photo_of, photos_named, with_photo
from api.roles import needs
from api.routers.search import fact_notes_beside
from api.workshop import UsesWorkshop, Workshop
from graph.catalogue.model import Catalogue, Note
from graph.catalogue.terms import Assembly, EvidenceLevel, JointKind, PositionKind
from graph.costing.jobs.past import JobFilter, find_jobs
from graph.errors import InvalidInput, Problem
from graph.ledger.book import KeyReused, Retry, RevisionConflict
from graph.ledger.drafts import MAX_TEXT
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.identity import digest, find_note_id, new_id, note_iri
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft, Entry
from graph.ledger.record import draft_of as draft_of_entry
from graph.notes.form import (
    FIELDS,
    LABELS,
    Choice,
    FormInDoubt,
    NoteForm,
    at_fields,
    draft_of,
    form_of,
    own_kinds,
)
from graph.notes.relations import RELATIONS
from graph.notes.stated_before import StatedBefore, stated_before, words_of

router = page_router()
NOTES_PER_PAGE, MOST_JOBS = 50, 20
MOST_FIELDS = 5_000  # of a form; how many bytes it may have is said elsewhere
Short = Annotated[str, Query(max_length=500)]


async def sent_form(request: Request) -> AsyncIterator[FormData]:
    """The form that was sent; its files are closed afterwards. A unit's sheet has nine fields a place."""
    async with request.form(max_files=2, max_fields=MOST_FIELDS) as form:
        yield form


SentForm = Annotated[FormData, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class Options:
    """What the selects of a note offer: relations, joints, evidence, places and kinds of job, each as id and words."""

    relations: tuple[Choice, ...]
    joints: tuple[JointKind, ...]
    evidence: tuple[EvidenceLevel, ...]
    places: tuple[PositionKind, ...]
    assemblies: tuple[Assembly, ...]


@dataclass(frozen=True, slots=True)
class WriteView(FormFaults):
    """The form of a new note, as typed, with its faults, what its words may have meant, and the photo kept with it.

    `stated`: what says the same already.
    """

    labels: ClassVar[Mapping[str, str]] = LABELS

    form: NoteForm
    options: Options
    problems: tuple[Problem, ...] = ()
    choices: dict[str, tuple[Choice, ...]] | None = None
    longest: int = MAX_TEXT
    photo: Photo | None = None
    stated: tuple[StatedBefore, ...] = ()

    def others(self) -> tuple[Problem, ...]:
        """Faults that belong to no field of the form."""
        return tuple(problem for problem in self.problems if problem.path not in FIELDS)

    def options_for(self, name: str) -> tuple[Choice, ...]:
        """What the words of a field may have meant."""
        return (self.choices or {}).get(name, ())


@dataclass(frozen=True, slots=True)
class ListView:
    """Notes found, newest first. `older`: the address of the next page; `alike`: words alike were taken.

    `stated`: what fact files note with these words; `jobs`: of the shop, with them.
    """

    wanted: NoteFilter
    part: str
    rows: tuple[NoteRow, ...]
    evidence: tuple[EvidenceLevel, ...]
    older: str
    alike: bool
    open_disputes: int
    fault: str
    stated: tuple[Note, ...] = ()
    jobs: tuple[JobLine, ...] = ()


@dataclass(frozen=True, slots=True)
class NoteView:
    """A note with its history, newest first, and the forms to revise it or take it back.

    `sent`: what a writer wanted to say when somebody else was faster. `ours`: only own notes are revised here.
    `draft`: what a device kept of this note until it was written; `photo`: the photo or paper it rests on;
    `also`: those that its words name.
    """

    newest: NoteRow
    history: tuple[NoteRow, ...]
    options: Options
    ours: bool
    settles: tuple[str, ...]
    written: bool
    problems: tuple[Problem, ...] = ()
    sent: Draft | None = None
    draft: str = "note"
    photo: Photo | None = None
    also: tuple[Photo, ...] = ()


def options_of(known: Catalogue) -> Options:
    """What can be chosen, evidence best first."""
    return Options(
        tuple(Choice(name, words) for name, words in RELATIONS.items()),
        tuple(sorted(known.joint_kinds.values(), key=lambda joint: joint.label)),
        tuple(sorted(known.evidence_levels.values(), key=lambda level: level.rank)),
        tuple(sorted(known.position_kinds.values(), key=lambda position: position.label)),
        tuple(sorted(known.assemblies.values(), key=lambda job: job.label)),
    )


@needs("read")
@router.get("/notebook")
def show_notes(
    request: Request, notebook: UsesNotebook, workshop: UsesWorkshop,
    words: Annotated[str, Query(max_length=10_000)] = "", part: Short = "", author: Short = "", evidence: Short = "",
    job: Short = "", retracted: Annotated[str, Query(max_length=10)] = "",
    before: Annotated[int, Query(ge=0, le=2**62)] = 0,
) -> Response:  # fmt: skip
    """Notes by words and filters, newest first."""
    known = workshop.index.catalogue
    iri = "" if not part else part if "://" in part else notebook.ledger.base + part
    wanted = NoteFilter(
        words=words[:200], part=iri, author=author, evidence=evidence, job=job, retracted=bool(retracted)
    )
    found = find_notes(notebook.ledger, wanted, before=before, limit=NOTES_PER_PAGE)
    alike = not found and bool(wanted.words) and not before and not wanted.retracted
    if alike:
        found = _alike(notebook, wanted)
    view = ListView(
        wanted, part, tuple(row_of(known, notebook.ledger.base, entry) for entry in found),
        options_of(known).evidence, _older(request, found), alike and bool(found),
        sum(not one.settled for one in notebook.disputes()), notebook.catalogue_fault,
        stated=tuple(fact_notes_beside(known, words[:200], NOTES_PER_PAGE, job)) if words and not before else (),
        jobs=_jobs(workshop, words[:200]) if words and not before else (),
    )  # fmt: skip
    return page(request, "notes.html", view, title="Notes")


def _jobs(workshop: Workshop, words: str) -> tuple[JobLine, ...]:
    found = find_jobs(workshop.shop.notes, workshop.index, JobFilter(words=words))
    return tuple(job_line(job) for job in found[:MOST_JOBS])


def _alike(notebook: Notebook, wanted: NoteFilter) -> list[Entry]:
    """Notes with words that look like those typed."""
    filters = {"author": wanted.author, "evidence": wanted.evidence, "job": wanted.job}
    hits = notebook.search.find_notes(wanted.words, filters, NOTES_PER_PAGE)
    found = [notebook.ledger.get_note(hit.id) for hit in hits]
    return [entry for entry in found if not wanted.part or f"<{wanted.part}>" in entry.statements]


def _older(request: Request, found: list[Entry]) -> str:
    if len(found) < NOTES_PER_PAGE:
        return ""
    return str(request.url.include_query_params(before=found[-1].position).replace(scheme="", netloc=""))


@needs("note")
@router.get("/notebook/new")
def new_note(
    request: Request, workshop: UsesWorkshop, a: Short = "", b: Short = "", relation: Short = "",
    joint: Short = "", place: Short = "", assembly: Short = "", job: Short = "",
    evidence: Short = "", author: Short = "",
    text: Annotated[str, Query(max_length=2_000)] = "",
) -> Response:  # fmt: skip
    """The form of a new note; the address can fill it in beforehand."""
    chosen = relation if relation in RELATIONS else "fits"
    kept = " ".join(("note", *filter(None, (a, b, job, place, assembly))))
    form = NoteForm(
        a=a, b=b, relation=chosen, joint=joint, place=place, assembly=assembly, text=text, job=job, key=new_id(),
        draft=kept, evidence=evidence, author=author or last_writer(request),
    )  # fmt: skip
    view = WriteView(form, options_of(workshop.index.catalogue))
    return page(request, "note_new.html", view, title="Write a note", form=True)


@needs("note")
@router.post("/notebook")
def write_note(request: Request, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Writes the note and shows it; or shows the form again with what is wrong."""
    access = writer_of(request, form)
    typed, faults = with_photo(form_of(dict(form)), form, notebook.ledger)
    note_id, index = new_id(), workshop.index
    stated: tuple[StatedBefore, ...] = ()
    try:
        draft = draft_of(typed, index, notebook.ledger.base, note_id, access.name, own_kinds(notebook, index.catalogue))
        if not notebook.ledger.sent_before(_retry(access.name, typed)) and (stated := stated_before(typed, index)):
            faults = (*faults, Problem("again", words_of(stated)))
        if faults:
            raise InvalidInput(faults)
        entry = notebook.ledger.append(draft, note_id=note_id, retry=_retry(access.name, typed))
    except InvalidInput as error:
        choices = error.choices if isinstance(error, FormInDoubt) else {}
        problems = tuple(dict.fromkeys((*faults, *at_fields(error.problems, note_id))))
        return _again(request, workshop, notebook, typed, problems, choices, stated)
    except KeyReused:
        told = "a note was already written from this form; send it again to write this one as a further note"
        return _again(request, workshop, notebook, typed, (Problem("", told),), {})
    query = urlencode({"written": 1, "draft": typed.draft[:500] or "note"})
    answer = RedirectResponse(with_back(request, f"/notebook/{entry.note_id}?{query}"), status_code=303)
    return remember_writer(request, answer, entry.author)


def _again(
    request: Request, workshop: UsesWorkshop, notebook: Notebook, typed: NoteForm, problems: tuple[Problem, ...],
    choices: dict[str, tuple[Choice, ...]], stated: tuple[StatedBefore, ...] = (),
) -> Response:  # fmt: skip
    """The form as it was typed, with what is wrong."""
    photo = photo_of(notebook.ledger, typed.document)
    view = WriteView(
        replace(typed, key=new_id()), options_of(workshop.index.catalogue), problems, choices, photo=photo,
        stated=stated,
    )  # fmt: skip
    return page(request, "note_new.html", view, title="Write a note", status=422, form=True)


def _retry(name: str, typed: NoteForm) -> Retry | None:
    if not typed.key:
        return None
    return Retry(digest(f"{name}\nform\n{typed.key}"), digest(repr(typed)))


@needs("read")
@router.get("/notebook/{id:uuid}")
def show_note(
    request: Request,
    id: UUID,
    notebook: UsesNotebook,
    workshop: UsesWorkshop,
    written: Short = "",
    draft: Short = "note",
) -> Response:
    """A note with its history."""
    view = replace(_note_view(notebook, workshop.index.catalogue, str(id), written=bool(written)), draft=draft)
    return page(request, "note.html", view, title="A note", form=True)


def _note_view(notebook: Notebook, known: Catalogue, note_id: str, *, written: bool = False) -> NoteView:
    base = notebook.ledger.base
    history = tuple(row_of(known, base, entry) for entry in reversed(notebook.ledger.get_history(note_id)))
    newest = history[0]
    settles = tuple(found for iri in newest.entry.settles if (found := find_note_id(iri)))
    ours = newest.entry.iri == note_iri(base, note_id)
    photo = photo_of(notebook.ledger, newest.entry.document)
    also = photos_named(notebook.ledger, newest.entry)
    return NoteView(newest, history, options_of(known), ours, settles, written, photo=photo, also=also)


@needs("note")
@router.post("/notebook/{id:uuid}/revise")
def revise_note(request: Request, id: UUID, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Adds a revision with other words; what the note states as facts stays."""
    access, note_id = writer_of(request, form), str(id)
    ledger, known = notebook.ledger, workshop.index.catalogue
    kept = draft_of_entry(ledger.get_note(note_id))

    def said(name: str) -> str:
        return text_of(form, name).replace("\r\n", "\n").strip()

    draft = replace(
        kept, text=said("text"), author=said("author"), evidence=said("evidence"), method=said("method"),
        job=said("job"), made_at="", recorded_by=access.name, shareable=said("shareable") == "yes",
    )  # fmt: skip
    try:
        ledger.revise(note_id, _revision(form), draft)
    except RevisionConflict as error:
        view = replace(_note_view(notebook, known, note_id), sent=error.sent, problems=(Problem("", str(error)),))
        return page(request, "note.html", view, title="A note", status=409, form=True)
    except InvalidInput as error:
        view = replace(_note_view(notebook, known, note_id), sent=draft, problems=error.problems)
        return page(request, "note.html", view, title="A note", status=422, form=True)
    return RedirectResponse(f"/notebook/{id}?written=1", status_code=303)


@needs("note")
@router.post("/notebook/{id:uuid}/retract")
def retract_note(
    request: Request, id: UUID, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop
) -> Response:
    """Takes the note back; the reason becomes the last line of its history."""
    access, note_id = writer_of(request, form), str(id)
    draft = Draft(text=text_of(form, "why").strip(), author=text_of(form, "author").strip(), recorded_by=access.name)
    try:
        notebook.ledger.retract(note_id, _revision(form), draft)
    except InvalidInput as error:
        view = replace(_note_view(notebook, workshop.index.catalogue, note_id), problems=error.problems)
        return page(request, "note.html", view, title="A note", status=422, form=True)
    return RedirectResponse(f"/notebook/{id}", status_code=303)


def _revision(form: FormData) -> int:
    text = text_of(form, "revision")
    if not text.isdecimal() or len(text) > 9:
        raise InvalidInput([Problem("revision", "the form does not say which revision was read; load the note again")])
    return int(text)
