"""Notes typed on a phone while the signal comes and goes: each is with the service in the end, and none twice.

LAYSHAFT_SAVES says how many are typed (by default few).
"""

from __future__ import annotations

import os
from collections import Counter

import httpx
from playwright.sync_api import Route, expect

from tests.browser.conftest import PHONE, Open

SAVES = int(os.environ.get("LAYSHAFT_SAVES", "5"))
CUT_BEFORE, CUT_AFTER, WHOLE = range(3)
DONE = """() => location.pathname !== "/notebook/new"
  || (document.getElementById("outbox") && !document.querySelector("form[data-keep] button[type=submit]").disabled)"""


def test_no_note_is_lost_and_none_is_written_twice(visit: Open, address: str) -> None:
    browser = visit(PHONE)
    page = browser.go("/notebook/new?relation=remark")
    page.get_by_label("How it is known").select_option("hearsay")
    page.get_by_label("Who says so (initials or a role)").fill("yard")
    saves = 0

    def cut(route: Route) -> None:
        """Every third save gets through; of the others the service hears half, and the phone no answer."""
        nonlocal saves
        if route.request.method != "POST":
            route.continue_()
            return
        saves += 1
        if saves % 3 == CUT_AFTER:
            route.fetch(max_redirects=0)  # written, and the answer lost on its way
        if saves % 3 == WHOLE:
            route.continue_()
        else:
            route.abort("connectionreset")

    page.context.route("**/notebook", cut)
    words = [f"number {number} from the yard" for number in range(SAVES)]
    for text in words:
        page.get_by_label("In your words").fill(text)
        page.get_by_role("button", name="Write it down").click()
        page.wait_for_function(DONE)
        if "/notebook/new" in page.url:  # a second tap of a shaking hand: the emptied form is no further note
            page.get_by_role("button", name="Write it down").click()
            expect(page.locator("#outbox")).to_contain_text("Nothing new was typed since")
        if "/notebook/new" not in page.url:
            browser.go("/notebook/new?relation=remark")
            page.get_by_label("How it is known").select_option("hearsay")
            page.get_by_label("Who says so (initials or a role)").fill("yard")

    page.context.unroute("**/notebook")
    other = page.context.new_page()
    page.close()  # the phone is put away: what is kept outlasts the page
    page = other
    page.goto(f"{address}/browse")
    expect(page.locator("#outbox")).to_have_count(0)

    notes = httpx.get(f"{address}/notes", params={"limit": 200, "author": "yard"}).json()["notes"]
    told = Counter(note["text"] for note in notes if "from the yard" in note["text"])
    assert told == Counter(words)
