"""A compact file holds what the plain loader reads, answers alike, and is made anew exactly when facts change."""

from __future__ import annotations

import os
import random
import shutil
import zlib
from dataclasses import fields
from pathlib import Path

import pytest

from graph.catalogue.compact.checks import BLOCK, BlockSums, find_wrong_block
from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import END_SORTS, Catalogue
from graph.cli.main import main
from graph.errors import InvalidFacts, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.lookups.compact import CompactIndex, open_index
from graph.reading import CatalogueIndex, Question, read_conversion
from scripts.synthetic.plan import Plan

pytestmark = pytest.mark.takes_turns(2)

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
    assert list(opened.listing.ids[3:9]) == list(plain.listing.ids[3:9]), "a list is read by the slice"
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
    ours, theirs = opened.listing, plain.listing
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


def test_it_is_made_anew_when_a_file_changes_or_the_shop_has_another_name(trade: Path, tmp_path: Path) -> None:
    facts, cache = tmp_path / "facts", tmp_path / "catalogue"
    shutil.copytree(trade, facts)
    open_index([facts], cache)

    shop = facts / "shop.ttl"
    shop.write_text(shop.read_text().replace("60.00", "61.00"))

    assert open_index([facts], cache).catalogue.rate_hundredths == 6100
    assert open_index([facts], cache, shop_base="https://other.example/").file.head["base"] == "https://other.example/"


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

    with pytest.raises(StoreProblem, match="graph rebuild` makes it anew"):
        CompactFile(cut)


def test_a_file_with_any_bit_turned_is_made_anew_and_said_so(
    trade: Path, opened: CompactIndex, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    cache, whole, chance = tmp_path / "catalogue", opened.file.path.read_bytes(), random.Random(5)
    places = [0, len(whole) - 1, *(chance.randrange(len(whole)) for _ in range(300))]
    for place in places:
        cache.write_bytes(whole[:place] + bytes([whole[place] ^ 1 << chance.randrange(8)]) + whole[place + 1 :])
        with pytest.raises(StoreProblem, match="makes it anew"):
            CompactFile(cache)

    again = open_index([trade], cache)

    assert "that is done unasked, from the fact files" in caplog.text
    assert dict(again.catalogue.parts) == dict(opened.catalogue.parts)
    assert CompactFile(cache).head["sums"] == opened.file.head["sums"]


def test_a_changed_digit_is_never_read(trade: Path, opened: CompactIndex, tmp_path: Path) -> None:
    """A price in a record, as somebody with an editor would change it: the length stays."""
    cache, whole = tmp_path / "catalogue", opened.file.path.read_bytes()
    place = whole.index(b'"cash_hundredths":') + len(b'"cash_hundredths":')
    cache.write_bytes(whole[:place] + (b"9" if whole[place : place + 1] != b"9" else b"8") + whole[place + 1 :])
    assert cache.stat().st_size == len(whole)

    again = open_index([trade], cache)

    assert dict(again.catalogue.parts) == dict(opened.catalogue.parts)


def test_verify_looks_through_the_packed_facts_and_rebuild_makes_them_anew(
    opened: CompactIndex, trade: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    shutil.copytree(trade, tmp_path / "facts")
    monkeypatch.setattr("graph.lookups.compact.LARGE_BYTES", 1)
    Ledger(open_database(sqlite_url(tmp_path / "ledger.db"))).engine.dispose()
    data, whole = ("--data", str(tmp_path)), bytearray(opened.file.path.read_bytes())
    assert main(["rebuild", *data]) == 0
    assert main(["verify", *data]) == 0
    whole[len(whole) // 2] ^= 1
    (tmp_path / "catalogue").write_bytes(whole)
    capsys.readouterr()

    assert main(["verify", *data]) == 1
    told = capsys.readouterr()
    assert "are not what was written; `python -m graph rebuild` makes it anew" in told.err
    assert "packed facts: NOT SOUND" in told.out

    assert main(["rebuild", *data]) == 0
    assert main(["verify", *data]) == 0


@pytest.mark.parametrize("length", [0, 1, 40, 5_000, 300_000])
def test_bits_by_chance_are_a_named_fault(length: int, tmp_path: Path) -> None:
    (tmp_path / "catalogue").write_bytes(random.Random(length).randbytes(length))

    with pytest.raises(StoreProblem, match="catalogue.*makes it anew"):
        CompactFile(tmp_path / "catalogue")


@pytest.mark.parametrize("size", [0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK])
def test_sums_taken_in_pieces_are_those_of_the_blocks(size: int) -> None:
    """Against zlib's own CRC-32 over each block."""
    data, sums = random.Random(size).randbytes(size), BlockSums()
    for start in range(0, size, 300_007):
        sums.take(memoryview(data)[start : start + 300_007])

    assert sums.all() == [zlib.crc32(data[start : start + BLOCK]) for start in range(0, size, BLOCK)]
    assert find_wrong_block(memoryview(data), sums.all()) is None
    assert find_wrong_block(memoryview(data + b"x"), sums.all()) is not None


def test_the_sum_is_that_of_the_standard() -> None:
    """The check value of CRC-32 (ITU-T V.42): the digits 1 to 9 give CBF43926."""
    assert find_wrong_block(memoryview(b"123456789"), [0xCBF43926]) is None


def test_records_come_back_as_they_were(trade: Path) -> None:
    catalogue = load_catalogue([DEMO])
    for table in ("parts", "edges", "notes", "faults", "tasks", "bolt_faces", "measurements"):
        for thing in getattr(catalogue, table).values():
            kind: type = type(thing)
            codec = codec_of(kind)

            assert codec.from_bytes(codec.to_bytes(thing)) == thing
