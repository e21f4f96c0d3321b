"""Which part is meant at a place of a unit's sheet, and what a place has no room for when the part is known already."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal

from api.pages.new_part import price_of
from graph.answer.find import find_parts
from graph.catalogue.model import Catalogue, Part
from graph.errors import Problem
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, choose_part


def find_part_of(
    index: CatalogueIndex, name: str, typed: str, kinds: Collection[str], problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> Part | None:  # fmt: skip
    """The part meant by an id or by words, among those of the kinds that the place holds; None with a problem."""
    if not typed or typed in index.catalogue.parts:
        return choose_part(index, name, typed, None, problems, choices)
    every = find_parts(index, typed)
    fitting = [part for part in every.parts if _is_of(index, part, kinds)]
    if every.parts and not fitting:
        held = ", ".join(index.catalogue.part_kinds[kind].label for kind in sorted(kinds))
        told = f"{every.parts[0].label} is there, but no {held}, which is what belongs here; or add it as a new part"
        problems.append(Problem(name, told))
        return None
    return choose_part(index, name, typed, replace(every, parts=fitting), problems, choices)


def named_so(index: CatalogueIndex, typed: str, kinds: Collection[str]) -> bool:
    """Whether the shop has a part that fits here with exactly this name, number or id."""
    wanted = " ".join(typed.casefold().split())
    found = (part for part in find_parts(index, typed).parts if _is_of(index, part, kinds))
    return typed in index.catalogue.parts or any(
        wanted in (" ".join(name.casefold().split()) for name in (part.label, part.number)) for part in found
    )


def of_number(index: CatalogueIndex, number: str, label: str, kinds: Collection[str]) -> Part | None:
    """The part that the shop has under that number already, of a kind that fits here; first the one of that name."""
    found = [part for part in find_parts(index, number).parts if part.number == number and _is_of(index, part, kinds)]
    return next((part for part in found if part.label == label), next(iter(found), None))


def _is_of(index: CatalogueIndex, part: Part, kinds: Collection[str]) -> bool:
    return bool(set(kinds) & set(index.kinds_of(part.kind)))


def beside_known(name: str, number: str, price: str, part: Part, known: Catalogue) -> list[Problem]:
    """What a number or a price typed for a part that is known already is told: a place of the sheet keeps neither."""
    found = list[Problem]()
    if number and number != part.number:
        now = f"its number is {part.number}" if part.number else "it has no number yet"
        told = f"{part.label} is known already and {now}: change it in the workbook, or clear this field"
        found.append(Problem(f"{name}/number", told))
    faults = list[Problem]()
    cash = price_of(price, f"{name}/price", known, faults)
    if faults or (cash and Decimal(cash) * 100 != part.cash_hundredths):
        told = (
            f"{part.label} is known already: its price is kept under Shop, Prices (/shop/prices/page); clear this field"
        )
        found += faults or [Problem(f"{name}/price", told)]
    return found
