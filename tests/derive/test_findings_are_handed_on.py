"""What was computed is handed on from one revision of the facts to the next, and is what is computed from scratch.

Whatever changes: readings come, change and go, parts change kind, family, name and price, notes join and part them.
"""

from __future__ import annotations

import gc
import weakref
from dataclasses import fields, replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from graph.catalogue.model import Catalogue
from graph.derive import deriver as derivers
from graph.derive.around import deriver_of, parts_around, with_derived
from graph.errors import LayshaftError
from graph.lookups.findings import Derived
from graph.lookups.layered import FollowingIndex
from graph.reading import CatalogueIndex, Question, read_conversion
from tests.demo.shop import catalogue
from tests.derive.shop import measured
from tests.derive.test_made_to_measure import ALL, priced
from tests.reading.changes import Changing, layered

ASKED = (
    Question(gearbox="hollin-5", engine="ouzel-20", own=("disc-unlabelled", "disc-half-measured")),
    Question(gearbox="tansy-5", engine="pipit-16", own=("bell-tansy-spare", "bush-unlabelled")),
    Question(gearbox="sedge-4a", engine="ouzel-20", own=("disc-unlabelled",)),
)


def all_priced() -> Catalogue:
    """The demo's facts with everything that is made to measure on the price list."""
    return priced(**ALL).catalogue


def computed(index: CatalogueIndex, question: Question) -> dict[str, Any]:
    """All that is computed around a question, and what a reading makes of it."""
    around = parts_around(index, question)
    derived: Derived = with_derived(index, question).derived
    found = {f"derived {field.name}": getattr(derived, field.name) for field in fields(derived)}
    try:
        return {**found, "around": around, "reading": read_conversion(index, question)}
    except LayshaftError as error:
        return {**found, "around": around, "refused": str(error)}


def differences(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    return [name for name in {*one, *other} if one.get(name) != other.get(name)]


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10**6), kept_in_a_file=st.booleans())
def test_after_every_step_all_is_as_computed_from_scratch(seed: int, kept_in_a_file: bool) -> None:
    facts = Changing(layered(all_priced()) if kept_in_a_file else all_priced(), seed)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    for step in range(6):
        index = following.of(facts.step())
        anew = CatalogueIndex(facts.catalogue)
        question = ASKED[(seed + step) % 3] if step < 5 else ASKED[seed % 3]

        assert differences(computed(index, question), computed(anew, question)) == [], (question, facts.told)
        assert deriver_of(index).measured.parts == deriver_of(anew).measured.parts, facts.told


def checks_run(monkeypatch: Any) -> list[tuple[str, tuple[str, str]]]:
    """Each pair that is checked from now on."""
    found: list[tuple[str, tuple[str, str]]] = []
    find = derivers.Deriver._find

    def counted(self: Any, joint: Any, check: Any, parts: tuple[str, str]) -> Any:
        found.append((joint.id, parts))
        return find(self, joint, check, parts)

    monkeypatch.setattr(derivers.Deriver, "_find", counted)
    return found


def test_a_reading_has_only_the_pairs_of_its_part_checked_again(monkeypatch: Any) -> None:
    facts = catalogue()
    following = FollowingIndex(CatalogueIndex(facts))
    with_derived(following.of(facts), ASKED[0])
    run = checks_run(monkeypatch)

    reading = measured("spline-teeth", "disc-unlabelled", "10 teeth")
    index = following.of(replace(facts, measurements={**facts.measurements, reading.id: reading}))
    with_derived(index, ASKED[0])

    assert run and all("disc-unlabelled" in parts for _, parts in run)


def test_a_price_or_a_part_without_readings_has_nothing_checked_again(monkeypatch: Any) -> None:
    facts = catalogue()
    following = FollowingIndex(CatalogueIndex(facts))
    before = with_derived(following.of(facts), ASKED[0]).derived
    run = checks_run(monkeypatch)

    disc = facts.parts["disc-tansy-225"]
    new = {disc.id: replace(disc, cash_hundredths=9900), "spare": replace(disc, id="spare", variant_of="")}
    index = following.of(replace(facts, parts={**facts.parts, **new}))

    assert with_derived(index, ASKED[0]).derived is before
    assert not run


def test_another_price_of_work_has_only_what_rests_on_it_priced_again(monkeypatch: Any) -> None:
    facts = catalogue()
    following = FollowingIndex(CatalogueIndex(facts))
    before = with_derived(following.of(facts), ASKED[1]).derived
    run = checks_run(monkeypatch)
    dearer = {name: replace(price, cash_hundredths=price.cash_hundredths + 700)
              for name, price in facts.operation_prices.items() if name == "make-plate"}  # fmt: skip

    changed = replace(facts, operation_prices={**facts.operation_prices, **dearer})
    derived = with_derived(following.of(changed), ASKED[1]).derived

    old, new = ({part.id: part.cash_hundredths for part in one.parts if part.kind == "adapter-plate"}
                for one in (before, derived))  # fmt: skip
    assert new and new == {plate: cash + 700 for plate, cash in old.items() if cash is not None}
    assert {joint for joint, _ in run} == {"engine-face"}
    assert derived == with_derived(CatalogueIndex(changed), ASKED[1]).derived


def test_findings_that_were_handed_on_hold_no_index() -> None:
    facts = Changing(catalogue(), 3)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    index = following.of(facts.step())
    gone = weakref.ref(index)
    gc.disable()
    try:
        with_derived(index, ASKED[0])
        read_conversion(index, ASKED[0])
        following.of(facts.step())
        del index

        assert gone() is None, "let go at once, without the search for cycles"
    finally:
        gc.enable()
