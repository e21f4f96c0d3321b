"""A unit's place holds a part, has none, or is not known; a variant's own word comes before its family's."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from graph.catalogue.load import load_catalogue
from graph.catalogue.model import CONTAINS, HAS_NONE, Catalogue, Edge, Part
from graph.catalogue.restate import restate
from graph.errors import InvalidFacts
from graph.lookups.compact import CompactIndex, open_index
from graph.lookups.index import PlaceState, UnitPlace
from graph.lookups.layered import LayeredIndex, list_changed_things
from graph.reading import CatalogueIndex

SHOP = Path(__file__).parents[1] / "facts" / "good" / "small-shop.ttl"
RING, SHAFT, PILOT = "at-synchro-ring-second", "at-input-shaft", "at-pilot"
TOLD = ("birch", "birch-3", "birch-7", "birch-4", "alder", "alder-2", "disc")


def box(name: str, **fields: object) -> Part:
    return Part(id=name, label=name, kind="gearbox", **fields)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    """Of a family that has a ring, one variant has none and one says nothing."""
    known = load_catalogue([SHOP])
    return replace(known, parts={**known.parts, "birch-4": box("birch-4", variant_of="birch")})


def test_each_state_names_of_whom_it_is_said(catalogue: Catalogue) -> None:
    index = CatalogueIndex(catalogue)

    assert index.place("birch-4", RING) == UnitPlace(PlaceState.HOLDS, (catalogue.edges["e-in-1"],), "birch")
    assert index.place("birch-7", RING) == UnitPlace(PlaceState.HAS_NONE, (catalogue.edges["e-none"],), "birch-7")
    assert index.place("birch-7", PILOT) == UnitPlace(PlaceState.NOT_KNOWN, (), "")


def test_what_a_variant_has_none_of_its_family_does_not_give_it(catalogue: Catalogue) -> None:
    index = CatalogueIndex(catalogue)

    assert set(index.contains("birch-4")) == {RING}
    assert set(index.contains("birch-7")) == set()
    assert set(index.contains("birch-3")) == {RING, SHAFT}


def test_a_variant_that_holds_a_part_does_so_though_its_family_has_none(catalogue: Catalogue) -> None:
    held = Edge(id="e-held", kind=CONTAINS, source="birch-4", target="short-bush", position=PILOT)
    none = Edge(id="e-no-pilot", kind=HAS_NONE, source="birch", target="", position=PILOT, evidence="hearsay")
    index = CatalogueIndex(replace(catalogue, edges={**catalogue.edges, held.id: held, none.id: none}))

    assert index.place("birch-4", PILOT).state is PlaceState.HOLDS
    assert index.place("birch-7", PILOT) == UnitPlace(PlaceState.HAS_NONE, (none,), "birch")


def test_what_a_unit_was_made_for_comes_from_itself_or_else_its_family(catalogue: Catalogue) -> None:
    parts = {**catalogue.parts, "birch": replace(catalogue.parts["birch"], made_for=("transaxle",))}
    parts["birch-4"] = replace(parts["birch-4"], made_for=("clutch-and-propshaft",))
    index = CatalogueIndex(replace(catalogue, parts=parts))

    assert index.made_for("birch-7") == ("transaxle",)
    assert index.made_for("birch-4") == ("clutch-and-propshaft",)
    assert index.made_for("alder") == ()
    assert index.made_for("nobody") == ()


def told(index: CatalogueIndex) -> list[object]:
    places = [(unit, dict(index.places(unit)), index.made_for(unit)) for unit in TOLD]
    return [*places, *(list(index.edges_at(unit, HAS_NONE)) for unit in TOLD)]


def test_the_packed_file_says_the_same(tmp_path: Path) -> None:
    plain, packed = load_catalogue([SHOP]), open_index([SHOP], tmp_path / "shop.catalogue")

    assert told(packed) == told(CatalogueIndex(plain))
    assert dict(packed.catalogue.assemblies) == dict(plain.assemblies)
    assert dict(packed.catalogue.joint_kinds) == dict(plain.joint_kinds)
    assert isinstance(packed.catalogue.joint_kinds["engine-face"].odds_within, Fraction)


@pytest.mark.parametrize("packed", [False, True])
def test_a_changed_catalogue_is_told_like_a_new_one(packed: bool, catalogue: Catalogue, tmp_path: Path) -> None:
    """Forms: in memory and over the packed file; a word that there is none comes, and one goes."""
    lowest: CatalogueIndex = CatalogueIndex(load_catalogue([SHOP]))
    if packed:
        lowest = open_index([SHOP], tmp_path / "shop.catalogue")
    none = Edge(id="e-no-shaft", kind=HAS_NONE, source="birch", target="", position=SHAFT, evidence="hearsay")
    edges = {name: edge for name, edge in catalogue.edges.items() if name != "e-none"} | {none.id: none}
    after = replace(catalogue, edges=edges)

    over = LayeredIndex(lowest, after, list_changed_things(lowest.catalogue, after))

    assert isinstance(lowest, CompactIndex) is packed
    assert told(over) == told(CatalogueIndex(after))
    assert over.place("birch-7", RING).state is PlaceState.HOLDS
    assert over.place("birch-4", SHAFT).state is PlaceState.HAS_NONE


def test_what_is_said_can_be_said_again(catalogue: Catalogue) -> None:
    def said(name: str) -> set[str]:
        thing = catalogue.edges.get(name) or catalogue.parts[name]
        made = restate(thing, lambda id_: f"https://shop.example/{id_}")
        return {
            f"{t.predicate.value.rpartition('#')[2]} {getattr(t.object, 'value', '').rpartition('/')[2]}" for t in made
        }

    assert "type vocabulary#HasNone" in said("e-none")
    assert {"source birch-7", f"position {RING}", "note note-1"} <= said("e-none")
    assert not any(text.startswith("target") for text in said("e-none"))
    assert {"madeFor clutch-and-propshaft", "madeFor transaxle"} <= said("alder-2")


def test_a_shop_adds_to_an_assembly_and_takes_away(catalogue: Catalogue) -> None:
    """Common practice: a shop that never touches the lever need not ask for it, and measures lengths when it likes."""
    drive, house = catalogue.assemblies["clutch-and-propshaft"], load_catalogue([]).assemblies["clutch-and-propshaft"]

    assert set(house.must_have) - set(drive.must_have) == {"at-lever"}
    assert set(drive.may_have) - set(house.may_have) == {"at-lever", "at-damper"}
    assert set(house.every_job) - set(drive.every_job) == {"lengths-measured"}
    assert (house.turns_into, drive.turns_into) == (
        ("converter-and-flexplate", "motor-on-a-coupler"), ("converter-and-flexplate",),
    )  # fmt: skip


def test_the_shops_own_odds_come_before_the_estimate(catalogue: Catalogue) -> None:
    face = catalogue.joint_kinds["engine-face"]

    assert (face.odds_across, face.odds_within) == (Fraction(3, 5), Fraction(3, 20))
    assert face.odds_source == "other families: the shop's own figure; other variant of the family: estimate"
    assert (face.remedy_cash_hundredths, face.remedy_hours_hundredths) == (32000, 100)
    assert catalogue.joint_kinds["clutch-spline"].remedy_cash_hundredths is None
    assert catalogue.part_kinds["starter"].usual_cash_hundredths == 9500
    assert catalogue.part_kinds["clutch-disc"].usual_cash_hundredths is None


ODDS = {  # estimates of the trade, other families and other variant of one family
    "engine-face": ("0.85", "0.15"), "housing-alignment": ("0.35", "0.15"), "case-register": ("0.80", "0.15"),
    "clutch-spline": ("0.70", "0.20"), "pilot-on-nose": ("0.60", "0.15"), "flywheel-to-crank": ("0.75", "0.05"),
    "release-contact": ("0.50", "0.20"), "release-actuation": ("0.45", "0.15"), "starter-mesh": ("0.45", "0.15"),
    "crank-sensor-signal": ("0.35", "0.15"), "damper-spline": ("0.60", "0.20"), "prop-flange": ("0.80", "0.30"),
    "mount-on-box": ("0.85", "0.30"), "lever-in-tunnel": ("0.60", "0.25"), "speedometer-drive": ("0.65", "0.25"),
    "gear-position-wiring": ("0.50", "0.25"), "hand-of-rotation": ("0.10", "0.05"),
    "standard-housing": ("0.05", "0.05"),
}  # fmt: skip


@pytest.mark.parametrize("joint", ODDS)
def test_every_estimate_is_marked_so(joint: str) -> None:
    known = load_catalogue([]).joint_kinds[joint]

    assert (known.odds_across, known.odds_within) == tuple(map(Fraction, ODDS[joint]))
    assert known.odds_source.startswith("estimate")
    assert known.found_out
    assert known.remedy


def test_a_part_held_in_one_file_and_none_in_another_is_refused_in_bulk_too(tmp_path: Path) -> None:
    wrong = SHOP.parent.parent / "wrong" / "none-and-a-part.ttl"
    lines = wrong.read_text().splitlines()
    (tmp_path / "a.ttl").write_text("\n".join(line for line in lines if "HasNone" not in line))
    prefixes = [line for line in lines if line.startswith("@prefix")]
    (tmp_path / "b.ttl").write_text("\n".join([*prefixes, *(line for line in lines if "HasNone" in line)]))

    with pytest.raises(InvalidFacts, match="box cannot have a part and none at at-input-shaft; shop:none says"):
        open_index([tmp_path / "a.ttl", tmp_path / "b.ttl"], tmp_path / "catalogue")
    assert not (tmp_path / "catalogue").exists()
