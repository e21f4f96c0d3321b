"""Writing a unit's sheet: found, merged with what others wrote meanwhile, kept as one note."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import count

from api.pages.sheet_form import SheetReading, read_sheet
from api.pages.sheet_view import SheetView, standing_sheet, told, what
from api.security import LOCAL, Access
from api.workshop import Workshop
from graph.catalogue.model import Catalogue, Part
from graph.errors import Busy, InvalidInput, Problem
from graph.ledger.book import KeyReused, Retry, RevisionConflict
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.identity import digest, new_id
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft, Entry
from graph.ledger.statements import canonical
from graph.ledger.things import part_triples, stated_parts
from graph.ledger.unit_sheets import (
    MADE_FOR,
    NOTHING,
    SHEET,
    PlaceSaid,
    merge,
    said_in_sheet,
    sheet_triples,
    with_conditions,
)

MOST_NOTES, TRIES = 200, 5


@dataclass(frozen=True, slots=True)
class Clash:
    """A place that two people changed to different things: its field's `name`, its words, and the three states."""

    name: str
    label: str
    read: PlaceSaid
    yours: PlaceSaid
    theirs: PlaceSaid


class SheetProblem(Exception):
    """A sheet that was not written: `view` as typed, with what is wrong; `clashes`: where two people wrote."""

    def __init__(self, view: SheetView, clashes: tuple[Clash, ...] = (), new: Mapping[str, str] | None = None):
        self.view, self.clashes, self.new = view, clashes, dict(new or {})
        super().__init__("the sheet was not written")


def find_sheet(notebook: Notebook, unit: Part) -> Entry | None:
    """The newest note that is the unit's sheet."""
    iri = unit.id if "://" in unit.id else notebook.ledger.base + unit.id
    found = find_notes(notebook.ledger, NoteFilter(part=iri, words=SHEET), limit=MOST_NOTES)
    return next((one for one in found if _is_of(one, iri)), None)


def _is_of(entry: Entry, iri: str) -> bool:
    return entry.method == SHEET and f"<{iri}>" in entry.statements


def write_sheet_of(
    workshop: Workshop, notebook: Notebook, unit: Part, sent: Mapping[str, str], access: Access,
    retry: Retry | None = None,
) -> tuple[Entry, bool]:  # fmt: skip
    """The sheet's note, and whether somebody else's writing was merged in; `retry`: sent again, it writes once.

    Raises SheetProblem, Busy, InvalidInput, KeyReused.
    """
    if done := notebook.ledger.sent_before(retry):
        return done[0], False
    sent = _signed(sent, access)
    for _ in range(TRIES):
        index, sheet = workshop.index, find_sheet(notebook, unit)
        read = _read_before(notebook, unit, sheet, sent)
        reading = read_sheet(index, notebook, standing_sheet(index, notebook, unit, read), sent, sheet)
        if reading.view.problems:
            raise SheetProblem(reading.view)
        base = notebook.ledger.base
        theirs = said_in_sheet(sheet, base)
        merged = merge(reading.view.said, reading.said, theirs)
        if merged.clashes:
            raise _clashing(workshop, notebook, sheet, reading, merged.clashes)
        met = bool(sheet) and (read is None or sheet.revision != read.revision or sheet.note_id != read.note_id)  # type: ignore[union-attr]
        text = _text(reading.view, read, sheet)
        if sheet and merged.said == theirs and text == sheet.text:
            return sheet, met
        try:
            return _kept(
                notebook, replace(reading.view, text=text), reading, merged.said, sheet, access, sent, retry
            ), met
        except RevisionConflict:
            workshop.shop.follow()
        except InvalidInput as error:
            raise SheetProblem(replace(reading.view, problems=error.problems)) from error
    raise Busy("others are writing this sheet: nothing of yours was written yet; send it again", 1)


def _signed(sent: Mapping[str, str], access: Access) -> dict[str, str]:
    """The same with the token's name behind whoever says so, of the sheet and of each place."""

    def signed(name: str, said: str) -> str:
        if name == "author" and access != LOCAL:
            return access.signed(said)
        return access.signed(said) if said and name.startswith("at.") and name.endswith("/author") else said

    return {name: signed(name, said) for name, said in sent.items()}


def _read_before(notebook: Notebook, unit: Part, sheet: Entry | None, sent: Mapping[str, str]) -> Entry | None:
    """The writing of the sheet that the page was made of. Raises InvalidInput for one that never was."""
    number = sent.get("revision", "") or "0"
    if number == "0":
        return None
    note = sent.get("note", "") or (sheet.note_id if sheet else "")
    history = notebook.ledger.get_history(note) if note else []
    iri = unit.id if "://" in unit.id else notebook.ledger.base + unit.id
    for entry in history:
        if str(entry.revision) == number and _is_of(entry, iri):
            return entry
    raise InvalidInput([Problem("revision", f"this sheet has no writing {number[:20]!r}: load it again")])


def _text(view: SheetView, read: Entry | None, sheet: Entry | None) -> str:
    """The sheet's words: whoever changed them wins; of two that did, both stand."""
    before, now = (one.text if one else "" for one in (read, sheet))
    if view.text in ("", before, now):
        return now or view.text or f"What {view.unit.label} contains."
    return view.text if now == before or not now else f"{now}\n{view.text}"


def _kept(
    notebook: Notebook, view: SheetView, reading: SheetReading, said: Mapping[str, PlaceSaid], sheet: Entry | None,
    access: Access, sent: Mapping[str, str], retry: Retry | None,
) -> Entry:  # fmt: skip
    ledger, note_id = notebook.ledger, sheet.note_id if sheet else new_id()
    kept = stated_parts(sheet.statements) if sheet else ()
    new = [triple for part in reading.parts for triple in part_triples(part, ledger.base)]
    parts = with_conditions([*kept, *new], said, ledger.base)
    edges = sheet_triples(view.unit.id, said, ledger.base, note_id, view.evidence, view.author)
    draft = Draft(
        text=view.text, author=view.author, evidence=view.evidence, method=SHEET, recorded_by=access.name,
        statements=canonical([*parts, *edges]),
    )  # fmt: skip
    if sheet:
        return ledger.revise(note_id, sheet.revision, draft, retry=retry)
    first = Retry("", digest(repr((access.name, sorted(sent.items())))), (retry,) if retry else ())
    return _first(notebook, view.unit, note_id, draft, first)


def _first(notebook: Notebook, unit: Part, note_id: str, draft: Draft, sent: Retry) -> Entry:
    """A unit's first sheet, or the first since one was taken back; of two phones one is first, the other merges."""
    for number in count():
        try:
            entry = notebook.ledger.append(
                draft, note_id=note_id, retry=replace(sent, key=digest(f"sheet\n{unit.id}\n{number}"))
            )
        except KeyReused:
            entry = None  # somebody else's sheet came first, or was taken back since
        standing = find_sheet(notebook, unit)
        if entry is not None and standing is not None:
            return entry
        if standing is not None:
            raise RevisionConflict(draft, standing, 0)
    raise AssertionError("unreachable")


def _clashing(
    workshop: Workshop, notebook: Notebook, sheet: Entry | None, reading: SheetReading, clashing: tuple[str, ...]
) -> SheetProblem:  # fmt: skip
    """The sheet as it stands now, with what was typed: where both wrote, both are told and one is to be chosen."""
    workshop.shop.follow()
    known = workshop.index.catalogue
    new = {part.id: part.label for part in reading.parts}
    now = standing_sheet(workshop.index, notebook, reading.view.unit, sheet)
    typed = {place.name: place for place in reading.view.places}
    places, clashes = [], []
    for place in now.places:
        before, yours = (one.get(place.iri, NOTHING) for one in (reading.view.said, reading.said))
        if place.iri in clashing:
            clashes.append(Clash(place.name, place.position.label, before, yours, place.said))
        if yours != before:
            own = typed[place.name]
            place = replace(own, was=place.was, label=place.label, said=place.said, stands=place.stands,
                            stored=told(known, place.said) if place.iri in clashing else "")  # fmt: skip
        places.append(place)
    made_for = reading.said.get(MADE_FOR, NOTHING)
    if MADE_FOR in clashing:
        before, theirs = reading.view.said.get(MADE_FOR, NOTHING), now.said.get(MADE_FOR, NOTHING)
        clashes.append(Clash("made_for", "made for", before, made_for, theirs))
    changed = made_for != reading.view.said.get(MADE_FOR, NOTHING)
    view = replace(
        now, places=tuple(places), evidence=reading.view.evidence, author=reading.view.author, text=reading.view.text,
        made_for=reading.view.made_for if changed else now.made_for,
        problems=tuple(Problem(one.name, clash_words(known, one, new)) for one in clashes),
    )  # fmt: skip
    return SheetProblem(view, tuple(clashes), new)


def clash_words(known: Catalogue, clash: Clash, new: Mapping[str, str]) -> str:
    """Both values of a place in words, and what to do."""
    return (
        f"meanwhile this was written here: {told(known, clash.theirs)}; yours is: {what(known, clash.yours, new)}; "
        f"before, it was: {what(known, clash.read)}. Choose which holds and write the sheet down again"
    )
