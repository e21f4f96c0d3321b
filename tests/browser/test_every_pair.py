"""Every pair of the demo opened on a phone: nothing is complained of, nothing is wider than the screen or taller than
ten of them, and the first step of ten questions is three taps away from the first page.

Two pairs and one question a day, other ones every day (`tests/rotating.py`). Main pages are also kept as small pictures
(`tests/browser/pictures`), so that a change of look is seen in review: LAYSHAFT_NEW_PICTURES=1 takes them anew.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, Open, Visit
from tests.demo.shop import index
from tests.rotating import todays

PICTURES = Path(__file__).parent / "pictures"
FAMILIES = {name for name, part in index().catalogue.parts.items() if part.abstract}  # no route is asked of one
PAIRS = [
    (gearbox, engine)
    for gearbox in index().units("gearbox") for engine in index().units("engine")
    if not FAMILIES & {gearbox, engine}
]  # fmt: skip
LOOKED_AT = {
    "first-page": "/", "ask": "/ask", "answer": "/answer?gearbox=tansy-5&engine=pipit-16",
    "fault-finding": "/fault-finding?complaint=clutch-slips", "part": "/part/shaft-tansy",
}  # fmt: skip
# Kept so that people can read them, in the README: how wide and high the screen is on which the answer is shown.
READABLE = {"answer-390": PHONE, "answer-1280": (1280, 900)}
MOST_BYTES = 150_000
MOST_TALL = 9000  # pixels of an answer on a phone, its parts folded
SMALL = (65, 140)  # pixels: words are grey; a block that has moved is seen
FONT = "DejaVuSans.ttf"
MOST_OFF = 12.0  # mean difference of grey, of 255
WORDS = (
    "tansy 5 behind pipit 16", "hollin 5 behind ouzel 20", "sedge 4a behind pipit 16", "tansy 6 behind ouzel 20",
    "tansy 5 behind ouzel 20, 180 Nm", "hollin 5 behind pipit 16, no plate", "tansy 5s behind pipit 16",
    "tansy 5 behind dunlin 25d", "hollin 5l behind ouzel 20", "sedge 4a behind ouzel 20",
)  # fmt: skip


def looked_at(browser: Visit, gearbox: str, engine: str) -> list[str]:
    """What is wrong with the answer's page of a pair."""
    page = browser.go(f"/answer?gearbox={gearbox}&engine={engine}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    wide = [] if browser.fits_the_screen() else ["wider than the screen"]
    tall = page.evaluate("document.documentElement.scrollHeight")
    long = [] if tall < MOST_TALL else [f"{tall} px tall"]
    said = [f"{gearbox} {engine}: {one}" for one in (*browser.complaints, *wide, *long)]
    browser.complaints.clear()
    return said


def test_pairs_open_without_a_complaint(visit: Open) -> None:
    browser = visit(PHONE)

    assert [one for pair in todays(PAIRS, len(PAIRS) // 2) for one in looked_at(browser, *pair)] == []


def taps_to_the_first_step(browser: Visit, words: str) -> int:
    """Taps on buttons from the first page, words typed, until the first step stands there, or why there is no way."""
    page, taps = browser.go("/"), 0
    page.get_by_label("Ask in your own words").fill(words)
    for name in ("Read it", "Find the cheapest route"):
        page.get_by_role("button", name=name).click()
        taps += 1
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert first_step(page), words
    return taps


def first_step(page: Page) -> bool:
    return page.locator(".steps li").count() > 0 or "There is no way" in page.locator("main").inner_text()


@pytest.mark.parametrize("words", todays(WORDS, len(WORDS)))
def test_a_question_is_three_taps_from_its_first_step(visit: Open, words: str) -> None:
    assert taps_to_the_first_step(visit(PHONE), words) <= 3


def font() -> str:
    """The letters in which pages are drawn here; with others, lines break elsewhere and no picture can be compared."""
    asked = subprocess.run(["fc-match", "system-ui"], check=False, capture_output=True, text=True)
    return asked.stdout.partition(":")[0]


def small(shown: Image.Image) -> Image.Image:
    """As it is compared: words are grey; a block that has moved is seen."""
    return shown.convert("L").resize(SMALL, Image.Resampling.BOX)


def how_far_off(name: str, shown: Image.Image, to_keep: Image.Image) -> float:
    """The mean difference of grey from the picture that is kept; it is kept anew where that is asked for."""
    kept = PICTURES / f"{name}.png"
    if os.environ.get("LAYSHAFT_NEW_PICTURES"):
        kept.parent.mkdir(exist_ok=True)
        to_keep.save(kept, optimize=True)
    difference = ImageChops.difference(small(shown), small(Image.open(kept).convert("RGB")))
    return round(ImageStat.Stat(difference).mean[0], 1)


def test_pictures_that_people_read_are_small_and_in_the_readme() -> None:
    readme = (PICTURES.parents[2] / "README.md").read_text(encoding="utf-8")

    for name in READABLE:
        assert (PICTURES / f"{name}.png").stat().st_size < MOST_BYTES
        assert f"(tests/browser/pictures/{name}.png)" in readme


@pytest.mark.skipif(not shutil.which("fc-match") or font() != FONT, reason=f"pictures were taken with {FONT}")
def test_main_pages_look_as_their_pictures_do(visit: Open) -> None:
    browser, off = visit(PHONE), {}
    for name, path in LOOKED_AT.items():
        shown = Image.open(BytesIO(browser.go(path).screenshot()))
        if (difference := how_far_off(name, shown, small(shown))) > MOST_OFF:
            off[name] = difference
    for name, (width, height) in READABLE.items():
        browser.page.set_viewport_size({"width": width, "height": height})
        shown = Image.open(BytesIO(browser.go(LOOKED_AT["answer"]).screenshot()))
        if (
            difference := how_far_off(name, shown, shown.convert("P", palette=Image.Palette.ADAPTIVE, colors=32))
        ) > MOST_OFF:
            off[name] = difference

    assert off == {}, "another look: look at the page, then keep it with LAYSHAFT_NEW_PICTURES=1"
