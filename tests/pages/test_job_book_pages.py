"""A closed job is opened again, put right and closed: nothing of what was wrong stays in what the shop learnt."""

from __future__ import annotations

import re
from html import unescape

from fastapi.testclient import TestClient
from httpx import Response

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}
HERE = "/job-book/J-7"


def send(pages: TestClient, where: str, **fields: str) -> int:
    token = re.search(r'name="form_token" value="([^"]+)"', pages.get(HERE).text)
    assert token is not None
    answer: Response = pages.post(f"{HERE}/{where}", data={"form_token": token[1], **fields})
    return answer.status_code


def test_hours_noted_on_the_wrong_job_are_taken_back_after_it_was_closed(pages: TestClient) -> None:
    planned = pages.post("/jobs", json={"question": QUESTION, "title": "pick-up", "number": "J-7"})
    assert planned.status_code == 200, planned.text
    book = {step["number"]: step["planned"] for step in planned.json()["steps"]}
    assert send(pages, "hours", step="4", hours="36") == 303
    assert send(pages, "closing", outcome="done") == 303
    spoilt = pages.post("/routes", json=QUESTION).json()["routes"][0]["hours"]

    assert send(pages, "entry-back", entry="x") == 409  # it is closed
    assert send(pages, "reopening", reason=" ") == 422
    assert send(pages, "reopening", reason="a slip: 3.6, not 36", author="foreman") == 303
    (entry,) = re.findall(r'name="entry" value="([^"]+)"', pages.get(HERE).text)
    assert send(pages, "entry-back", entry=entry) == 303
    assert send(pages, "hours", step="4", hours=str(book[4])) == 303
    assert send(pages, "closing", outcome="done") == 303

    right = pages.post("/routes", json=QUESTION).json()["routes"][0]["hours"]
    assert right < spoilt
    assert right == round(sum(book.values()), 2)  # exactly on plan leaves the plan as it is
    assert "J-7" in pages.get("/job-book").text


def test_an_entry_sent_twice_is_kept_once_and_can_be_taken_back(pages: TestClient) -> None:
    pages.post("/jobs", json={"question": QUESTION, "title": "pick-up", "number": "J-7"})
    (key,) = re.findall(r'name="key" value="([^"]+-hours)"', pages.get(HERE).text)

    assert send(pages, "hours", key=key, step="4", hours="3.5", author="bench") == 303
    assert send(pages, "hours", key=key, step="4", hours="3.5", author="bench") == 303
    assert send(pages, "hours", key=key, step="4", hours="4.5", author="bench") == 422  # other hours: asked about
    (entry,) = re.findall(r'name="entry" value="([^"]+)"', pages.get(HERE).text)
    assert send(pages, "entry-back", entry=entry) == 303
    assert not re.findall(r'name="entry" value="([^"]+)"', pages.get(HERE).text)


def test_a_request_with_a_key_that_is_sent_again_writes_once(pages: TestClient) -> None:
    key = {"Idempotency-Key": "k-1"}
    made = [pages.post("/jobs", json={"question": QUESTION, "title": "pick-up"}, headers=key).json() for _ in range(2)]
    hours = {"step": 4, "hours": 3.5, "author": "bench"}
    rate = {"kind": "bench", "per_hour": "61.00", "currency": "EUR"}

    for _ in range(2):
        assert pages.post(f"/jobs/{made[0]['id']}/hours", json=hours, headers=key).status_code == 200
    batches = {pages.post("/shop/rates", json=rate, headers=key).json()["batch"] for _ in range(2)}

    assert made[0] == made[1]
    assert len(pages.get(f"/jobs/{made[0]['id']}").json()["entries"]) == 1
    assert len(batches) == 1
    other = pages.post("/shop/rates", json=rate | {"per_hour": "62.00"}, headers=key)
    assert (other.status_code, "something else was kept from this form or key" in other.text) == (422, True)


def planned(pages: TestClient, **fields: str) -> Response:
    """The best route made a job by its page."""
    where = "/new-job?gearbox=hollin-5&engine=ouzel-20&vehicle=sorrel-pick-up&rank=1"
    token = re.search(r'name="form_token" value="([^"]+)"', pages.get(where).text)
    assert token is not None
    sent = {"form_token": token[1], "title": "pick-up", "number": "J-7", **fields}
    answer: Response = pages.post(where, data=sent)
    return answer


def test_a_job_goes_from_the_estimate_to_the_look_back_by_pages_alone(pages: TestClient) -> None:
    route = pages.get("/route?gearbox=hollin-5&engine=ouzel-20&vehicle=sorrel-pick-up").text
    assert 'href="/new-job?gearbox=hollin-5' in route and 'formaction="/paper/job-sheet"' in route
    estimate = pages.get(
        "/paper/estimate?gearbox=hollin-5&engine=ouzel-20&customer=Reed+farm&shop=Rushy+Lane&number=41"
    )
    assert "Reed farm" in estimate.text and "Rushy Lane" in estimate.text and "41" in estimate.text

    made = planned(pages, author="foreman", **{"sign.1": "metal on the magnet=chunks"})
    assert (made.status_code, made.headers.get("location")) == (303, HERE), made.text
    assert planned(pages).status_code == 409  # the number is in use
    book = pages.get("/jobs/J-7").json()
    fear = book["faults"][0]
    for where, typed in (
        ("hours", {"step": "4", "hours": "3,5"}),
        ("finding", {"fault": fear, "state": "worn", "found": "two teeth chipped"}),
        ("measurement", {"what": "stick-out", "reading": "190,2 mm", "datum": "housing face", "tool": "depth gauge"}),
        ("as-built", {"position": "at-clutch-disc", "part": "disc-unlabelled", "condition": "new"}),
        ("remark", {"words": "dowels tight on the left"}),
        ("closing", {"outcome": "done"}),
        ("follow-up", {"months": "7", "good": "yes"}),
    ):
        assert send(pages, where, author="bench 1", **typed) == 303, where

    job = pages.get("/jobs/J-7").json()
    assert next(step["actual"] for step in job["steps"] if step["number"] == 4) == 3.5
    assert (job["findings"][0]["fault"], job["findings"][0]["worn"]) == (fear, True)
    assert job["measurements"][0]["reading"] == "190,2 mm" and job["as_built"][0]["part"] == "disc-unlabelled"
    assert job["remarks"] == ["dowels tight on the left"]
    assert (job["outcome"], job["follow_ups"]) == ("done", [{"months": 7, "good": True}])
    page = pages.get(HERE).text
    assert "looked at after 7 months: good" in page and fear not in re.sub(r'value="[^"]*"', "", page)
    record = pages.get(f"{HERE}/paper/build-record?customer=Reed+farm")
    assert record.status_code == 200 and "Reed farm" in record.text and "190,2 mm" in record.text
    assert pages.get(f"{HERE}/paper/estimate?form=pdf").content.startswith(b"%PDF-")


def test_what_cannot_be_noted_on_a_job_is_told_at_its_field_and_stays_typed(pages: TestClient) -> None:
    assert planned(pages).status_code == 303
    token = re.search(r'name="form_token" value="([^"]+)"', pages.get(HERE).text)
    assert token is not None

    def told(where: str, **fields: str) -> str:
        sent = {"form_token": token[1], "author": "bench 1", **fields}
        answer: Response = pages.post(f"{HERE}/{where}", data=sent)
        assert answer.status_code == 422, answer.text
        return answer.text

    wrong = told("hours", step="4", hours="1,500")
    assert 'id="hours-fault"' in wrong and 'value="1,500"' in wrong and 'value="bench 1"' in wrong
    assert 'id="reading-fault"' in told("measurement", what="stick-out", reading="190")  # of what?
    assert "which part is meant?" in told("as-built", position="at-clutch-disc", part="disc")
    assert 'id="part-fault"' in told("as-built", position="at-clutch-disc", part="plate-20")
    assert 'id="fault-fault"' in told("finding", fault="the moon", state="worn")
    assert 'id="words-fault"' in told("remark", words=" ")
    assert pages.get("/jobs/J-7").json()["entries"] == []


def test_what_the_customer_ticked_goes_with_the_job_by_page_and_by_api(pages: TestClient) -> None:
    asked = "gearbox=hollin-5&engine=ouzel-20&vehicle=sorrel-pick-up"
    listed = pages.post("/while-it-is-out", json={"question": QUESTION}).json()
    item = next(one for state in listed["states"] for one in state["items"])
    page = pages.get(f"/while-it-is-out?{asked}&warranty=12").text
    assert 'name="while_out" value="yes" formaction="/new-job"' in page, "what is ticked goes along without scripts"
    form = f"/new-job?{asked}&rank=1&warranty=12&renew={item['id']}&while_out=yes"
    shown = pages.get(form).text
    token = re.search(r'name="form_token" value="([^"]+)"', shown)
    assert token is not None and f"Ticked to be renewed as well: <bdi>{item['renews']}" in shown

    made = pages.post(form, data={"form_token": token[1], "title": "pick-up", "number": "J-7"}, follow_redirects=False)
    by_api = {"question": QUESTION, "renew": [item["id"]], "warranty_months": 12, "title": "pick-up", "number": "J-8"}
    planned = pages.post("/jobs", json=by_api)

    assert made.status_code == 303 and planned.status_code == 200, planned.text
    for job in ("J-7", "J-8"):
        assert f"Renewed as well while it is open: <bdi>{item['renews']}" in pages.get(f"/job-book/{job}").text
        assert f"Renew as ticked, {item['renews'].lower()}" in unescape(
            pages.get(f"/job-book/{job}/paper/job-sheet").text
        )
        assert "Ticked by the customer" in unescape(pages.get(f"/job-book/{job}/paper/estimate").text)
    plain = pages.post("/jobs", json={"question": QUESTION, "title": "pick-up", "number": "J-9"})
    assert plain.status_code == 200 and "as ticked" not in pages.get("/job-book/J-9/paper/job-sheet").text


def test_papers_refuse_what_they_would_otherwise_leave_out_silently(pages: TestClient) -> None:
    pages.post("/jobs", json={"question": QUESTION, "title": "pick-up", "number": "J-7"})
    other = {"gearbox": "tansy-5", "engine": "pipit-16"}
    details = {"details": {"number": "J-7"}}
    months = {"question": other, "warranty_months": 6}

    told = {
        "question.gearbox": pages.post("/papers/estimate.html", json=details | {"question": other, "job": "J-7"}),
        "warranty_months": pages.post("/papers/estimate.html", json=details | months),
        "renew": pages.post("/papers/declaration.html", json=details | {"question": other, "renew": []}),
    }

    for where, answer in told.items():
        assert (answer.status_code, where in answer.text) == (422, True), answer.text
