"""Fits against does not fit, and two measurements apart: both shown, best evidence first, settled by a note."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.ledger.book import Ledger
from graph.ledger.disputes import list_disputes, set_aside_edges
from graph.ledger.record import Draft
from graph.ledger.view import View, open_view

LAY, SHOP = "https://layshaft.example/vocabulary#", "https://shop.example/"
RANKS = {"measured-on-these-parts": 1, "word-of-the-trade": 7}


@pytest.fixture
def view(ledger: Ledger, tmp_path: Path) -> Iterator[View]:
    opened = open_view(ledger, tmp_path / "views")
    yield opened
    opened.close()


def edge(name: str, kind: str, source: str, target: str) -> str:
    facts = {
        "http://www.w3.org/1999/02/22-rdf-syntax-ns#type": LAY + kind,
        LAY + "source": SHOP + source,
        LAY + "target": SHOP + target,
        LAY + "joint": "https://layshaft.example/kinds/spline",
    }
    return "".join(f"<{SHOP}{name}> <{predicate}> <{value}> .\n" for predicate, value in facts.items())


def length(thing: str, mm: str) -> str:
    return f'<{SHOP}{thing}> <{LAY}shiftMm> "{mm}"^^<http://www.w3.org/2001/XMLSchema#decimal> .\n'


def test_fits_against_does_not_fit_is_shown_best_evidence_first(view: View) -> None:
    said = view.ledger.append(
        Draft(text="should fit", statements=edge("e1", "Fits", "disc", "shaft"), evidence="word-of-the-trade")
    )
    tried = view.ledger.append(
        Draft(
            text="loose on it", statements=edge("e2", "DoesNotFit", "shaft", "disc"), evidence="measured-on-these-parts"
        )
    )

    (dispute,) = list_disputes(view, RANKS)

    assert [(claim.note, claim.says) for claim in dispute.claims] == [(tried.iri, "does-not-fit"), (said.iri, "fits")]
    assert not dispute.settled


def test_two_measurements_apart_are_a_dispute_and_equal_ones_are_not(view: View) -> None:
    for thing, mm in (("plate", "12.0"), ("plate", "12.4"), ("bush", "16.0"), ("bush", "16.00")):
        view.ledger.append(Draft(text="measured", statements=length(thing, mm), evidence="measured-on-these-parts"))

    (dispute,) = list_disputes(view, RANKS)

    assert (dispute.kind, dispute.about[0]) == ("length", f"{SHOP}plate")
    assert sorted(claim.says for claim in dispute.claims) == ["12 mm", "12.4 mm"]


def test_only_a_new_note_settles_and_both_sides_stay_shown(view: View) -> None:
    said = view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    view.ledger.append(Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "shaft")))

    by = view.ledger.append(Draft(text="Tried both again: loose.", settles=(said.iri,)))

    disputes = list_disputes(view, RANKS)
    assert disputes[0].settled
    assert [claim.set_aside_by for claim in disputes[0].claims] == ["", by.iri]
    assert set_aside_edges(disputes) == {f"{SHOP}e1"}


def test_taking_the_settling_note_back_opens_the_dispute_again(view: View) -> None:
    said = view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    view.ledger.append(Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "shaft")))
    by = view.ledger.append(Draft(text="settled", settles=(said.iri,)))

    view.ledger.retract(by.note_id, 1, Draft(text="measured the wrong disc"))

    assert not list_disputes(view, RANKS)[0].settled


def test_parts_that_fit_elsewhere_are_no_dispute(view: View) -> None:
    view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    view.ledger.append(Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "other-shaft")))

    assert list_disputes(view, RANKS) == []
