"""What the pages of jobs show: the list, and one job with its steps, its entries and the forms to note further ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar
from urllib.parse import quote

from api.pages.form_faults import FormFaults
from api.pages.photos import Photo, photo_of
from graph.catalogue.model import Catalogue
from graph.catalogue.terms import Term
from graph.complaints.readings import limits_words
from graph.costing.jobs.entries import words_of_entry
from graph.costing.jobs.job import DONE_WELL, Job
from graph.costing.jobs.past import JobFilter, state_words
from graph.costing.jobs.stops import step_of_stop, stop_label, stop_table, stops_of_job
from graph.costing.known_names import KnownNames
from graph.costing.notes import CostNote, new_id
from graph.costing.priors import load_signs
from graph.errors import Problem
from graph.exact import HUNDREDTHS
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.notebook import Notebook
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice

MOST_NOTES, MOST_UNITS = 100, 300
WORN, SOUND, UNSEEN = "worn", "sound", "unseen"
STATES = (Choice(WORN, "worn"), Choice(SOUND, "sound"), Choice(UNSEEN, "not laid open"))
LABELS = {
    "step": "Step", "hours": "Hours", "fault": "What was to be feared", "state": "How it was found",
    "found": "In your words", "sign": "Opened because of", "what": "What was measured",
    "reading": "Reading with its unit", "datum": "From where",
    "tool": "With what", "by": "Who measured", "position": "Place", "part": "Part fitted",
    "condition": "Condition", "remark": "Remark on it", "words": "Remark", "outcome": "How it ended",
    "months": "Months after", "good": "How it goes", "looked": "In your words", "reason": "Why",
    "author": "Who says so", "stop": "Where it stands", "why": "Why, or what was decided",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job in the list: its `id`, `title`, how it stands (`state`) and the `address` of its page."""

    id: str
    title: str
    state: str
    address: str


@dataclass(frozen=True, slots=True)
class JobGroup:
    """Jobs that stand alike: a `heading` with its `jobs`."""

    heading: str
    jobs: tuple[JobLine, ...]


@dataclass(frozen=True, slots=True)
class UnitOption:
    """A gearbox or engine to choose: its `id` and `label`; `chosen`: it was looked for."""

    id: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class JobBookView:
    """Jobs, newest first: those that are open, by where they stand (`open`), and `closed`.

    `words`: what was looked for; `gearboxes`, `engines`: to choose from; `searched`: whether anything was looked for.
    """

    open: tuple[JobGroup, ...]
    closed: tuple[JobLine, ...]
    words: str
    gearboxes: tuple[UnitOption, ...]
    engines: tuple[UnitOption, ...]
    searched: bool


@dataclass(frozen=True, slots=True)
class StopLine:
    """A stop of the job: what is measured there and what that decides; `here`: it is halted there; `where`: among the
    steps, in words."""

    id: str
    label: str
    measures: tuple[str, ...]
    decides: str
    here: bool
    where: str = ""


@dataclass(frozen=True, slots=True)
class EntryLine:
    """An entry: its `id`, what it says (`words`), `author`, the day (`made_on`); `can_go`: can be taken back."""

    id: str
    words: str
    author: str
    made_on: str
    can_go: bool


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step: `number`, `text`, `planned` and `actual` hours in words (empty where none are noted)."""

    number: int
    text: str
    planned: str
    actual: str


@dataclass(frozen=True, slots=True)
class JobNote:
    """A note of the shop that names the job: its `words`, its `address`, and its `photo` if it has one."""

    words: str
    address: str
    photo: Photo | None


@dataclass(frozen=True, slots=True)
class JobView(FormFaults):
    """One job: `id`, `title`. `state`: open, or how it was closed; `is_open`; `steps`, `entries`; `problems`: of what
    was sent. `can_look_back`: it is closed as done.

    `address`: of the page; forms are sent below it. `typed`: what was sent; `done`: what was kept just now; `fears`:
    the faults that the plan names; `signs`: sign and state, known before opening; `places`, `conditions`, `states`: to
    choose from; `choices`: the parts that words may have meant.
    `stops`: where it can be halted, `stop`: where it is. `ticked`: what is renewed besides, as it was ticked.
    `notes`: of the shop about this job, with photos; `keeps_notes`: they can be written here. `key`: of this page's
    forms: one that is sent twice is kept once.
    """

    labels: ClassVar[Mapping[str, str]] = LABELS

    id: str
    title: str
    state: str
    is_open: bool
    can_look_back: bool
    steps: tuple[StepLine, ...]
    entries: tuple[EntryLine, ...]
    address: str
    fears: tuple[Choice, ...]
    signs: tuple[Choice, ...]
    places: tuple[Term, ...]
    conditions: tuple[Term, ...]
    states: tuple[Choice, ...] = STATES
    problems: tuple[Problem, ...] = ()
    typed: Mapping[str, str] | None = None
    choices: tuple[Choice, ...] = ()
    done: str = ""
    notes: tuple[JobNote, ...] = ()
    keeps_notes: bool = False
    key: str = ""
    stops: tuple[StopLine, ...] = ()
    ticked: str = ""
    stop: str = ""

    def value(self, name: str) -> str:
        """What was typed into a field."""
        return (self.typed or {}).get(name, "")


def with_notes(view: JobView, notebook: Notebook | None) -> JobView:
    """The page with the notes that name the job."""
    if notebook is None:
        return view
    found = find_notes(notebook.ledger, NoteFilter(job=view.id), limit=MOST_NOTES)
    notes = (
        JobNote(one.text, f"/notebook/{one.note_id}", photo_of(notebook.ledger, one.document))
        for one in found
        if one.job == view.id
    )
    return replace(view, notes=tuple(notes), keeps_notes=True)


def job_line(job: Job) -> JobLine:
    """A job for the list."""
    return JobLine(job.id, job.title, state_words(job), address_of_job(job.id))


def address_of_job(job: str) -> str:
    """The page of a job."""
    return f"/job-book/{quote(job, safe='')}"


def job_view(
    job: Job, known: Catalogue, problems: tuple[Problem, ...] = (), typed: Mapping[str, str] | None = None,
    choices: tuple[Choice, ...] = (), done: str = "",
) -> JobView:  # fmt: skip
    """The page of a job as it stands, with what was typed and what is wrong with it."""
    noted, names = job.actual_hundredths or {}, KnownNames(known)
    steps = tuple(
        StepLine(step.number, step.text, _hours(step.hours_hundredths), _hours(noted.get(step.number, 0)))
        for step in job.steps
    )
    entries = tuple(
        EntryLine(note.id, _entry_words(note, names, job, known), note.author, note.made_on[:10],
                  not job.closing and note.batch == note.id)
        for note in job.noted
    )  # fmt: skip
    return JobView(
        job.id, job.title, state_words(job), not job.closing, job.outcome == DONE_WELL, steps, entries,
        address_of_job(job.id), tuple(Choice(one, job.words_of_fault(one, known.faults)) for one in job.faults),
        sign_choices(),
        tuple(sorted(known.position_kinds.values(), key=lambda one: one.label)),
        tuple(sorted(known.part_conditions.values(), key=lambda one: one.label)), problems=problems, typed=typed,
        choices=choices, done=done, key=new_id("form"), stop=job.stop,
        stops=tuple(StopLine(one.id, one.label, one.measures, one.decides, one.id == job.stop,
                             step_of_stop(one, job.steps, known.tasks))
                    for one in stops_of_job(job, known.tasks)),
    )  # fmt: skip


def job_book_view(found: Sequence[Job], wanted: JobFilter, index: CatalogueIndex) -> JobBookView:
    """The list of jobs, those that are open by where they stand."""
    lines: dict[str, list[JobLine]] = {}
    for job in found:
        if not job.outcome:
            lines.setdefault(job.stop, []).append(job_line(job))
    order = ["", *(one.id for one in stop_table())]
    standing = sorted(lines.items(), key=lambda item: order.index(item[0]) if item[0] in order else len(order))
    return JobBookView(
        tuple(
            JobGroup(f"Halted: {stop_label(stop).casefold()}" if stop else "Under way", tuple(at))
            for stop, at in standing
        ),
        tuple(job_line(job) for job in found if job.outcome), wanted.words,
        _options(index, "gearbox", wanted.gearbox), _options(index, "engine", wanted.engine),
        bool(wanted.words or wanted.gearbox or wanted.engine),
    )  # fmt: skip


def _options(index: CatalogueIndex, what: str, chosen: str) -> tuple[UnitOption, ...]:
    parts = index.catalogue.parts
    return tuple(UnitOption(one, parts[one].label, one == chosen) for one in index.units(what)[:MOST_UNITS])


def _entry_words(note: CostNote, names: KnownNames, job: Job, known: Catalogue) -> str:
    """What the entry says; of a reading, whether it lies within what is allowed."""
    said = words_of_entry(note, names.names_in(note, job))
    if note.body["entry"] != "measurement":
        return said
    limit = limits_words(str(note.body["what"]), str(note.body["reading"]), known)
    return f"{said}: {limit}" if limit else said


def sign_choices() -> tuple[Choice, ...]:
    """Every sign that can be known before opening, in each of its states; the id is `sign=state`."""
    pairs = dict.fromkeys((ratio.sign, ratio.state) for ratio in load_signs())
    return tuple(Choice(f"{sign}={state}", f"{sign}: {state}") for sign, state in sorted(pairs))


def signs_of(chosen: str) -> dict[str, str]:
    """The sign and its state that were chosen.

    >>> signs_of("metal on the magnet=chunks"), signs_of("")
    ({'metal on the magnet': 'chunks'}, {})
    """
    sign, _, state = chosen.partition("=")
    return {sign: state} if sign else {}


def _hours(hundredths: int) -> str:
    return f"{hundredths / HUNDREDTHS:.2f} h" if hundredths else ""
