"""Facts that change a little at a time, at random, as notes and their revisions and retractions change them."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any

from graph.catalogue.layered import Layered, changed_table
from graph.catalogue.model import HAS_NONE, SHIFTS, UNIT_KINDS, Catalogue, Edge, Measurement, StatedFault

TABLES = ("parts", "edges", "measurements", "bolt_faces", "faults", "notes")


def layered(catalogue: Catalogue) -> Catalogue:
    """The same with tables that lie over others, as beside facts kept in a file."""
    tables: dict[str, Any] = {name: Layered(getattr(catalogue, name), {}) for name in TABLES}
    return replace(catalogue, **tables)


class NothingSuits(Exception):
    """Nothing is left that could be changed so."""


class Changing:
    """A catalogue and chance. `step` changes one to three things; whatever is done may be undone later."""

    def __init__(self, catalogue: Catalogue, seed: int):
        self.first = self.catalogue = catalogue
        self.chance = random.Random(seed)
        self.told: list[str] = []
        self._made = 0

    def step(self) -> Catalogue:
        """The catalogue after the next change."""
        for _ in range(self.chance.randint(1, 3)):
            with suppress(NothingSuits):
                self.chance.choice(_SORTS)(self)
        return self.catalogue

    def change(self, table: str, new: Mapping[str, Any], gone: tuple[str, ...] = ()) -> None:
        """New things in place of old, and some taken away."""
        self.told.append(f"{table}: {sorted(new)} come, {sorted(gone)} go")
        changed: Any = {table: changed_table(getattr(self.catalogue, table), new, gone)}
        self.catalogue = replace(self.catalogue, **changed)

    def any_of(self, table: str, suits: Callable[[Any], bool] = lambda thing: True) -> Any:
        """Something of a table that suits."""
        things = getattr(self.catalogue, table)
        names = sorted(name for name in things if suits(things[name]))
        if not names:
            raise NothingSuits
        return things[self.chance.choice(names)]

    def name(self, stem: str) -> str:
        """An id that nothing had before."""
        self._made += 1
        return f"{stem}-{self._made}"


def _reprice(to: Changing) -> None:
    part = to.any_of("parts")
    price = None if part.cash_hundredths is not None and to.chance.random() < 0.3 else to.chance.randint(0, 90_000)
    to.change("parts", {part.id: replace(part, cash_hundredths=price)})


def _rename(to: Changing) -> None:
    part = to.any_of("parts")
    to.change("parts", {part.id: replace(part, label=f"{part.label}, again", number=to.chance.choice(["", "6206"]))})


def _twin(to: Changing) -> None:
    model = to.any_of("parts")
    twin = replace(model, id=to.name(f"{model.id}-twin"), variant_of=to.chance.choice([model.id, model.variant_of, ""]))
    to.change("parts", {twin.id: twin})


def _turn_family(to: Changing) -> None:
    part = to.any_of("parts")
    other = to.any_of("parts", lambda one: one.kind == part.kind and one.id != part.id and one.variant_of != part.id)
    to.change("parts", {part.id: replace(part, variant_of=to.chance.choice(["", other.id]))})


def _turn_kind(to: Changing) -> None:
    part, other = to.any_of("parts"), to.any_of("parts")
    to.change("parts", {part.id: replace(part, kind=other.kind)})


def _drop_part(to: Changing) -> None:
    part = to.any_of("parts", lambda one: "-twin-" in one.id or one.id in to.first.parts)
    edges = to.catalogue.edges
    hanging = {name for name in edges if part.id in (edges[name].source, edges[name].target)}
    hanging |= {name for name in edges if edges[name].source in hanging or edges[name].target in hanging}
    to.change("edges", {}, tuple(hanging))
    to.change("parts", {}, (part.id,))


def _drop_edge(to: Changing) -> None:
    edge = to.any_of("edges")
    to.change("edges", {}, (edge.id,))


def _cost_edge(to: Changing) -> None:
    edge = to.any_of("edges")
    to.change("edges", {edge.id: replace(edge, cash_hundredths=to.chance.randint(0, 9_000), evidence="hearsay")})


def _join(to: Changing) -> None:
    model = to.any_of("edges", lambda edge: bool(edge.joint))
    one = to.any_of("parts", lambda part: part.kind == to.catalogue.parts[model.source].kind) \
        if model.source in to.catalogue.parts else to.any_of("parts")  # fmt: skip
    kind = to.chance.choice(["fits", "requires-machining", "does-not-fit"])
    made = Edge(id=to.name("joined"), kind=kind, source=one.id, target=model.target, joint=model.joint)
    to.change("edges", {made.id: made})


def _shift(to: Changing) -> None:
    source = to.any_of(to.chance.choice(["parts", "edges"])).id
    chain = to.chance.choice(sorted(to.catalogue.chain_kinds))
    made = Edge(id=to.name("shifts"), kind=SHIFTS, source=source, target=chain, shift_um=to.chance.randint(-9, 9) * 500)
    to.change("edges", {made.id: made})


def _empty(to: Changing) -> None:
    """A unit, or a family of them, turns out to have none of a place that it does not hold itself."""
    held = {(edge.source, edge.position) for edge in to.catalogue.edges.values()}
    unit = to.any_of("parts", lambda part: part.kind in UNIT_KINDS).id
    free = [place for place in sorted(to.catalogue.position_kinds) if (unit, place) not in held]
    made = Edge(id=to.name("none"), kind=HAS_NONE, source=unit, target="", position=to.chance.choice(free))
    to.change("edges", {made.id: made})


def _make_for(to: Changing) -> None:
    unit = to.any_of("parts", lambda part: part.kind in UNIT_KINDS)
    to.change("parts", {unit.id: replace(unit, made_for=(to.chance.choice(sorted(to.catalogue.assemblies)),))})


def _bring_back(to: Changing) -> None:
    table = to.chance.choice(TABLES)
    name = to.chance.choice(sorted(getattr(to.first, table)))
    to.change(table, {name: getattr(to.first, table)[name]})


def _measure(to: Changing) -> None:
    model: Measurement = to.any_of("measurements")
    known = to.catalogue.quantities[model.quantity]
    fitting = [one.id for one in to.catalogue.parts.values() if one.kind in known.part_kinds]
    of = to.chance.choice([model.of, *sorted(fitting)[:6]])
    made = replace(model, id=to.name("measured"), of=of)
    to.change("measurements", {made.id: made})


def _read_again(to: Changing) -> None:
    one: Measurement = to.any_of("measurements")
    like: Measurement = to.any_of("measurements", lambda other: other.quantity == one.quantity)
    to.change("measurements", {one.id: replace(one, reading=like.reading, uncertainty=like.uncertainty)})


def _drop_reading(to: Changing) -> None:
    to.change("measurements", {}, (to.any_of("measurements").id,))


def _reprice_work(to: Changing) -> None:
    prices = to.catalogue.operation_prices
    name = to.chance.choice(sorted(prices))
    priced = {**prices, name: replace(prices[name], cash_hundredths=to.chance.randint(1, 90) * 100)}
    to.told.append(f"{name} costs {priced[name].cash_hundredths}")
    to.catalogue = replace(to.catalogue, operation_prices=priced)


def _face(to: Changing) -> None:
    face = to.any_of("bolt_faces")
    if to.chance.random() < 0.3 and len(to.catalogue.bolt_faces) > 2:
        to.change("bolt_faces", {}, (face.id,))
        return
    other = to.any_of("parts", lambda part: part.kind == to.catalogue.parts[face.of].kind) \
        if face.of in to.catalogue.parts else to.any_of("parts")  # fmt: skip
    made = replace(face, id=to.name("face"), of=other.id, holes=face.holes[: to.chance.randint(3, 9)])
    to.change("bolt_faces", {made.id: made})


def _fault(to: Changing) -> None:
    fault: StatedFault = to.any_of("faults")
    if to.chance.random() < 0.3 and len(to.catalogue.faults) > 2:
        to.change("faults", {}, (fault.id,))
        return
    made = replace(fault, id=to.name("fault"), of=to.chance.choice([fault.of, ""]))
    to.change("faults", {made.id: made})


_SORTS: tuple[Callable[[Changing], None], ...] = (
    _reprice, _rename, _twin, _twin, _turn_family, _turn_kind, _drop_part, _drop_edge, _cost_edge, _join, _join, _shift,
    _bring_back, _measure, _measure, _read_again, _drop_reading, _face, _fault,
    _reprice_work, _empty, _empty, _make_for,
)  # fmt: skip
