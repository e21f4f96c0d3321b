"""What jobs found of joints that nobody had stated becomes the odds of the next such doubt, as it does for faults.

The arithmetic is that of faults: Beta counts (conjugate rule of the beta-binomial model), an estimate worth four such
joints; where nobody has stated any odds, the rule of succession (Laplace).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from graph.answer.model.doubt import AssumptionLine
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.cli.question import DEMO_FACTS
from graph.costing.applied import costed_catalogue
from graph.costing.asking import joint_odds_lines, route_at
from graph.costing.jobs.closing import close_job, reopen
from graph.costing.jobs.entries import finding_entry, words_of_entry
from graph.costing.jobs.job import get_job
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import FINDING, CostNotes, MemoryNotes, Provenance, standing
from graph.counter.shop import Shop
from graph.reading import CatalogueIndex, Question

TODAY = date(2026, 6, 30)
BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")
NOT_KNOWN = Question(
    gearbox="tansy-5r", engine="whimbrel-30", alternatives=0,
    context={"torque_nm": 180, "tools": ("press", "puller", "lathe"), "duty": "road", "year": 1990},
)  # fmt: skip
NOSE, ON_NOSE = "doubt/pilot-on-nose/shaft-tansy-25", "joint/pilot-on-nose/across"
BEFORE = Fraction(6, 10)  # facts/kinds/doubts.ttl, an estimate


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO_FACTS]))


def shop_of(index: CatalogueIndex, notes: CostNotes) -> Shop:
    return Shop(index, notes, today=lambda: TODAY)


def doubt(index: CatalogueIndex, notes: CostNotes) -> AssumptionLine:
    (line,) = (one for one in shop_of(index, notes).ask(NOT_KNOWN).routes[0].assumptions if one.fault == NOSE)
    return line


def closed_job(index: CatalogueIndex, notes: CostNotes, number: str, fails: bool, fault: str = NOSE) -> None:
    found = shop_of(index, notes).ask_costed(NOT_KNOWN)
    plan = plan_job(found.answer, route_at(found.answer, 1), "pump", BENCH, number, found.book_hundredths)
    job = open_job(notes, plan)
    assert job.doubts is not None and NOSE in job.doubts and NOSE in job.faults
    notes.append([finding_entry(job, fault, True, fails, BENCH)])
    notes.append(close_job(get_job(notes, number), "done", BENCH))


def test_a_joint_that_was_assumed_and_did_not_close_raises_the_odds_of_the_next_with_the_count_as_source(
    index: CatalogueIndex,
) -> None:
    notes = MemoryNotes()
    before = doubt(index, notes)

    closed_job(index, notes, "J-1", fails=True)

    after = doubt(index, notes)
    assert (before.odds, before.odds_source) == (BEFORE, "estimate")
    assert after.odds == (BEFORE * 4 + 1) / (4 + 1)
    assert after.odds_source == (
        "this shop's jobs: 1 of 1 looked at did not close; 60% before, estimate, worth 4 such joints; a small sample"
    )
    assert "does not hold with 68 %" in after.words

    notes.append([reopen(notes, get_job(notes, "J-1"), BENCH, "it was another box")])

    assert doubt(index, notes).odds == BEFORE


def test_what_held_lowers_the_odds_and_is_told_as_holding(index: CatalogueIndex) -> None:
    notes = MemoryNotes()

    closed_job(index, notes, "J-1", fails=False)

    assert doubt(index, notes).odds == BEFORE * 4 / 5
    assert next(words_of_entry(note) for note in get_job(notes, "J-1").noted) == f"{NOSE}: holds"
    (line,) = (one for one in joint_odds_lines(shop_of(index, notes).standing().costed) if one.fault == ON_NOSE)
    assert (line.label, line.prior, line.opened, line.worn) == ("pilot bearing on nose, other families", BEFORE, 1, 0)


def test_a_finding_that_is_about_no_single_joint_teaches_nothing(index: CatalogueIndex) -> None:
    notes = MemoryNotes()

    closed_job(index, notes, "J-1", fails=True, fault="doubt/length/pilot-overlap")

    assert standing(notes, kind=FINDING) == []


def test_without_stated_odds_the_count_alone_follows_the_rule_of_succession(index: CatalogueIndex) -> None:
    """Two of three did not close: (2 + 1) / (3 + 2)."""
    notes = MemoryNotes()
    for number, fails in (("J-1", True), ("J-2", True), ("J-3", False)):
        closed_job(index, notes, number, fails)
    kinds = index.catalogue.joint_kinds
    silent = replace(kinds["pilot-on-nose"], odds_across=None, odds_within=None, odds_source="")
    facts: Catalogue = replace(index.catalogue, joint_kinds={**kinds, silent.id: silent})

    costed = costed_catalogue(facts, notes, TODAY)

    assert costed.catalogue.joint_kinds["pilot-on-nose"].odds_across == Fraction(3, 5)
