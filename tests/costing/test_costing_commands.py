"""The commands of cost, on the demo workshop, as they are typed."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from graph.cli import costing_actions, costing_commands
from graph.cli.question import DEMO_FACTS
from graph.counter.opened import opened_shop
from graph.errors import InvalidInput, LayshaftError
from graph.reading.question import Question
from tests.papers.reading import squeezed, text_by_pypdf

pytestmark = pytest.mark.takes_turns(2)

ASKED = ["hollin-5", "ouzel-20", "--vehicle", "sorrel-pick-up", "--set", "torque_nm=180", "--set", "duty=road"]


Typed = Callable[..., str]  # the words of a command, one after another: what it prints


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    parser = argparse.ArgumentParser()
    costing_commands.add_commands(parser.add_subparsers(dest="command", required=True))

    def run(*words: str) -> str:
        arguments = parser.parse_args([words[0], "--data", str(tmp_path), *words[1:]])
        assert arguments.command == "costing_actions"
        assert costing_actions.run(arguments) == 0
        return str(capsys.readouterr().out)

    return run


def test_what_a_route_will_really_cost_is_said_in_words_and_as_json(typed: Typed, tmp_path: Path) -> None:
    words = typed("cost", *ASKED, "--limit", "1500", "--svg", str(tmp_path / "spread.svg"))
    cost = json.loads(typed("cost", *ASKED, "--json"))

    assert "chance of exceeding 1500.00" in words and f"{cost['total']:.2f}" in words
    assert (tmp_path / "spread.svg").read_text().startswith("<svg")


def test_a_price_list_is_previewed_kept_listed_and_taken_back(typed: Typed, tmp_path: Path) -> None:
    prices = tmp_path / "list.csv"
    prices.write_text("Item;Net price;Date\ndisc-ouzel;135,50;31/05/2026\n", encoding="utf-8")
    how = ["--column", "part=Item", "--column", "cash=Net price", "--column", "dated=Date",
           "--default", "currency=EUR", "--default", "condition=new"]  # fmt: skip

    assert "disc-ouzel: 135.50 EUR, new, 2026-05-31" in typed("prices", "preview", str(prices), *how)
    assert typed("prices", "list").count("\n") == 1
    batch = typed("prices", "import", str(prices), *how).split(" kept as ")[1].split()[0]
    assert "disc-ouzel,135.5,EUR" in typed("prices", "list")
    assert "taken back" in typed("take-back", batch)
    assert typed("prices", "list").count("\n") == 1


def test_rates_and_shelf_are_kept(typed: Typed) -> None:
    typed("shop", "rate", "bench", "--set", "per_hour=60", "--set", "currency=EUR")
    typed("shop", "stock", "bell-hollin", "--set", "quantity=1", "--set", "book=40", "--set", "currency=EUR")

    listed = json.loads(typed("shop", "list", "--json"))

    assert listed["rates"][0]["kind"] == "bench" and listed["stock"][0]["part"] == "bell-hollin"


def test_a_job_is_planned_worked_closed_and_teaches_the_odds(typed: Typed) -> None:
    fault = typed("odds").split(":")[0]
    planned = typed("plan-job", *ASKED, "--title", "pick-up", "--number", "J-1")
    typed("job", "hours", "J-1", "--set", "step=1", "--set", "hours=2.5")
    typed("job", "finding", "J-1", "--set", f"fault={fault}", "--set", "laid_open=yes", "--set", "worn=yes")
    typed("job", "measurement", "J-1", "--set", "what=bore", "--set", "reading=1-1/2 in")
    typed("job", "as-built", "J-1", "--set", "position=input shaft", "--set", "part=shaft-hollin")
    typed("job", "remark", "J-1", "--set", "words=dowels missing")

    closed = typed("job", "close", "J-1", "--set", "outcome=done")

    assert "actual 2.50 h" in closed and "J-1: pick-up: open" in planned
    assert f"{fault}: " in typed("odds") and "1 worn of 1 opened" in typed("odds")
    assert "J-1: pick-up: done" in typed("job", "list")
    typed("job", "follow-up", "J-1", "--set", "months=12", "--set", "good=yes")

    typed("job", "reopen", "J-1", "--set", "reason=those were the hours of another job")
    assert "1 worn of 1 opened" not in typed("odds")  # nothing is learnt of an open job
    entries = json.loads(typed("job", "show", "J-1", "--json"))["entries"]
    slip = next(one["id"] for one in entries if one["words"].startswith("step 1:"))
    typed("job", "take-back", "J-1", "--set", f"entry={slip}", "--set", "reason=the wrong job")
    typed("job", "hours", "J-1", "--set", "step=1", "--set", "hours=1.5")
    assert "actual 1.50 h" in typed("job", "close", "J-1", "--set", "outcome=done")
    assert "1 worn of 1 opened" in typed("odds")


@pytest.mark.parametrize("kind", ["estimate", "job-sheet", "build-record", "declaration"])
def test_a_paper_is_written_as_pdf_and_html(typed: Typed, tmp_path: Path, kind: str) -> None:
    for form in ("pdf", "html"):
        typed("paper", kind, *ASKED, "--number", "J-1", "--out", str(tmp_path / f"paper.{form}"))

    pdf = squeezed(text_by_pypdf((tmp_path / "paper.pdf").read_bytes()))
    assert "NoJ-1" in pdf and "J-1" in (tmp_path / "paper.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words",
    [
        ["paper", "estimate", *ASKED, "--number", "J-1", "--out", "paper.doc"],
        ["cost", *ASKED, "--limit", "dear"],
        ["cost", *ASKED, "--sign", "mileage"],
        ["cost", *ASKED, "--rank", "99"],
        ["prices", "import"],
        ["shop", "rate", "bench", "--set", "per_hour=-1", "--set", "currency=EUR"],
        ["job", "show", "J-9"],
        ["take-back", "none"],
    ],
)
def test_what_cannot_be_is_refused(typed: Typed, words: list[str]) -> None:
    with pytest.raises(LayshaftError):
        typed(*words)


def test_a_missing_value_is_named(typed: Typed) -> None:
    typed("plan-job", *ASKED, "--title", "pick-up", "--number", "J-1")

    with pytest.raises(InvalidInput, match="expected hours="):
        typed("job", "hours", "J-1", "--set", "step=1")


def test_a_price_list_that_a_service_took_in_is_what_the_command_asks(typed: Typed, tmp_path: Path) -> None:
    typed("shop", "rate", "bench", "--set", "per_hour=90", "--set", "currency=EUR")

    with opened_shop(tmp_path, DEMO_FACTS) as opened:
        answer = opened.shop.ask(Question(gearbox="tansy-5", engine="pipit-16"))

    assert json.loads(typed("cost", "tansy-5", "pipit-16", "--json"))["total"] == float(answer.routes[0].total)
    assert answer.rate_hundredths == 9000
