"""The same verdict by API, page and command; with a job that was built, its readings count."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from graph.cli.main import main
from graph.complaints.built import with_job
from graph.complaints.enquiry import Enquiry
from graph.costing.jobs.job import Job, JobMeasurement
from tests.demo.shop import index

ASKED = {"complaints": ["clutch-slips"], "measured": {"release-gap": "0.5 mm"}, "gearbox": "tansy-5"}


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(index())) as made:
        yield made


def test_api_page_and_command_say_the_same(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    told = client.post("/complaints", json=ASKED).json()
    page = client.get("/fault-finding?complaint=clutch-slips&m.release-gap=0.5+mm&gearbox=tansy-5").text
    main(["complaint", "clutch-slips", "--measured", "release-gap=0.5 mm", "--gearbox", "tansy-5", "--json",
          "--facts", "facts"])  # fmt: skip

    assert json.loads(capsys.readouterr().out) == told
    assert told["suspects"][0]["cause"] == "gap-none"
    assert told["summary"].partition(";")[0] in page and told["tests"][0]["asks"] in page


def test_the_list_of_complaints_is_what_can_be_asked(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    known = client.get("/complaints").json()
    main(["complaint", "--facts", "facts"])

    assert {one["id"] for one in known["complaints"]} >= {"will-not-release", "clutch-slips"}
    assert all(one["label"] in capsys_text for one in known["complaints"]) if (
        capsys_text := capsys.readouterr().out
    ) else pytest.fail("nothing was printed")  # fmt: skip


def test_answers_given_on_the_page_are_kept_on_it_and_change_what_comes_first(client: TestClient) -> None:
    page = client.get("/fault-finding?complaint=starter-grinds&t.rest-gap-outside=yes").text

    assert 'name="t.rest-gap-outside" value="yes" checked' in page
    assert "<h2>Found</h2>" in page and "The starter stands too near" in page


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("complaint=no-such", "no complaint with the id"),
        ("complaint=clutch-slips&m.release-gap=0.5", "has no unit"),
        ("complaint=clutch-slips&t.only-hot=perhaps", "expected yes or no"),
        ("complaint=clutch-slips&job=J-9", "no job with the id"),
        ("complaint=clutch-slips&opened=%3Cscript%3E", "no task with the id"),
    ],
)
def test_what_is_wrong_on_the_form_is_told_on_the_page(client: TestClient, query: str, words: str) -> None:
    answer = client.get(f"/fault-finding?{query}")

    assert answer.status_code == 200
    assert words in answer.text and "<script>" not in answer.text and "So far" not in answer.text


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"complaints": []}, 422),
        ({"complaints": ["clutch-slips"], "findings": {"only-hot": "maybe"}}, 422),
        ({"complaints": ["clutch-slip"]}, 404),
        ({"complaints": ["clutch-slips"], "measured": {"release-gap": "half a turn"}}, 422),
        ({"complaints": ["clutch-slips"], "engine": "no-such"}, 404),
        ({"complaints": ["clutch-slips"], "more": 1}, 422),
    ],
)
def test_what_is_wrong_with_a_body_is_a_problem(client: TestClient, body: dict[str, object], status: int) -> None:
    answer = client.post("/complaints", json=body)

    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"


def test_readings_of_the_job_count_and_those_that_say_nothing_are_named() -> None:
    job = Job("J-7", "Pick-up", "tansy-5", "pipit-16", (), measurements=(
        JobMeasurement("Release gap", "20 thou"), JobMeasurement("pedal height", "150 mm"),
        JobMeasurement("release-gap", "two"),
    ))  # fmt: skip

    whole, told = with_job(Enquiry(("clutch-slips",)), job, index().catalogue)

    assert whole.measured == {"release-gap": "20 thou"} and whole.units == ("tansy-5", "pipit-16")
    assert told == (
        "Readings of job J-7: release gap 20 thou.",
        "Readings of the job that no cause is known by: pedal height 150 mm, release-gap two.",
    )


def test_a_job_without_readings_is_said_to_leave_the_odds_wider() -> None:
    whole, told = with_job(Enquiry(("clutch-slips",)), Job("J-8", "t", "tansy-5", "pipit-16", ()), index().catalogue)

    assert whole.measured == {} and "wider" in told[0]


def test_a_length_that_may_be_in_thousands_is_asked_back_and_not_read_as_a_millimetre(client: TestClient) -> None:
    asked = client.post("/complaints", json=ASKED | {"measured": {"release-gap": "1,000 mm"}})
    read = client.post("/complaints", json=ASKED | {"measured": {"release-gap": "1,025 mm"}})

    assert asked.status_code == 422 and "write 1000, or 1.0 if that is meant" in asked.text, asked.text
    assert read.status_code == 200
