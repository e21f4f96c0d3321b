"""A compact file holds what the plain loader reads, answers alike, and is made anew exactly when facts change."""

from __future__ import annotations

import os
import shutil
from dataclasses import fields
from pathlib import Path

import pytest

from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import END_SORTS, Catalogue
from graph.errors import InvalidFacts, StoreProblem
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.reading.compact import CompactIndex, open_index
from scripts.synthetic.plan import Plan

DEMO = Path(__file__).parents[2] / "facts" / "demo"


@pytest.fixture(scope="module")
def opened(trade: Path, tmp_path_factory: pytest.TempPathFactory) -> CompactIndex:
    return open_index([trade], tmp_path_factory.mktemp("cache") / "trade.catalogue")


@pytest.mark.parametrize("field", [field.name for field in fields(Catalogue)])
def test_every_table_is_the_loaders(field: str, trade: Path, opened: CompactIndex) -> None:
    loaded, lazy = getattr(load_catalogue([trade]), field), getattr(opened.catalogue, field)

    assert (dict(lazy) if isinstance(loaded, dict) else lazy) == loaded


def test_questions_are_read_alike(trade: Path, opened: CompactIndex, plan: Plan) -> None:
    plain = CatalogueIndex(load_catalogue([trade]))
    for cell in plan.cells:
        for other in (cell, plan.partner(cell), plan.stranger(cell)):
            question = Question(gearbox=f"{cell.gearbox(0)}-1", engine=f"{other.engine}-1")

            assert read_conversion(opened, question) == read_conversion(plain, question)


def test_the_demo_too_is_read_alike(tmp_path: Path) -> None:
    plain, compact = CatalogueIndex(load_catalogue([DEMO])), open_index([DEMO], tmp_path / "demo.catalogue")
    for gearbox in plain.units("gearbox"):
        for engine in plain.units("engine"):
            if not plain.catalogue.parts[gearbox].abstract:
                question = Question(gearbox=gearbox, engine=engine)

                assert read_conversion(compact, question) == read_conversion(plain, question)


def test_look_ups_are_alike(trade: Path, opened: CompactIndex) -> None:
    plain = CatalogueIndex(load_catalogue([trade]))

    assert list(opened.units("gearbox")) == list(plain.units("gearbox"))
    assert list(opened.listing.ids) == list(plain.listing.ids)
    assert opened.listing.asked == plain.listing.asked
    for kind in plain.catalogue.part_kinds:
        assert list(opened.parts_of_kind(kind)) == list(plain.parts_of_kind(kind))
    for part in (*plain.catalogue.parts, *plain.catalogue.features):
        for sort in END_SORTS:
            assert list(opened.edges_at(part, *sort)) == list(plain.edges_at(part, *sort))
    for part in plain.catalogue.parts:
        assert opened.variants_of(part) == plain.variants_of(part)
        assert opened.replacing(part) == plain.replacing(part)
    assert "no-such-part" not in opened.catalogue.parts


def test_parts_are_found_by_words_alike(trade: Path, opened: CompactIndex) -> None:
    plain = CatalogueIndex(load_catalogue([trade]))
    ours, theirs = opened.listing.texts, plain.listing.texts
    for kinds in ((), plain.kinds_under("clutch-disc"), plain.kinds_under("gearbox")):
        for words in (["disc"], ["-1"], ["a", "1"], ["bearing", "6308"], ["no-such-word"]):
            choices = [(word,) for word in words]

            assert list(ours.find_ids(choices, kinds)) == list(theirs.find_ids(choices, kinds))
    assert ours.near_words("beering") == theirs.near_words("beering")
    assert [ours.line(part) for part in opened.listing.ids] == [theirs.line(part) for part in plain.listing.ids]


def _when_made(cache: Path) -> int:
    return cache.stat().st_mtime_ns


def test_it_is_opened_again_as_it_is_while_the_facts_stay(trade: Path, tmp_path: Path) -> None:
    facts, cache = tmp_path / "facts", tmp_path / "catalogue"
    shutil.copytree(trade, facts)
    open_index([facts], cache)
    made = _when_made(cache)

    os.utime(facts / "shop.ttl")
    open_index([facts], cache)

    assert _when_made(cache) == made


def test_it_is_made_anew_when_a_file_changes_or_the_ledger_moves_on(trade: Path, tmp_path: Path) -> None:
    facts, cache = tmp_path / "facts", tmp_path / "catalogue"
    shutil.copytree(trade, facts)
    open_index([facts], cache, position="7")

    shop = facts / "shop.ttl"
    shop.write_text(shop.read_text().replace("60.00", "61.00"))

    assert open_index([facts], cache, position="7").catalogue.rate_hundredths == 6100
    assert open_index([facts], cache, position="8").file.head["position"] == "8"


def test_wrong_facts_are_named_by_file_and_line_and_leave_the_old_file(trade: Path, tmp_path: Path) -> None:
    facts, cache = tmp_path / "facts", tmp_path / "catalogue"
    shutil.copytree(trade, facts)
    open_index([facts], cache)
    before = cache.read_bytes()

    (facts / "wrong.ttl").write_text(
        "@prefix lay: <https://layshaft.example/vocabulary#> .\n@prefix shop: <https://shop.example/> .\n"
        "@prefix kind: <https://layshaft.example/kinds/> .\n"
        "shop:x a lay:Fits ; lay:source shop:e0-block ; lay:target shop:nowhere ; lay:joint kind:engine-face .\n"
    )
    with pytest.raises(InvalidFacts, match=r"wrong\.ttl line 4.*nowhere"):
        open_index([facts], cache)

    assert cache.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if "packing" in path.name or ".new" in path.name] == []


def test_a_thing_stated_in_two_files_is_refused(trade: Path, tmp_path: Path) -> None:
    facts = tmp_path / "facts"
    shutil.copytree(trade, facts)
    (facts / "more.ttl").write_text(
        "@prefix lay: <https://layshaft.example/vocabulary#> .\n<https://shop.example/e0-block> lay:hours 3 .\n"
    )

    with pytest.raises(InvalidFacts, match="stated in two places"):
        open_index([facts], tmp_path / "catalogue")


@pytest.mark.parametrize("kept", [0, 10, 5000])
def test_a_file_cut_short_is_refused(kept: int, opened: CompactIndex, tmp_path: Path) -> None:
    cut = tmp_path / "cut"
    cut.write_bytes(opened.file.path.read_bytes()[:kept])

    with pytest.raises(StoreProblem, match="delete it"):
        CompactFile(cut)


def test_records_come_back_as_they_were(trade: Path) -> None:
    catalogue = load_catalogue([DEMO])
    for table in ("parts", "edges", "notes", "faults", "tasks", "bolt_faces", "measurements"):
        for thing in getattr(catalogue, table).values():
            codec = codec_of(type(thing))

            assert codec.from_bytes(codec.to_bytes(thing)) == thing
