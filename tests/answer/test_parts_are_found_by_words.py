"""Parts by their names: the likest first, misspelt ones too; and what a part's edges are from both ends."""

from __future__ import annotations

import pytest

from graph.answer.browse import count_edges, edges_by_sort, edges_of_part, list_parts
from graph.answer.find import find_parts, rank_parts
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue, Part
from graph.catalogue.terms import PartKind
from graph.errors import NotFound
from graph.lookups.index import CatalogueIndex

KINDS = {kind: PartKind(kind, kind.replace("-", " ")) for kind in ("clutch-disc", "pilot-bush")}
PARTS = CatalogueIndex(Catalogue(part_kinds=KINDS, parts={
    part.id: part
    for part in (
        Part(id="disc-240", label="clutch disc 240, 23 teeth", kind="clutch-disc", number="CD 240-23"),
        Part(id="disc-2400", label="dual mass disc 2400", kind="clutch-disc"),
        Part(id="bush-16", label="pilot bush 16", kind="pilot-bush", number="PB-16"),
    )
}))  # fmt: skip


@pytest.mark.parametrize("text", ["clutch disc 240", "cluch disk 240", "CD 240-23", "disc-240"])
def test_a_part_is_found_by_label_number_or_id_even_misspelt(text: str) -> None:
    assert [hit.id for hit in rank_parts(PARTS, text)][:1] == ["disc-240"]


def test_the_name_itself_is_a_hundred_alike() -> None:
    assert [(hit.id, hit.likeness) for hit in rank_parts(PARTS, "disc-2400")] == [("disc-2400", 100)]


def test_a_kind_narrows_the_parts() -> None:
    assert rank_parts(PARTS, "clutch disc", kind="pilot-bush") == []
    with pytest.raises(NotFound):
        rank_parts(PARTS, "clutch disc", kind="no-such-kind")


def test_a_hyphen_is_looked_for_as_it_stands() -> None:
    assert [part.id for part in list_parts(PARTS, text="240-23")] == ["disc-240"]
    assert [part.id for part in find_parts(PARTS, "disc-").parts] == ["disc-240", "disc-2400"]


def test_edges_by_sort_are_the_edges_of_the_part_and_its_families() -> None:
    index = CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo"]))
    for part in index.catalogue.parts:
        ends = index.lineage(part)
        walked = [e.id for one in ends for _, e in sorted(index.catalogue.edges.items()) if one in (e.source, e.target)]

        assert [edge.id for edge in edges_of_part(index, part)] == walked
        assert sorted(e.id for edges in edges_by_sort(index, part).values() for e in edges) == sorted(walked)
        assert count_edges(index, part) == len(walked)
        assert [edge.id for edge in edges_of_part(index, part, 1, 2)] == walked[1:3]
