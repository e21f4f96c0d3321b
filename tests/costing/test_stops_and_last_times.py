"""Where a job is halted and goes on; what the shop did before with the same two units; jobs and fact notes by words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.answer.find_notes import find_fact_notes
from graph.cli.main import main
from graph.costing.jobs.past import lasted_words
from graph.costing.jobs.stops import stop_table, stops_of
from tests.demo.shop import catalogue
from tests.pages.note_app import hidden

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The demo with one job that was done, found a worn ring, and lasted, and one that is open."""
    data: Path = tmp_path_factory.mktemp("stops")
    with opened_service(data, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as made:
        job = made.post("/jobs", json={"question": QUESTION, "title": "Pick-up of the quarry", "number": "J-7"}).json()
        made.post("/jobs/J-7/hours", json={"step": job["steps"][0]["number"], "hours": "2"})
        fault = job["faults"][0]
        made.post("/jobs/J-7/findings", json={"fault": fault, "laid_open": True, "worn": True, "words": "back gap 0.4"})
        made.post("/jobs/J-7/remarks", json={"words": "The lever needs 5 mm more room."})
        made.post("/jobs/J-7/closing", json={"outcome": "done"})
        made.post("/jobs/J-7/follow-ups", json={"months": 8, "good": True})
        made.post("/jobs", json={"question": QUESTION, "title": "Second pick-up", "number": "J-8"})
        yield made


def test_every_stop_names_its_source_what_is_measured_and_tasks_that_exist() -> None:
    for stop in stop_table():
        assert stop.measures and stop.decides and stop.source
        assert set(stop.after) <= set(catalogue().tasks), stop


def test_a_job_has_the_stops_of_the_work_that_it_does() -> None:
    assert [one.id for one in stops_of((), catalogue().tasks)] == ["before-ordering"]
    assert "bell-on" in {one.id for one in stops_of({"housing-dialled-in"}, catalogue().tasks)}
    assert "on-its-mounts" not in {one.id for one in stops_of({"gearbox-out-and-in"}, catalogue().tasks)}
    assert "box-out" in {one.id for one in stops_of({"gearbox-out-and-in-on-the-sorrel"}, catalogue().tasks)}


def test_a_job_is_halted_at_a_stop_and_goes_on_with_the_reading(client: TestClient) -> None:
    halted = client.post("/jobs/J-8/halts", json={"stop": "box-out", "words": "waiting for the depth gauge"}).json()
    listed = client.get("/job-book").text
    client.post("/jobs/J-8/measurements", json={"what": "stick-out", "reading": "189.9 mm"})
    going = client.post("/jobs/J-8/halts", json={"words": "189.9: the deep bush"}).json()

    assert halted["stop"] == "box-out" and "Halted: gearbox out" in listed
    assert going["stop"] == ""
    assert [one["words"] for one in going["entries"]][-1] == "goes on: 189.9: the deep bush"


def test_a_reading_outside_its_limit_is_told_on_the_page_and_on_the_papers(client: TestClient) -> None:
    client.post("/jobs/J-8/measurements", json={"what": "release gap", "reading": "6.2 mm"})

    page, record = client.get("/job-book/J-8").text, client.get("/job-book/J-8/paper/build-record").text

    said = "OUTSIDE what is allowed, 3.0 mm to 5.0 mm"
    assert f"release gap: 6.2 mm: {said}" in page and said in record
    assert said in client.get("/job-book/J-8/paper/declaration").text


def test_a_job_that_is_halted_is_not_closed_as_done_before_it_goes_on(client: TestClient) -> None:
    client.post("/jobs", json={"question": QUESTION, "title": "Third", "number": "J-9"})
    client.post("/jobs/J-9/halts", json={"stop": "box-out"})

    refused = client.post("/jobs/J-9/closing", json={"outcome": "done"})
    given_up = client.post("/jobs/J-9/closing", json={"outcome": "abandoned"}).json()

    assert refused.status_code == 409 and "is halted" in refused.text
    assert given_up["outcome"] == "abandoned" and given_up["stop"] == ""


def test_a_stop_that_the_job_does_not_have_is_refused_with_those_that_it_has(client: TestClient) -> None:
    moon = client.post("/jobs/J-8/halts", json={"stop": "moon"})
    already = client.post("/jobs/J-8/halts", json={})
    closed = client.post("/jobs/J-7/halts", json={"stop": "box-out"})

    assert moon.status_code == 422 and "before-ordering (Before anything is ordered)" in moon.text
    assert already.status_code == 409 and "goes on already" in already.text
    assert closed.status_code == 409


def test_the_page_halts_a_job_and_says_where_it_stands(client: TestClient) -> None:
    page = client.get("/job-book/J-8").text
    sent = {"form_token": hidden(page)["form_token"], "stop": "on-the-road", "why": "rain", "author": "bench 1"}

    wrong = client.post("/job-book/J-8/halt", data=sent | {"stop": "moon"})
    client.post("/job-book/J-8/halt", data=sent)
    after = client.get("/job-book/J-8").text

    assert wrong.status_code == 422 and "this job has no stop" in wrong.text and 'value="rain"' in wrong.text
    assert "halted here" in after and "halted: On the road or under load: rain" in after


def test_last_time_says_hours_what_was_worn_and_whether_it_lasted(client: TestClient) -> None:
    found = client.get("/last-times?gearbox=hollin-5&engine=ouzel-20").json()["jobs"]
    kin = client.get("/last-times?gearbox=hollin-5l&engine=ouzel-20").json()["jobs"]
    page = client.get("/route?gearbox=hollin-5&engine=ouzel-20&vehicle=sorrel-pick-up").text

    (done,) = [one for one in found if one["id"] == "J-7"]
    assert done["near"] == "the same two" and done["took"].startswith("took 2.0 h where")
    assert done["lasted"] == "good after 8 months" and done["found"][0].endswith("back gap 0.4")
    assert done["remarks"] == ["The lever needs 5 mm more room."]
    assert {one["near"] for one in kin} == {"of the same families"}
    assert "Pick-up of the quarry" in page and "Did it last: good after 8 months" in page
    assert client.get("/last-times?gearbox=tansy-5&engine=pipit-16").json()["jobs"] == []


def test_jobs_and_fact_notes_are_found_by_words(client: TestClient) -> None:
    found = client.get("/search?q=quarry").json()
    notes = client.get("/search?q=spigot+rollers&what=notes").json()
    page = client.get("/notebook?words=spigot+rollers").text
    jobs = client.get("/jobs?words=quarry").json()["jobs"]

    assert [one["id"] for one in found["jobs"]] == ["J-7"] == [one["id"] for one in jobs]
    assert notes["fact_notes"][0]["id"] == "note-box-insides" and notes["jobs"] == []
    assert "Stripped boxes of all three families" in page
    assert client.get("/job-book?words=quarry").text.count("/job-book/J-") == 1
    assert "No job is known with that" in client.get("/job-book?words=submarine").text


def test_misspelt_words_find_the_note_that_is_most_alike() -> None:
    assert find_fact_notes(catalogue(), "spiggot rollers of the layshaf strippd boxes") != ()
    assert find_fact_notes(catalogue(), "") == () == find_fact_notes(catalogue(), "zeppelin")


def test_the_command_says_last_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = ["--data", str(tmp_path)]
    main(["plan-job", "--title", "Pick-up", "--number", "J-1", "hollin-5", "ouzel-20", *data])
    main(["job", "halt", "J-1", "--set", "stop=before-ordering", *data])
    capsys.readouterr()

    main(["job", "last", "--gearbox", "hollin-5", "--engine", "ouzel-20", *data])
    main(["job", "list", "--words", "pick", *data])
    main(["job", "last", "--gearbox", "tansy-5", "--engine", "pipit-16", *data])

    told = capsys.readouterr().out
    assert "J-1: Pick-up (the same two): halted: before anything is ordered" in told
    assert "No job of these two, or of their families, is known." in told


def test_did_it_last_says_every_look_back() -> None:
    assert lasted_words([]) == "nobody has looked again yet"
    assert lasted_words([(6, True), (24, False)]) == "good after 6 months and not good after 24 months"
