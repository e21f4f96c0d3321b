"""What the files say arrives exact and typed, whatever the order, the file or the spelling of the RDF."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pyoxigraph
import pytest
import rdflib

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue, Condition
from graph.errors import InvalidFacts
from tests.facts.files import GOOD


@pytest.fixture(scope="module")
def shop() -> Catalogue:
    return load_catalogue(GOOD)


def test_a_part_keeps_its_price_to_the_hundredth_and_its_condition(shop: Catalogue) -> None:
    disc = shop.parts["disc"]

    assert (disc.cash_hundredths, disc.hours_hundredths, disc.days) == (13500, 60, Fraction(2))
    assert disc.condition == "new"
    assert disc.tasks == ("clutch-off-and-on",)
    assert disc.conditions == (Condition("torque_nm", "<=", "240", "up to 240 Nm"),)


def test_a_part_without_a_price_is_not_free(shop: Catalogue) -> None:
    assert shop.parts["short-bush"].cash_hundredths is None


def test_the_shop_says_its_currency_rate_and_day(shop: Catalogue) -> None:
    assert (shop.currency, shop.rate_hundredths, shop.day_hours) == ("XTS", 6000, Fraction(15, 2))


def test_an_edge_keeps_its_work_in_order(shop: Catalogue) -> None:
    edge = shop.edges["e-work"]

    assert edge.kind == "requires-machining"
    assert edge.operations == ("ream the bush", "break the edge")
    assert (edge.cash_hundredths, edge.hours_hundredths, edge.irreversible) == (2000, 50, True)


def test_lengths_are_whole_micrometres_with_their_sign(shop: Catalogue) -> None:
    assert shop.edges["e-shift"].shift_um == -125
    assert shop.edges["e-not"].miss_um == 7000


def test_an_edge_takes_the_evidence_of_its_note(shop: Catalogue) -> None:
    assert shop.edges["e-fit"].evidence == "measured-on-these-parts"
    assert shop.notes["note-1"].author == "fitter, bench 2"


def test_the_shops_own_figure_wins_over_the_trades(shop: Catalogue) -> None:
    trade = load_catalogue([])

    assert (trade.tasks["gearbox-out-and-in"].hours_hundredths, trade.tasks["gearbox-out-and-in"].source) == (
        300,
        "published time tables",
    )
    assert (shop.tasks["gearbox-out-and-in"].hours_hundredths, shop.tasks["gearbox-out-and-in"].source) == (325, "")
    assert shop.tasks["gearbox-out-and-in"].cash_hundredths == 1200
    assert (trade.chain_kinds["pilot-overlap"].low_um, shop.chain_kinds["pilot-overlap"].low_um) == (12000, 14000)


@pytest.mark.parametrize(("form", "suffix"), [("turtle", "ttl"), ("longturtle", "ttl"), ("nt", "nt")])
def test_facts_written_again_by_another_library_are_the_same_catalogue(
    shop: Catalogue, tmp_path: Path, form: str, suffix: str
) -> None:
    graph = rdflib.Graph().parse(GOOD[0])
    graph.serialize(tmp_path / f"again.{suffix}", format=form, encoding="utf-8")

    assert load_catalogue([tmp_path]) == shop


@pytest.mark.parametrize("form", [pyoxigraph.RdfFormat.TRIG, pyoxigraph.RdfFormat.N_QUADS])
def test_facts_in_named_graphs_are_the_same_catalogue(
    shop: Catalogue, tmp_path: Path, form: pyoxigraph.RdfFormat
) -> None:
    name = pyoxigraph.NamedNode("https://shop.example/note-graph")
    quads = [pyoxigraph.Quad(q.subject, q.predicate, q.object, name) for q in pyoxigraph.parse(path=GOOD[0])]
    pyoxigraph.serialize(quads, tmp_path / f"again.{form.file_extension}", format=form)

    assert load_catalogue([tmp_path]) == shop


def test_the_order_of_the_statements_makes_no_difference(shop: Catalogue) -> None:
    quads = list(pyoxigraph.parse(path=GOOD[0]))
    random.Random(5).shuffle(quads)

    assert load_catalogue([], stated=[("notes", quads)]) == shop


def test_a_file_named_twice_is_read_once(shop: Catalogue) -> None:
    assert load_catalogue([*GOOD, GOOD[0].parent, FACTS_FOLDER / "kinds"]) == shop


def test_another_shops_facts_keep_their_whole_names(tmp_path: Path) -> None:
    text = GOOD[0].read_text(encoding="utf-8").replace("https://shop.example/", "https://bench.example/")
    (tmp_path / "theirs.ttl").write_text(text, encoding="utf-8")

    theirs = load_catalogue([tmp_path])
    own = load_catalogue([tmp_path], shop_base="https://bench.example/")

    assert "https://bench.example/disc" in theirs.parts
    assert "disc" in own.parts


def test_nothing_is_loaded_if_one_of_two_files_is_wrong(tmp_path: Path) -> None:
    (tmp_path / "bad.ttl").write_text("this is not turtle")

    with pytest.raises(InvalidFacts, match=r"bad.ttl line 1: not valid ttl"):
        load_catalogue([*GOOD, tmp_path])


def test_facts_that_do_not_stand_in_files_are_named_by_their_origin() -> None:
    quads = [
        pyoxigraph.Quad(
            pyoxigraph.NamedNode("https://shop.example/lost"),
            pyoxigraph.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type"),
            pyoxigraph.NamedNode("https://layshaft.example/vocabulary#Part"),
        )
    ]

    with pytest.raises(InvalidFacts, match=r"note 7, shop:lost lay:kind: say with lay:kind"):
        load_catalogue([], stated=[("note 7", quads)])
