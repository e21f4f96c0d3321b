"""What a question can be made of, read off the facts: units to choose, things to know, features, evidence levels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from graph.answer.browse import list_parts
from graph.answer.find import find_parts
from graph.catalogue.model import UNIT_KINDS, Part
from graph.catalogue.relations import STATE
from graph.lookups.index import CatalogueIndex
from graph.reading.conditions import ORDERINGS
from graph.reading.job_keys import KEY_WORDS, USUAL_DUTIES

MOST_FOUND = 30
MOST_COMPARED = 2_000
MOST_OFFERED = 400  # beyond that a field is typed into, and what is typed is looked up


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose: its `id`, its `label`, the family it stands in (`group`), whether it is `chosen`."""

    id: str
    label: str
    group: str = ""
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class KnownField:
    """Something to say of the job. `name` in the address; `label` to read; `number`: typed as a number.

    `several`: more than one holds; `asked_by`: how many facts hang on it; `options`: what the facts speak of; `value`:
    what was typed besides.
    """

    name: str
    label: str
    number: bool
    several: bool
    asked_by: int
    options: tuple[Option, ...] = ()
    value: str = ""


@dataclass(frozen=True, slots=True)
class _Key:
    key: str
    number: bool
    several: bool
    asked_by: int
    values: tuple[str, ...]


def first_units(index: CatalogueIndex, what: str, count: int) -> list[Part]:
    """The variants of gearboxes, engines or vehicles that can be asked about, the first `count` by id.

    In order of family and label.
    """
    found = islice(_variants(index, what), count)
    return sorted(found, key=lambda part: (part.variant_of, part.label, part.id))


def _variants(index: CatalogueIndex, what: str) -> Iterator[Part]:
    return (part for unit in index.units(what) if not (part := index.catalogue.parts[unit]).abstract)


def unit_options(index: CatalogueIndex, what: str, chosen: str) -> tuple[Option, ...]:
    """At most MOST_OFFERED units to choose, the chosen one among them."""
    parts = index.catalogue.parts
    units = first_units(index, what, MOST_OFFERED)
    if chosen in parts and parts[chosen] not in units:
        units.append(parts[chosen])
    return tuple(
        Option(part.id, part.label, parts[part.variant_of].label if part.variant_of in parts else "", part.id == chosen)
        for part in units
    )


def is_many(index: CatalogueIndex, what: str) -> bool:
    """Whether there are more units than a list can offer."""
    return next(islice(_variants(index, what), MOST_OFFERED, None), None) is not None


def part_options(index: CatalogueIndex) -> tuple[Option, ...]:
    """At most MOST_OFFERED parts that a question can name as owned or avoided, in order of ids."""
    found = (part for part in index.catalogue.parts.values() if not part.abstract and part.kind not in UNIT_KINDS)
    return tuple(Option(part.id, part.label) for part in islice(found, MOST_OFFERED))


def kind_options(index: CatalogueIndex, avoided: tuple[str, ...]) -> tuple[Option, ...]:
    """The kinds of part that can stand between two others (plates, sleeves, rings), to be avoided as a whole."""
    kinds = (kind for kind in index.catalogue.part_kinds.values() if kind.intermediate)
    return tuple(Option(kind.id, kind.label, "", kind.id in avoided) for kind in kinds)


def find_options(index: CatalogueIndex, what: str, text: str) -> tuple[Option, ...]:
    """At most MOST_FOUND units (gearbox, engine, vehicle) or parts (`part`) that the words mean, misspelt ones too."""
    if what in UNIT_KINDS and what not in index.catalogue.part_kinds:
        return ()
    found = find_parts(index, text, what if what in UNIT_KINDS else "").parts
    fitting = (part for part in found if not part.abstract)
    return tuple(Option(part.id, part.label) for part in islice(fitting, MOST_FOUND))


def find_unit(index: CatalogueIndex, what: str, text: str) -> str:
    """The id of the one unit meant by an id or by words of its label; the text itself where none or several are."""
    wanted = text.strip()
    if not wanted or wanted in index.catalogue.parts or what not in index.catalogue.part_kinds:
        return wanted
    words = wanted.casefold().split()
    found = islice(list_parts(index, what, wanted), MOST_COMPARED)  # by more words nobody means one
    units = [part for part in found if not part.abstract]
    same = [part.id for part in units if part.label.casefold() == wanted.casefold()]
    alike = same or [part.id for part in units if all(word in part.label.casefold() for word in words)]
    return alike[0] if len(alike) == 1 else wanted


def find_part_or_kind(index: CatalogueIndex, text: str) -> str:
    """The id of the one part or kind meant by an id or by a label; the text itself where none or several are."""
    wanted, known = text.strip(), index.catalogue
    if wanted in known.parts or wanted in known.part_kinds:
        return wanted
    same = [kind.id for kind in known.part_kinds.values() if kind.label.casefold() == wanted.casefold()]
    if not same:
        found = [part for part in islice(list_parts(index, "", wanted), MOST_COMPARED) if not part.abstract]
        same = [part.id for part in found if part.label.casefold() == wanted.casefold()] or [part.id for part in found]
    return same[0] if len(same) == 1 else wanted


def known_fields(index: CatalogueIndex, given: dict[str, tuple[str, ...]]) -> tuple[KnownField, ...]:
    """What the facts ask of a job, and what was given besides; duty and tools always."""
    keys = _keys(index)
    asked = {key.key for key in keys}
    usual = [_Key("duty", False, False, 0, USUAL_DUTIES), _Key("tools", False, True, 0, ())]
    more = [_Key(key, False, len(values) > 1, 0, ()) for key, values in given.items() if key not in asked]
    every = {key.key: key for key in (*usual, *more, *keys)}
    return tuple(_field(key, given.get(key.key, ())) for key in every.values())


def _field(key: _Key, given: tuple[str, ...]) -> KnownField:
    offered = () if key.number else tuple(Option(value, value, "", value in given) for value in key.values)
    other = [value for value in given if value not in {option.id for option in offered}]
    label = KEY_WORDS.get(key.key, key.key.replace("_", " ").capitalize())
    return KnownField(f"known.{key.key}", label, key.number, key.several, key.asked_by, offered, ", ".join(other))


def _keys(index: CatalogueIndex) -> tuple[_Key, ...]:
    """The keys that the conditions of the facts hang on, those that most hang on first."""
    found: dict[str, list[tuple[str, str, int]]] = defaultdict(list)
    for (key, op, value), count in index.listing.asked.items():
        if key == STATE:
            continue
        found[key].append((op, value, count))
    keys = [_read_key(key, asked) for key, asked in found.items()]
    return tuple(sorted(keys, key=lambda key: (-key.asked_by, key.key)))


def _read_key(key: str, asked: list[tuple[str, str, int]]) -> _Key:
    number = all(op in ORDERINGS for op, _, _ in asked)
    several = any(op == "has" for op, _, _ in asked)
    values = tuple(sorted({value for op, value, _ in asked if op not in ORDERINGS}))
    usual = tuple(value for value in USUAL_DUTIES if key == "duty" and value not in values)
    return _Key(key, number, several, sum(count for _, _, count in asked), (*values, *usual)[:MOST_OFFERED])
