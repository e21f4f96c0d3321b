"""Searching as people type: sizes with an x or without, designations, own numbers, kinds; units before their parts."""

from __future__ import annotations

import pytest

from graph.answer.find import find_parts, rank_parts
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.lookups.index import CatalogueIndex

DEMO = CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo"]))


def first(text: str, kind: str = "") -> str:
    hits = rank_parts(DEMO, text, kind)
    return hits[0].id if hits else ""


@pytest.mark.parametrize(
    "text", ["45x100x25", "45 x 100 x 25", "45 100 25", "45\u00d7100\u00d725", "45x100x25mm", "45*100*25 mm", "6309",
             "bearing 6309", "Bearing 45x100x25"],
)  # fmt: skip
def test_a_bearing_is_found_by_its_sizes_and_by_its_designation(text: str) -> None:
    """ISO 15: 6309 is 45 x 100 x 25."""
    assert first(text) == "bearing-6309"


def test_a_bearing_whose_name_has_sizes_only_is_found_by_its_designation() -> None:
    """ISO 15: 6306 is 30 x 72 x 19; and the sizes find the one that is named by its designation."""
    assert first("6306") == "pilot-whimbrel"
    assert first("30x72x19") == "pilot-whimbrel"


@pytest.mark.parametrize(("text", "unit"), [
    ("Tansy 5", "tansy-5"), ("tansy-5", "tansy-5"), ("tansy 6", "tansy-6"), ("pipit", "pipit-16"),
    ("hollin 5c", "hollin-5c"), ("sorrel", "sorrel-pick-up"), ("dunlin", "dunlin-25d"),
])  # fmt: skip
def test_a_unit_stands_before_its_parts(text: str, unit: str) -> None:
    assert first(text) == unit
    assert find_parts(DEMO, text).parts[0].id == unit


@pytest.mark.parametrize(("text", "unit"), [
    ("tansi 5", "tansy-5"), ("pipt", "pipit-16"), ("ouzle", "ouzel-20"),
    ("holin", "hollin-5"),
])  # fmt: skip
def test_a_unit_stands_before_its_parts_misspelt_too(text: str, unit: str) -> None:
    assert first(text) == unit


@pytest.mark.parametrize(("text", "part"), [
    ("B-BEL-H", "bell-hollin-spare"), ("b-plt-20", "plate-20"), ("plate-15", "plate-15"),
    ("disc 228 tansy", "disc-tansy-228"), ("tansy case", "case-tansy"),
])  # fmt: skip
def test_a_part_is_found_by_its_own_number_its_id_or_words(text: str, part: str) -> None:
    assert first(text) == part


def test_a_kinds_words_find_its_parts_though_no_name_has_them() -> None:
    found = {part.id for part in find_parts(DEMO, "input bearings").parts}

    assert found == {part.id for part in find_parts(DEMO, "", "input-bearing").parts}
    assert [part.id for part in find_parts(DEMO, "input bearing 6309").parts] == ["bearing-6309"]


def test_nothing_is_found_by_what_nothing_has() -> None:
    assert list(find_parts(DEMO, "45x101x25").parts) == []
