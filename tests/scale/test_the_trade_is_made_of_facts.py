"""The invented trade is facts like any others: it passes the checks, and a seed always gives the same."""

from __future__ import annotations

from pathlib import Path

from graph.catalogue.load import check_facts, load_catalogue
from graph.catalogue.model import DOES_NOT_FIT
from scripts.synthetic.plan import BALL_BEARINGS, Plan
from scripts.synthetic.trade import write_trade
from tests.scale.conftest import PARTS, SEED


def test_the_facts_pass_every_check(trade: Path) -> None:
    assert check_facts([trade]) == []


def test_the_same_seed_gives_the_same_files_and_another_seed_others(trade: Path, tmp_path: Path) -> None:
    write_trade(Plan(PARTS, SEED), tmp_path / "again")
    write_trade(Plan(PARTS, SEED + 1), tmp_path / "other")

    texts = {folder: [(p.name, p.read_bytes()) for p in sorted(folder.glob("*.ttl"))]
             for folder in (trade, tmp_path / "again", tmp_path / "other")}  # fmt: skip

    assert texts[trade] == texts[tmp_path / "again"] != texts[tmp_path / "other"]


def test_it_has_about_three_edges_a_part_and_things_that_do_not_fit(trade: Path) -> None:
    catalogue = load_catalogue([trade])

    assert 2.5 < len(catalogue.edges) / len(catalogue.parts) < 3.5
    assert any(edge.kind == DOES_NOT_FIT for edge in catalogue.edges.values())


def test_hundreds_of_housings_share_a_bolt_face_in_a_large_trade() -> None:
    cells = Plan(100_000, SEED).cells

    commonest = max(sum(cell.face == face for cell in cells) for face in range(40))

    assert commonest > 100


def test_bearing_sizes_are_those_of_iso_15() -> None:
    """Deep groove ball bearings by the designation's last two figures: bore = 5 times them (ISO 15 from 20 mm up)."""
    assert all(bore == 5 * int(size[-2:]) for size, (bore, _, _) in BALL_BEARINGS.items())
    assert BALL_BEARINGS["6208"] == (40, 80, 18)
    assert BALL_BEARINGS["6308"] == (40, 90, 23)
