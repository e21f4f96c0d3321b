"""Looking things up: near matches, families and what their variants take over, the multigraph."""

from __future__ import annotations

import networkx as nx
import pytest

from graph.catalogue.kinds import can_hold, can_mate, is_kind
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue, Edge, Part
from graph.catalogue.view import (
    get_part,
    list_contents,
    list_edges,
    list_family,
    list_mating_edges,
    list_variants,
    multigraph_of,
)
from graph.errors import NotFound
from tests.facts.files import GOOD


def part(name: str, family: str = "") -> Part:
    return Part(id=name, label=name, kind="input-shaft", variant_of=family)


def edge(name: str, kind: str, source: str, target: str, **more: str) -> Edge:
    return Edge(id=name, kind=kind, source=source, target=target, **more)


def catalogue(parts: list[Part], edges: list[Edge]) -> Catalogue:
    return Catalogue(parts={p.id: p for p in parts}, edges={e.id: e for e in edges})


FAMILY = [part("shaft"), part("shaft-3", "shaft"), part("shaft-3b", "shaft-3"), part("disc"), part("disc-9", "disc")]


def test_an_unknown_part_names_what_looks_like_it():
    with pytest.raises(NotFound) as missing:
        get_part(load_catalogue(GOOD), "shaft-4")

    assert missing.value.near[0] == "shaft-3"


def test_a_family_is_listed_nearest_first():
    assert list_family(catalogue(FAMILY, []), "shaft-3b") == ("shaft-3b", "shaft-3", "shaft")


def test_all_variants_below_a_family_are_listed():
    assert [p.id for p in list_variants(catalogue(FAMILY, []), "shaft")] == ["shaft-3", "shaft-3b"]


def test_an_edge_of_the_family_holds_for_its_variants():
    known = catalogue(FAMILY, [edge("e1", "fits", "disc", "shaft", joint="clutch-spline")])

    assert [e.id for e in list_edges(known, "shaft-3b")] == ["e1"]
    assert list_edges(known, "shaft-3b", inherited=False) == ()


def test_a_variants_own_edge_at_the_same_joint_wins_over_its_familys():
    known = catalogue(
        FAMILY,
        [
            edge("e1", "fits", "disc", "shaft", joint="clutch-spline"),
            edge("e2", "does-not-fit", "shaft-3", "disc", joint="clutch-spline"),
        ],
    )

    assert [e.id for e in list_edges(known, "shaft-3b")] == ["e2"]
    assert [e.id for e in list_mating_edges(known, "shaft-3b", "disc-9")] == ["e2"]
    assert [e.id for e in list_mating_edges(known, "shaft", "disc")] == ["e1"]


def test_two_edges_equally_near_stay_both_and_are_a_dispute():
    known = catalogue(
        FAMILY,
        [
            edge("e1", "fits", "disc", "shaft-3", joint="clutch-spline"),
            edge("e2", "does-not-fit", "disc-9", "shaft", joint="clutch-spline"),
        ],
    )

    assert [e.id for e in list_mating_edges(known, "shaft-3", "disc-9", "clutch-spline")] == ["e1", "e2"]
    assert list_mating_edges(known, "shaft-3", "disc-9", "engine-face") == ()


def test_what_a_variant_contains_takes_the_place_of_its_familys():
    known = catalogue(
        FAMILY,
        [
            edge("e1", "contains", "shaft", "disc", position="a"),
            edge("e2", "contains", "shaft", "disc", position="b"),
            edge("e3", "contains", "shaft-3", "disc-9", position="a"),
        ],
    )

    assert [(e.position, e.target) for e in list_contents(known, "shaft-3b")] == [("a", "disc-9"), ("b", "disc")]


def test_a_unit_contains_its_own_parts_and_its_familys():
    assert [e.target for e in list_contents(load_catalogue(GOOD), "birch-3")] == ["shaft-3", "ring"]


def test_the_multigraph_holds_every_edge_and_says_what_each_node_is():
    known = load_catalogue(GOOD)

    graph = multigraph_of(known)

    assert isinstance(graph, nx.MultiDiGraph)
    assert sorted(key for _, _, key in graph.edges(keys=True)) == sorted(known.edges)
    assert graph.nodes["e-work"]["type"] == "edge"
    assert graph.edges["disc", "shaft", "e-fit"]["kind"] == "fits"
    assert all("type" in data for _, data in graph.nodes(data=True))


def test_a_narrower_kind_can_stand_where_the_wider_one_does():
    kinds = load_catalogue([])

    assert is_kind(kinds, "extended-pilot-bush", "pilot-bearing")
    assert can_hold(kinds, "extended-pilot-bush", "at-pilot")
    assert not can_hold(kinds, "starter", "at-pilot")


def test_a_plate_can_stand_inside_the_engine_face_but_not_in_the_spline():
    kinds = load_catalogue([])

    assert can_mate(kinds, "adapter-plate", "bell-housing", kinds.joint_kinds["engine-face"])
    assert can_mate(kinds, "engine-block", "adapter-plate", kinds.joint_kinds["engine-face"])
    assert not can_mate(kinds, "adapter-plate", "input-shaft", kinds.joint_kinds["clutch-spline"])
