"""What else to renew while it is open: the split tractor number for number, and lists of the demo by hand."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from api.app import create_app
from api.routers import costing
from graph.catalogue.model import StatedFault
from graph.catalogue.terms import TaskKind
from graph.cli.main import main
from graph.costing.notes import MemoryNotes
from graph.costing.while_open import REPLACE, OpenOption, expected_later, plan_while_open
from graph.counter import Shop
from graph.errors import InvalidFacts, InvalidInput
from graph.lookups.index import CatalogueIndex
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.making import make_paper
from graph.papers.pdf import as_pdf
from graph.reading.question import Question
from graph.wear import RenewalWish, WearItem, WhileOut
from graph.wear.model import RENEW
from graph.wear.said import spread_words
from graph.wear.table import load_wear, wear_table
from tests.answer.test_order_of_work import cannot_be_done
from tests.costing.test_while_open import TABLE
from tests.demo.shop import catalogue, index
from tests.papers.reading import Outline
from tests.reading.bench import ENGINE, GEARBOX, Bench

TANSY = Question(gearbox="tansy-5", engine="pipit-16")


def item(found: WhileOut, name: str) -> WearItem:
    return next(one for one in found.items if one.id == name)


DETAILS_OF_ONE = Details(number="J-1", dated="2026-11-30")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop(index())


@pytest.fixture(scope="module")
def split() -> Shop:
    """Rate 55; split and rejoin 8 h, loader 3 h: 11 h, once (worked example by hand, see tests/costing)."""
    bench = Bench()
    bench.tasks["loader"] = TaskKind("loader", "loader off and on", "", cash_hundredths=0, hours_hundredths=300)
    bench.tasks["split"] = TaskKind(
        "split", "split and rejoin", "", after=("loader",), cash_hundredths=0, hours_hundredths=800
    )
    bench.fits("block-1", "housing-1", "face", tasks=("split",))
    bench.fits("disc-1", "shaft-1", "spline")
    for name, part, hours, odds, *_ in TABLE:
        known = StatedFault(
            id=name, label=name, position="at-disc", of=ENGINE, odds=Fraction(odds), cash_hundredths=part * 100,
            hours_hundredths=hours, shows=False, source="worked example",
        )  # fmt: skip
        bench.faults[name] = known
        bench.lays_open("split", name)
    return Shop(CatalogueIndex(replace(bench.catalogue(), rate_hundredths=5500)))


def test_the_split_tractor_renews_three_parts_for_198_50_and_leaves_two(split: Shop) -> None:
    found = split.while_out(Question(gearbox=GEARBOX, engine=ENGINE))

    assert len(found.items) == len(TABLE)
    for name, _, _, odds, now, later, edge, decision in TABLE:
        one = item(found, name)
        assert (one.odds, one.now, one.later) == (Fraction(odds), Fraction(now), Fraction(later))
        assert one.break_even is not None and float(one.break_even) == pytest.approx(edge, abs=0.0005)
        assert one.decision == {REPLACE: RENEW}.get(decision, decision)
    assert found.advised.total == Fraction("198.5")


def test_two_that_are_left_share_one_later_split(split: Shop) -> None:
    found = split.while_out(Question(gearbox=GEARBOX, engine=ENGINE))

    # ring gear 0.15 of 176, plates 0.35 of 453, and 605 if either fails: 1 - 0.85 * 0.65
    either = 1 - Fraction("0.85") * Fraction("0.65")
    assert found.expected_later == Fraction("0.15") * 176 + Fraction("0.35") * 453 + 605 * either


def test_what_is_ticked_is_added_to_the_route_and_nothing_else_is(split: Shop) -> None:
    asked = Question(gearbox=GEARBOX, engine=ENGINE)

    found = split.while_out(asked, wish=RenewalWish(("ring gear", "release bearing")))

    assert found.wish.total == 176 + 59
    assert found.with_wish == found.total + 235 == split.ask(asked).routes[0].total + 235


def test_the_tansys_list_by_hand(shop: Shop) -> None:
    """Out: 0.3 + 0.4 + 0.8 + 3.0 h; the clutch 0.5 h; to the gear train 0.8 + 1.2 + 3.0 h and 110.00; at 60."""
    found = shop.while_out(TANSY, wish=RenewalWish(warranty_months=24))

    pilot, layshaft = item(found, "pilot-bearing@at-pilot"), item(found, "layshaft-needles@at-layshaft")
    assert (pilot.now, pilot.later, pilot.decision) == (18, 18 + 300, "always")
    assert pilot.lacks == ("price",)  # the deeper bush has one, but it moves a length: no new part for an old one
    assert (layshaft.now, layshaft.later) == (150 + 60, 150 + 60 + 570 + 110)
    assert layshaft.within == Fraction("0.325") + Fraction("0.675") * 2 * Fraction("0.06")
    assert layshaft.decision == "look"  # a sound one comes back 0.12 of the time: 106.80 of 890.00 against 210.00
    assert item(found, "thrust-washers@at-mainshaft").lacks == ("price",)
    assert found.advised.total == 18


def test_the_hollins_list_by_hand(shop: Shop) -> None:
    """The box comes out and stays closed: the release bearing lies open, the gear train is 5.0 h and 110.00 away."""
    found = shop.while_out(Question(gearbox="hollin-5", engine="ouzel-20"))

    bearing = item(found, "release-bearing@at-release-bearing")
    ring = next(one for one in found.deeper if one.id == "hollin-second-ring-worn")
    assert (bearing.decision, bearing.lacks, bearing.now) == ("always", (), 12 + 36)  # 0.2 h at 60; the demo's new one
    assert (ring.odds, ring.hours_hundredths, ring.cost) == (Fraction("0.35"), 500, 5 * 60 + 110)
    assert "always renewed while it is out" in bearing.words and "not stated" not in bearing.words


def test_a_sign_nobody_has_looked_for_widens_what_looking_may_find(shop: Shop) -> None:
    question = Question(gearbox="tansy-5", engine="ouzel-20", alternatives=4)

    loose = shop.while_out(question, 2)
    known = shop.while_out(question, 2, signs={"metal on the magnet": "clean"})

    assert loose.spread is not None and "metal on the magnet (flakes)" in loose.spread.tied
    assert known.spread is not None and known.spread.tied == ""


def test_a_wish_that_is_not_on_the_list_is_refused_with_what_is(shop: Shop) -> None:
    with pytest.raises(InvalidInput, match="no part on the list is 'moon'; known: .*pilot-bearing@at-pilot"):
        shop.while_out(TANSY, wish=RenewalWish(("moon",)))
    with pytest.raises(InvalidInput, match="expected 0 to 120 months, found 999"):
        shop.while_out(TANSY, wish=RenewalWish(warranty_months=999))


OPTION = st.builds(
    lambda odds, own, reach: (odds, own, reach),
    st.fractions(Fraction(1, 100), Fraction(99, 100), max_denominator=100), st.integers(1, 400),
    st.sets(st.sampled_from(("out", "open", "train")), min_size=1),
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.lists(OPTION, min_size=1, max_size=5))
def test_no_other_set_is_cheaper_than_what_is_advised(rows: list[tuple[Fraction, int, set[str]]]) -> None:
    costs = {"out": Fraction(270), "open": Fraction(120), "train": Fraction(180)}
    options = [
        OpenOption(str(n), str(n), odds, Fraction(own), tuple(sorted(reach)))
        for n, (odds, own, reach) in enumerate(rows)
    ]

    plan = plan_while_open(options, costs)

    for mask in range(2 ** len(options)):
        now = sum((one.own for n, one in enumerate(options) if mask >> n & 1), Fraction(0))
        left = [one for n, one in enumerate(options) if not mask >> n & 1]
        assert plan.now + plan.expected_later <= now + expected_later(left, costs)


def test_every_row_of_the_table_names_places_kinds_and_tasks_that_exist() -> None:
    known = catalogue()
    for row in wear_table():
        assert row.position in known.position_kinds, row
        assert not row.kind or row.kind in known.part_kinds, row
        assert not row.needs or row.needs in known.tasks, row


def test_a_bad_row_is_told_with_its_line_and_column(tmp_path: Path) -> None:
    table = tmp_path / "open.csv"
    table.write_text(
        "fault,position,renews,kind,needs,hours,seen,yearly,piece,source\n"
        "no-such,at-pilot,bush,,,0.3,yes,0.1,no,from memory\nclutch-disc,at-clutch-disc,disc,,,0.3,perhaps,1.5,no,\n"
    )
    priors = tmp_path / "priors.csv"
    priors.write_text(
        "fault,label,always_replace,cheap_test,sign_or_limit\nclutch-disc,Clutch disc worn,no,look,thin\n"
    )

    with pytest.raises(InvalidFacts) as caught:
        load_wear(table, priors)

    told = str(caught.value)
    assert "line 2, column fault" in told and "line 3, column seen" in told
    assert "line 3, column yearly" in told and "line 3: no source" in told


# The doors.

ASKED = {"question": {"gearbox": "tansy-5", "engine": "pipit-16"}, "warranty_months": 24}
PILOT = "pilot-bearing@at-pilot"
HERE = "gearbox=tansy-5&engine=pipit-16"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    app = create_app(index())
    costing.install(app, MemoryNotes())
    with TestClient(app, base_url="http://127.0.0.1") as made:
        yield made


def test_api_page_and_command_say_the_same(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    told = client.post("/while-it-is-out", json=ASKED | {"renew": [PILOT]}).json()
    page = unescape(client.get(f"/while-it-is-out?{HERE}&warranty=24&renew={PILOT}").text)
    main(["while-it-is-out", "tansy-5", "pipit-16", "--warranty", "24", "--renew", PILOT, "--json", "--facts", "facts"])

    assert json.loads(capsys.readouterr().out) == told
    assert told["wish"]["total"] == 18 and told["with_wish"] == told["total"] + 18 and told["at_least"]
    assert "at least 18.00 EUR now, at least 318.00 EUR later" in page and f'value="{PILOT}" checked' in page
    assert "/while-it-is-out?gearbox=tansy-5" in unescape(client.get(f"/route?{HERE}").text)


def test_what_is_ticked_stands_on_the_estimate_with_its_sum_and_on_the_job_sheet(client: TestClient) -> None:
    told = client.post("/while-it-is-out", json=ASKED | {"renew": [PILOT]}).json()
    estimate = unescape(client.get(f"/paper/estimate?{HERE}&renew={PILOT}").text)
    sheet = unescape(client.get(f"/paper/job-sheet?{HERE}&renew={PILOT}").text)
    plain = unescape(client.get(f"/paper/estimate?{HERE}").text)
    printed = client.post("/papers/estimate.html", json={
        "question": ASKED["question"], "renew": [PILOT], "details": {"number": "J-1"},
    })  # fmt: skip

    assert f"at least {told['with_wish']:.2f} EUR" in estimate and "Ticked by the customer" in estimate
    assert "Renew as ticked, pilot bearing or bush: Pipit pilot bush, bore 17" in sheet
    assert "Order as ticked, pilot bearing or bush for Pipit pilot bush, bore 17; price not stated" in sheet
    assert "Ticked by the customer" not in plain
    assert printed.status_code == 200 and "Ticked by the customer" in printed.text


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("&renew=moon", "no part on the list is 'moon'"),
        ("&warranty=two", "expected whole months"),
        ("&rank=9", "route"),
    ],
)
def test_what_cannot_be_done_is_said_on_the_page(client: TestClient, more: str, words: str) -> None:
    answer = client.get(f"/while-it-is-out?{HERE}{more}", headers={"accept": "text/html"})

    assert answer.status_code in (404, 422) and words in unescape(answer.text)


ALL_OF_IT = ("tail-bush-seal@at-tail-housing", PILOT, "layshaft-needles@at-layshaft", "thrust-washers@at-mainshaft")


def test_what_is_ticked_is_a_step_where_it_lies_open(shop: Shop) -> None:
    """Common practice: the pilot goes in before the disc covers it, needles before the gear train is in."""
    plain = shop.ask(TANSY).routes[0]

    found = shop.while_out(TANSY, wish=RenewalWish(ALL_OF_IT))

    every = [step for step in found.steps if step.source_kind == "renewal"]
    renewed = {step.source.removeprefix("renewal/"): step for step in every if not step.order}
    ordered = {step.source.removeprefix("renewal/"): step for step in every if step.order}
    number = {step.text: step.number for step in found.steps}
    assert set(renewed) == set(ALL_OF_IT)
    assert [step.text for step in found.steps if step.source_kind != "renewal"] == [one.text for one in plain.steps]
    assert [step.number for step in found.steps] == list(range(1, len(plain.steps) + 9))
    assert set(ordered) == set(ALL_OF_IT), "all four are bought"
    assert sum(step.cash_hundredths for step in every) == found.wish.cash_hundredths == 16400
    assert sum(step.hours_hundredths for step in every) == found.wish.hours_hundredths == 30 + 50 + 100 + 40
    assert renewed[PILOT].number < number["Fit Disc 225 with the Tansy hub"]
    assert number["Bench: gear train out"] < renewed["layshaft-needles@at-layshaft"].number
    assert renewed["layshaft-needles@at-layshaft"].number < number["Gear train in; turn by hand"]
    assert ordered[PILOT].not_stated == ("price of renewing Pilot bearing or bush worn",)
    assert renewed[PILOT].not_stated == ()
    assert [one.text for one in renewed[PILOT].needs_open] == ["Clutch off"]
    assert found.total == plain.total and not list(cannot_be_done(found.steps, shop.index))


def test_a_ticked_part_is_on_route_page_job_and_papers_and_its_hours_are_booked(client: TestClient) -> None:
    page = unescape(client.get(f"/route?{HERE}&renew={PILOT}").text)
    made = client.post("/jobs", json=ASKED | {"renew": [PILOT], "title": "ticked", "number": "J-30"})
    steps = {step["source"]: step for step in made.json()["steps"]}
    at = steps[f"renewal/{PILOT}"]

    booked = client.post("/jobs/J-30/hours", json={"step": at["number"], "hours": 0.5})
    closed = client.post("/jobs/J-30/closing", json={"outcome": "done"})
    sheet = unescape(
        client.post(
            "/papers/job-sheet.html", json={"question": ASKED["question"], "job": "J-30", "details": {"number": "J-30"}}
        ).text
    )

    assert "Renew as ticked, pilot bearing or bush: Pipit pilot bush" in page
    assert "Renewed as well while it is open: <bdi>Pilot bearing or bush" in page
    assert f"renew={PILOT}".replace("@", "%40") in page  # the papers and the job keep it
    assert (made.status_code, booked.status_code) == (200, 200) and at["planned"] == 0.3
    assert {step["source"]: step["actual"] for step in booked.json()["steps"]}[f"renewal/{PILOT}"] == 0.5
    assert booked.json()["renewed"].startswith("Pilot bearing or bush: at least 18.00 EUR")
    assert closed.status_code == 200, closed.text
    assert "Renew as ticked, pilot bearing" in sheet and "0.5 h" in sheet


def test_what_the_advice_adds_counts_stated_labour_of_what_has_no_price(shop: Shop) -> None:
    """By hand, at 60: pilot 0.3 h always 18.00; seal 0.4 x 44; layshaft 0.325 x 210; washers 0.3 x 24; shaft
    0.15 x 30."""
    found = shop.while_out(TANSY)

    by_hand = 18 + Fraction("0.4") * 44 + Fraction("0.325") * 210 + Fraction("0.3") * 24 + Fraction("0.15") * 30
    assert found.spread is not None and found.spread.expected == by_hand
    assert f"at least {float(by_hand):.2f} EUR on average" in spread_words(found)


def test_a_planned_jobs_paper_keeps_to_its_own_plan(client: TestClient) -> None:
    body = {"question": ASKED["question"], "renew": [PILOT], "details": {"number": "J-1"}, "job": "J-1"}

    refused = client.post("/papers/estimate.html", json=body)

    assert refused.status_code == 422 and "prints its own plan" in refused.text


@pytest.mark.parametrize(
    ("gearbox", "engine", "vehicle"),
    [("tansy-5r", "whimbrel-30", "sorrel-pick-up"), ("tansy-5", "pipit-16", "")],
)
def test_the_longest_job_sheets_stay_within_four_pages_with_all_that_is_ticked(
    shop: Shop, gearbox: str, engine: str, vehicle: str
) -> None:
    question = Question(gearbox=gearbox, engine=engine, vehicle=vehicle)
    found, out = shop.costed_and_open(question)
    details = Details(number="J-1", dated="2026-11-30", vehicle=vehicle)
    advised = tuple(one.id for one in out.items if one.decision in ("always", "renew"))

    for ticked in ((), advised, tuple(one.id for one in out.items)):
        renewals = shop.while_out(question, wish=RenewalWish(ticked))
        paper = make_paper("job-sheet", found, 1, details, MemoryNotes(), "", shop.index.catalogue, renewals)
        assert len(PdfReader(io.BytesIO(as_pdf(paper))).pages) <= 4, ticked


def test_a_ticked_tail_bush_is_renewed_on_the_bench_and_a_release_bearing_has_the_price_of_the_shop(shop: Shop) -> None:
    """Common practice: with the box out, nobody does under the car what lies at its tail. 36.00: the demo's price."""
    question = Question(gearbox="hollin-5", engine="ouzel-20", vehicle="sorrel-pick-up")
    items = {one.renews: one for one in shop.while_out(question).items}
    ticked = tuple(items[one].id for one in ("Tail bush", "Release bearing"))

    found = shop.while_out(question, wish=RenewalWish(ticked))

    stages = {step.text.partition(":")[0]: step.stage for step in found.steps if step.source_kind == "renewal"}
    assert stages["Renew as ticked, tail bush"] == "bench"
    assert stages["Order as ticked, release bearing"] == "send out"
    assert next(one for one in found.items if one.renews == "Release bearing").cash_hundredths == 3600
    costed, _ = shop.costed_and_open(question)
    paper = make_paper("job-sheet", costed, 1, DETAILS_OF_ONE, MemoryNotes(), "", shop.index.catalogue, found)
    printed = Outline(as_html(paper)).text
    assert "To get as ticked: release bearing: Hollin release bearing, new (step 1, 1 day); tail bush for" in printed


def test_what_is_ticked_is_ordered_before_it_is_needed_and_the_old_one_comes_off_where_its_place_is_opened(
    shop: Shop,
) -> None:
    """Common practice: what hangs on nothing is ordered before the car is on the lift; a part that nobody has seen is
    ordered when it has been. The demo's new release bearing takes a day, its other parts no time that anybody states.
    """
    question = Question(gearbox="hollin-5", engine="ouzel-20")
    out = shop.while_out(question)
    every = tuple(item.id for item in out.items)

    found = shop.while_out(question, wish=RenewalWish(every))

    steps = [step for step in found.steps if step.source_kind == "renewal"]
    orders = {step.source: step for step in steps if step.order}
    fitted = {step.source: step for step in steps if not step.order}
    first_off = next(step.number for step in found.steps if step.stage == "strip")
    items = {f"renewal/{item.id}": item for item in found.items}
    assert orders and set(orders) <= set(fitted)
    for source, order in orders.items():
        assert order.number < fitted[source].number
        assert order.number in {one.number for one in fitted[source].needs_done}
        assert (order.number < first_off) == items[source].stated, "ahead, if it is known which one is there"
        assert (order.hours_hundredths, fitted[source].cash_hundredths) == (0, 0)
    assert {source: step.days for source, step in orders.items() if step.days} == {
        "renewal/release-bearing@at-release-bearing": 1
    }
    gone = {part.label: step.text for step in found.steps for part in step.comes_off}
    assert gone["Hollin release bearing, 60 high"] == "Gearbox out"
    assert gone["old tail bush (Hollin tail housing)"] == "Renew as ticked, tail bush: Hollin tail housing"
    assert not list(cannot_be_done(found.steps, shop.index))
    assert (sum(one.cash_hundredths for one in steps), sum(one.hours_hundredths for one in steps)) == (
        found.wish.cash_hundredths, found.wish.hours_hundredths,
    )  # fmt: skip
