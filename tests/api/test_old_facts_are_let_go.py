"""A note replaces the facts in memory; whatever was asked of the old ones, nothing holds on to them afterwards."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from tests.rotating import todays

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20"}
ASKED = "gearbox=hollin-5&engine=ouzel-20"
BENCH = {"author": "bench", "evidence": "measured-on-these-parts"}
READ = [
    "/", "/ask", "/browse", "/browse?text=disc", "/browse?text=clutch+disk", "/part/hollin-5", "/bench", "/bench/faces",
    f"/compare?{ASKED}", f"/route?{ASKED}", f"/paper/estimate?{ASKED}", "/identify", "/notebook", "/notebook/disputes",
    "/parts", "/parts/hollin-5/edges", "/parts/hollin-5/measurements", "/search?q=clutch+disk",
    "/ask/choices?what=part&text=disc",
]  # fmt: skip
POSTED = {"/routes": QUESTION, "/reach": {"engine": "ouzel-20"}, "/conversions": QUESTION, "/measure-next": QUESTION}
SPARE = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:spare-{n} a lay:Part ; rdfs:label "Spare disc {n}" ; lay:kind kind:clutch-disc ;
    lay:partCondition kind:used-tested ; lay:cash 20.00 ; lay:hours 0.60 ; lay:days 2 ."""


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with opened_service(tmp_path_factory.mktemp("data"), Settings()) as (app, index):
        del index
        with TestClient(app, base_url="http://127.0.0.1") as client:
            yield client


@pytest.mark.parametrize("asked", todays([*READ, *POSTED], 2))
def test_what_was_asked_of_old_facts_does_not_keep_them(
    service: TestClient, asked: str, request: pytest.FixtureRequest
) -> None:
    number = len(request.session.items) + [*READ, *POSTED].index(asked)
    _note(service, f"{number}-before")
    answer = service.post(asked, json=POSTED[asked]) if asked in POSTED else service.get(asked)
    old = weakref.ref(service.app.state.workshop.index)  # type: ignore[attr-defined]

    _note(service, f"{number}-after")
    gc.collect()

    assert answer.status_code == 200, answer.text
    assert old() is None


def _note(service: TestClient, name: str) -> None:
    said = {"text": f"Spare {name}.", **BENCH, "statements": SPARE.format(n=name)}
    assert service.post("/notes", json=said).status_code == 201
    assert service.post("/routes", json=QUESTION).status_code == 200  # takes the note in
