"""Made bushes, spacers and sleeves priced by the shop's rates compete with bought ones; every price adds up by hand.

The demo with a few readings more. Bench rate 60; a visit to the machine shop 0.5 h. Densities: bronze 8930, steel 7833
kg/m3 (handbook). A blank is 3 mm thicker and longer than the part (common practice of the house's bill).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from math import ceil, cos, pi, radians, sin

import pytest

from graph.answer.made_asking import MadeAsked, ask_made, named_made
from graph.catalogue.model import BoltFace, Measurement, OperationPrice, Part
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.shop import sublet_note
from graph.counter.shop import Shop
from graph.derive.around import deriver_of
from graph.derive.explain import explain_edge
from graph.derive.made_prices import cost_of_works
from graph.fits.model import Work
from graph.lookups.index import CatalogueIndex
from graph.reading import Reading
from graph.reading.question import Question
from graph.search.result import Route
from tests.demo.shop import SETTLED, catalogue, fitted, machined
from tests.derive.shop import best, measured, read

BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")
CHEAP = {
    "bronze-blank": 2_500, "plate-blank": 400, "plate-hole": 150, "plate-bore": 900, "plate-face": 300,
    "flywheel-bolts": 3_200, "balance-flywheel": 6_000,
}  # fmt: skip
DEAR = {name: 5 * cash for name, cash in CHEAP.items()}
RATE, VISIT = 60, Fraction("0.5")
BUSH = (
    measured("crank-bore", "crank-ouzel", "28.000 mm", uncertainty="0.005 mm"),
    measured("crank-bore-depth", "crank-ouzel", "20.0 mm", uncertainty="0.05 mm", datum="block rear face"),
    measured("nose-diameter", "shaft-hollin-short", "16.990 mm", uncertainty="0.005 mm"),
)
SPACER = (
    measured("crank-register", "crank-ouzel", "50.000 mm", uncertainty="0.005 mm"),
    measured("flywheel-bore", "flywheel-ouzel", "50.020 mm", uncertainty="0.005 mm"),
)
NO_SHIM = ("spacer-release-5", "plate-15")  # behind the plate of 20 a flywheel spacer is left


def flange() -> BoltFace:
    """Six M10 on a circle of 38: as the Pipit's block names its threads."""
    block = catalogue().bolt_faces["face-block-pipit"]
    places = [(38 * cos(radians(60 * n)), 38 * sin(radians(60 * n))) for n in range(6)]
    holes = tuple(
        replace(block.holes[0], id=f"k{n}", x=f"{x:.3f} mm", y=f"{y:.3f} mm") for n, (x, y) in enumerate(places)
    )
    return replace(block, id="test-flange", of="crank-ouzel", joint="flywheel-to-crank", holes=holes)


def facts(
    more: Iterable[Measurement] = (), rates: dict[str, int] | None = None, face: bool = True, **cash: int
) -> CatalogueIndex:
    """The demo with more readings. `rates`: hundredths by operation; `cash`: other prices of parts."""
    whole = catalogue()
    prices = dict(whole.operation_prices)
    for name, each in (rates or {}).items():
        prices[name] = OperationPrice(
            id=name, operation=name, label=name, cash_hundredths=each, hours_hundredths=0, tasks=("machine-shop-visit",)
        )
    parts = {part: replace(whole.parts[part], cash_hundredths=price)
             for part, price in ((name.replace("_", "-"), price) for name, price in cash.items())}  # fmt: skip
    return CatalogueIndex(replace(
        whole, operation_prices=prices, parts={**whole.parts, **parts},
        measurements={**whole.measurements, **{one.id: one for one in more}},
        bolt_faces={**whole.bolt_faces, **({"test-flange": flange()} if face else {})},
    ))  # fmt: skip


def made(reading: Reading, route: Route) -> list[str]:
    return sorted(part for part in fitted(reading, route) if part.startswith("computed-"))


def round_kg(across: float, long: float, density: int) -> float:
    """Of the round that a part is turned from."""
    return pi / 4 * (across + 3) ** 2 * (long + 3) * density / 1e9


def in_hundredths(kilograms: float, each: int) -> int:
    return ceil(kilograms * each - 1e-9)


def bush_cash(rates: dict[str, int]) -> int:
    """28.0305 outside (28.016 to 28.045), 20 in the crank and 19 behind the block: 39 long; 2 diameters, 2 faces."""
    blank = in_hundredths(round_kg(28.0305, 39, 8930), rates["bronze-blank"])
    return blank + 2 * rates["plate-bore"] + 2 * rates["plate-face"]


def spacer_cash(rates: dict[str, int]) -> int:
    """Rim 2 x (38 + 1.5 x 11) = 109 to 109.2; 5 thick; 4 diameters, 2 faces, 6 holes."""
    blank = in_hundredths(round_kg(109.1, 5, 7833), rates["plate-blank"])
    work = 4 * rates["plate-bore"] + 2 * rates["plate-face"] + 6 * rates["plate-hole"]
    return blank + work + rates["flywheel-bolts"] + rates["balance-flywheel"]


def test_with_cheap_rates_the_route_goes_from_the_bought_bush_to_a_made_one() -> None:
    before = best(facts(BUSH), "hollin-5", "ouzel-20")
    after = best(facts(BUSH, CHEAP), "hollin-5", "ouzel-20")

    assert before[1].total == 669 and "bush-extended" in fitted(*before)
    (bush,) = made(*after)
    assert after[0].catalogue.parts[bush].cash_hundredths == bush_cash(CHEAP)
    bought = 100 + RATE * Fraction("0.5")
    assert after[1].total == 669 - bought + Fraction(bush_cash(CHEAP), 100) + RATE * (Fraction("0.2") + VISIT)


def test_with_dear_rates_it_goes_from_the_made_bush_to_the_bought_one() -> None:
    reading, route = best(facts(BUSH, DEAR), "hollin-5", "ouzel-20")

    assert made(reading, route) == [] and "bush-extended" in fitted(reading, route) and route.total == 669


def test_the_bush_is_as_long_as_both_chains_want_and_says_so() -> None:
    """Overlap 147 - 150 + r at least 12, shoulder 150 - 125 - r at least 2: r from 15 to 23, the middle is 19."""
    reading, route = best(facts(BUSH, CHEAP), "hollin-5", "ouzel-20")

    (bush,) = made(reading, route)
    assert route.chains_um["pilot-overlap"] == 16_000 and route.chains_um["shoulder-to-bearing"] == 6_000
    told = reading.catalogue.parts[bush].to_confirm
    assert any("rear face 19.000 mm" in line and "15.000 mm (pilot overlap) to 23.000 mm" in line for line in told)
    assert not any("shop's rates" in line for line in told), "what the shop wrote itself is nothing to confirm"
    assert "bearing bronze at 25.00" in reading.catalogue.parts[bush].price_source


def test_with_rates_the_route_goes_from_the_bought_flywheel_spacer_to_a_made_one_and_back() -> None:
    """Bought: 180, bolts 40, balancing 60; both take 0.6 h to fit."""
    before = best(facts(SPACER), "tansy-5", "ouzel-20", avoid=NO_SHIM)
    after = best(facts(SPACER, CHEAP), "tansy-5", "ouzel-20", avoid=NO_SHIM)
    dear = best(facts(SPACER, DEAR), "tansy-5", "ouzel-20", avoid=NO_SHIM)

    assert "spacer-flywheel-5" in fitted(*before) and before[1].total == 1069
    (spacer,) = made(*after)
    assert after[0].catalogue.parts[spacer].cash_hundredths == spacer_cash(CHEAP)
    assert after[1].total == 1069 - 180 - 40 - 60 + Fraction(spacer_cash(CHEAP), 100) + RATE * VISIT
    assert after[1].chains_um["release-gap"] == 9_000 - 5_000
    assert "spacer-flywheel-5" in fitted(*dear) and dear[1].total == 1069


def test_forgetting_what_fitting_a_bought_one_takes_makes_no_made_one_cheaper() -> None:
    """Fitting a made spacer goes by the bought ones; where one of them says nothing, nobody has stated it."""
    whole = facts(SPACER, CHEAP).catalogue
    bought = whole.parts["spacer-flywheel-5"]
    other = replace(bought, id="spacer-7", label="Flywheel spacer, 7 mm", hours_hundredths=30)
    silent = replace(bought, hours_hundredths=None)

    def hours(*parts: Part) -> set[int | None]:
        index = CatalogueIndex(replace(whole, parts={**whole.parts, **{part.id: part for part in parts}}))
        derived = read(index, "tansy-5", "ouzel-20").derived
        return {part.hours_hundredths for part in derived.parts if "sized-5000--part" in part.id}

    assert hours(bought, other) == {60}
    assert hours(silent, other) == {None}


def test_a_spacer_is_not_proven_by_what_comes_with_it_for_nothing() -> None:
    """Longer bolts and balancing have no price: the spacer costs at least what is counted, and wins nothing."""
    rates = {name: cash for name, cash in CHEAP.items() if name != "balance-flywheel"}

    reading, route = best(facts(SPACER, rates), "tansy-5", "ouzel-20", avoid=NO_SHIM)

    assert "spacer-flywheel-5" in fitted(reading, route)
    links = [
        link for joint in reading.conversion.joints for link in joint.links if any("sized-5000" in v for v in link.via)
    ]
    assert links and all(link.assumed for link in links)


@pytest.mark.parametrize("lacking", ["crank-bore", "crank-bore-depth", "nose-diameter"])
def test_a_reading_that_is_missing_makes_the_bush_an_assumption_and_never_free(lacking: str) -> None:
    more = [one for one in BUSH if one.quantity != lacking]

    reading, route = best(facts(more, CHEAP), "hollin-5", "ouzel-20")

    assert route.total == 669 and made(reading, route) == []
    bushes = [part for part in reading.derived.parts if "made-pilot-bush" in part.id and "hollin-short" in part.id]
    assert bushes and all((part.cash_hundredths or 0) > 0 for part in bushes)
    assert all(any("not known: measure" in line for line in part.to_confirm) for part in bushes)


def test_a_made_sleeve_beats_a_bearing_that_has_become_dear_and_the_other_way() -> None:
    """6211 on the journal wants a sleeve and a spacer: 48 and 14 flat. Sleeve 55 x 45 x 21: 3 diameters, 2 faces."""
    asked = ("tansy-5r", "pipit-16")
    flat = best(facts(bearing_6309=17_000), *asked)
    bought = best(facts(bearing_6309=16_200), *asked)
    by_rates = best(facts(rates=CHEAP, bearing_6309=16_200), *asked)
    dear = best(facts(rates=DEAR, bearing_6309=17_000), *asked)

    assert "bearing-6309" in fitted(*bought) and bought[1].total == 678
    assert "computed-iso15-6211" in fitted(*by_rates)
    sleeve = next(part for part in made(*by_rates) if part.endswith("bearing-sleeve"))
    blank = in_hundredths(round_kg(55.0085, 20.75, 7833), CHEAP["plate-blank"])
    assert by_rates[0].catalogue.parts[sleeve].cash_hundredths == blank + 3 * 900 + 2 * 300
    spacer = in_hundredths(round_kg(66.25, 3.97, 7833), CHEAP["plate-blank"]) + 2 * 900 + 2 * 300
    assert by_rates[1].total == 679 - 48 - 14 + Fraction(blank + 27_00 + 6_00 + spacer, 100)
    assert "computed-iso15-6211" in fitted(*flat) and "bearing-6309" in fitted(*dear)
    assert flat[1].total == 679 and dear[1].total == 686


def test_the_shops_record_of_cost_brings_the_made_bush() -> None:
    shop = Shop(facts(BUSH), MemoryNotes(), today=lambda: date(2026, 6, 30))
    asked = Question(gearbox="hollin-5", engine="ouzel-20", context=SETTLED, alternatives=0, most_assumed=0)
    before = shop.ask(asked).routes[0]

    shop.keep([
        sublet_note(name, {"cash": f"{cash / 100:.2f}", "currency": "EUR", "lead_days": "6"}, BENCH)
        for name, cash in CHEAP.items()
    ])  # fmt: skip
    after = shop.ask(asked).routes[0]

    assert before.total == 669 and after.total < before.total
    assert any(part.part.startswith("computed-made-pilot-bush") for part in after.parts)


def test_work_on_the_customers_own_parts_goes_by_rates_where_it_has_no_price() -> None:
    """Starter's pad: set up 30, one face 3; nobody has priced milling it. With setting up unpriced nothing is said."""
    whole = facts(rates=CHEAP | {"part-set-up": 3_000})

    reading = read(whole, "tansy-5", "ouzel-20")

    cuts = [edge for edge in reading.derived.edges if edge.id.endswith("--cut")]
    assert cuts and {edge.cash_hundredths for edge in cuts} == {3_300}
    assert all(edge.irreversible and edge.kind == "requires-machining" for edge in cuts)
    assert not [edge for edge in read(facts(rates=CHEAP), "tansy-5", "ouzel-20").derived.edges if "--cut" in edge.id]


def test_a_short_nose_gets_an_extension_that_cannot_be_taken_off_again() -> None:
    """Overlap 147 - 150 + 8 = 5 with the Ouzel's own pilot: 7 more at least, 8 with a millimetre to spare. Seat: two
    thirds of 16.99, to half a millimetre below: 11. 3 diameters and faces, the nose's own with them, and setting up.
    """
    rates = {name: cash for name, cash in CHEAP.items() if name != "bronze-blank"} | {"part-set-up": 2_500}
    more = (*BUSH, measured("pilot-inside", "pilot-ouzel", "17.045 mm", uncertainty="0.005 mm"))
    whole = facts(more, rates).catalogue
    kind = replace(whole.part_kinds["nose-extension"], usual_hours_hundredths=50)
    stated = CatalogueIndex(replace(whole, part_kinds={**whole.part_kinds, kind.id: kind}))

    reading, route = best(stated, "hollin-5", "ouzel-20", avoid=("bush-extended",))

    (part,) = made(reading, route)
    assert part.endswith("sized-8000--part")
    found = reading.catalogue.parts[part]
    blank = in_hundredths(round_kg(16.994, 23, 7833), CHEAP["plate-blank"])
    assert found.cash_hundredths == blank + 3 * 900 + 3 * 300 + 2_500 and found.hours_hundredths == 50
    assert route.chains_um["pilot-overlap"] == 13_000 and route.chains_um["tip-to-bore-bottom"] == 34_000 - 8_000
    assert any("turn or grind the nose down" in one for one in machined(reading, route)["pilot-on-nose"])
    links = {link.id: link for joint in reading.conversion.joints for link in joint.links}
    assert links[route.links["pilot-on-nose"]].irreversible
    asked = MadeAsked(kind="nose-extension", a="pilot-ouzel", b="shaft-hollin-short", size="8 mm")
    design = ask_made(stated, asked).design
    assert design.size("inside diameter").text() == "inside diameter H7 11.000 to 11.018 mm"
    assert design.size("seat on the nose").text() == "seat on the nose s6 11.028 to 11.039 mm"
    unstated = best(CatalogueIndex(whole), "hollin-5", "ouzel-20")
    assert unstated[1].total == 669  # nobody has said what fitting one takes: no route is proven by it


def test_a_part_is_set_up_once_for_all_that_is_done_to_it() -> None:
    """Three holes plugged and drilled anew, two holes each, and a face: 30 + 6 x 1.50 + 3."""
    whole = facts(rates=CHEAP | {"part-set-up": 3_000}).catalogue
    listed = {name: price for name, price in whole.operation_prices.items() if name != "redrill-hole"}
    works = [*(Work("redrill-hole", "bell", f"hole {n}") for n in range(3)), Work("mill-starter-pad", "bell", "pad")]

    cost = cost_of_works(replace(whole, operation_prices=listed), works)

    assert cost.cash_hundredths == 3_000 + 6 * 150 + 300
    assert cost.tasks == ("machine-shop-visit",)


def test_a_thin_nose_gets_a_sleeve_beside_the_bush_that_is_made_for_it() -> None:
    """Bore 20.04, nose 16.99: 1.5 mm of wall; the sleeve 19.97 to 20.01 on 16.95 to 16.98, 16.5 to 17.5 long."""
    whole = facts(rates=CHEAP).catalogue
    more = (
        measured("pilot-inside", "bush-unlabelled", "20.040 mm", uncertainty="0.005 mm", id="m-bush-inside"),
        measured("pilot-length", "bush-unlabelled", "16.0 mm", uncertainty="0.05 mm"),
    )
    index = CatalogueIndex(replace(whole, measurements={**whole.measurements, **{one.id: one for one in more}}))

    finding = deriver_of(index).pair("pilot-on-nose", "bush-unlabelled", "shaft-sedge")

    (sleeve,) = finding.made
    assert sleeve.kind == "bush"
    blank = in_hundredths(round_kg(19.9895, 17, 7833), CHEAP["plate-blank"])
    assert sleeve.cash_hundredths == pytest.approx(blank + 2 * 900 + 2 * 300, abs=1)
    told = " ".join(sleeve.to_confirm)
    assert "outside diameter 19.969 to 20.009 mm" in told and "inside diameter 16.945 to 16.974 mm" in told
    asked = MadeAsked(kind="nose-sleeve", a="bush-unlabelled", b="shaft-sedge")
    assert ask_made(index, asked).design.size("length").text() == "length 16.550 to 17.450 mm"


def test_a_flat_price_for_work_on_a_part_stays_what_it_is() -> None:
    reading = read(facts(rates=CHEAP | {"part-set-up": 3_000}), "tansy-5r", "pipit-16")

    plain = read(facts(), "tansy-5r", "pipit-16")
    worked = {edge.id: edge.cash_hundredths for edge in plain.derived.edges if edge.operations}
    assert worked
    for edge in reading.derived.edges:
        if edge.id in worked and "sleeve" not in " ".join(edge.operations) and "shim" not in " ".join(edge.operations):
            assert edge.cash_hundredths == worked[edge.id]


def test_every_edge_of_a_made_part_carries_its_working_and_its_part_leads_to_its_drawing() -> None:
    whole = facts((*BUSH, *SPACER), CHEAP)
    found = [*read(whole, "hollin-5", "ouzel-20").derived.edges, *read(whole, "tansy-5", "ouzel-20").derived.edges]
    edges = [edge for edge in found if edge.kind == "fits" and ("made-pilot" in edge.id or "sized-5000--" in edge.id)]

    assert {edge.id.rsplit("--", 1)[1] for edge in edges} == {"in", "out"}
    for edge in edges:
        explained = explain_edge(whole, edge.id)
        assert explained.edge == edge
        assert explained.finding is not None and explained.finding.result is not None
        assert explained.finding.result.working.lines
        part = edge.target if edge.id.endswith("--in") else edge.source
        asked = named_made(whole, part)
        assert asked is not None
        assert ask_made(whole, asked).design.chosen_nm is not None


def test_without_rates_no_answer_knows_of_made_parts() -> None:
    reading, route = best(facts((*BUSH, *SPACER)), "hollin-5", "ouzel-20")

    assert route.total == 669 and machined(reading, route) == {}
    assert not [part for part in reading.derived.parts if "made-" in part.id]
    told = ask_made(facts(BUSH), MadeAsked(kind="pilot-bush", a="crank-ouzel", b="shaft-hollin-short", size="19 mm"))
    assert told.price[0].startswith(
        "no price from rates: the shop has none for made parts: a kilogram of bearing bronze"
    )
    assert told.price[1] == "Bush made, whatever it is like: 38.00, 0.20 h"
