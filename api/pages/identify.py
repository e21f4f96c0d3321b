"""`/identify`: which variant is this? From what can be seen, counted and measured, and what to find out next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response

from api.addresses import ReadNames, reads
from api.pages.base import page, page_router
from api.pages.bench_readings import UNITS
from api.pages.measured_view import both_lengths
from api.pages.part_view import part_href
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer import words
from graph.catalogue.measurements import COUNT, WORD
from graph.catalogue.model import UNIT_KINDS
from graph.catalogue.terms import Quantity
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import read_nm
from graph.identify.identify import Identification
from graph.identify.units import MOST_UNITS, identify_unit
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice
from graph.notes.readings import with_unit

router = page_router()
Short = Annotated[str, Query(max_length=200)]
SORTS = (Choice("gearbox", "any gearbox"), Choice("engine", "any engine"))
MOST_FAMILIES = 300


@dataclass(frozen=True, slots=True)
class ObservedField:
    """Something to look at or measure: as typed, in both units, and what is wrong with it; `words` to choose from."""

    name: str
    label: str
    about: str
    tool: str
    minutes: str
    dimension: str
    words: tuple[str, ...]
    typed: str
    both: str
    fault: str


@dataclass(frozen=True, slots=True)
class StandingView:
    """A variant: how sure, in words and as a bar of `width` (0 to 100), and what speaks against it.

    `ask`: the address of the question that begins with it, empty for what cannot be asked about.
    """

    label: str
    href: str
    sure: str
    width: str
    possible: bool
    against: tuple[str, ...]
    unknown: tuple[str, ...]
    ask: str


@dataclass(frozen=True, slots=True)
class NextStepView:
    """What to find out next, with what each finding would point to; `tells`: how much of the doubt it is to end."""

    name: str
    label: str
    how: str
    minutes: str
    tells: str
    outcomes: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class IdentifyView:
    """The page. `standings` is empty while there is nothing to tell apart; `ask_href`: asks about the likeliest."""

    family: str
    families: tuple[Choice, ...]
    unit: str
    units: tuple[str, ...]
    fields: tuple[ObservedField, ...]
    summary: str
    standings: tuple[StandingView, ...]
    something_else: str
    steps: tuple[NextStepView, ...]
    problems: tuple[Problem, ...]
    ask_href: str = ""


@reads(ReadNames(starts=("o.",)))
@needs("read")
@router.get("/identify")
def show_identify(request: Request, workshop: UsesWorkshop, family: Short = "gearbox", unit: Short = "mm") -> Response:
    """The form with its answer."""
    typed = {name[2:]: text for name, text in request.query_params.items() if name.startswith("o.")}
    view = identify_view(workshop.index, family, unit if unit in UNITS else "mm", typed)
    return page(request, "identify.html", view, title="Identify")


def identify_view(index: CatalogueIndex, family: str, unit: str, typed: dict[str, str]) -> IdentifyView:
    """Everything that the page shows. A reading that cannot be read is told at its field and left out."""
    quantities, taken, faults = index.catalogue.quantities, {}, {}
    problems: tuple[Problem, ...] = ()
    plain: Identification | None = None
    try:
        plain = identify_unit(index, family, {})
    except (InvalidInput, NotFound) as error:
        problems = (Problem("", str(error)),)
    for name, text in typed.items() if plain else ():
        if text.strip() and name in quantities:
            written = _written(quantities[name], text[:80], unit)
            try:
                identify_unit(index, family, {name: written})
                taken[name] = written
            except InvalidInput as error:
                faults[name] = "; ".join(problem.message for problem in error.problems)
            except NotFound as error:
                problems = (*problems, Problem(quantities[name].label, str(error)))
    found = identify_unit(index, family, taken) if plain else None
    names = [step.feature for step in plain.next_steps] if plain else []
    names += [name for name in taken if name not in names]
    fields = tuple(
        _field(quantities[name], typed.get(name, ""), taken.get(name, ""), faults.get(name, "")) for name in names
    )
    return IdentifyView(
        family, _families(index), unit, UNITS, fields,
        found.summary if found else "", _standings(index, found) if found else (),
        words.likelihood(found.something_else) if found else "", _steps(index, found) if found else (), problems,
        _ask_href(index, found) if found else "",
    )  # fmt: skip


def _ask_href(index: CatalogueIndex, found: Identification) -> str:
    best = next((one.variant for one in found.standings if one.possible), "")
    what = next((what for what in UNIT_KINDS if best and index.is_unit(best, what)), "")
    return f"/ask?{urlencode({what: best})}" if what else ""


def _written(quantity: Quantity, text: str, unit: str) -> str:
    if quantity.dimension == WORD or quantity.dimension == COUNT:
        return text.strip()
    head, sign, rest = text.replace("±", "+/-").partition("+/-")
    return f"{with_unit(head, unit)} +/- {with_unit(rest, unit)}" if sign else with_unit(head, unit)


def _field(quantity: Quantity, typed: str, taken: str, fault: str) -> ObservedField:
    both = both_lengths(read_nm(taken.partition("+/-")[0])) if taken and quantity.dimension == "length" else ""
    return ObservedField(
        quantity.id, quantity.label, quantity.definition, quantity.usual_tool, f"{float(quantity.minutes):g}",
        quantity.dimension, quantity.words, typed[:80], both, fault,
    )  # fmt: skip


def _standings(index: CatalogueIndex, found: Identification) -> tuple[StandingView, ...]:
    return tuple(
        StandingView(
            one.label, part_href(one.variant), words.likelihood(one.probability), f"{100 * one.probability:.1f}",
            one.possible, one.contradictions, one.unknown, ask_href(index, one.variant),
        )
        for one in found.standings[:50]
    )  # fmt: skip


def ask_href(index: CatalogueIndex, unit: str) -> str:
    """The question that begins with the gearbox, engine or vehicle; empty for a part or a family."""
    part = index.catalogue.parts.get(unit)
    what = next((sort for sort in UNIT_KINDS if index.is_unit(unit, sort)), "")
    return f"/ask?{urlencode({what: unit})}" if part and what and not part.abstract else ""


def _steps(index: CatalogueIndex, found: Identification) -> tuple[NextStepView, ...]:
    parts = index.catalogue.parts

    def names(ids: tuple[str, ...]) -> str:
        shown = ", ".join(parts[one].label if one in parts else one for one in ids[:6])
        return f"{shown} and {len(ids) - 6} more" if len(ids) > 6 else shown

    return tuple(
        NextStepView(
            step.feature, step.label, step.how, f"{float(step.minutes):g}",
            words.likelihood(min(step.bits / found.doubt_bits, 1.0)) if found.doubt_bits else "",
            tuple((finding, names(ids)) for finding, ids in step.outcomes[:12]),
        )
        for step in found.next_steps[:5]
    )  # fmt: skip


def _families(index: CatalogueIndex) -> tuple[Choice, ...]:
    """Every sort of unit, and every family with more than one variant of which something is measured."""
    owners = {fact.of for fact in index.catalogue.measurements.values()}
    lines = {family for owner in owners for family in index.lineage(owner)}
    found = sorted(one for one in lines if len(index.descent(one)) > 1 and one in index.catalogue.parts)
    sorts = (
        replace(sort, label=f"{sort.label} of which something is measured")
        if len(index.units(sort.id)) > MOST_UNITS
        else sort
        for sort in SORTS
    )
    return (*sorts, *(Choice(one, index.catalogue.parts[one].label) for one in found[:MOST_FAMILIES]))
