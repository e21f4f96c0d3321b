"""Plates, spacers and pads sized from the length chains.

Window and sizes: the worked plate example of the trade notes. T is the plate; pilot overlap 33 - T, at least 12;
shoulder T - 11, at least 2; release gap T - 11, 3 to 5; starter rest gap T - 11.5, 2 to 4; mesh 31.5 - T, at least 9.
It says: window 14.0 to 15.5; behind a 20 mm plate 5 mm of shim, and about 5 mm off the starter's pad.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from graph.catalogue.model import OperationPrice
from graph.catalogue.terms import ChainKind
from graph.derive.explain import explain_edge
from graph.derive.room import Room, RoomSpan, sizes_um
from graph.reading import CatalogueIndex
from tests.demo.shop import catalogue, fitted
from tests.derive.shop import best, index, read

WITHOUT_PLATE = {
    "overlap": (33_000, 12_000, None), "shoulder": (-11_000, 2_000, None), "gap": (-11_000, 3_000, 5_000),
    "rest": (-11_500, 2_000, 4_000), "mesh": (31_500, 9_000, None),
}  # fmt: skip
PLATE = {"overlap": -1, "shoulder": 1, "gap": 1, "rest": 1, "mesh": -1}
BELL: dict[str, Any] = {"own": ("bell-tansy-spare", "bush-unlabelled")}


def room(plate_um: int = 0) -> Room:
    sums = {name: start + PLATE[name] * plate_um for name, (start, _, _) in WITHOUT_PLATE.items()}
    kinds = {
        name: ChainKind(name, name, low_um=low, high_um=high) for name, (_, low, high) in WITHOUT_PLATE.items()
    }  # fmt: skip
    return Room(
        {name: RoomSpan(um, um) for name, um in sums.items()},
        kinds,
        {name: frozenset({um}) for name, um in sums.items()},
    )


def priced(**cash: int) -> CatalogueIndex:
    """The demo's facts with more on the price list: cash in hundredths by operation."""
    whole = catalogue()
    prices = {
        name: OperationPrice(
            id=name,
            operation=name,
            label=name,
            cash_hundredths=amount,
            hours_hundredths=0,
            tasks=("machine-shop-visit",),
        )
        for name, amount in ((key.replace("_", "-"), value) for key, value in cash.items())
    }
    return CatalogueIndex(replace(whole, operation_prices={**whole.operation_prices, **prices}))


ALL = {"mill_plate": 3500, "make_release_spacer": 2500, "make_flywheel_spacer": 9000, "mill_starter_pad": 5000}


def test_the_window_of_the_worked_example_and_the_plates_within() -> None:
    window = room().window_um(PLATE)

    assert window == (14_000, 15_500)
    assert sizes_um(window) == (14_000, 14_500, 15_000, 15_500)


def test_behind_a_20_mm_plate_the_shim_and_the_pad_bring_their_gaps_to_the_middle() -> None:
    behind = room(20_000)

    assert behind.centring_um({"gap": -1}) == (5_000,)  # 9 - 5 = 4
    assert behind.centring_um({"rest": -1, "mesh": 1}) == (5_500,)  # 8.5 - 5.5 = 3


def test_a_chain_of_which_nothing_is_known_does_not_bind_and_one_open_end_gives_no_window() -> None:
    known = room()

    assert Room({}, known.kinds).window_um(PLATE) is None
    assert Room({"overlap": RoomSpan(33_000, 33_000)}, known.kinds).window_um(PLATE) is None


def test_many_sizes_are_cut_to_those_next_to_the_middle() -> None:
    sizes = sizes_um((1_000, 30_000))

    assert len(sizes) == 12
    assert min(sizes) > 12_000 and max(sizes) < 19_000


def test_a_plate_is_milled_to_half_a_millimetre_where_the_price_list_has_it() -> None:
    reading = read(priced(**ALL), "tansy-5", "pipit-16", **BELL)

    milled = [part for part in reading.derived.parts if "made and milled" in part.label]
    thicknesses = {label.split(",")[1].strip() for label in (part.label for part in milled)}
    assert "14.5 mm" in thicknesses
    assert all(part.cash_hundredths == 34_000 + 3_500 for part in milled)  # the plate made, and milled
    assert "mill the 15 mm plate down to 14.500 mm" in next(p for p in milled if "14.5" in p.label).to_confirm


def test_without_a_price_for_it_nothing_is_proposed() -> None:
    reading = read(index(), "tansy-5", "pipit-16", **BELL)

    assert not [part for part in reading.derived.parts if "milled" in part.label]
    assert not [edge for edge in reading.derived.edges if "--sized-" in edge.id]


def test_a_shim_sized_from_the_chain_beats_the_noted_way() -> None:
    """The noted way (884) pays a shim of 5 mm and work on the pad as the shop notes it."""
    _, noted = best(index(), "tansy-5", "ouzel-20")
    reading, route = best(priced(**ALL), "tansy-5", "ouzel-20")

    assert noted.total == 884
    assert route.total < noted.total
    assert any("sized-5000" in part for part in fitted(reading, route))
    assert route.chains_um["release-gap"] == 4_000


def test_every_made_to_measure_edge_carries_its_working() -> None:
    facts = priced(**ALL)
    edges = [
        edge for question in (("tansy-5", "ouzel-20", {}), ("tansy-5", "pipit-16", BELL))
        for edge in read(facts, *question[:2], **question[2]).derived.edges
        if edge.kind != "shifts" and ("--sized-" in edge.id or "--14.5--" in edge.id)
    ]  # fmt: skip

    assert {edge.id.rsplit("--", 1)[1] for edge in edges} == {"in", "out", "cut"}
    for edge in edges:
        explained = explain_edge(facts, edge.id)
        assert explained.edge == edge
        assert explained.finding is not None and explained.finding.result is not None
        assert explained.finding.result.working.lines


def test_a_milled_plate_has_its_sketch_with_its_own_thickness() -> None:
    edge = "computed-engine-face--block-pipit--bell-tansy-spare--14.5--in"

    (sketch,) = explain_edge(priced(**ALL), edge).sketches

    assert sketch.dimensions[0].nominal_nm == 14_500_000


def test_metal_off_the_pad_cannot_be_put_back() -> None:
    reading = read(priced(**ALL), "tansy-5", "ouzel-20")

    (cut,) = (edge for edge in reading.derived.edges if edge.id.endswith("--cut"))
    assert cut.irreversible
    assert cut.operations == ("mill 5.500 mm off the starter's pad",)
