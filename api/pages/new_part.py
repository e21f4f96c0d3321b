"""`/new-part`: a part or unit that the catalogue does not know yet, kept as a note; its id is made from its name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Annotated, ClassVar
from urllib.parse import quote

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse

from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.extra import KeptNotebook, last_writer, remember_writer, writer_of
from api.pages.form_faults import FormFaults
from api.pages.notes import SentForm
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.catalogue.model import UNIT_KINDS, Catalogue, Part
from graph.catalogue.terms import EvidenceLevel, Term
from graph.errors import InvalidInput, Problem
from graph.fits.decimals import decimal_of
from graph.fits.standard_parts import family_of, looks_standard, read_standard
from graph.ledger.book import Retry
from graph.ledger.drafts import MAX_FIELD
from graph.ledger.identity import digest, new_id
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft, Entry
from graph.ledger.statements import canonical
from graph.ledger.things import NewPart, id_from, kind_iri, part_triples
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, chosen_of, find_part
from graph.plain_text import fault_of_text

router = page_router()
Short = Annotated[str, Query(max_length=MAX_FIELD)]
LABELS = {
    "name": "Name", "kind": "What it is", "number": "Part number", "condition": "Condition", "price": "Price",
    "hours": "Hours to fit it",
    "like": "Like this one, except", "evidence": "How it is known", "author": "Who says so", "text": "In your words",
    "another": "It is another one",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PartForm:
    """The fields as typed. `like`: a part or unit by words; `another`: "yes", though one has the same name."""

    name: str = ""
    kind: str = ""
    number: str = ""
    condition: str = ""
    price: str = ""
    hours: str = ""
    like: str = ""
    like_for: str = ""
    like_chosen: str = ""
    evidence: str = ""
    author: str = ""
    text: str = ""
    another: str = ""
    key: str = ""


@dataclass(frozen=True, slots=True)
class NewPartView(FormFaults):
    """The form of a new part, as typed. `units`: kinds that contain parts; `currency`: of the shop, may be empty."""

    labels: ClassVar[Mapping[str, str]] = LABELS

    form: PartForm
    units: tuple[Term, ...]
    kinds: tuple[Term, ...]
    conditions: tuple[Term, ...]
    evidence: tuple[EvidenceLevel, ...]
    currency: str
    problems: tuple[Problem, ...] = ()
    choices: tuple[Choice, ...] = ()

    def otherwise(self) -> str:
        """The field to begin with."""
        return "" if self.problems else "name"


@needs("note")
@router.get("/new-part")
def new_part(request: Request, workshop: UsesWorkshop, kind: Short = "", name: Short = "") -> Response:
    """The form; the address can fill it in beforehand."""
    form = PartForm(kind=kind, name=name, key=new_id(), author=last_writer(request))
    return page(request, "new_part.html", view_of(workshop.index.catalogue, form), title="Add a part", form=True)


def view_of(
    known: Catalogue, form: PartForm, problems: tuple[Problem, ...] = (), choices: tuple[Choice, ...] = ()
) -> NewPartView:
    """The page of the form, with what is wrong."""
    every = sorted(known.part_kinds.values(), key=lambda kind: kind.label)
    units = tuple(kind for kind in every if kind.id in UNIT_KINDS or kind.broader in UNIT_KINDS)
    return NewPartView(
        form, units, tuple(kind for kind in every if kind not in units),
        tuple(sorted(known.part_conditions.values(), key=lambda one: one.label)),
        tuple(sorted(known.evidence_levels.values(), key=lambda level: level.rank)), known.currency, problems, choices,
    )  # fmt: skip


@needs("note")
@router.post("/new-part")
def add_part(request: Request, form: SentForm, notebook: KeptNotebook, workshop: UsesWorkshop) -> Response:
    """Writes the part down as a note and goes on to its page, a unit's to what it contains."""
    access = writer_of(request, form)
    sent = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    typed = PartForm(**{field.name: sent.get(field.name, "") for field in fields(PartForm)})
    index, problems = workshop.index, list[Problem]()
    choices: dict[str, tuple[Choice, ...]] = {}
    if before := added_before(notebook, typed, access.name):
        return _onward(request, index, subject_of(before, notebook), typed)
    part = read_part(typed, index, notebook, problems, choices)
    problems += said_problems(index.catalogue, typed.evidence, typed.author)
    try:
        if problems or part is None:
            raise InvalidInput(problems)
        entry = keep_part(notebook, part, typed, access.name)
    except InvalidInput as error:
        again = replace(typed, key=new_id())
        view = view_of(index.catalogue, again, error.problems, choices.get("like", ()))
        return page(request, "new_part.html", view, title="Add a part", status=422, form=True)
    return remember_writer(request, _onward(request, index, subject_of(entry, notebook), typed), typed.author)


def _onward(request: Request, index: CatalogueIndex, part: str, typed: PartForm) -> Response:
    """To the part's page, a unit's to what it contains."""
    is_unit = bool(set(UNIT_KINDS) & set(index.kinds_of(typed.kind)))
    address = f"/{'unit' if is_unit else 'part'}/{quote(part)}"
    return RedirectResponse(with_back(request, address), status_code=303)


def keep_part(notebook: Notebook, part: NewPart, typed: PartForm, who: str) -> Entry:
    """Writes the part down; the same form sent again writes once. Raises InvalidFacts."""
    draft = Draft(
        text=typed.text or f"New here: {part.label}.", author=typed.author, evidence=typed.evidence,
        recorded_by=who, statements=canonical(part_triples(part, notebook.ledger.base)),
    )  # fmt: skip
    return notebook.ledger.append(draft, retry=_retry(typed, who))


def added_before(notebook: Notebook, typed: PartForm, who: str) -> Entry | None:
    """The note that the same form wrote when it was sent before. Raises KeyReused for another one of that key."""
    return next(iter(notebook.ledger.sent_before(_retry(typed, who))), None)


def _retry(typed: PartForm, who: str) -> Retry | None:
    return Retry(digest(f"{who}\npart\n{typed.key}"), digest(repr(typed))) if typed.key else None


def subject_of(entry: Entry, notebook: Notebook) -> str:
    """The id of the part that a note of `keep_part` is about."""
    return next(iter(entry.statements.split(">", 1)))[1:].removeprefix(notebook.ledger.base)


def read_part(
    typed: PartForm, index: CatalogueIndex, notebook: Notebook, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> NewPart | None:  # fmt: skip
    """The part that the form describes; None, or problems, where it does not."""
    known, base = index.catalogue, notebook.ledger.base
    typed = _standard(typed, index, problems)
    problems += name_problems(typed.name, known, typed.another == "yes")
    if typed.kind not in known.part_kinds:
        problems.append(Problem("kind", "choose what it is"))
    if typed.condition and typed.condition not in known.part_conditions:
        problems.append(Problem("condition", f"{typed.condition[:100]!r} is no condition; choose one"))
    like: Part | None = None
    if typed.like or typed.like_chosen:
        like = _like(typed, index, problems, choices)
    cash = price_of(typed.price, "price", known, problems)
    hours = _hours_of(typed.hours, problems)
    if problems:
        return None
    return NewPart(
        id=id_from(typed.name, known), label=typed.name, kind=kind_iri(typed.kind, base, notebook.kinds.part_kinds),
        number=typed.number, cash=cash, currency=known.currency, hours=hours, like=like.id if like else "",
        condition=kind_iri(typed.condition, base, notebook.kinds.part_conditions) if typed.condition else "",
    )  # fmt: skip


def _standard(typed: PartForm, index: CatalogueIndex, problems: list[Problem]) -> PartForm:
    """The form, where its name is the number of a published standard with the name and number that this gives."""
    family = family_of([typed.kind, *index.kinds_of(typed.kind)]) if typed.kind in index.catalogue.part_kinds else ""
    if not looks_standard(family, typed.name):
        return typed
    try:
        found = read_standard(family, typed.name, "name")
    except InvalidInput as error:
        problems += error.problems
        return typed
    return replace(typed, name=found.label, number=typed.number or found.number)


def _like(
    typed: PartForm, index: CatalogueIndex, problems: list[Problem], choices: dict[str, tuple[Choice, ...]]
) -> Part | None:
    """The part that the new one is a variant of: one of its own kind, for a gearbox inherits nothing of an engine."""
    words = chosen_of("like", typed.like, typed.like_for, typed.like_chosen, problems)
    kind = index.catalogue.part_kinds.get(typed.kind)
    aside, unlike = list[Problem](), dict[str, tuple[Choice, ...]]()
    like = find_part(index, "like", words, problems if kind is None else aside, choices, kind.id if kind else "")
    if kind is None:
        return like
    if like is None and "like" not in choices:  # no such part of this kind: is there one of another?
        like = find_part(index, "like", words, list[Problem](), unlike)
    if like is None or kind.id in index.kinds_of(like.kind):
        problems += aside
        return like
    other = index.catalogue.part_kinds.get(like.kind)
    told = (
        f"{like.label} is of another kind ({other.label if other else like.kind}); name one of this kind: {kind.label}"
    )
    problems.append(Problem("like", told))
    return None


def name_problems(name: str, known: Catalogue, another: bool, field: str = "name") -> list[Problem]:
    """What is wrong with the name of a new part; also that one has it already, unless it is said to be another."""
    if not name:
        return [Problem(field, "give it the name that the shop uses")]
    if fault := fault_of_text(name):
        return [Problem(field, fault)]
    if len(name) > MAX_FIELD:
        return [Problem(field, f"{len(name):,} characters; at most {MAX_FIELD}")]
    plain = id_from(name, Catalogue())
    same = known.parts.get(plain)
    if same is not None and not another and same.label.casefold() == name.casefold():
        return [Problem(field, f"{same.label} is there already, as {same.id}; tick below if this is another one")]
    return []


def price_of(typed: str, field: str, known: Catalogue, problems: list[Problem]) -> str:
    """The price as a decimal; empty where none was typed, or it cannot be."""
    try:
        cash = decimal_of(typed, field, "135.50")
    except InvalidInput as error:
        problems += error.problems
        return ""
    if cash and not known.currency:
        problems.append(Problem(field, "the workshop has no currency yet, so nothing can have a price"))
    return cash


def _hours_of(typed: str, problems: list[Problem]) -> str:
    """The hours as a decimal; empty where none were typed, or they cannot be."""
    try:
        return decimal_of(typed, "hours", "0.5")
    except InvalidInput as error:
        problems += error.problems
        return ""


def said_problems(known: Catalogue, evidence: str, author: str) -> list[Problem]:
    """What is missing of who says so and how it is known."""
    found = [] if evidence in known.evidence_levels else [Problem("evidence", "say how it is known")]
    return found if author else [*found, Problem("author", "say who says so: initials or a role will do")]
