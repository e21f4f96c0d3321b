"""Statements made from things are read back as the same things, and pass the shapes."""

from __future__ import annotations

from typing import Any

import pytest

from graph.catalogue.build import build_catalogue
from graph.catalogue.house import FACTS_FOLDER, fact_shapes, read_vocabulary
from graph.catalogue.load import load_catalogue, read_facts
from graph.catalogue.model import Catalogue
from graph.catalogue.names import SHOP, local_id
from graph.catalogue.restate import restate
from graph.catalogue.shapes import list_violations
from graph.catalogue.statements import Statements

TABLES = ("parts", "edges", "notes", "faults", "inspections", "measurements", "bolt_faces")
DEMO = FACTS_FOLDER / "demo"


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load_catalogue([DEMO])


@pytest.fixture(scope="module")
def iris() -> dict[str, str]:
    facts, _, _ = read_facts([DEMO])
    return {local_id(subject): subject for subject in facts.declared}


@pytest.fixture(scope="module")
def said(demo: Catalogue, iris: dict[str, str]) -> Statements:
    facts, _, _ = read_facts([DEMO / "shop.ttl"])
    facts.subclasses = read_vocabulary()[1]
    for table in TABLES:
        for thing in getattr(demo, table).values():
            said = restate(
                thing, lambda id_: iris.get(id_, SHOP + id_), evidence_of_note=lambda note: _evidence(demo, note)
            )
            facts.add(said, "said again")
    return facts


def _evidence(demo: Catalogue, note: str) -> str:
    return demo.notes[note].evidence if note else ""


@pytest.mark.parametrize("table", TABLES)
def test_the_demo_said_again_is_the_demo(table: str, demo: Catalogue, said: Statements) -> None:
    again: dict[str, Any] = getattr(build_catalogue(said), table)

    assert again == getattr(demo, table)
    assert again


def test_what_is_said_again_passes_the_shapes(said: Statements) -> None:
    assert list(list_violations(said, fact_shapes())) == []
