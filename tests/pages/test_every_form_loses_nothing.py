"""Whatever a form of the shop is sent: every field that is not empty stands in what was kept, or in an error.

The note form has its own such law (test_note_form_loses_nothing.py). LAYSHAFT_FORM_EXAMPLES asks for more examples.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Literal

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from api.app import create_app
from api.pages.start import read_start
from api.routers import costing
from graph.costing.notes import CostNote, MemoryNotes
from graph.errors import InvalidInput
from graph.fits.decimals import decimal_of
from graph.lookups.index import CatalogueIndex
from tests.pages.note_app import hidden, paged_app, send

EXAMPLES = int(os.environ.get("LAYSHAFT_FORM_EXAMPLES", "25"))
QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up"}
JOB = "/job-book/J-7"
STATED = ("", "x", "Tübingen, 3. Stock", "a & b <c>", "  spaced  ", "=1+1", "ring\x07", "0", "ja" * 120)
SURROGATES: tuple[Literal["Cs"]] = ("Cs",)
LETTERS = st.characters(codec="utf-8", exclude_categories=SURROGATES)
WORDS = st.one_of(st.sampled_from(STATED), st.text(LETTERS, max_size=12))
AMOUNTS = st.sampled_from(("", "12", "12,50", "1.5", "3/4", "1,500", "-3", "ten", "1e3", "999999999999", "0", "17 %"))
PARTS = st.sampled_from(("", "disc-ouzel", "disc-ouzl", "disc", "DISC-OUZEL", "no such part"))
CONDITIONS = st.sampled_from(("", "new", "used-tested", "shiny"))
AUTHOR = st.sampled_from(("bench 1", "bench 1", "bench 1", "", "owner\x00"))
ADDRESSES = st.sampled_from(("http://192.0.2.7:8000", "x", ""))
DAYS = st.sampled_from(("", "2024-05-17", "17.5.2024", "2999-01-01", "soon"))


def fields_of(**named: st.SearchStrategy[str]) -> st.SearchStrategy[dict[str, str]]:
    return st.fixed_dictionaries({**named, "author": AUTHOR})


SHOP = {
    "/shop/prices/page": fields_of(part=PARTS, cash=AMOUNTS, condition=CONDITIONS, dated=DAYS, supplier=WORDS,
                                   lead_days=AMOUNTS),
    "/shop/rates/page": fields_of(kind=st.sampled_from(("", "bench", "welding", "weldin")), per_hour=AMOUNTS),
    "/shop/shelf/page": fields_of(part=PARTS, quantity=AMOUNTS, book=AMOUNTS, condition=CONDITIONS, place=WORDS),
    "/shop/sublets/page": fields_of(id=st.sampled_from(("", "machine-shop-visit", "grind-journal", "nobody")),
                                    label=WORDS, cash=AMOUNTS, lead_days=AMOUNTS, wanted=WORDS),
    "/shop/tax/page": fields_of(percent=AMOUNTS),
    f"{JOB}/hours": fields_of(step=st.sampled_from(("", "4", "400", "x")), hours=AMOUNTS),
    f"{JOB}/finding": fields_of(fault=st.sampled_from(("", "@", "nothing")), found=WORDS,
                                state=st.sampled_from(("", "worn", "sound", "odd")),
                                sign=st.sampled_from(("", "mileage class=high", "moon=full"))),
    f"{JOB}/measurement": fields_of(what=WORDS, reading=st.sampled_from(("", "38,1 mm", "38", "1-1/2 in", "long")),
                                    datum=WORDS, tool=WORDS, by=WORDS),
    f"{JOB}/as-built": fields_of(position=st.sampled_from(("", "at-clutch-disc", "at-moon")), part=PARTS,
                                 condition=CONDITIONS, remark=WORDS),
    f"{JOB}/remark": fields_of(words=WORDS),
}  # fmt: skip
SENT = st.sampled_from(sorted(SHOP)).flatmap(lambda to: st.tuples(st.just(to), SHOP[to]))


class Bench:
    """The pages of a shop with one job, and what it kept since it was last asked."""

    def __init__(self, client: TestClient, notes: MemoryNotes, faults: list[str]):
        self.client, self.notes, self.faults, self.seen = client, notes, faults, 0

    def new(self) -> list[CostNote]:
        every = self.notes.list_notes()
        fresh, self.seen = every[self.seen :], len(every)
        return fresh


@pytest.fixture(scope="module")
def bench(demo: CatalogueIndex) -> Iterator[Bench]:
    app, notes = create_app(demo), MemoryNotes()
    costing.install(app, notes)
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as client:
        job = client.post("/jobs", json={"question": QUESTION, "title": "pick-up", "number": "J-7"}).json()
        yield Bench(client, notes, job["faults"])


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sent=SENT)
@example(sent=(f"{JOB}/hours", {"step": "400", "hours": "1,500", "author": "bench 1"}))
@example(
    sent=(f"{JOB}/finding", {"fault": "@", "found": "", "state": "worn", "sign": "moon=full", "author": "bench 1"})
)
@example(sent=("/shop/rates/page", {"kind": "weldin", "per_hour": "ten", "author": "bench 1"}))
@example(sent=("/shop/sublets/page", {"id": "nobody", "label": "x", "cash": "ten", "author": "bench 1"}))
def test_what_a_form_of_the_shop_is_sent_is_kept_or_told(bench: Bench, sent: tuple[str, dict[str, str]]) -> None:
    to, fields = sent
    if fields.get("fault") == "@":
        fields = fields | {"fault": (bench.faults or ["nothing"])[0]}
    at = JOB if to.startswith(JOB) else to
    given_fields = {name: value.strip() for name, value in fields.items() if value.strip()}
    bench.new()

    token = hidden(bench.client.get(at).text)["form_token"]
    answer = bench.client.post(to, data=fields | {"form_token": token})

    made = bench.new()
    if answer.status_code == 303:
        assert made, (to, fields)
        for name, value in given_fields.items():
            assert stands_in(made, name, value), (to, name, value, made)
        return
    assert answer.status_code == 422, (answer.status_code, answer.text)
    assert not made
    page = unescape(answer.text)
    for name, value in given_fields.items():
        shown = value in page or f'value="{value}" selected' in page or f'id="{name}-fault"' in page
        assert shown or told_of_text(page, name), (to, name, value)
    assert 'role="alert"' in page


def told_of_text(page: str, name: str) -> bool:
    """A text that no page can show (a control character) is told of where the faults are."""
    return f'href="#{name}"' in page


def stands_in(made: list[CostNote], name: str, value: str) -> bool:
    """Whether the notes hold what was typed: as it is, or as the number, part or place that it means."""
    said = json.dumps([[one.about, dict(one.body), one.author] for one in made], ensure_ascii=False)
    means = {value, value.casefold(), value.removeprefix("at-").replace("-", " ")}
    if name == "sign":
        means |= set(value.split("="))
    if name == "state":
        return '"worn": ' in said
    try:
        number = decimal_of(value.rstrip("% "), name)
        means |= {number, str(int(float(number) * 100))}
    except InvalidInput:
        pass
    escaped = {json.dumps(one, ensure_ascii=False)[1:-1] for one in means if one}
    return any(one in said for one in escaped)


@settings(max_examples=EXAMPLES, deadline=None)
@given(
    sent=st.fixed_dictionaries({
        "name": WORDS, "currency": st.sampled_from(("", "EUR", "XXX")), "rate": AMOUNTS, "day_hours": AMOUNTS,
        "tax": AMOUNTS,
    })
)  # fmt: skip
def test_what_starts_a_workshop_is_in_it_or_told(sent: dict[str, str]) -> None:
    sent = {name: value.strip() for name, value in sent.items()}
    try:
        made = read_start(sent)
    except InvalidInput as error:
        assert {one.path for one in error.problems} <= set(sent)
        return
    assert (made.name, made.currency) == (sent["name"], sent["currency"])
    for name, found in (("rate", made.rate), ("day_hours", made.day_hours), ("tax", made.tax)):
        assert found == decimal_of(sent[name].rstrip("% "), name)


@contextmanager
def opened(folder: Path) -> Iterator[TestClient]:
    with paged_app(folder) as (app, _), TestClient(app, base_url="http://127.0.0.1") as client:
        yield client


@pytest.fixture(scope="module")
def people(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with opened(tmp_path_factory.mktemp("people")) as client:
        yield client


@settings(max_examples=max(3, EXAMPLES // 5), deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(
    name=WORDS, role=st.sampled_from(("read", "note", "king")), at=st.sampled_from(("http://192.0.2.7:8000", "x", ""))
)
def test_who_is_let_in_is_listed_or_told(people: TestClient, name: str, role: str, at: str) -> None:
    answer = send(people, "/people", "/people", name=name, role=role, at=at)

    page = unescape(answer.text)
    if answer.status_code == 200:
        assert name.strip() in page and at in page
        return
    assert answer.status_code == 422
    assert 'role="alert"' in page
    for field, value in (("name", name.strip()), ("at", at)):
        assert not value or value in page or f'id="{field}-fault"' in page or re.search(f'href="#{field}"', page)
