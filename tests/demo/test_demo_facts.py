"""The invented workshop is large and varied enough to learn on, and its standard parts have published sizes."""

from __future__ import annotations

import csv
import re
from collections import Counter

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.model import EDGE_KINDS, MATING_KINDS
from tests.demo.shop import catalogue, index

STANDARDS = FACTS_FOLDER / "standards"


def rows(name: str) -> list[dict[str, str]]:
    with (STANDARDS / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def test_it_has_families_with_variants_engines_and_a_vehicle() -> None:
    families = [one for one in index().units("gearbox") if catalogue().parts[one].abstract]

    assert {family: len(index().variants_of(family)) for family in families} == {"sedge": 3, "hollin": 3, "tansy": 4}
    assert len(index().units("engine")) == 4
    assert list(index().units("vehicle")) == ["sorrel-pick-up"]


def test_it_has_enough_parts_edges_and_kinds_of_edge() -> None:
    kinds = Counter(edge.kind for edge in catalogue().edges.values())

    assert len(catalogue().parts) >= 80
    assert len(catalogue().edges) >= 200
    assert set(kinds) == set(EDGE_KINDS)


def test_its_notes_are_of_many_levels_of_evidence() -> None:
    assert len({note.evidence for note in catalogue().notes.values()}) >= 6


def test_every_mating_edge_says_how_it_is_known() -> None:
    silent = [
        edge.id for edge in catalogue().edges.values() if edge.kind in MATING_KINDS and not (edge.evidence or edge.note)
    ]

    assert silent == []


def test_its_ball_bearings_have_the_boundary_dimensions_of_iso_15() -> None:
    """Source: the ISO 15 table beside the facts, which names its own sources row by row."""
    published = {row["designation"]: row for row in rows("iso15_ball_bearings.csv")}
    said = re.compile(r"Bearing (\d+) x (\d+) x (\d+) \(ISO 15, (\d+)\)")

    named = [match for part in catalogue().parts.values() if (match := said.match(part.label))]

    assert {match[4] for match in named} == {"6207", "6306", "6308", "6309"}
    for match in named:
        row = published[match[4]]
        assert [float(size) for size in match.group(1, 2, 3)] == [float(row[key]) for key in ("d_mm", "D_mm", "B_mm")]


def test_its_stationary_engine_has_a_housing_of_sae_j617_and_a_pilot_bore_of_sae_j620() -> None:
    """Source: the SAE J617 and J620 tables beside the facts."""
    number_four = next(row for row in rows("sae_j617_flywheel_housings.csv") if row["sae_no"] == "4")
    bores = {float(row["bore_mm"]): row["dgbb_with_that_od"] for row in rows("sae_pilot_bearing_bores.csv")}

    assert (float(number_four["register_dia_mm"]), float(number_four["bolt_circle_mm"])) == (361.95, 381.0)
    assert "register 361.95, bolt circle 381.00" in catalogue().notes["note-sae-four"].text
    assert "6306" in bores[72.0]
