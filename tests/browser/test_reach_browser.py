"""What can go where, and which part to stock, in a real browser: line by line with scripts, and without them."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import A_WAY_A_DAY, BENCH, PHONE, SMALL_AND_DARK, WAYS, Open
from tests.browser.test_axe import axe, violations

pytestmark = pytest.mark.takes_turns(2)

__all__ = ["axe"]  # the engine's fixture

PATHS = (
    "/reach", "/reach?engine=ouzel-20&limit=3", "/reach?gearbox=hollin-5&list=whole", "/reach?engine=nothing",
    "/reach?engine=ouzel-20&list=whole&seconds=0.000001", "/reach/stock?engine=ouzel-20",
)  # fmt: skip
LIST_OF_LINES = "#reached li"


@WAYS
def test_what_can_go_behind_an_engine(visit: Open, size: tuple[int, int], scripts: bool) -> None:
    browser = visit(size, scripts)
    page = browser.go("/reach")
    page.get_by_label("Engine", exact=False).locator("visible=true").last.select_option("ouzel-20")
    page.get_by_label("How many to name").fill("4")
    browser.keep("form")
    page.get_by_role("button", name="Find them").click()

    expect(page.get_by_role("heading", level=1)).to_contain_text("What can go behind Ouzel 20")
    expect(page.locator(LIST_OF_LINES)).to_have_count(4)
    expect(page.locator("#reached [role=status]")).to_contain_text("each of the others costs at least")
    browser.keep("found")
    assert browser.fits_the_screen()
    figure = page.locator(LIST_OF_LINES).first.locator("strong").inner_text()

    page.locator(LIST_OF_LINES).first.get_by_role("link").click()
    expect(page.get_by_role("article").first).to_contain_text(figure)
    assert "list=" not in page.url
    assert browser.complaints == []


def test_lines_say_the_same_with_scripts_and_without(visit: Open) -> None:
    told = []
    for query in ("", "&list=whole"):
        page = visit(BENCH).go(f"/reach?gearbox=hollin-5&objective=hours{query}")
        expect(page.locator("#reached [role=status]")).to_contain_text("there is no further one")
        status = page.locator("#reached [role=status]").inner_text()
        links = page.locator(f"{LIST_OF_LINES} a").evaluate_all("all => all.map(one => one.getAttribute('href'))")
        told.append((page.locator(LIST_OF_LINES).all_inner_texts(), status, links))

    assert told[0] == told[1]


def test_a_search_can_be_stopped_and_gone_on_with(visit: Open) -> None:
    browser = visit(BENCH)
    browser.page.route("**/reach", lambda route: None if route.request.method == "POST" else route.continue_())
    page = browser.go("/reach?engine=ouzel-20")
    page.get_by_role("button", name="Stop").click()
    expect(page.locator("#reached [role=status]")).to_contain_text("Stopped")
    browser.page.unroute("**/reach")

    page.get_by_role("button", name="Go on with more time").click()

    expect(page.locator("#reached [role=status]")).to_contain_text("there is no further one")
    assert page.locator(LIST_OF_LINES).count() > 3


def test_a_service_that_fails_is_told_and_can_be_asked_again(visit: Open) -> None:
    browser = visit(PHONE)
    browser.page.route("**/reach", lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    page = browser.go("/reach?engine=ouzel-20")

    expect(page.locator("#reached [role=status]")).to_contain_text("could not be worked out")


@A_WAY_A_DAY
def test_which_part_to_stock(visit: Open, size: tuple[int, int], scripts: bool) -> None:
    browser = visit(size, scripts)
    page = browser.go("/reach/stock?engine=ouzel-20")
    page.get_by_label("At most, for each pair").fill("808")
    page.get_by_label(re.compile("Least cost if nothing is worn")).check()
    browser.keep("stock-form")
    page.get_by_role("button", name="Work it out").click()

    for _ in range(200):
        if scripts or page.get_by_role("link", name="Look again").count() == 0:
            break
        page.get_by_role("link", name="Look again").click()
        page.wait_for_timeout(200)
    expect(page.get_by_role("heading", level=2)).to_have_text("Worked out.")
    expect(page.locator("#job ol")).to_contain_text("opens 3")
    page.locator("#job summary").first.click()
    browser.keep("stock-found")
    assert browser.fits_the_screen()
    assert browser.complaints == []


@SMALL_AND_DARK
def test_no_page_of_these_has_a_violation(visit: Open, axe: str, scheme: str, size: tuple[int, int]) -> None:
    browser = visit(size, scheme=scheme)
    found = []
    for path in PATHS:
        found += violations(browser.go(path), axe, path)

    assert found == []
