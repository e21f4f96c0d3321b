"""`/unit/{id}`: what a gearbox, engine or vehicle contains, place by place, kept as one note of the unit.

A place says a part that is known, found by words, or a new part; left empty it is not known yet. Written again, the
sheet's note is revised; whoever was not the first to write sees what the other has changed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import quote

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.exceptions import HTTPException

from api.pages.base import page, page_router
from api.pages.extra import KeptNotebook, writer_of
from api.pages.first_run import empty_view
from api.pages.new_part import name_problems, price_of, said_problems
from api.pages.note_form import Choice, chosen_of, find_part
from api.pages.notes import SentForm
from api.pages.part_view import Other, other_of
from api.roles import needs
from api.security import Access
from api.workshop import UsesWorkshop
from graph.answer.browse import get_part
from graph.catalogue.model import UNIT_KINDS, EvidenceLevel, Part, PositionKind, Term
from graph.errors import InvalidInput, Problem
from graph.ledger.book import RevisionConflict
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.identity import new_id
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft, Entry
from graph.ledger.statements import canonical
from graph.ledger.things import (
    NewPart,
    contains_triples,
    id_from,
    kind_iri,
    part_triples,
    stated_parts,
    stated_places,
)
from graph.lookups.index import CatalogueIndex

router = page_router()
SHEET = "unit sheet"  # the method of a sheet's note, by which it is found again
MOST_NOTES = 200


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the sheet. `words`: as typed; `was`: the part that stood there when the page was made, with `label`.

    `none`: "yes" where the unit has none there. `new`: "yes" for a new part of that name, with its `kind`, `number`,
    `condition` and `price`; `elsewhere`: what other notes and facts say is there; `stored`: what somebody else has
    written meanwhile; `kinds`: what fits in here.
    """

    position: PositionKind
    kinds: tuple[Term, ...]
    elsewhere: tuple[Other, ...] = ()
    words: str = ""
    was: str = ""
    label: str = ""
    new: str = ""
    kind: str = ""
    number: str = ""
    condition: str = ""
    price: str = ""
    none: str = ""
    choices: tuple[Choice, ...] = ()
    stored: str = ""

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"at.{self.position.id}"


@dataclass(frozen=True, slots=True)
class SheetView:
    """The sheet of a unit. `revision`: of its note, 0 before the first; `note`: its id; `saved`: just written.

    `assembly`: the kind of job whose places are shown, of `assemblies`; empty: every place that such a unit can have.
    `missing`: which units a question needs that are not known yet.
    """

    unit: Part
    places: tuple[Place, ...]
    evidence_levels: tuple[EvidenceLevel, ...]
    conditions: tuple[Term, ...]
    currency: str
    revision: int = 0
    note: str = ""
    evidence: str = ""
    author: str = ""
    text: str = ""
    assembly: str = ""
    assemblies: tuple[Term, ...] = ()
    saved: bool = False
    missing: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    def fault(self, name: str) -> str:
        """What is wrong with a field."""
        return "; ".join(problem.message for problem in self.problems if problem.path == name)

    def label(self, name: str) -> str:
        """The words beside a field."""
        position = next((place.position for place in self.places if place.name == name.partition("/")[0]), None)
        return position.label if position else {"evidence": "How it is known", "author": "Who says so"}.get(name, name)

    def first(self) -> str:
        """The first field that is to be mended, which gets the focus."""
        return self.problems[0].path if self.problems else ""


@needs("note")
@router.get("/unit/{id:path}")
def show_sheet(
    request: Request, id: str, notebook: KeptNotebook, workshop: UsesWorkshop,
    saved: Annotated[str, Query(max_length=5)] = "", job: Annotated[str, Query(max_length=500)] = "",
) -> Response:  # fmt: skip
    """The sheet as it stands; `job` shows the places of one kind of job alone."""
    index, unit = workshop.index, get_unit(workshop.index, id)
    empty = empty_view(index) if saved else None
    view = replace(
        standing_sheet(index, notebook, unit, find_sheet(notebook, unit)), saved=bool(saved),
        missing=empty.missing if empty else (),
    )  # fmt: skip
    made_for = index.made_for(unit.id)
    return page(request, "unit_sheet.html", _of_job(index, view, job or (made_for[0] if made_for else "")),
                title=unit.label, form=True)  # fmt: skip


def _of_job(index: CatalogueIndex, view: SheetView, job: str) -> SheetView:
    """The sheet with the places of one kind of job, and those of which it says something."""
    known = index.catalogue.assemblies
    terms = tuple(sorted(known.values(), key=lambda one: one.label))
    if job not in known:
        return replace(view, assemblies=terms)
    wanted = known[job].positions
    places = tuple(one for one in view.places if one.position.id in wanted or one.was or one.none or one.elsewhere)
    return replace(view, assemblies=terms, assembly=job, places=places)


def get_unit(index: CatalogueIndex, name: str) -> Part:
    """The unit. Raises NotFound; a 404 problem for a part that contains nothing."""
    unit = get_part(index, name)
    if not set(UNIT_KINDS) & set(index.kinds_of(unit.kind)):
        raise HTTPException(404, f"{unit.label} is no gearbox, engine or vehicle: only these contain parts")
    return unit


def find_sheet(notebook: Notebook, unit: Part) -> Entry | None:
    """The newest note that is the unit's sheet."""
    base = notebook.ledger.base
    iri = unit.id if "://" in unit.id else base + unit.id
    found = find_notes(notebook.ledger, NoteFilter(part=iri, words=SHEET), limit=MOST_NOTES)
    return next((entry for entry in found if entry.method == SHEET and f"<{iri}>" in entry.statements), None)


def standing_sheet(index: CatalogueIndex, notebook: Notebook, unit: Part, sheet: Entry | None) -> SheetView:
    """The sheet as it stands, every place that such a unit can have."""
    known, base = index.catalogue, notebook.ledger.base
    said = stated_places(sheet.statements, base) if sheet else {}
    kinds = set(index.kinds_of(unit.kind))
    inside = index.contains(unit.id)
    places = []
    for position in sorted(known.position_kinds.values(), key=lambda one: one.label):
        if position.owner not in kinds:
            continue
        iri = kind_iri(position.id, base, notebook.kinds.position_kinds)
        part = said.get(iri, "")
        label = known.parts[part].label if part in known.parts else part
        others = [edge.target for edge in inside.get(position.id, ()) if edge.target != part]
        held = tuple(known.part_kinds[kind] for kind in position.part_kinds if kind in known.part_kinds)
        elsewhere = tuple(other_of(known, other) for other in others)
        places.append(Place(position, held, elsewhere, words=label, was=part, label=label,
                            none="yes" if said.get(iri) == "" else "", kind=_usual(position, held)))  # fmt: skip
    return SheetView(
        unit, tuple(places), tuple(sorted(known.evidence_levels.values(), key=lambda level: level.rank)),
        tuple(sorted(known.part_conditions.values(), key=lambda one: one.label)), known.currency,
        sheet.revision if sheet else 0, sheet.note_id if sheet else "", sheet.evidence if sheet else "",
        sheet.author if sheet else "", sheet.text if sheet else "",
    )  # fmt: skip


def _usual(position: PositionKind, held: tuple[Term, ...]) -> str:
    """The kind of part that a new one is, unless another is chosen: the only one, or that named like the place."""
    named = [kind.id for kind in held if len(held) == 1 or kind.label == position.label]
    return named[0] if named else ""


@needs("note")
@router.post("/unit/{id:path}")
def write_sheet(request: Request, id: str, form: SentForm, notebook: KeptNotebook, workshop: UsesWorkshop) -> Response:
    """Writes the sheet as one note, or revises it; or shows it again with what is wrong."""
    access = writer_of(request, form)
    index, unit = workshop.index, get_unit(workshop.index, id)
    sheet = find_sheet(notebook, unit)
    sent = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    view, parts, places = read_sheet(index, notebook, standing_sheet(index, notebook, unit, sheet), sent)
    if view.revision != (sheet.revision if sheet else 0):
        return _shown_again(request, _with_stored(index, notebook, view, sheet), 409)
    try:
        if view.problems:
            raise InvalidInput(view.problems)
        keep_sheet(notebook, view, parts, places, sheet, access)
    except RevisionConflict as error:
        return _shown_again(request, _with_stored(index, notebook, view, error.stored), 409)
    except InvalidInput as error:
        return _shown_again(request, replace(view, problems=error.problems), 422)
    return RedirectResponse(f"/unit/{quote(unit.id)}?saved=yes", status_code=303)


def keep_sheet(
    notebook: Notebook, view: SheetView, parts: Sequence[NewPart], places: Mapping[str, str], sheet: Entry | None,
    access: Access,
) -> Entry:  # fmt: skip
    """Writes what `read_sheet` has read as the unit's note, or revises it. Raises InvalidFacts, RevisionConflict."""
    note_id, base = (sheet.note_id if sheet else new_id()), notebook.ledger.base
    kept = stated_parts(sheet.statements) if sheet else ()
    new = (triple for part in parts for triple in part_triples(part, base))
    draft = Draft(
        text=view.text or f"What {view.unit.label} contains.", author=view.author, evidence=view.evidence,
        method=SHEET, recorded_by=access.name,
        statements=canonical([*kept, *new, *contains_triples(view.unit.id, places, base, note_id)]),
    )  # fmt: skip
    if sheet:
        return notebook.ledger.revise(note_id, view.revision, draft)
    return notebook.ledger.append(draft, note_id=note_id)


def _with_stored(index: CatalogueIndex, notebook: Notebook, view: SheetView, stored: Entry | None) -> SheetView:
    """The sheet as typed, with what stands now beside each place that differs; the next writing counts from there."""
    base = notebook.ledger.base
    said = stated_places(stored.statements, base) if stored else {}
    places = []
    for place in view.places:
        iri = kind_iri(place.position.id, base, notebook.kinds.position_kinds)
        part, none = said.get(iri, ""), said.get(iri) == ""
        label = index.catalogue.parts[part].label if part in index.catalogue.parts else part
        shown = label or ("it has none" if none else "not known yet")
        places.append(replace(place, stored="" if (part, none) == (place.was, place.none == "yes") else shown))
    who = (stored.author or "somebody else") if stored else "somebody else"
    did = f"{who} has written this sheet; what differs stands beside its place" if stored else f"{who} took it back"
    told = Problem("", f"meanwhile {did}. Nothing of yours was written yet: write it again if it still holds")
    revision = stored.revision if stored else 0
    return replace(view, places=tuple(places), revision=revision, problems=(told,))


def _shown_again(request: Request, view: SheetView, status: int) -> Response:
    return page(request, "unit_sheet.html", view, title=view.unit.label, status=status, form=True)


def read_sheet(
    index: CatalogueIndex, notebook: Notebook, view: SheetView, sent: Mapping[str, str]
) -> tuple[SheetView, list[NewPart], dict[str, str]]:
    """The sheet as typed, with its faults; the new parts; and per position's IRI the part that is there."""
    problems, parts = list[Problem](), list[NewPart]()
    places, said = list[Place](), dict[str, str]()
    for standing in view.places:
        place = _typed(standing, sent)
        choices: dict[str, tuple[Choice, ...]] = {}
        iri = kind_iri(place.position.id, notebook.ledger.base, notebook.kinds.position_kinds)
        found = _part_at(index, notebook, place, sent, problems, choices, parts)
        if found or place.none == "yes":
            said[iri] = found
        if found and place.none == "yes":
            problems.append(
                Problem(place.name, f"{place.words[:80]!r} was typed, and that it has none; leave one of them")
            )
        places.append(replace(place, choices=choices.get(place.name, ())))
    known_names = {place.name for place in places}
    for name, value in sent.items():
        if name.startswith("at.") and value and name.partition("/")[0] not in known_names:
            problems.append(Problem("", f"{value[:80]!r} was typed for {name[3:]!r}, which is no place of this unit"))
    problems += said_problems(index.catalogue, sent.get("evidence", ""), sent.get("author", ""))
    if not said and not view.note and not problems:
        problems.append(Problem("", "nothing is filled in yet"))
    revision = sent.get("revision", "")
    filled = replace(
        view, places=tuple(places), problems=tuple(problems), evidence=sent.get("evidence", ""),
        author=sent.get("author", ""), text=sent.get("text", ""),
        revision=int(revision) if revision.isdecimal() and len(revision) < 9 else 0,
    )  # fmt: skip
    return filled, parts, said


def _typed(place: Place, sent: Mapping[str, str]) -> Place:
    def of(end: str) -> str:
        return sent.get(f"{place.name}/{end}", "")

    if not any(name.partition("/")[0] in (place.name, f"{place.name}_chosen") for name in sent):
        return place  # it was not on the page that was sent: it stays as it stands
    return replace(
        place, words=sent.get(place.name, ""), was=of("was"), label=of("label"), new=of("new"), none=of("none"),
        kind=of("kind") or place.kind, number=of("number"), condition=of("condition"), price=of("price"),
    )  # fmt: skip


def _part_at(
    index: CatalogueIndex, notebook: Notebook, place: Place, sent: Mapping[str, str], problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]], parts: list[NewPart],
) -> str:  # fmt: skip
    """The id of the part that stands at the place; empty where nothing was said, or it cannot be."""
    name, known = place.name, index.catalogue
    chosen = sent.get(f"{name}_chosen", "")
    beside = [value for value in (place.number, place.condition, place.price) if value]
    if place.new != "yes" and beside and place.words:
        problems.append(Problem(name, f"{beside[0][:60]!r} was typed for a new part: tick that it is new, or clear it"))
        return ""
    if not place.words and not chosen:
        if beside or place.new:
            problems.append(Problem(name, "a new part needs its name"))
        return ""
    if place.new == "yes":
        return _new_at(notebook, index, place, problems, parts)
    if place.words == place.label and place.was in known.parts and not chosen:
        return place.was
    meant = chosen_of(name, place.words, sent.get(f"{name}_for", ""), chosen, problems)
    found = find_part(index, name, meant, problems, choices)
    return found.id if found else ""


def _new_at(
    notebook: Notebook, index: CatalogueIndex, place: Place, problems: list[Problem], parts: list[NewPart]
) -> str:
    known, base = index.catalogue, notebook.ledger.base
    found = name_problems(place.words, known, False, place.name)
    kind = place.kind
    if kind not in {one.id for one in place.kinds}:
        found.append(Problem(f"{place.name}/kind", "choose what the new part is"))
    if place.condition and place.condition not in known.part_conditions:
        found.append(Problem(f"{place.name}/condition", "choose one of the conditions"))
    cash = price_of(place.price, f"{place.name}/price", known, found)
    if found:
        problems += found
        return ""
    part = NewPart(
        id=id_from(place.words, known, frozenset(one.id for one in parts)), label=place.words, number=place.number,
        kind=kind_iri(kind, base, notebook.kinds.part_kinds), cash=cash, currency=known.currency,
        condition=kind_iri(place.condition, base, notebook.kinds.part_conditions) if place.condition else "",
    )  # fmt: skip
    parts.append(part)
    return part.id
