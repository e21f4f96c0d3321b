"""Rates per kind of work and the sublet list reach the tasks and operations that name them. Figures invented."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue, OperationPrice
from graph.catalogue.terms import TaskKind
from graph.cli.question import DEMO_FACTS
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.rates import Rate, Sublet
from graph.costing.shop import sublet_note
from graph.costing.works import with_rates, with_sublets
from graph.counter.shop import Shop
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")
TODAY = date(2026, 6, 30)
FACTS = Catalogue(
    currency="EUR", rate_hundredths=6000,
    tasks={
        "visit": TaskKind("visit", "Machine shop", cash_hundredths=0, stage="send-out", hours_hundredths=50,
                          days=Fraction(3)),
        "wiring": TaskKind("wiring", "Wiring altered", cash_hundredths=0, stage="refit", hours_hundredths=150,
                           work="electrical"),
        "strip": TaskKind("strip", "Strip", hours_hundredths=500, cash_hundredths=11000),
    },
    operation_prices={
        "turn": OperationPrice(id="p-1", operation="turn", label="turn", cash_hundredths=4500, hours_hundredths=40,
                               days=Fraction(2), work="machining"),
    },
)  # fmt: skip


def test_a_sublet_price_gives_a_visit_its_price_and_lead_and_says_so() -> None:
    priced, told = with_sublets(FACTS, [Sublet("visit", "Shop", 3000, "EUR", Fraction(7), "datum and hardness")])

    assert (priced.tasks["visit"].cash_hundredths, priced.tasks["visit"].days) == (3000, 7)
    assert priced.tasks["visit"].hours_hundredths == 50, "own hours stay"
    assert told == {
        "visit": "Machine shop: 30.00 EUR, 7 days (sublet price list); the order must say: datum and hardness"
    }


def test_a_sublet_price_of_an_operation_prices_computed_work() -> None:
    priced, _ = with_sublets(FACTS, [Sublet("turn", "Turning", 5200, "EUR", Fraction(4))])

    assert (priced.operation_prices["turn"].cash_hundredths, priced.operation_prices["turn"].days) == (5200, 4)


@pytest.mark.parametrize(
    "sublet", [Sublet("visit", "-", 1, "USD"), Sublet("strip", "-", 1, "EUR"), Sublet("paint", "-", 1, "EUR")]
)
def test_another_currency_own_work_and_unknown_work_change_nothing(sublet: Sublet) -> None:
    assert with_sublets(FACTS, [sublet]) == (FACTS, {})


def test_other_work_is_charged_at_its_own_rate() -> None:
    # 1.5 h at 80 instead of 60 an hour: 30 more. 0.4 h of machining at 90: 12 more, on 45.
    rates = [Rate("electrical", 8000, "EUR"), Rate("machining", 9000, "EUR")]

    charged, told = with_rates(FACTS, rates)

    assert charged.tasks["wiring"].cash_hundredths == 3000
    assert charged.operation_prices["turn"].cash_hundredths == 5700
    assert charged.tasks["strip"] == FACTS.tasks["strip"]
    assert told["wiring"].startswith("Wiring altered: electrical work at 80.00 EUR an hour")


def test_a_cheaper_kind_of_work_takes_at_most_the_cash_that_is_there() -> None:
    charged, _ = with_rates(FACTS, [Rate("electrical", 4000, "EUR"), Rate("machining", 3000, "EUR")])

    assert charged.tasks["wiring"].cash_hundredths == 0
    assert charged.operation_prices["turn"].cash_hundredths == 4500 - 1200


def test_without_rates_of_the_shop_nothing_changes() -> None:
    assert with_rates(FACTS, []) == (FACTS, {})


def test_the_demos_visit_to_the_machine_shop_follows_the_sublet_list_in_the_answer() -> None:
    index = CatalogueIndex(load_catalogue([DEMO_FACTS]))
    notes = MemoryNotes()
    shop, asked = (
        Shop(index, notes, today=lambda: TODAY),
        Question(gearbox="tansy-5", engine="pipit-16", alternatives=6),
    )
    before = next(r for r in shop.ask(asked).routes if "machine-shop-visit" in r.tasks)

    notes.append([sublet_note("machine-shop-visit", {"cash": "45", "currency": "EUR", "lead_days": "19"}, BENCH)])
    answer = shop.ask(asked)

    after = next(r for r in answer.routes if (r.picks, r.links, r.tasks) == (before.picks, before.links, before.tasks))
    assert after.total - before.total == 45
    assert after.days >= 19 > before.days
    assert sum("(sublet price list)" in line for line in answer.assumptions) == 1
