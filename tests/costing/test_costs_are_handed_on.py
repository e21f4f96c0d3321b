"""However facts and notes of cost follow each other, what was carried over is what is costed from scratch, to the cent.

Prices, shelf, rates, sublet work, findings, hours and evidence come and are taken back between changes of the facts.
"""

from __future__ import annotations

import gc
import random
import weakref
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from graph.answer.asking import answer_question
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.costing.following import FollowedCosts
from graph.costing.notes import (
    EVIDENCE,
    FINDING,
    HOURS,
    PRICE,
    READ_BY_ANSWERS,
    STOCK,
    CostNote,
    MemoryNotes,
    Provenance,
    retraction,
)
from graph.costing.price_import import price_body
from graph.costing.prices import CONDITIONS, Price
from graph.costing.record import Record
from graph.costing.shop import rate_note, stock_note, sublet_note
from graph.costing.store import SqlNotes
from graph.errors import LayshaftError
from graph.lookups.layered import FollowingIndex
from graph.reading import CatalogueIndex, Question
from tests.reading.changes import Changing, layered

TODAY = date(2026, 6, 30)
SAID = Provenance("bench 1", made_on="2026-06-01T10:00:00+00:00")
ASKED = (Question(gearbox="hollin-5", engine="ouzel-20"), Question(gearbox="tansy-5", engine="pipit-16"))


@cache
def demo() -> Catalogue:
    return load_catalogue([FACTS_FOLDER / "demo"])


class Noting:
    """A shop that notes costs at random, and takes some of it back."""

    def __init__(self, facts: Changing, chance: random.Random) -> None:
        self.notes, self.facts, self.chance = MemoryNotes(), facts, chance
        self._made = 0

    def note(self) -> None:
        made = self.chance.choice((self._price, self._price, self._count, self._take, self._rate, self._sublet,
                                   self._finding, self._hours, self._evidence, self._evidence, self._back,
                                   self._remark))()  # fmt: skip
        self.notes.append(made)

    def _plain(self, kind: str, about: str, body: Mapping[str, object], evidence: str = "") -> list[CostNote]:
        self._made += 1
        name = f"{kind}-{self._made}"
        return [CostNote(id=name, kind=kind, about=about, body=dict(body), batch=name, job="J-1", evidence=evidence)]

    def _any(self, table: str) -> str:
        known: Mapping[str, object] = getattr(self.facts.catalogue, table)
        return self.chance.choice(sorted(known))

    def _price(self) -> list[CostNote]:
        known = self.facts.catalogue
        price = Price(
            part=self._any("parts"), cash_hundredths=self.chance.randint(0, 40_000), currency=known.currency,
            condition=self.chance.choice(CONDITIONS), dated=TODAY - timedelta(self.chance.choice([3, 400])),
        )  # fmt: skip
        return self._plain(PRICE, price.part, price_body(price))

    def _count(self) -> list[CostNote]:
        body = {"quantity": self.chance.randint(0, 2), "book": "9.50", "currency": self.facts.catalogue.currency}
        return [stock_note(self._any("parts"), {**body, "place": "rack"}, SAID)]

    def _take(self) -> list[CostNote]:
        shelf = self.notes.list_notes(kind=STOCK)
        about = self.chance.choice(shelf).about if shelf else self._any("parts")
        return self._plain(STOCK, about, {"taken": 1, "condition": "used-untested", "place": "rack"})

    def _rate(self) -> list[CostNote]:
        body = {"per_hour": str(self.chance.randint(40, 90)), "currency": self.facts.catalogue.currency}
        return [rate_note(self.chance.choice(["bench", "machining"]), body, SAID)]

    def _sublet(self) -> list[CostNote]:
        about = self._any(self.chance.choice(["tasks", "operation_prices"]))
        body = {"cash": str(self.chance.randint(10, 90)), "currency": self.facts.catalogue.currency, "lead_days": 2}
        return [sublet_note(about, body, SAID)]

    def _finding(self) -> list[CostNote]:
        return self._plain(FINDING, self._any("faults"), {"laid_open": True, "worn": self.chance.random() < 0.5})

    def _hours(self) -> list[CostNote]:
        planned, actual = self.chance.randint(10, 400), self.chance.randint(10, 400)
        return self._plain(HOURS, self._any("tasks"), {"planned_hundredths": planned, "actual_hundredths": actual})

    def _evidence(self) -> list[CostNote]:
        level = self.chance.choice(["done-without-follow-up", "done-and-came-back-good", "contradicted"])
        return self._plain(EVIDENCE, self._any("edges"), {}, level)

    def _back(self) -> list[CostNote]:
        gone = {note.retracts for note in self.notes.list_notes()}
        batches = sorted({note.batch for note in self.notes.list_notes() if note.batch} - gone)
        return [retraction(self.notes, self.chance.choice(batches), SAID)] if batches else self._remark()

    def _remark(self) -> list[CostNote]:
        return self._plain("job entry", "J-1", {"entry": "remark", "words": "-"})


def costed(costs: FollowedCosts, index: CatalogueIndex, signs: Mapping[str, str]) -> dict[str, Any]:
    own, found = costs.costed(index, TODAY, signs)
    known = found.catalogue
    tables = ("parts", "edges", "notes", "tasks", "operation_prices", "faults")
    result: dict[str, Any] = {name: dict(getattr(known, name)) for name in tables}
    result |= {"rate": known.rate_hundredths, "told": set(found.told), "odds": dict(found.odds)}
    for question in ASKED:
        try:
            result[question.gearbox] = answer_question(own, question)
        except LayshaftError as error:
            result[question.gearbox] = str(error)
    return result


def differences(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    return [name for name in one if one[name] != other[name]]


@settings(max_examples=2, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(seed=st.integers(0, 10**6), kept_in_a_file=st.booleans())
def test_after_every_note_all_is_as_costed_from_scratch(seed: int, kept_in_a_file: bool) -> None:
    facts, chance = Changing(layered(demo()) if kept_in_a_file else demo(), seed), random.Random(seed)
    shop, following = Noting(facts, chance), FollowingIndex(CatalogueIndex(facts.catalogue))
    costs, index = FollowedCosts(shop.notes), CatalogueIndex(facts.catalogue)
    for _ in range(6):
        for _ in range(chance.randint(1, 3)):
            shop.note()
        if chance.random() < 0.6:
            index = following.of(facts.step())
        signs = chance.choice([{}, {}, {"mileage class": "high"}])

        carried, anew = (
            costed(costs, index, signs),
            costed(FollowedCosts(shop.notes), CatalogueIndex(facts.catalogue), signs),
        )

        assert differences(carried, anew) == [], facts.told


@pytest.mark.parametrize("kept", ["memory", "sqlite"])
def test_a_record_that_followed_is_the_one_read_whole(kept: str, tmp_path: Path) -> None:
    shop = Noting(Changing(demo(), 1), random.Random(2))
    notes: Any = MemoryNotes() if kept == "memory" else SqlNotes.on_file(tmp_path / "costs.db")
    record, read = Record(), 0
    for _ in range(40):
        shop.note()
        notes.append(shop.notes.list_notes()[read:])
        read = len(shop.notes.list_notes())
        record = record.after(notes)

    whole = Record().after(notes)
    assert {
        name: getattr(record, name) for name in ("prices", "evidence", "hours", "findings", "rates", "sublets")
    } == {name: getattr(whole, name) for name in ("prices", "evidence", "hours", "findings", "rates", "sublets")}
    assert [record.stock(part) for part in whole.priced] == [whole.stock(part) for part in whole.priced]
    assert dict(record.known_by) == dict(whole.known_by)
    assert record.after(notes) is record


def counted(monkeypatch: pytest.MonkeyPatch, of: Any, name: str) -> list[Any]:
    """Every call of a method from now on."""
    calls: list[Any] = []
    plain: Callable[..., Any] = getattr(of, name)

    def call(self: Any, *values: Any, **named: Any) -> Any:
        calls.append((values, named))
        return plain(self, *values, **named)

    monkeypatch.setattr(of, name, call)
    return calls


def test_a_note_of_cost_is_read_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    shop = Noting(Changing(demo(), 1), random.Random(3))
    for _ in range(30):
        shop.note()
    costs, index = FollowedCosts(shop.notes), CatalogueIndex(demo())
    costs.costed(index, TODAY)
    whole, since = counted(monkeypatch, MemoryNotes, "list_notes"), counted(monkeypatch, MemoryNotes, "list_since")
    position = shop.notes.position(READ_BY_ANSWERS)

    shop.notes.append([rate_note("bench", {"per_hour": "70", "currency": demo().currency}, SAID)])
    costs.costed(index, TODAY)

    assert whole == [] and [values[0] for values, _ in since] == [position]


def test_costed_indexes_of_old_facts_and_records_are_let_go() -> None:
    notes = MemoryNotes([stock_note("disc-tansy-225", {"quantity": 1, "book": "2", "currency": demo().currency}, SAID)])
    costs, facts = FollowedCosts(notes), Changing(demo(), 4)
    following = FollowingIndex(CatalogueIndex(facts.catalogue))
    own = costs.costed(following.of(facts.step()), TODAY)[0]
    gone = weakref.ref(own)
    gc.disable()
    try:
        answer_question(own, ASKED[0])
        notes.append([rate_note("bench", {"per_hour": "70", "currency": demo().currency}, SAID)])
        costs.costed(following.of(facts.step()), TODAY)
        del own

        assert gone() is None, "let go at once, without the search for cycles"
    finally:
        gc.enable()


def test_a_costed_catalogue_goes_to_another_process_as_it_is() -> None:
    import pickle

    shop = Noting(Changing(demo(), 1), random.Random(5))
    for _ in range(40):
        shop.note()
    catalogue = FollowedCosts(shop.notes).costed(CatalogueIndex(demo()), TODAY)[1].catalogue

    sent: Catalogue = pickle.loads(pickle.dumps(catalogue))

    assert replace(sent, parts={}, edges={}, notes={}, faults={}) == replace(
        catalogue, parts={}, edges={}, notes={}, faults={}
    )
    for table in ("parts", "edges", "notes", "faults"):
        assert dict(getattr(sent, table)) == dict(getattr(catalogue, table))
