"""Fits against does not fit, and two measurements apart: both shown, best evidence first, settled by a note."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.catalogue.load import load_catalogue
from graph.ledger.book import Ledger
from graph.ledger.disputes import list_disputes, list_hidden, list_settled, set_aside_edges
from graph.ledger.record import Draft, draft_of
from graph.ledger.view import View, open_view

LAY, SHOP = "https://layshaft.example/vocabulary#", "https://shop.example/"
RANKS = {"measured-on-these-parts": 1, "word-of-the-trade": 7}
KINDS = load_catalogue([])


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


@pytest.mark.parametrize("notes", [1, 2])
def test_one_note_that_says_not_as_they_are_but_after_machining_disputes_nothing(view: View, notes: int) -> None:
    as_it_is, after = edge("e1", "DoesNotFit", "bearing", "shaft"), edge("e2", "RequiresMachining", "bearing", "shaft")
    said = [as_it_is + after] if notes == 1 else [as_it_is, after]
    written = [view.ledger.append(Draft(text="2 mm too long; ground off", statements=one)) for one in said]

    found = list_disputes(view, RANKS)

    assert len(found) == notes - 1
    assert list_disputes(view, RANKS, among={written[0].iri}) == found


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


def test_a_note_that_is_overruled_no_longer_sets_others_aside(view: View) -> None:
    said = view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    view.ledger.append(Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "shaft")))
    hasty = view.ledger.append(Draft(text="Loose.", settles=(said.iri,)))
    assert list_hidden(view, RANKS, KINDS) == {f"{SHOP}e1"}

    view.ledger.append(Draft(text="That was another shaft.", settles=(hasty.iri,)))

    view.catch_up()
    assert list_hidden(view, RANKS, KINDS) == frozenset()
    assert not list_disputes(view, RANKS)[0].settled


def test_of_two_notes_that_overrule_each_other_the_newer_counts(view: View) -> None:
    said = view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    other = view.ledger.append(
        Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "shaft"), settles=(said.iri,))
    )
    first = view.ledger.get_note(said.note_id)

    view.ledger.revise(said.note_id, 1, replace(draft_of(first), settles=(other.iri,)))

    view.catch_up()
    assert list_settled(view) == {other.iri: said.iri}
    assert list_hidden(view, RANKS, KINDS) == {f"{SHOP}e2"}


def test_what_hangs_on_an_overruled_edge_goes_with_it(view: View) -> None:
    said = view.ledger.append(Draft(text="fits", statements=edge("e1", "Fits", "disc", "shaft")))
    view.ledger.append(Draft(text="does not", statements=edge("e2", "DoesNotFit", "disc", "shaft")))
    view.ledger.append(Draft(text="and shifts", statements=edge("s1", "Shifts", "e1", "pilot-overlap")))

    view.ledger.append(Draft(text="Loose.", settles=(said.iri,)))

    view.catch_up()
    assert list_hidden(view, RANKS, KINDS) == {f"{SHOP}e1", f"{SHOP}s1"}


def measured(name: str, reading: str, uncertainty: str) -> str:
    values = {"quantity": "<https://layshaft.example/kinds/spline-major>", "measuredOn": f"<{SHOP}shaft>",
              "reading": f'"{reading}"', "uncertainty": f'"{uncertainty}"', "datum": '"axis"'}  # fmt: skip
    kind = f"<{SHOP}{name}> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <{LAY}Measurement> .\n"
    return kind + "".join(f"<{SHOP}{name}> <{LAY}{key}> {value} .\n" for key, value in values.items())


@pytest.mark.parametrize(("second", "disputed"), [("28.60 mm", False), ("28.62 mm", False), ("28.63 mm", True)])
def test_readings_are_in_dispute_beyond_their_joint_uncertainty(view: View, second: str, disputed: bool) -> None:
    """GUM (JCGM 100:2008) 5.1.2: uncertainties 0.03 and 0.04 mm join to 0.05 mm; 28.57 and 28.62 just agree."""
    for name, reading, uncertainty in (("m1", "28.57 mm", "0.03 mm"), ("m2", second, "0.04 mm")):
        view.ledger.append(Draft(text="measured", statements=measured(name, reading, uncertainty)))

    found = list_disputes(view, RANKS, KINDS)

    assert bool(found) is disputed
    if disputed:
        assert found[0].kind == "measurement"
        assert {claim.says for claim in found[0].claims} == {"28.57 mm +/- 0.03 mm", "28.63 mm +/- 0.04 mm"}


def test_a_third_reading_that_overrules_one_settles_the_measurements(view: View) -> None:
    first = view.ledger.append(Draft(text="worn place", statements=measured("m1", "28.57 mm", "0.03 mm")))
    view.ledger.append(Draft(text="good place", statements=measured("m2", "28.63 mm", "0.04 mm")))
    assert not list_disputes(view, RANKS, KINDS)[0].settled

    view.ledger.append(Draft(text="again", statements=measured("m3", "28.64 mm", "0.03 mm"), settles=(first.iri,)))

    (dispute,) = list_disputes(view, RANKS, KINDS)
    assert dispute.settled
    assert len(dispute.claims) == 3
    assert list_hidden(view, RANKS, KINDS) == {f"{SHOP}m1"}


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(("Fits", "RequiresMachining", "DoesNotFit")), st.sampled_from("abc"),
                          st.sampled_from("xyz"), st.booleans()), min_size=2, max_size=9))  # fmt: skip
def test_the_disputes_of_some_notes_are_those_of_all_that_they_take_part_in(
    view: View, edges: list[tuple[str, str, str, bool]]
) -> None:
    before = {note.iri for note in view.ledger.list_notes(limit=1_000)}
    for kind, source, target, turned in edges:
        ends = (target, source) if turned else (source, target)
        name = f"e{view.ledger.head().position}"
        view.ledger.append(Draft(text="tried", statements=edge(name, kind, *ends), evidence="word-of-the-trade"))
    some = {note.iri for note in view.ledger.list_notes(limit=1_000)} - before

    found = list_disputes(view, RANKS, among=some)

    every = {dispute.about: dispute for dispute in list_disputes(view, RANKS)}
    assert {one.about for one in found} == {
        about for about, dispute in every.items() if some & {claim.note for claim in dispute.claims}
    }
    for one in found:
        told = {claim.note for claim in one.claims}
        contrary = {claim.says for claim in one.claims if claim.note in some}
        known = every[one.about].claims
        assert told & some == {claim.note for claim in known} & some
        assert {claim.note for claim in known if {claim.says} - contrary} <= told
