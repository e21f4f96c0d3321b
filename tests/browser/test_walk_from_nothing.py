"""From an empty folder to an answer, through the pages alone, on a phone: a gearbox, an engine, what is in them, ten
joints, two prices. Every step is looked at; the fields and taps are counted and printed (four seconds each is the
rule of thumb that the house goes by: common practice for a practised thumb, from memory).

By default once, with scripts, by touch; LAYSHAFT_ALL_WALKS=1 walks also without scripts, by keyboard alone, and with
axe-core looking at each page.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import PHONE, Open, Visit, served
from tests.browser.test_axe import axe, violations

__all__ = ["axe"]  # the fixture
WHO = "Who says so (initials or a role)"
SECONDS_A_FIELD, AIM_S = 4, 15 * 60
EVERY = bool(os.environ.get("LAYSHAFT_ALL_WALKS"))
WAYS = ["touch", "no scripts", "keyboard", "axe"] if EVERY else ["touch"]

GEARBOX = {"Bell housing": "Reed bell", "Gearbox case": "Reed case", "Input shaft": "Reed shaft"}
ENGINE = {"Block": "Knot block", "Flywheel": "Knot flywheel", "Clutch disc": "Knot disc"}
BOUGHT = {"Wide-hub disc": ("clutch disc", "84,50"), "Long shaft": ("input shaft", "310")}
# What joins them: ten joints, one of which does not go together, which is why something has to be bought.
JOINTS = (
    ("Knot block", "fits", "Reed bell"), ("Reed bell", "fits", "Reed case"), ("Reed case", "fits", "Reed shaft"),
    ("Knot flywheel", "fits", "Knot disc"), ("Knot disc", "does-not-fit", "Reed shaft"),
    ("Wide-hub disc", "fits", "Reed shaft"), ("Knot flywheel", "fits", "Wide-hub disc"),
    ("Knot disc", "fits", "Long shaft"), ("Reed case", "fits", "Long shaft"), ("Wide-hub disc", "fits", "Long shaft"),
)  # fmt: skip
REPLACED = (("Wide-hub disc", "Knot disc"), ("Long shaft", "Reed shaft"))


@dataclass
class Hand:
    """What a person does on a page, counted: `fields` filled or chosen, `taps`; what was `typed`.

    `keys`: by keyboard alone, each control reached with the tabulator. `looked`: what axe-core found, when it looks.
    """

    page: Page
    keys: bool = False
    axe: str = ""
    fields: int = 0
    taps: int = 0
    typed: list[str] = field(default_factory=list)
    looked: list[str] = field(default_factory=list)

    def reach(self, control: Locator) -> None:
        handle = control.element_handle()
        assert handle is not None
        here = "one => one === document.activeElement"
        for _ in range(400):
            if handle.evaluate(here):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"the keyboard does not get to {control}")

    def control(self, label: str) -> Locator:
        return self.page.get_by_label(label, exact=True)

    def fill(self, label: str, text: str, within: Locator | None = None) -> None:
        control = within.get_by_label(label, exact=True) if within else self.control(label)
        self.fields += 1
        self.typed.append(text)
        if self.keys:
            self.reach(control)
            self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)
        else:
            control.fill(text)

    def choose(self, label: str, words: str) -> None:
        control = self.control(label)
        self.fields += 1
        if self.keys:
            self.reach(control)
            self.page.keyboard.type(words)
        else:
            control.select_option(label=words)
        expect(control.locator("option:checked")).to_have_text(words)

    def tap(self, control: Locator) -> None:
        self.taps += 1
        if not self.keys:
            control.click()
            return
        self.reach(control)
        ticked = control.get_attribute("type") == "checkbox"
        self.page.keyboard.press("Space" if ticked else "Enter")

    def go_on(self, control: Locator, heading: str) -> None:
        """Taps what leads to another page, and looks at that."""
        self.tap(control)
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)
        if self.axe:
            self.looked += violations(self.page, self.axe, heading)

    def link(self, words: str) -> Locator:
        return self.page.get_by_role("link", name=words, exact=True).first

    def button(self, words: str) -> Locator:
        return self.page.get_by_role("button", name=words, exact=True)


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[str]:
    """A service over an empty folder."""
    with served(tmp_path / "empty") as where:
        yield where


def said(hand: Hand) -> None:
    """How it is known, and who says so, unless the page has kept both from the form before."""
    if hand.control("How it is known").input_value() == "":
        hand.choose("How it is known", "measured on these parts")
    signed(hand)


def signed(hand: Hand) -> None:
    """Who says so, unless it stands there."""
    if hand.control(WHO).input_value() == "":
        hand.fill(WHO, "bench 1")


def started(hand: Hand) -> None:
    hand.go_on(hand.link("Start my workshop"), "Start my workshop")
    hand.fill("Name of the workshop", "Rushy Lane (invented)")
    hand.choose("Currency", "EUR")
    hand.fill("Bench rate an hour", "58,50")
    hand.go_on(hand.button("Start it"), "What to do first")


def unit(hand: Hand, what: str, name: str, inside: dict[str, str]) -> None:
    """Adds a unit, and what is in it on the sheet that follows."""
    hand.go_on(hand.link(what), "Add a part or a unit")
    hand.fill("Name", name)
    said(hand)
    hand.go_on(hand.button("Add it"), f"What is in {name}")
    for place, part in inside.items():
        group = hand.page.get_by_role("group", name=place, exact=True)
        hand.fill("Part", part, group)
        hand.tap(group.get_by_label("It is a new part by this name"))
    said(hand)
    hand.go_on(hand.button("Write the sheet down"), f"What is in {name}")
    expect(hand.page.get_by_role("status")).to_contain_text("Written down")


def part(hand: Hand, name: str, kind: str) -> None:
    hand.go_on(hand.link("Add a part"), "Add a part or a unit")
    hand.fill("Name", name)
    hand.choose("What it is", kind)
    said(hand)
    hand.go_on(hand.button("Add it"), name)


def joint(hand: Hand, a: str, relation: str, b: str) -> None:
    """One fact about two parts."""
    hand.fill("Part", a)
    if relation != "fits":
        hand.choose("What is known", {"does-not-fit": "does not fit", "replaces": "replaces"}[relation])
    hand.fill("Other part", b)
    if relation == "does-not-fit":
        hand.fill("In your words", "hub splined for a thinner shaft")
    said(hand)
    hand.go_on(hand.button("Write it down"), "A note")
    expect(hand.page.get_by_role("status")).to_contain_text("Written down")


def priced(hand: Hand, name: str, price: str) -> None:
    hand.fill("Part", name)
    hand.fill("Price, EUR", price)
    hand.choose("Condition", "new")
    signed(hand)
    hand.go_on(hand.button("Keep it"), "Prices")
    expect(hand.page.get_by_role("status")).to_contain_text("Kept: 1 price")


@pytest.mark.parametrize("way", WAYS)
def test_from_an_empty_folder_to_an_answer(
    visit: Open, empty: str, way: str, request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]
) -> None:
    opened = visit(PHONE, scripts=way != "no scripts")
    browser = Visit(opened.page.context, empty, opened.screenshots, opened.name)
    engine = request.getfixturevalue("axe") if way == "axe" else ""
    hand = Hand(browser.go("/"), keys=way == "keyboard", axe=engine)
    wide = []

    def fits(name: str) -> None:
        browser.keep(f"walk-{name}")
        if not browser.fits_the_screen():
            wide.append(name)

    started(hand)
    fits("started")
    unit(hand, "Add a gearbox", "Reed 5", GEARBOX)
    fits("sheet")
    unit(hand, "Add an engine", "Knot 1.8", ENGINE)
    for name, (kind, _) in BOUGHT.items():
        part(hand, name, kind)
    fits("part")
    hand.go_on(hand.link("Notes"), "Notes")
    hand.go_on(hand.link("Write a note"), "Write a note")
    for number, (a, relation, b) in enumerate((*JOINTS, *((a, "replaces", b) for a, b in REPLACED))):
        if number:
            hand.go_on(hand.link("Write another"), "Write a note")
        joint(hand, a, relation, b)
    fits("note")
    hand.go_on(hand.link("Shop"), "Prices")
    for name, (_, price) in BOUGHT.items():
        priced(hand, name, price)
    fits("prices")
    hand.go_on(hand.link("Ask"), "Which gearbox behind which engine?")
    hand.choose("Gearbox", "Reed 5")
    hand.choose("Engine", "Knot 1.8")
    hand.tap(hand.button("Find the cheapest route").first)
    expect(hand.page.get_by_role("heading", level=1)).to_contain_text("Reed 5")
    fits("answer")

    cheapest = hand.page.get_by_role("article").first
    assert cheapest.get_by_text("Wide-hub disc").count() and cheapest.get_by_text("84.50").count()
    with capsys.disabled():
        seconds = SECONDS_A_FIELD * (hand.fields + hand.taps)
        print(f"\n{way}: {hand.fields} fields, {hand.taps} taps, {seconds // 60} min {seconds % 60} s at 4 s each")
    assert seconds < AIM_S
    ids = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")
    assert not [text for text in hand.typed if ids.fullmatch(text) or "<" in text or ":" in text]
    assert wide == hand.looked == browser.complaints == []
