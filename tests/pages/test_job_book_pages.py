"""A closed job is opened again, put right and closed: nothing of what was wrong stays in what the shop learnt."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}
HERE = "/job-book/J-7"


def send(pages: TestClient, where: str, **fields: str) -> int:
    token = re.search(r'name="form_token" value="([^"]+)"', pages.get(HERE).text)
    assert token is not None
    return pages.post(f"{HERE}/{where}", data={"form_token": token[1], **fields}).status_code


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
