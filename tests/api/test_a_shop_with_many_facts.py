"""A service whose facts are many keeps them in a compact file: it answers, follows notes and starts again alike."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.catalogue.house import FACTS_FOLDER
from graph.lookups.compact import CompactIndex

NOTE_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")  # new for each note that is taken
QUESTIONS = (
    {"gearbox": "tansy-5", "engine": "pipit-16"},
    {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up", "context": {"duty": "road"}},
    {"gearbox": "tansy-5", "engine": "ouzel-20", "objective": "cash"},
)
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
NOTES = (
    'shop:bell-2 a lay:Part ; rdfs:label "Hollin bell housing, from the shelf" ; lay:kind kind:bell-housing ;'
    " lay:cash 5.00 ; lay:variantOf shop:bell-hollin-spare .",
    'shop:cheap-work a lay:OperationPrice ; rdfs:label "Cheap" ; lay:operation "cheap-work" ; lay:cash 1.00 .',
    "shop:no-way a lay:DoesNotFit ; lay:source shop:bell-2 ; lay:target shop:bell-tansy ;"
    ' lay:joint kind:no-such-joint ; lay:reason "tried" .',
)


def opened(folder: Path) -> Iterator[TestClient]:
    facts = folder / "facts"
    if not facts.exists():
        shutil.copytree(FACTS_FOLDER / "demo", facts)
    with opened_service(folder, Settings()) as (app, shop), TestClient(app, base_url="http://127.0.0.1") as client:
        client.app_state = {"shop": shop}
        yield client


def answers(client: TestClient) -> list[Any]:
    found = []
    for question in QUESTIONS:
        response = client.post("/routes", json=question)
        assert response.status_code == 200, response.text
        found.append(json.loads(NOTE_ID.sub("a-note", response.text)))
    return found


def noted(client: TestClient) -> list[tuple[int, set[str]]]:
    found = []
    for statements in NOTES:
        body = {"text": "tried", "author": "bench", "evidence": "measured-on-these-parts", "made_at": "2026-01-02",
                "statements": PREFIXES + statements}  # fmt: skip
        response = client.post("/notes", json=body)
        told = response.json() if response.status_code != 201 else {}
        found.append((response.status_code, {one["detail"] for one in told.get("errors", ())}))
    return found


def test_it_answers_takes_notes_and_starts_again_like_a_shop_with_few(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = opened(tmp_path / "few")
    plain = next(few)
    monkeypatch.setattr("graph.lookups.compact.LARGE_BYTES", 0)
    many = opened(tmp_path / "many")
    kept = next(many)

    assert isinstance(kept.app_state["shop"].index.below, CompactIndex)
    assert answers(kept) == answers(plain)
    said = noted(kept)
    assert said == noted(plain)
    assert [status for status, _ in said] == [201, 201, 422]
    after = answers(plain)
    assert answers(kept) == after
    assert kept.get("/parts/bell-2").json()["part"]["cash"] == plain.get("/parts/bell-2").json()["part"]["cash"] == 5

    next(many, None)
    next(few, None)
    again = opened(tmp_path / "many")
    assert answers(next(again)) == after
    next(again, None)
