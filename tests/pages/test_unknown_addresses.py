"""Whoever comes to an address by hand gets a page that says what was not found; a program gets problem details."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

BROWSER = {"accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}  # as browsers send it
PROGRAMS = ("*/*", "application/json", "application/problem+json", "application/json, text/html", "")
PLACES = (
    ("/no-such-page", 404, "nothing stands at /no-such-page"), ("/parts/no-such-part", 404, "no-such-part"),
    ("/shop/rates", 405, "GET is not possible"), ("/part/disc-ouzl", 404, "disc-ouzel"),
    ("/parts/disc-ouzl", 404, 'href="/part/disc-ouzel"'), ("/jobs/none", 404, "no job"),
)  # fmt: skip


@pytest.mark.parametrize(("address", "status", "said"), PLACES)
def test_a_browser_gets_a_page_that_says_what_was_not_found_and_where_to_go(
    pages: TestClient, address: str, status: int, said: str
) -> None:
    answer = pages.get(address, headers=BROWSER)

    assert answer.status_code == status
    assert answer.headers["content-type"].startswith("text/html")
    assert said in answer.text and "What there is" in answer.text and 'href="/browse"' in answer.text


@pytest.mark.parametrize(
    "accept", ["*/*", "application/json", "application/problem+json", "application/json, text/html", ""]
)
@pytest.mark.parametrize("address", ["/no-such-page", "/parts/no-such-part", "/shop/rates"])
def test_a_program_gets_problem_details(pages: TestClient, address: str, accept: str) -> None:
    answer = pages.get(address, headers={"accept": accept})

    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["status"] == answer.status_code


def test_what_a_program_posts_is_never_answered_with_a_page(pages: TestClient) -> None:
    answer = pages.post("/no-such-page", headers=BROWSER, json={})

    assert answer.headers["content-type"] == "application/problem+json"


def test_a_405_page_names_the_methods_that_there_are(pages: TestClient) -> None:
    assert "POST" in pages.get("/shop/rates", headers=BROWSER).headers["allow"]
