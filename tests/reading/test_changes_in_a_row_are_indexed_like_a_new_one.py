"""However many changes follow each other, the index that took in each of them is the one made from scratch.

What was looked up with the index before is carried on, so everything is looked up after every step.
"""

from __future__ import annotations

import gc
import weakref
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.layered import Pieced
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import END_SORTS, Catalogue
from graph.lookups.index import CatalogueIndex as Index
from graph.lookups.layered import FollowingIndex, LayeredIndex
from graph.reading import CatalogueIndex, Question, read_conversion
from tests.reading.changes import Changing, layered

ASKED = (Question(gearbox="tansy-5", engine="pipit-16"), Question(gearbox="hollin-5", engine="ouzel-20"))


@cache
def demo() -> Catalogue:
    return load_catalogue([FACTS_FOLDER / "demo"])


def look_up(index: Index, share: int) -> dict[str, object]:
    """Whatever can be looked up, of one in three of all things, the same ones at every step, and of all new ones."""
    known, found = index.catalogue, dict[str, object]()
    parts = [name for at, name in enumerate(sorted({*known.parts, *demo().parts})) if at % 3 == share or "-1" in name]
    for name in (*parts, *(name for at, name in enumerate(known.edges) if at % 3 == share), *known.features):
        found[f"lineage {name}"] = index.lineage(name)
        found[f"descent {name}"] = index.descent(name)
        found[f"effects {name}"] = index.side_effects(name)
        found[f"rules {name}"] = index.rules(name)
        found[f"contains {name}"] = index.contains(name)
        found[f"replacing {name}"] = (index.replacing(name), index.takes_place_of(name), index.count_replacing(name))
        for sort in END_SORTS:
            found[f"ends {name} {sort}"] = list(index.edges_at(name, *sort))
    for name in parts:
        found[f"variants {name}"] = index.variants_of(name)
        for joint in known.joint_kinds:
            found[f"said {name} {joint}"] = index.statements(name, joint)
            found[f"inside {name} {joint}"] = (index.statements_inside(name, joint), index.count_inside(name, joint))
            found[f"counted {name} {joint}"] = index.count_statements(name, joint)
            found[f"mates {name} {joint}"] = index.has_more_mates(name, joint, 2)
    for unit in ("gearbox", "engine", "vehicle"):
        found[unit] = list(index.units(unit))
    for kind in known.part_kinds:
        found[f"of kind {kind}"] = list(index.parts_of_kind(kind))
    for fault in known.faults.values():
        found[f"fault {fault.id}"] = (index.laid_open_by(fault.id), index.inspections_of(fault.id))
        found[f"faults {fault.position} {fault.of}"] = index.faults_at(fault.position, fault.of)
    for task in known.tasks:
        found[f"task {task}"] = index.stand_ins(task)
    listing = index.listing
    found["ids"], found["asked"] = list(listing.ids), dict(listing.asked)
    found["words"] = [list(listing.find_ids([(word,)])) for word in ("tansy", "twin", "again", "disc")]
    return found


def differences(one: dict[str, object], other: dict[str, object]) -> dict[str, tuple[object, object]]:
    return {key: (one.get(key), other.get(key)) for key in {*one, *other} if one.get(key) != other.get(key)}


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 10**6), kept_in_a_file=st.booleans())
def test_look_ups_after_every_step_are_those_of_an_index_made_anew(seed: int, kept_in_a_file: bool) -> None:
    facts = Changing(layered(demo()) if kept_in_a_file else demo(), seed)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    for _ in range(4):
        catalogue = facts.step()
        index, anew = following.of(catalogue), CatalogueIndex(catalogue)

        assert isinstance(index, LayeredIndex) and not isinstance(index.below, LayeredIndex)
        assert differences(look_up(index, seed % 3), look_up(anew, seed % 3)) == {}, facts.told
        assert index.priced_kinds() >= anew.priced_kinds()


@settings(max_examples=4, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_a_question_under_way_keeps_the_facts_that_it_began_with(seed: int) -> None:
    facts = Changing(demo(), seed)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    begun = following.of(facts.step())
    expected = look_up(CatalogueIndex(begun.catalogue), seed % 3)

    for _ in range(3):
        following.of(facts.step())

    assert differences(look_up(begun, seed % 3), expected) == {}, facts.told


def test_an_index_that_was_followed_is_let_go() -> None:
    facts = Changing(demo(), 5)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    old = following.of(facts.step())
    for question in ASKED:
        read_conversion(old, question)
    look_up(old, 0)
    gone = weakref.ref(old)

    following.of(facts.step())
    del old
    gc.collect()

    assert gone() is None


@settings(deadline=None)
@given(st.lists(st.tuples(st.dictionaries(st.integers(0, 40), st.text(max_size=2), max_size=6),
                          st.sets(st.integers(0, 40), max_size=4)), max_size=8))  # fmt: skip
def test_a_table_in_pieces_is_the_table(steps: list[tuple[dict[int, str], set[int]]]) -> None:
    plain, pieced = dict[int, str](), Pieced[int, str]()
    for new, gone in steps:
        before, last = dict(plain), pieced
        plain = {**{key: value for key, value in plain.items() if key not in gone}, **new}
        pieced = pieced.changed(new, gone)

        assert (dict(pieced), len(pieced)) == (plain, len(plain))
        assert dict(last) == before
        changed = {key for key in {*plain, *before} if plain.get(key) != before.get(key)}
        assert changed <= pieced.differing(last) <= changed | new.keys()
