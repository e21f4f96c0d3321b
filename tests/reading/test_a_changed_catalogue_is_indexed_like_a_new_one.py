"""Laying changes over an index gives what indexing the changed catalogue anew gives, whatever is changed."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.layered import Layered, changed_table
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import END_SORTS, Catalogue
from graph.lookups.layered import LayeredIndex
from graph.reading import CatalogueIndex, Question, read_conversion


@cache
def demo() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo"]))


def changed(catalogue: Catalogue, seed: int, layered: bool) -> tuple[Catalogue, set[str]]:
    """Some edges taken away, some turned to other parts, some prices changed, a part added as a variant."""
    chance = random.Random(seed)
    edges, parts = dict(catalogue.edges), dict(catalogue.parts)
    gone = chance.sample(sorted(edges), 6)
    moved = {
        name: replace(edges[name], cash_hundredths=123, hours_hundredths=40) for name in chance.sample(sorted(edges), 6)
    }
    turned = {name: replace(edges[name], target=edges[name].source, source=edges[name].target)
              for name in chance.sample(sorted(e.id for e in edges.values() if e.kind == "fits"), 4)}  # fmt: skip
    priced = {name: replace(parts[name], cash_hundredths=4200) for name in chance.sample(sorted(parts), 5)}
    model = parts[chance.choice(sorted(name for name in parts if not parts[name].abstract))]
    twin = replace(model, id=f"{model.id}-twin", variant_of=model.id)
    above = {**moved, **turned}
    for name in gone:
        above.pop(name, None)
    old_edges = Layered(edges, {}) if layered else edges
    old_parts = Layered(parts, {}) if layered else parts
    found = replace(
        catalogue,
        edges=changed_table(old_edges, above, gone),
        parts=changed_table(old_parts, {**priced, twin.id: twin}, ()),
    )
    return found, {*gone, *above, *priced, twin.id}


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 10**6), layered=st.booleans())
def test_look_ups_and_readings_are_alike(seed: int, layered: bool) -> None:
    catalogue, names = changed(demo().catalogue, seed, layered)
    over, anew = LayeredIndex(demo(), catalogue, names), CatalogueIndex(catalogue)

    assert over.priced_kinds() >= anew.priced_kinds()
    for unit in ("gearbox", "engine", "vehicle"):
        assert list(over.units(unit)) == list(anew.units(unit))
    assert list(over.listing.ids) == list(anew.listing.ids)
    assert over.listing.asked == anew.listing.asked
    for kind in catalogue.part_kinds:
        assert list(over.parts_of_kind(kind)) == list(anew.parts_of_kind(kind))
    for text in ("tansy", "twin", "clutch disc", "-5", "no-such"):
        choices = [(word,) for word in text.split()]
        assert list(over.listing.find_ids(choices)) == list(anew.listing.find_ids(choices))
        assert over.listing.has_word(text) == anew.listing.has_word(text)
    for end in (*catalogue.parts, *catalogue.features):
        for sort in END_SORTS:
            assert list(over.edges_at(end, *sort)) == list(anew.edges_at(end, *sort))
    for part in (*catalogue.parts, *demo().catalogue.edges):
        assert over.variants_of(part) == anew.variants_of(part)
        assert over.descent(part) == anew.descent(part)
        assert over.places(part) == anew.places(part)
        assert over.made_for(part) == anew.made_for(part)
        assert over.replacing(part) == anew.replacing(part)
        assert over.rules(part) == anew.rules(part)
        assert over.side_effects(part) == anew.side_effects(part)
        for joint in catalogue.joint_kinds:
            assert over.statements(part, joint) == anew.statements(part, joint)
            assert over.statements_inside(part, joint) == anew.statements_inside(part, joint)
    for fault in catalogue.faults:
        assert over.laid_open_by(fault) == anew.laid_open_by(fault)
    for gearbox, engine in (("tansy-5", "pipit-16"), ("hollin-5", "ouzel-20")):
        question = Question(gearbox=gearbox, engine=engine)
        assert read_conversion(over, question) == read_conversion(anew, question)


def test_layers_do_not_pile_up() -> None:
    below = {f"e{number}": number for number in range(5)}
    table = changed_table(Layered(below, {}), {"e9": 9}, ["e1"])

    again = changed_table(table, {"e1": 11}, ["e9", "e2"])

    assert isinstance(again, Layered)
    assert again.below is below
    assert dict(again) == {"e0": 0, "e1": 11, "e3": 3, "e4": 4}
    assert (len(again), "e2" in again, again.get("e9")) == (4, False, None)
