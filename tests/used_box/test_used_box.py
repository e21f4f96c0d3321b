"""A used gearbox before it is paid for: odds by Bayes' rule and from every world, worth by hand, the doors."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from html import unescape
from itertools import product
from pathlib import Path
from random import Random
from shutil import copy

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from graph.cli.main import main
from graph.complaints.tables import KINDS
from graph.counter import Shop
from graph.errors import InvalidFacts, InvalidInput, NotFound
from graph.lookups.index import CatalogueIndex
from graph.used_box import UsedBox, UsedBoxVerdict
from graph.used_box.tables import load_used_box, used_box_tables
from tests.demo.shop import catalogue, index


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop(index())


def odds(verdict: UsedBoxVerdict) -> dict[str, float]:
    return {line.id: line.odds for line in verdict.worn}


def test_before_any_look_the_odds_are_those_stated(shop: Shop) -> None:
    """The Tansy's ring 0.40 and bearing 0.35 as the facts state them, the rest as the trade's table has it."""
    verdict = shop.weigh_used_box(UsedBox("tansy-5"))

    assert odds(verdict)["second-synchro-ring"] == pytest.approx(0.40)
    assert odds(verdict)["input-bearing"] == pytest.approx(0.35)
    assert odds(verdict)["layshaft-needles"] == pytest.approx(0.325)


def test_one_check_moves_one_part_by_bayes_rule(shop: Shop) -> None:
    """A nail feels a step: 0.15 before; P(step) = 1 - 0.96 * 0.30 with a worn shaft, 0.04 with a sound one."""
    yes = shop.weigh_used_box(UsedBox("tansy-5", {"spline-step": "yes"}))
    no = shop.weigh_used_box(UsedBox("tansy-5", {"spline-step": "no"}))

    worn, sound = 1 - 0.96 * 0.30, 0.04
    assert odds(yes)["input-spline-nose"] == pytest.approx(0.15 * worn / (0.15 * worn + 0.85 * sound))
    assert odds(no)["input-spline-nose"] == pytest.approx(0.15 * (1 - worn) / (0.15 * (1 - worn) + 0.85 * (1 - sound)))


def test_the_odds_are_those_of_every_world_gone_through(shop: Shop) -> None:
    """An independent sum over all worlds of five parts and a hard life, for three answers."""
    trade, found = used_box_tables(), {"magnet-flakes": "yes", "shaft-rocks": "no", "oil-burnt": "yes"}
    verdict = shop.weigh_used_box(UsedBox("tansy-5", found))
    stated = odds(shop.weigh_used_box(UsedBox("tansy-5")))
    parts = [one for one in stated if any(one in trade.brings and check in trade.brings[one] for check in found)]
    hard = trade.causes["hard-life"].prior

    def chance(names: tuple[str, ...], world: tuple[int, ...], life: int) -> float:
        there = {one for one, is_there in zip(names, world, strict=True) if is_there} | (
            {"hard-life"} if life else set()
        )
        total = hard if life else 1 - hard
        for one, is_there in zip(names, world, strict=True):
            link = trade.brings["hard-life"].get(one, 0.0)
            alone = 1 - (1 - stated[one]) / (1 - hard * link)
            worn = 1 - (1 - alone) * (1 - link * life)
            total *= worn if is_there else 1 - worn
        for check, said in found.items():
            spared = 1 - trade.tests[check].otherwise
            for cause in there:
                spared *= 1 - trade.brings.get(cause, {}).get(check, 0.0)
            total *= 1 - spared if said == "yes" else spared
        return total

    names = tuple(parts)
    worlds = [(world, life) for world in product((0, 1), repeat=len(names)) for life in (0, 1)]
    whole = sum(chance(names, world, life) for world, life in worlds)
    for at, one in enumerate(names):
        worn = sum(chance(names, world, life) for world, life in worlds if world[at]) / whole
        assert odds(verdict)[one] == pytest.approx(worn), one


def test_of_boxes_said_to_be_so_likely_worn_so_many_are() -> None:
    """600 boxes drawn from the tables, three checks each: of rings said to be 0.5 to 1 likely as many are worn."""
    shop, trade, random = Shop(index()), used_box_tables(), Random(7)
    stated = odds(shop.weigh_used_box(UsedBox("tansy-5")))
    said = there = 0.0
    checks = ("brass-in-oil", "seller-crunch", "high-mileage")
    known: dict[tuple[str, ...], float] = {}
    for _ in range(600):
        life = random.random() < trade.causes["hard-life"].prior
        link = trade.brings["hard-life"]
        worn = {
            one: random.random() < 1 - (1 - p) / (1 - 0.15 * link.get(one, 0.0)) * (1 - link.get(one, 0.0) * life)
            for one, p in stated.items()
        }
        causes = [one for one, is_there in {**worn, "hard-life": life}.items() if is_there]
        answers = tuple(
            "yes" if random.random() < trade.tests[check].otherwise
            or any(random.random() < trade.brings.get(one, {}).get(check, 0.0) for one in causes) else "no"
            for check in checks
        )  # fmt: skip
        if answers not in known:
            asked = UsedBox("tansy-5", dict(zip(checks, answers, strict=True)))
            known[answers] = odds(shop.weigh_used_box(asked))["second-synchro-ring"]
        if known[answers] >= 0.5:
            said, there = said + known[answers], there + worn["second-synchro-ring"]

    assert said > 100
    assert there == pytest.approx(said, abs=3 * (said * 0.25) ** 0.5)


def test_what_a_box_is_worth_is_a_sound_ones_price_less_what_is_expected_to_be_put_right(shop: Shop) -> None:
    known = catalogue()
    priced = replace(known.parts["tansy-5"], cash_hundredths=140000, condition="reconditioned")
    priced_shop = Shop(CatalogueIndex(replace(known, parts={**known.parts, "tansy-5": priced})))

    verdict = priced_shop.weigh_used_box(UsedBox("tansy-5", {"shaft-rocks": "yes"}, 30000))
    unpriced = shop.weigh_used_box(UsedBox("tansy-5", {}, 30000))

    assert verdict.worth == 1400 - verdict.repairs
    assert f"it comes to at least {float(300 + verdict.repairs):.2f} EUR" in verdict.worth_words
    assert unpriced.worth is None and "Nobody has stated what one costs" in unpriced.worth_words


def test_the_repairs_of_one_part_are_reckoned_by_hand(shop: Shop) -> None:
    """The layshaft: 150.00 and 1.0 h, with 0.8 + 1.2 + 3.0 h and 110.00 to open the box on the bench, at 60."""
    verdict = shop.weigh_used_box(UsedBox("tansy-5"))

    (layshaft,) = [line for line in verdict.worn if line.id == "layshaft-needles"]
    assert layshaft.repair == 150 + 60 + 300 + 110
    assert verdict.repairs < sum(Fraction(line.odds) * line.repair for line in verdict.worn)  # one opening serves all
    assert any("Thrust washers: price" in note for note in verdict.notes)


def test_a_family_is_told_apart_before_it_is_paid_for(shop: Shop) -> None:
    verdict = shop.weigh_used_box(UsedBox("tansy"))

    assert "Tansy 5S, with sensor boss" in verdict.variants
    assert any("boss: Tansy 5S" in outcome for one in verdict.tell_apart for outcome in one.outcomes)
    assert any(one.what == "Bell housing depth" for one in verdict.bring_home)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (UsedBox("tansi-5"), "tansy-5"),
        (UsedBox("pipit-16"), "gearbox"),
        (UsedBox("tansy-5", {"moon": "yes"}), "check"),
        (UsedBox("tansy-5", {"shaft-rocks": "perhaps"}), "expected yes or no"),
        (UsedBox("tansy-5", {"magnet-flakes": "yes", "magnet-chunks": "yes"}), "cannot be yes together"),
        (UsedBox("tansy-5", {}, -1), "expected 0 or more"),
    ],
)
def test_what_cannot_be_weighed_is_said(shop: Shop, asked: UsedBox, words: str) -> None:
    with pytest.raises((InvalidInput, NotFound), match=words):
        shop.weigh_used_box(asked)


def test_a_bad_table_is_told_with_its_line(tmp_path: Path) -> None:
    for name in ("used_box_causes.csv", "used_box_checks.csv", "used_box_links.csv"):
        copy(KINDS / name, tmp_path / name)
    with (tmp_path / "used_box_links.csv").open("a") as links:
        links.write(
            "no-such,shaft-rocks,0.5,from memory\ninput-bearing,moon,0.5,from memory\ninput-bearing,yoke-lifts,2,\n"
        )

    with pytest.raises(InvalidFacts) as caught:
        load_used_box(tmp_path)

    told = str(caught.value)
    assert "no cause 'no-such'" in told and "'moon'" in told and "no source" in told and "column chance" in told


# The doors.


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(index())) as made:
        yield made


def test_api_page_and_command_say_the_same(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    asked = {"gearbox": "tansy-5", "found": {"shaft-rocks": "yes"}, "asking": "300"}
    told = client.post("/used-boxes", json=asked).json()
    page = unescape(client.get("/used-box?gearbox=tansy-5&t.shaft-rocks=yes&asking=300").text)
    main(["used-box", "tansy-5", "--found", "shaft-rocks=yes", "--asking", "300", "--json", "--facts", "facts"])

    assert json.loads(capsys.readouterr().out) == told
    assert told["summary"] in page and told["worth_words"] in page
    assert 'name="t.shaft-rocks" value="yes" checked' in page
    assert "/used-box?gearbox=tansy-5" in client.get("/part/tansy-5").text


@pytest.mark.parametrize(
    ("query", "words"), [("gearbox=tansi", "tansy"), ("gearbox=tansy-5&asking=ten", "asking"), ("", "choose")]
)
def test_what_is_wrong_on_the_page_is_said_on_it(client: TestClient, query: str, words: str) -> None:
    answer = client.get(f"/used-box?{query}")

    assert answer.status_code == 200 and words in unescape(answer.text)
