"""The questions that the trade asks most (in the order of how often, a working estimate), each asked by API, page or
command of the demo and answered there. What is right is worked out in the tests of each room; here it is: is there an
answer, and does it name what was asked for?
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.cli.main import main

SWAP = {"gearbox": "tansy-5", "engine": "pipit-16"}
PLATE = {"gearbox": "tansy-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up", "context": {"torque_nm": "180"}}
HERE = "gearbox=tansy-5&engine=pipit-16"


@pytest.fixture(scope="module")
def ask(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    data: Path = tmp_path_factory.mktemp("questions")
    with opened_service(data, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as client:
        yield client


def best(ask: TestClient, question: Mapping[str, Any]) -> dict[str, Any]:
    answer = ask.post("/routes", json=question)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()["routes"][0]
    return found


def page(ask: TestClient, path: str) -> str:
    answer = ask.get(path, headers={"accept": "text/html"})
    assert answer.status_code == 200, answer.text[:400]
    return unescape(answer.text)


def test_1_will_this_gearbox_fit_that_engine(ask: TestClient) -> None:
    answer = ask.post("/routes", json=SWAP).json()

    assert answer["status"].startswith("proven") and answer["routes"][0]["verdict"] == "machining"


def test_2_which_bell_housing_or_plate_joins_them(ask: TestClient) -> None:
    swap, plate = best(ask, SWAP), best(ask, PLATE)

    assert swap["picks"]["at-bell-housing"] == "at-bell-housing/bell-hollin-spare"
    assert {"at-bell-housing"} <= set(plate["picks"])
    assert "/part/" in page(ask, "/part/plate-15")


def test_3_does_the_input_shaft_reach_the_pilot_and_clear_the_crank(ask: TestClient) -> None:
    told = {one["chain"]: one for one in best(ask, PLATE)["side_effects"]}

    assert {"pilot-overlap", "tip-to-bore-bottom"} <= set(told)


def test_4_which_clutch_disc_with_which_flywheel_and_cover(ask: TestClient) -> None:
    picks = best(ask, SWAP)["picks"]

    assert picks["at-clutch-disc"].endswith("disc-tansy-225") and {"at-flywheel", "at-clutch-cover"} <= set(picks)


def test_5_what_pilot_bearing_or_bush(ask: TestClient) -> None:
    assert best(ask, SWAP)["picks"]["at-pilot"].startswith("at-pilot/")


def test_6_what_will_it_cost_and_what_if_it_is_worn_inside(ask: TestClient) -> None:
    cost = ask.post("/routes/cost", json={"question": {**SWAP, "alternatives": 3}, "rank": 2, "limit": "2500"}).json()

    assert cost["total"] > 0 and cost["expected"] >= cost["total"] and 0 <= cost["exceeds"] <= 1
    assert cost["found_on_strip"]


def test_7_which_variant_have_i_got(ask: TestClient) -> None:
    told = ask.post("/identify", json={"family": "tansy", "observations": {"stick-out": "147 mm"}})

    assert told.status_code == 200 and told.json()["variants"][0]["variant"] == "tansy-5r", told.text[:300]


def test_8_what_must_come_off_and_what_else_while_it_is_out(ask: TestClient) -> None:
    strip = [one["text"] for one in best(ask, SWAP)["steps"] if one["stage"] == "strip"]
    beside = ask.post("/while-it-is-out", json={"question": SWAP, "warranty_months": 24}).json()

    assert any("Gearbox out" in text for text in strip)
    assert {"pilot-bearing@at-pilot", "layshaft-needles@at-layshaft"} <= {
        one["id"] for state in beside["states"] for one in state["items"]
    }


def test_9_it_will_not_release(ask: TestClient) -> None:
    told = ask.post("/complaints", json={"complaints": ["will-not-release"]}).json()

    assert len(told["suspects"]) > 4 and told["tests"][0]["minutes"] <= told["tests"][-1]["minutes"] + 600


def test_10_what_gap_and_what_travel_at_the_release_bearing(ask: TestClient) -> None:
    kinds = {one["chain"]: one for one in best(ask, PLATE)["side_effects"]}
    travel = page(ask, "/bench/check/release")

    assert "release-gap" in kinds and "stroke" in travel.casefold()


def test_11_where_does_the_lever_come_up(ask: TestClient) -> None:
    assert "lever-offset" in {one["chain"] for one in best(ask, PLATE)["side_effects"]}


def test_12_how_long_a_propshaft(ask: TestClient) -> None:
    assert "prop-length" in {one["chain"] for one in best(ask, PLATE)["side_effects"]}
    assert "angle" in page(ask, "/bench/check/joint-angles").casefold()


def test_13_which_starter_and_does_it_mesh(ask: TestClient) -> None:
    route = best(ask, PLATE)

    assert route["picks"]["at-starter"] and "starter-rest-gap" in {one["chain"] for one in route["side_effects"]}


def test_14_is_it_in_line_and_how_is_the_housing_dialled_in(ask: TestClient) -> None:
    steps = " ".join(one["text"] for one in best(ask, SWAP)["steps"])

    assert "dialled in" in steps
    assert "dial" in page(ask, "/bench/check/register").casefold()


def test_15_is_this_used_box_any_good(ask: TestClient) -> None:
    told = ask.post("/used-boxes", json={"gearbox": "tansy-5", "found": {"shaft-rocks": "yes"}, "asking": "300"}).json()

    assert told["worn"][0]["odds"] > told["worn"][0]["before"] or told["worn"][0]["id"] == "release-bearing"
    assert told["checks"] and told["bring_home"]


def test_16_can_the_input_shaft_of_one_go_into_the_other(ask: TestClient) -> None:
    told = ask.post("/routes", json={"gearbox": "hollin-5", "engine": "ouzel-20", "own": ["shaft-hollin-long"]}).json()

    assert told["routes"] and "gear-mesh" in page(ask, "/bench")


def test_17_what_wears_in_this_box_and_what_is_always_renewed(ask: TestClient) -> None:
    told = ask.post("/while-it-is-out", json={"question": SWAP}).json()
    odds = ask.get("/odds").json()["odds"]

    assert "always" in {one["decision"] for state in told["states"] for one in state["items"]}
    assert {"hollin-second-ring-worn", "tansy-input-bearing-worn"} <= {one["fault"] for one in odds}


def test_18_will_it_take_the_torque_and_what_speed_results(ask: TestClient) -> None:
    too_much = best(ask, {**SWAP, "context": {"torque_nm": "900"}})

    assert {one["verdict"] for one in too_much["capacities"]} == {"unknown"}
    assert any("find out the gearbox's torque rating" in line for line in too_much["to_confirm"])
    assert "km/h" in page(ask, "/bench/check/road-speed")


def test_19_what_is_to_be_wired(ask: TestClient) -> None:
    told = ask.post("/complaints", json={"complaints": ["no-start"]}).json()

    assert {"sensor-blind", "interlock-open"} <= {one["cause"] for one in told["suspects"]}
    assert {"at-speed-sensor", "at-gear-position-sensor"} & set(best(ask, PLATE)["picks"])


def test_20_who_machines_it_and_what_is_he_told(ask: TestClient) -> None:
    sheet = page(ask, f"/paper/job-sheet?{HERE}")

    assert "grind 2.00 mm off the shoulder" in sheet and "radius" in sheet


def test_21_is_there_a_cheaper_or_quicker_way_and_what_without_this_part(ask: TestClient) -> None:
    quick = ask.post("/routes", json={**SWAP, "deadline": "5"})
    without = ask.post("/routes", json={**SWAP, "avoid": ["case-hollin-late"]})

    assert quick.status_code == 200 and without.status_code == 200
    assert all("case-hollin-late" not in str(one["picks"]) for one in without.json()["routes"])


def test_22_oil_at_which_level(ask: TestClient) -> None:
    assert "level at the installed angle" in " ".join(one["text"] for one in best(ask, SWAP)["steps"])
    assert "10.489 mm above it" in page(ask, "/bench/check/oil-level?behind=150+mm&angle=4+deg")


def test_23_what_did_we_do_last_time(ask: TestClient) -> None:
    ask.post("/jobs", json={"question": SWAP, "title": "Quarry van", "number": "J-23"})

    assert ask.get(f"/last-times?{HERE}").json()["jobs"][0]["title"] == "Quarry van"


def test_24_what_of_the_core_charge_and_the_terms(ask: TestClient) -> None:
    estimate = page(ask, f"/paper/estimate?{HERE}")

    assert "Warranty" in estimate and "Deposit" in estimate


def test_25_does_it_need_approval(ask: TestClient) -> None:
    assert "no approval" in page(ask, f"/paper/declaration?{HERE}")


def test_26_boats_stationary_drives_and_which_way_the_output_turns(capsys: pytest.CaptureFixture[str]) -> None:
    facts = ["--facts", "facts/demo", "--facts", "facts/yard"]
    main(["ask", "drake-2", "grebe-40", *facts])
    boat = capsys.readouterr().out
    main(["fit-check", "rotation", "input=clockwise", "reversals=1", "wanted=clockwise"])
    turned = capsys.readouterr().out

    assert "Marine" in boat and "anticlockwise" in turned


def test_27_how_sure_is_this_and_who_measured_it(ask: TestClient) -> None:
    route = best(ask, SWAP)

    assert route["weakest_evidence_words"]
    assert any(note["author"] and note["level"] for step in route["steps"] for note in step["notes"])
