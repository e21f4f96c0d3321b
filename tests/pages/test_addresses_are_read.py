"""Nothing in an address is passed over: a name that nobody reads is refused, with the name that was meant."""

from __future__ import annotations

import re
from collections import deque
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest
from fastapi.testclient import TestClient

from graph.cli.question import DEMO_FACTS
from tests.pages.html import Page
from tests.pages.note_app import paged_app

PAIR = "gearbox=tansy-5&engine=pipit-16"
MOST_PAGES = 90


@pytest.mark.parametrize(
    ("address", "name", "said"),
    [
        (f"/route?{PAIR}&rnak=2", "rnak", "did you mean rank"),
        (f"/compare?{PAIR}&known=180", "known", "did you mean known.…"),
        (f"/section.svg?{PAIR}&with=before", "with", "nobody reads this"),
        (f"/route?{PAIR}&rank=1&rank=2", "rank", "as “1” and as “2”"),
        (f"/route?{PAIR}&gearbox=hollin-5", "gearbox", "as “tansy-5” and as “hollin-5”"),
        (f"/answer?{PAIR}&known.torque=1&objectiv=cash", "objectiv", "did you mean objective"),
        ("/bench/check/bearing-seat?bearign=y", "bearign", "did you mean bearing"),
        ("/parts?kind=disc&limt=3", "limt", "did you mean limit"),
        ("/used-box?gearbox=tansy-5&askin=3", "askin", "did you mean asking"),
    ],
)
def test_what_nobody_reads_is_refused_by_name(pages: TestClient, address: str, name: str, said: str) -> None:
    answer = pages.get(address, headers={"accept": "application/json"})

    assert answer.status_code == 400
    told = unescape(re.sub("<[^>]+>", "", answer.text))
    assert name in told and said in told


def test_a_thousand_unknown_names_make_a_short_answer(pages: TestClient) -> None:
    answer = pages.get("/route?" + "&".join(f"{'y' * 100}{i}=1" for i in range(200)))

    assert answer.status_code == 400
    assert len(answer.content) < 10_000


def test_the_same_twice_says_nothing_else_and_lists_may_repeat(pages: TestClient) -> None:
    once = pages.get(f"/compare?{PAIR}&avoid=disc-ouzel")
    twice = pages.get(f"/compare?{PAIR}&{PAIR}&avoid=disc-ouzel&avoid=disc-ouzel")

    assert (once.status_code, twice.status_code) == (200, 200)


def test_a_warranty_counts_for_what_is_ticked(pages: TestClient) -> None:
    answer = pages.get(f"/paper/estimate?{PAIR}&warranty=12")

    assert answer.status_code == 422
    assert "counts for what is ticked" in answer.text


def test_every_link_and_form_of_the_pages_holds_only_what_its_address_reads(tmp_path: Path) -> None:
    """Pages are walked from the first one; of links and forms to one place with the same names one is followed."""
    with paged_app(tmp_path, DEMO_FACTS) as (app, _):
        _walk(TestClient(app, base_url="http://127.0.0.1"))


def _walk(pages: TestClient) -> None:
    waiting = deque(["/", f"/route?{PAIR}", f"/compare?{PAIR}", f"/while-it-is-out?{PAIR}", "/bench/joint?a=tansy-5"])
    seen = {_sort(address) for address in waiting}
    read = 0
    while waiting and read < MOST_PAGES:
        address = waiting.popleft()
        answer = pages.get(address, headers={"accept": "text/html"}, follow_redirects=True)
        read += 1
        assert answer.status_code != 400, (address, answer.text)
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        for found in _addresses(Page(answer.text), address):
            if _sort(found) not in seen:
                seen.add(_sort(found))
                waiting.append(found)

    assert read > 30


def _sort(address: str) -> tuple[str, frozenset[str]]:
    parts = urlsplit(address)
    return "/".join(parts.path.split("/")[:3]), frozenset(
        name.split(".")[0] for name, _ in parse_qsl(parts.query, keep_blank_values=True)
    )


def _addresses(page: Page, here: str) -> list[str]:
    """The addresses of links, and of forms sent as they stand."""
    found = [link["href"].partition("#")[0] for link in page.all("a")]
    action, names = "", list[str]()
    for tag, said in page.tags:
        if tag == "form":
            found += [f"{action}?{'&'.join(names)}"] if names else []
            action, names = (
                (said.get("action") or here.partition("?")[0], []) if said.get("method") == "get" else ("", [])
            )
        elif action and tag in ("input", "select", "textarea") and said.get("name"):
            ticked = said.get("type") not in ("checkbox", "radio") or "checked" in said
            names += [f"{said['name']}={said.get('value', '')}"] if ticked else []
    found += [f"{action}?{'&'.join(names)}"] if names else []
    return [address for address in found if address.startswith("/") and not address.startswith("//")]


def test_a_thousand_unknown_ticks_make_a_short_page(pages: TestClient) -> None:
    answer = pages.get(f"/paper/estimate?{PAIR}&" + "&".join(f"renew=tick-{i}" for i in range(1000)))

    assert answer.status_code == 422
    assert "and 971 more of the kind" in answer.text and len(answer.content) < 20_000
