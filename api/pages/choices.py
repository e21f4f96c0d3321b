"""What a question can be made of, read off the facts: units to choose, things to know, features, evidence levels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from weakref import WeakKeyDictionary

from graph.answer.find import find_parts
from graph.catalogue.model import UNIT_KINDS, Condition, Part
from graph.reading.conditions import ORDERINGS
from graph.reading.index import CatalogueIndex

MOST_READ = 50_000
MOST_FOUND = 30
MOST_OFFERED = 400  # beyond that a field is typed into, and what is typed is looked up
# How keys of what is known of a job read to a fitter; a key that is not here is read as it stands.
KEY_WORDS = {
    "torque_nm": "Engine torque, Nm", "duty": "Duty", "tools": "Tools at hand", "ecu": "Engine management",
    "year": "Year of build", "power_kw": "Engine power, kW",
}  # fmt: skip
USUAL_DUTIES = ("road", "towing", "competition", "farm", "marine", "stationary")  # common practice


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


_KEYS: WeakKeyDictionary[CatalogueIndex, tuple[_Key, ...]] = WeakKeyDictionary()
_UNITS: WeakKeyDictionary[CatalogueIndex, dict[str, tuple[Part, ...]]] = WeakKeyDictionary()


def list_units(index: CatalogueIndex, what: str) -> tuple[Part, ...]:
    """The variants of gearboxes, engines or vehicles that can be asked about, by family and label."""
    kept = _UNITS.setdefault(index, {})
    if what not in kept:
        parts = (index.catalogue.parts[unit] for unit in index.units(what))
        variants = [part for part in parts if not part.abstract]
        kept[what] = tuple(sorted(variants, key=lambda part: (part.variant_of, part.label, part.id)))
    return kept[what]


def unit_options(index: CatalogueIndex, what: str, chosen: str) -> tuple[Option, ...]:
    """At most MOST_OFFERED units to choose, the chosen one among them."""
    parts = index.catalogue.parts
    units = list(islice(list_units(index, what), MOST_OFFERED))
    if chosen in parts and parts[chosen] not in units:
        units.append(parts[chosen])
    return tuple(
        Option(part.id, part.label, parts[part.variant_of].label if part.variant_of in parts else "", part.id == chosen)
        for part in units
    )


def is_many(index: CatalogueIndex, what: str) -> bool:
    """Whether there are more units than a list can offer."""
    return len(list_units(index, what)) > MOST_OFFERED


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
    units = what in UNIT_KINDS
    found = find_parts(index, text, what if units else "").parts
    fitting = (part for part in found if not part.abstract and (units or part.kind not in UNIT_KINDS))
    return tuple(Option(part.id, part.label) for part in islice(fitting, MOST_FOUND))


def find_unit(index: CatalogueIndex, what: str, text: str) -> str:
    """The id of the one unit meant by an id or by words of its label; the text itself where none or several are."""
    wanted = text.strip()
    units = list_units(index, what)
    if not wanted or wanted in index.catalogue.parts:
        return wanted
    same = [part.id for part in units if part.label.casefold() == wanted.casefold()]
    words = wanted.casefold().split()
    alike = same or [part.id for part in units if all(word in part.label.casefold() for word in words)]
    return alike[0] if len(alike) == 1 else wanted


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
    """The keys that the conditions of the facts hang on, those that most hang on first. Read once for each index.

    Of a very large graph only the first MOST_READ parts and edges are looked at; a key that is missing in the form can
    still be stated in the address, and every answer says what it leaves to confirm.
    """
    kept = _KEYS.get(index)
    if kept is None:
        kept = _KEYS[index] = tuple(_read_keys(_conditions(index)))
    return kept


def _conditions(index: CatalogueIndex) -> Iterable[Condition]:
    for part in islice(index.catalogue.parts.values(), MOST_READ):
        yield from part.conditions
    for edge in islice(index.catalogue.edges.values(), MOST_READ):
        yield from edge.conditions


def _read_keys(conditions: Iterable[Condition]) -> list[_Key]:
    found: dict[str, list[Condition]] = defaultdict(list)
    for condition in conditions:
        found[condition.key].append(condition)
    keys = []
    for key, every in sorted(found.items(), key=lambda item: (-len(item[1]), item[0])):
        number = all(condition.op in ORDERINGS for condition in every)
        several = any(condition.op == "has" for condition in every)
        values = tuple(sorted({condition.value for condition in every if condition.op not in ORDERINGS}))
        usual = tuple(value for value in USUAL_DUTIES if key == "duty" and value not in values)
        keys.append(_Key(key, number, several, len(every), (*values, *usual)[:MOST_OFFERED]))
    return keys
