"""GET /ask: the question as a form. Sending it leads to the answer, and the address bar then holds the question."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import QueryParams

from api.addresses import reads
from api.json import PlainJson
from api.pages.asked import ODDS, PRICE, QUESTION_NAMES, address, asked_anything, parameters_of, question_of
from api.pages.base import has_page, page, page_router
from api.pages.choices import (
    KnownField,
    Option,
    find_options,
    find_part_or_kind,
    find_unit,
    is_many,
    kind_options,
    known_fields,
    part_options,
    unit_options,
)
from api.pages.first_run import empty_view
from api.pages.in_words import WORDS_EXAMPLE
from api.roles import needs
from api.workshop import workshop_of
from graph.answer import words
from graph.catalogue.model import UNIT_KINDS
from graph.catalogue.near import near_matches
from graph.errors import InvalidInput
from graph.fits.wanted import EXAMPLES, read_wanted
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

router = page_router()

WHAT_MATTERS = (
    ("expected", "Least cost with likely faults", "parts, hours, and what worn parts are expected to add"),
    ("total", "Least cost if nothing is worn", "parts and hours"),
    ("cash", "Least cash", "parts and work sent out; your own hours do not count"),
    ("hours", "Fewest hours", "whatever it costs"),
)
What = Literal["gearbox", "engine", "vehicle", "part"]
Text = Annotated[str, Query(max_length=200)]
NEAR_SHOWN = 4  # of what a part that is not known may mean
NUMBERS_OF_ROUTES = (0, 1, 2, 3, 5)


@dataclass(frozen=True, slots=True)
class UnitField:
    """A unit to choose. `name` in the address; `label`; `needed`; `typed`: too many for a list, so words are typed.

    `options`: what can be chosen; `value`: what was typed or chosen; `near`: what an unknown one may mean.
    """

    name: str
    label: str
    needed: bool
    typed: bool
    options: tuple[Option, ...]
    value: str = ""
    near: tuple[Option, ...] = ()


@dataclass(frozen=True, slots=True)
class Matter:
    """What is to be made smallest: its `id`, `label`, a `hint`, whether it is `chosen`."""

    id: str
    label: str
    hint: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class AskView:
    """The form. `units`: gearbox, engine, vehicle; `matters`: what is to be smallest; `known`: what is said of the job.

    `own`, `avoid`, `features`, `kinds`, `levels`: what is ticked or can be; `parts`: what own and avoid offer.
    `demands`: as typed, `demand_examples`: to choose from, `demand_faults`: why one cannot be read;
    `part_faults`: which parts that were named are not known.
    `assemblies`: kinds of finished job. `deadline`, `instead`, `most_assumed`, `rate`: as typed;
    `tried`: odds and prices that the question tries; `rate_usual`, `currency`: of the facts;
    `refuse_disputed`, `without_machining`, `from_shelf`, `part_exchange`;
    `counts`: how many routes.
    `details`: something beyond the defaults is set, so the rest of the form is shown opened. `identify`: the address
    of the page that finds out which variant a unit is, empty where the app has none. `example`, `words`: of the field
    for a question in words.
    """

    units: tuple[UnitField, ...]
    matters: tuple[Matter, ...]
    known: tuple[KnownField, ...]
    own: tuple[Option, ...]
    avoid: tuple[Option, ...]
    features: tuple[Option, ...]
    demands: tuple[str, ...]
    demand_examples: tuple[str, ...]
    demand_faults: tuple[str, ...]
    part_faults: tuple[str, ...]
    kinds: tuple[Option, ...]
    levels: tuple[Option, ...]
    parts: tuple[Option, ...]
    counts: tuple[Option, ...]
    assemblies: tuple[Option, ...]
    deadline: str
    instead: str
    most_assumed: str
    rate: str
    rate_usual: str
    currency: str
    refuse_disputed: bool
    without_machining: bool
    from_shelf: bool
    part_exchange: bool
    tried: tuple[tuple[str, str], ...]
    details: bool
    identify: str
    example: str = WORDS_EXAMPLE
    words: str = ""


@reads(QUESTION_NAMES)
@needs("read")
@router.get("/ask")
async def ask(request: Request) -> Response:
    """The form, filled with what the address already says; or what to do first where nothing can be asked yet."""
    index = workshop_of(request).index
    empty = empty_view(index)
    if empty is not None:
        return page(request, "empty.html", empty, title="What to do first")
    return page(request, "ask.html", ask_view(index, asked_so_far(request), False, _identify(request)), title="Ask")


@needs("read")
@router.get("/ask/choices")
async def choices(request: Request, what: What = "part", text: Text = "") -> Response:
    """What the words may mean, for a field that is typed into: ids and labels as JSON."""
    workshop = workshop_of(request)
    found = await workshop.look_up(lambda: find_options(workshop.index, what, text))
    return PlainJson([{"id": option.id, "label": option.label} for option in found])


@reads(QUESTION_NAMES)
@needs("read")
@router.get("/answer")
async def answer(request: Request) -> Response:
    """Takes the form: words typed for a unit become its id, what is empty is dropped, and on to the answer."""
    index, question = workshop_of(request).index, asked_so_far(request)
    meant = {what: find_unit(index, what, question.unit_of(what)) for what in UNIT_KINDS}
    question = _with_parts(index, _with_units(question, meant))
    missing = [what for what in ("gearbox", "engine") if not question.unit_of(what)]
    if (
        missing
        or any(demand_faults(question))
        or any(part_faults(index, question))
        or any(unit and unit not in index.catalogue.parts for unit in meant.values())
    ):
        return page(request, "ask.html", ask_view(index, question, True, _identify(request)), title="Ask", status=422)
    return RedirectResponse(address("/compare", question), status_code=303)


def _with_parts(index: CatalogueIndex, question: Question) -> Question:
    """The question with the ids of the parts that were named in words; what is not known stays as typed."""
    own, avoid = (
        tuple(dict.fromkeys(find_part_or_kind(index, text) for text in typed))
        for typed in (question.own, question.avoid)
    )
    return replace(question, own=own, avoid=avoid)


def part_faults(index: CatalogueIndex, question: Question) -> Iterator[str]:
    """Which parts that were named are not known, each with what it may mean."""
    known = index.catalogue
    named = [one for one in question.own if one not in known.parts]
    named += [one for one in question.avoid if one not in known.parts and one not in known.part_kinds]
    for text in named:
        near = [option.label for option in find_options(index, "part", text)[:NEAR_SHOWN]]
        yield f"No one part is called “{text}”" + (f"; did you mean {words.listed(near, 'or')}?" if near else ".")


def _identify(request: Request) -> str:
    return "/identify" if has_page(request, "/identify") else ""


def asked_so_far(request: Request) -> Question:
    """The question in the address, which may still lack its units."""
    parameters = request.query_params
    if asked_anything(parameters):
        return question_of(parameters)
    rest = [(name, value) for name, value in parameters.multi_items() if name not in UNIT_KINDS]
    found = question_of(QueryParams([*rest, ("gearbox", "-"), ("engine", "-")]))
    return _with_units(found, {what: parameters.get(what, "").strip()[:200] for what in UNIT_KINDS})


def _with_units(question: Question, units: Mapping[str, str]) -> Question:
    return replace(question, gearbox=units["gearbox"], engine=units["engine"], vehicle=units["vehicle"])


def ask_view(index: CatalogueIndex, question: Question, checked: bool = False, identify: str = "") -> AskView:
    """The form's view. `checked`: it was sent, so what is missing or unknown is said. `identify`: see AskView."""
    known = index.catalogue
    given = {key: value if isinstance(value, tuple) else (str(value),) for key, value in question.context.items()}
    kinds = kind_options(index, question.avoid)
    kind_ids = {kind.id for kind in kinds}
    return AskView(
        units=tuple(_unit_field(index, question, what, checked) for what in UNIT_KINDS),
        matters=tuple(Matter(i, label, hint, i == question.objective) for i, label, hint in WHAT_MATTERS),
        known=known_fields(index, given),
        own=tuple(_named(index, part) for part in question.own),
        avoid=tuple(_named(index, part) for part in question.avoid if part not in kind_ids),
        features=tuple(Option(f.id, f.label, "", f.id in question.features) for f in known.features.values()),
        demands=question.demands,
        demand_examples=EXAMPLES,
        demand_faults=tuple(demand_faults(question)) if checked else (),
        part_faults=tuple(part_faults(index, question)) if checked else (),
        kinds=kinds,
        levels=_levels(index, question.evidence_floor),
        parts=part_options(index),
        counts=tuple(Option(str(n), str(n + 1), "", n == question.alternatives) for n in NUMBERS_OF_ROUTES),
        deadline="" if question.deadline is None else f"{float(question.deadline):g}",
        assemblies=tuple(Option(a.id, a.label, "", a.id == question.assembly) for a in known.assemblies.values()),
        instead="" if question.instead_hundredths is None else f"{question.instead_hundredths / 100:g}",
        most_assumed="" if question.most_assumed is None else str(question.most_assumed),
        rate="" if question.rate_hundredths is None else f"{question.rate_hundredths / 100:g}",
        rate_usual=f"{known.rate_hundredths / 100:g}",
        currency=known.currency,
        refuse_disputed=question.refuse_disputed,
        without_machining=question.without_machining,
        from_shelf=question.from_shelf,
        part_exchange=question.part_exchange,
        tried=tuple(pair for pair in parameters_of(question) if pair[0].startswith((ODDS, PRICE))),
        details=_has_details(question),
        identify=identify,
    )


def demand_faults(question: Question) -> Iterator[str]:
    """Why each demand that cannot be read cannot, with examples."""
    for number, text in enumerate(question.demands):
        try:
            read_wanted(text, f"demands[{number}]")
        except InvalidInput as error:
            yield from (problem.message for problem in error.problems)


def _unit_field(index: CatalogueIndex, question: Question, what: str, checked: bool) -> UnitField:
    value, needed = question.unit_of(what), what != "vehicle"
    typed = is_many(index, what)
    unknown = bool(value) and value not in index.catalogue.parts
    near: tuple[Option, ...] = ()
    if unknown:
        every = {option.id: option for option in unit_options(index, what, "")}
        alike = [every[one] for one in near_matches(value, every)]
        near = tuple(dict.fromkeys([*find_options(index, what, value), *alike]))
    label = {"gearbox": "Gearbox", "engine": "Engine", "vehicle": "Vehicle that takes both"}[what]
    said = value or ("?" if checked and needed else "")
    return UnitField(what, label, needed, typed, unit_options(index, what, value), said, near)


def _named(index: CatalogueIndex, part: str) -> Option:
    found = index.catalogue.parts.get(part) or index.catalogue.part_kinds.get(part)
    return Option(part, found.label if found else part, "", True)


def _levels(index: CatalogueIndex, floor: str) -> tuple[Option, ...]:
    """The evidence levels that a floor can name, best first; "contradicted" is no floor."""
    levels = sorted(index.catalogue.evidence_levels.values(), key=lambda level: (level.rank, level.id))
    return tuple(Option(level.id, level.label, level.definition, level.id == floor) for level in levels)


def _has_details(question: Question) -> bool:
    return bool(
        question.avoid or question.own or question.features or question.demands
        or question.evidence_floor or question.refuse_disputed or question.without_machining or question.from_shelf
        or question.rate_hundredths is not None or question.alternatives != 2
        or question.most_assumed is not None
        or question.part_exchange
    )  # fmt: skip
