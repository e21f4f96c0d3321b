"""A made plate priced by the shop's rates competes with bought ones; every price adds up by hand here.

The Ouzel's block and the Tansy bell get measured faces (the demo has them for the Pipit and a spare bell only), so
that a plate can be made where the demo has one of 20 mm in stock (25.00, with shim and pad: 884 in all).
Steel 7833 kg/m3 (handbook); holes and counterbores counted off the design.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from math import asin, pi, sqrt

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
from graph.plates.bill import BESIDE_RATES, PLATE_RATES, count_beside, count_work
from graph.plates.design import design_plate
from graph.plates.model import PlateDesign, PlateWanted
from graph.reading import Reading
from graph.reading.question import Question
from graph.search.result import Route
from tests.demo.shop import SETTLED, catalogue, fitted
from tests.derive.shop import best, read

BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")
CHEAP = {
    "plate-blank": 400, "plate-hole": 150, "plate-bore": 900, "plate-face": 800, "plate-screw": 50, "plate-outline": 0
}  # fmt: skip
DEAR = {
    "plate-blank": 2_000, "plate-hole": 1_500, "plate-bore": 6_000, "plate-face": 4_000, "plate-screw": 200,
    "plate-outline": 0,
}  # fmt: skip
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


def plates_of(reading: Reading, route: Route) -> list[str]:
    return [part for part in fitted(reading, route) if "plate" in part]


def by_hand(rates: dict[str, int], stock_mm: int) -> int:
    """Hundredths. The blank: bell holes at 178 either side, 183 above and 155 below, 15 of edge (1.5 x 10) about each:
    386 x 368. 8 + 6 + 2 holes, each with its screw or dowel, and 6 counterbores, the opening, two faces."""
    kilograms = Fraction(386 * 368 * stock_mm * 7833, 10**9)
    blank = -(-kilograms * rates["plate-blank"] // 1)
    pieces = 22 * rates["plate-hole"] + 16 * rates["plate-screw"]
    return int(blank) + pieces + rates["plate-bore"] + 2 * rates["plate-face"]


def test_with_cheap_rates_the_route_goes_from_the_bought_plate_to_a_made_one() -> None:
    before = best(facts(), "tansy-5", "ouzel-20")
    after = best(facts(**CHEAP), "tansy-5", "ouzel-20")

    assert before[1].total == 884 and plates_of(*before) == ["plate-20"]
    (made,) = plates_of(*after)
    assert made.startswith("computed-") and after[1].total < 884
    part = after[0].catalogue.parts[made]
    stock = int(part.label.split(",")[1].strip().removesuffix(" mm"))
    assert part.cash_hundredths == by_hand(CHEAP, stock)
    assert "priced from the shop's rates" in part.price_source
    assert "22 holes and counterbores at 1.50: 33.00" in part.price_source


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

    assert {name: priced.operation_prices[name].cash_hundredths for name in PLATE_RATES | BESIDE_RATES} == CHEAP
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
    assert any("priced from the shop's rates" in part.price_source for part in after.parts)
    assert not any("shop's rates" in line for line in after.to_confirm), "what the shop wrote is nothing to confirm"


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

    screws, outline = count_beside(found.pieces)
    lean = asin((40 - 12) / 100)  # a belt about wheels of radius 12, 40, 12, a hundred apart
    around = 4 * sqrt(100**2 - 28**2) + 2 * 12 * (pi - 2 * lean) + 2 * 40 * 2 * lean
    assert screws.count == 2 and float(outline.count) == pytest.approx(around / 1000, abs=0.0011)


def test_without_a_rate_for_screws_and_outline_the_plate_costs_at_least_what_is_counted() -> None:
    """Eight screws into the bell, six into the block, two dowels; fitting it takes what the price list has for its
    flat price, 0.80 h. Nothing is proven by such a plate."""
    index = facts(**{name: cash for name, cash in CHEAP.items() if name in PLATE_RATES})
    reading = read(index, "tansy-5", "ouzel-20")

    made = [part for part in reading.derived.parts if part.kind == "adapter-plate" and "milled" not in part.label]
    assert made and {part.hours_hundredths for part in made} == {80}
    assert all("fitting it: 0.80 h, as the price list has its work" in part.price_source for part in made)
    names = {part.id for part in reading.derived.parts if part.kind == "adapter-plate"}
    into = [edge for edge in reading.derived.edges if edge.target in names and edge.kind != "shifts"]
    assert {edge.kind for edge in into} == {"requires-machining"}
    assert all(edge.operations[0] == "16 screws, bolts and dowels" for edge in into)
    assert all(edge.operations[1].endswith("m of outline cut") and edge.cash_hundredths is None for edge in into)
    assert plates_of(*best(index, "tansy-5", "ouzel-20")) == ["plate-20"]

    asked = Question(gearbox="tansy-5", engine="ouzel-20", context=SETTLED, avoid=("plate-20", "plate-15"))
    (route, *_) = Shop(index, MemoryNotes(), today=lambda: date(2026, 6, 30)).ask(asked).routes
    assert route.at_least and any("16 screws, bolts and dowels" in lack for lack in route.unpriced)


def test_hours_of_fitting_that_nobody_states_stay_unknown() -> None:
    whole = facts(**CHEAP).catalogue
    prices = {name: one for name, one in whole.operation_prices.items() if name != "make-plate"}
    parts = {
        name: replace(part, hours_hundredths=None) if part.kind == "adapter-plate" else part
        for name, part in whole.parts.items()
    }
    index = CatalogueIndex(replace(whole, operation_prices=prices, parts=parts))

    made = [part for part in read(index, "tansy-5", "ouzel-20").derived.parts if part.kind == "adapter-plate"]

    assert made and {part.hours_hundredths for part in made} == {None}
