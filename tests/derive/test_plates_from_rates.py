"""A made plate priced by the shop's rates competes with bought ones; every price adds up by hand here.

The Ouzel's block and the Tansy bell get measured faces (the demo has them for the Pipit and a spare bell only), so
that a plate can be made where the demo has one of 20 mm in stock (25.00, with shim and pad: 884 in all).
Steel 7833 kg/m3 (handbook); holes and counterbores counted off the design.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from graph.catalogue.model import OperationPrice
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.rates import Sublet
from graph.costing.shop import sublet_note
from graph.costing.works import with_sublets
from graph.counter.shop import Shop
from graph.derive.around import deriver_of
from graph.derive.explain import explain_edge
from graph.fits.pattern import Face
from graph.lookups.index import CatalogueIndex
from graph.plates.bill import PLATE_RATES, count_work
from graph.plates.design import design_plate
from graph.plates.model import PlateDesign, PlateWanted
from graph.reading.question import Question
from tests.demo.shop import SETTLED, catalogue, fitted
from tests.derive.shop import best, read

BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")
CHEAP = {"plate-blank": 400, "plate-hole": 150, "plate-bore": 900, "plate-face": 800}
DEAR = {"plate-blank": 2_000, "plate-hole": 1_500, "plate-bore": 6_000, "plate-face": 4_000}
PAIR = {"block-pipit": "block-ouzel", "bell-tansy-spare": "bell-tansy"}


def facts(flat: int | None = None, **rates: int) -> CatalogueIndex:
    """The demo with both faces measured. `flat`: another price of a plate made; `rates`: hundredths by operation."""
    whole = catalogue()
    faces = {
        f"test-{face.id}": replace(face, id=f"test-{face.id}", of=PAIR[face.of])
        for face in whole.bolt_faces.values() if face.of in PAIR and face.joint == "engine-face"
    }  # fmt: skip
    prices = dict(whole.operation_prices)
    if flat is not None:
        prices["make-plate"] = replace(prices["make-plate"], cash_hundredths=flat)
    for name, cash in rates.items():
        prices[name.replace("_", "-")] = OperationPrice(
            id=name, operation=name, label=name, cash_hundredths=cash, hours_hundredths=0, tasks=("machine-shop-visit",)
        )
    return CatalogueIndex(
        replace(whole, bolt_faces={**whole.bolt_faces, **faces}, operation_prices=prices)
    )  # fmt: skip


def plates_of(reading, route) -> list[str]:
    return [part for part in fitted(reading, route) if "plate" in part]


def by_hand(rates: dict[str, int], stock_mm: int) -> int:
    """Hundredths. The blank: bell holes at 178 either side, 183 above and 155 below, 15 of edge (1.5 x 10) about each:
    386 x 368. 8 + 6 + 2 holes and 6 counterbores, the opening, two faces."""
    kilograms = Fraction(386 * 368 * stock_mm * 7833, 10**9)
    blank = -(-kilograms * rates["plate-blank"] // 1)
    return int(blank) + 22 * rates["plate-hole"] + rates["plate-bore"] + 2 * rates["plate-face"]


def test_with_cheap_rates_the_route_goes_from_the_bought_plate_to_a_made_one() -> None:
    before = best(facts(), "tansy-5", "ouzel-20")
    after = best(facts(**CHEAP), "tansy-5", "ouzel-20")

    assert before[1].total == 884 and plates_of(*before) == ["plate-20"]
    (made,) = plates_of(*after)
    assert made.startswith("computed-") and after[1].total < 884
    part = after[0].catalogue.parts[made]
    stock = int(part.label.split(",")[1].strip().removesuffix(" mm"))
    assert part.cash_hundredths == by_hand(CHEAP, stock)
    assert "priced from the shop's rates" in part.to_confirm[1]
    assert "22 holes and counterbores at 1.50: 33.00" in part.to_confirm[1]


def test_with_dear_rates_it_goes_from_the_made_plate_to_the_bought_one() -> None:
    before = best(facts(flat=2_000), "tansy-5", "ouzel-20")
    after = best(facts(flat=2_000, **DEAR), "tansy-5", "ouzel-20")

    assert plates_of(*before)[0].startswith("computed-") and before[1].total < 884
    assert plates_of(*after) == ["plate-20"] and after[1].total == 884


def test_one_rate_that_is_missing_is_not_a_price_of_nothing() -> None:
    whole = facts(**{name: cash for name, cash in CHEAP.items() if name != "plate-face"})

    reading = read(whole, "tansy-5", "ouzel-20")

    made = [part for part in reading.derived.parts if part.kind == "adapter-plate"]
    assert made and {part.cash_hundredths for part in made} == {34_000}  # the flat price


def with_hole_near(x: str, y: str) -> CatalogueIndex:
    """One more hole in the bell's face, at cheap rates."""
    whole = facts(**CHEAP)
    bell = whole.catalogue.bolt_faces["test-face-bell-tansy-spare"]
    near = replace(bell.holes[0], id="near", x=x, y=y)
    crowded = replace(whole.catalogue, bolt_faces={
        **whole.catalogue.bolt_faces, bell.id: replace(bell, seen_from="rear", holes=(*bell.holes, near))
    })  # fmt: skip
    return CatalogueIndex(crowded)


def test_a_plate_that_cannot_be_drawn_is_not_proposed() -> None:
    """Two of the bell's own holes 8 mm apart: found only when it is designed, and no turning and no piece helps."""
    reading = read(with_hole_near("56 mm", "183 mm"), "tansy-5", "ouzel-20")

    assert not [part for part in reading.derived.parts if part.kind == "adapter-plate"]


def test_a_plate_that_stands_only_turned_or_in_two_pieces_is_weighed_and_says_so() -> None:
    """Its dowel stands in the way of a hole, box upright and in one piece."""
    index = with_hole_near("100 mm", "113 mm")

    reading = read(index, "tansy-5", "ouzel-20")

    made = [part for part in reading.derived.parts if part.kind == "adapter-plate"]
    assert made
    (said,) = {part.to_confirm[0] for part in made}
    design = design_plate(PlateWanted(
        engine=face_at(index, "block-ouzel"), gearbox=face_at(index, "bell-tansy"), lean_deg=2.0, pieces=2
    ))  # fmt: skip
    assert isinstance(design, PlateDesign)
    assert all(line in said for line in (*design.solved, *design.turns))
    assert all(set(design.turns) <= set(part.to_confirm) for part in made)
    edges = [edge.id for edge in reading.derived.edges if edge.target == made[0].id and edge.kind == "fits"]
    explained = explain_edge(index, edges[0])
    assert explained.sketches == ()  # the upright sketch would be another plate; the page draws this one


def face_at(index: CatalogueIndex, part: str) -> Face:
    found = deriver_of(index).measured.face(part, "engine-face")
    assert found is not None
    return found


def test_rates_are_entered_as_prices_of_work_sent_out() -> None:
    rates = [Sublet(name, "-", cash, "EUR", Fraction(6)) for name, cash in CHEAP.items()]

    priced, _ = with_sublets(facts().catalogue, rates)

    assert {name: priced.operation_prices[name].cash_hundredths for name in PLATE_RATES} == CHEAP
    assert priced.operation_prices["plate-hole"].tasks == ("machine-shop-visit",)


def test_the_shops_record_of_cost_changes_the_answer() -> None:
    shop = Shop(facts(), MemoryNotes(), today=lambda: date(2026, 6, 30))
    asked = Question(gearbox="tansy-5", engine="ouzel-20", context=SETTLED, alternatives=0, most_assumed=0)
    before = shop.ask(asked).routes[0]

    shop.keep([
        sublet_note(name, {"cash": f"{cash / 100:.2f}", "currency": "EUR", "lead_days": "6"}, BENCH)
        for name, cash in CHEAP.items()
    ])  # fmt: skip
    after = shop.ask(asked).routes[0]

    assert after.total < before.total
    assert any("priced from the shop's rates" in line for line in after.to_confirm)


def test_the_blank_is_the_rectangle_of_the_rolled_plate() -> None:
    """Two holes 9 wide, 200 apart, edges 15 (1.5 d below, 4.5 + 5 and 12 give 13.5): counted by hand."""
    from tests.plates.made import face, hole

    found = design_plate(PlateWanted(
        engine=face("e", hole("e", 0, 100, 9, "clearance")), gearbox=face("g", hole("g", 0, -100, 9, "clearance")),
        bore_um=50_000,
    ))  # fmt: skip
    assert isinstance(found, PlateDesign)
    counts = {one.operation: one.count for one in count_work(found.pieces, "steel")}

    wide, high = 2 * (25 + 15), 2 * (100 + 12)  # about the opening; about the holes (1.5 x 8)
    assert float(counts["plate-blank"]) == pytest.approx(wide * high * 10 * 7833 / 1e9, rel=1e-4)
    assert (counts["plate-hole"], counts["plate-bore"], counts["plate-face"]) == (2, 1, 2)
