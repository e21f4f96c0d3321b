"""Papers of a job print the plan kept in it, whatever the facts say later, and tell what has changed (demo)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS, DEMO_QUESTION
from graph.costing.asking import CostedAnswer
from graph.costing.jobs import plan as plans
from graph.costing.jobs.plan import find_plan, plan_and_open, plan_of
from graph.costing.notes import PLAN, CostNote, MemoryNotes, Provenance, standing
from graph.costing.shop import rate_note, take_back
from graph.costing.store import SqlNotes
from graph.costing.thaw import freeze, thaw
from graph.counter.shop import Shop
from graph.errors import Conflict
from graph.lookups.index import CatalogueIndex
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.making import make_paper
from graph.papers.model import KINDS, Paper, Points

BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")
DETAILS = Details(number="J-1", dated="2026-06-30")
TODAY = date(2026, 6, 30)


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO_FACTS]))


@pytest.fixture
def notes() -> MemoryNotes:
    return MemoryNotes()


def ask(index: CatalogueIndex, notes: MemoryNotes) -> CostedAnswer:
    return Shop(index, notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION)


def changes(paper: Paper) -> tuple[str, ...]:
    """The lines of the section on what has changed; none without such a section."""
    found = [section for section in paper.sections if section.heading == "Changed since it was planned"]
    blocks = found[0].blocks if found else ()
    return tuple(item for block in blocks if isinstance(block, Points) for item in block.items)


@pytest.mark.parametrize("kind", KINDS)
def test_with_the_facts_unchanged_a_jobs_paper_is_the_routes_paper(
    index: CatalogueIndex, notes: MemoryNotes, kind: str
) -> None:
    found = ask(index, notes)
    plan_and_open(notes, found, 1, "pick-up", BENCH, "J-1")

    assert (
        make_paper(kind, ask(index, notes), 1, DETAILS, notes, "J-1").sections[1:]
        == (make_paper(kind, found, 1, DETAILS, notes).sections[1:])
    )


def test_a_plan_goes_into_the_database_and_comes_back_exactly(index: CatalogueIndex, tmp_path: Path) -> None:
    kept = SqlNotes.on_file(tmp_path / "costs.db")
    found = Shop(index, kept, today=lambda: TODAY).ask_costed(DEMO_QUESTION)

    job = plan_and_open(kept, found, 2, "pick-up", BENCH, "J-1")

    back, fresh = find_plan(kept, job), plan_of(found, found.answer.routes[1])
    assert back is not None
    assert (back.route, back.options, back.spread) == (fresh.route, fresh.options, fresh.spread)
    assert back.answer == fresh.answer
    kept.close()


def test_a_new_bench_rate_is_told_beside_the_planned_figures(index: CatalogueIndex, notes: MemoryNotes) -> None:
    found = ask(index, notes)
    plan_and_open(notes, found, 1, "pick-up", BENCH, "J-1")
    notes.append([rate_note("bench", {"per_hour": "61", "currency": "EUR"}, BENCH)])

    paper = make_paper("estimate", ask(index, notes), 1, DETAILS, notes, "J-1")

    route = found.answer.routes[0]
    today = route.total + Fraction(route.hours_hundredths, 100)
    assert changes(paper)[:2] == (
        "Printed as planned on 2026-06-30; since then:",
        "Bench rate 60.00 EUR then, 61.00 EUR now",
    )
    assert f"Total {float(route.total):.2f} EUR then, {float(today):.2f} EUR now" in changes(paper)
    assert f"{float(route.total):.2f}" in as_html(paper)


def test_a_route_that_is_gone_still_prints_and_says_so(index: CatalogueIndex, notes: MemoryNotes) -> None:
    plan_and_open(notes, ask(index, notes), 1, "pick-up", BENCH, "J-1")
    other = Shop(index, notes, today=lambda: TODAY).ask_costed(
        replace(DEMO_QUESTION, objective="hours", alternatives=0)
    )
    gone = replace(other, answer=replace(other.answer, routes=()))

    said = changes(make_paper("job-sheet", gone, 1, DETAILS, notes, "J-1"))

    assert len(said) == 1 and "no longer among the answer's. Printed as planned" in said[0]


def test_a_question_that_can_no_longer_be_asked_still_prints(index: CatalogueIndex, notes: MemoryNotes) -> None:
    plan_and_open(notes, ask(index, notes), 1, "pick-up", BENCH, "J-1")

    paper = make_paper("build-record", None, 1, DETAILS, notes, "J-1")

    assert "can no longer be asked" in changes(paper)[0]


def test_a_job_without_a_kept_plan_needs_its_route(index: CatalogueIndex, notes: MemoryNotes) -> None:
    job = plan_and_open(notes, ask(index, notes), 1, "pick-up", BENCH, "J-1")
    bare = MemoryNotes(note for note in notes.list_notes() if note.kind != PLAN)

    assert find_plan(bare, job) is None
    with pytest.raises(Conflict, match="no longer know what was asked about"):
        make_paper("estimate", None, 1, DETAILS, bare, "J-1")


def test_a_long_spread_is_worked_out_again_from_its_faults(
    index: CatalogueIndex, notes: MemoryNotes, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = ask(index, notes)
    monkeypatch.setattr(plans, "MOST_KEPT_AMOUNTS", 1)

    job = plan_and_open(notes, found, 1, "pick-up", BENCH, "J-1")

    back = find_plan(notes, job)
    assert back is not None and back.spread == plan_of(found, found.answer.routes[0]).spread
    assert "spread" not in standing(notes, kind=PLAN)[0].body


def test_taking_a_job_back_takes_its_plan_along(index: CatalogueIndex, notes: MemoryNotes) -> None:
    plan_and_open(notes, ask(index, notes), 1, "pick-up", BENCH, "J-1")

    take_back(notes, standing(notes, kind=PLAN)[0].batch, BENCH)

    assert standing(notes, kind=PLAN) == [] and standing(notes, kind="job") == []


def test_what_another_version_kept_is_refused_in_words() -> None:
    with pytest.raises(Conflict, match="another version"):
        thaw(CostNote, {"kind": "price"})


def test_fields_that_a_later_version_dropped_are_passed_over() -> None:
    kept = freeze(CostNote(id="n-1", kind="price", about="disc"))

    assert thaw(CostNote, {**kept, "long gone": 1}).about == "disc"
