"""The declaration of changes: what an inspector reads, from the record of the job, without a claim of approval."""

from __future__ import annotations

import csv
from html import unescape

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.costing.jobs.job import AsBuilt, Job, JobMeasurement
from graph.papers.declaration import NO_APPROVAL, PLANNED, declaration
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.pdf import as_pdf
from graph.reading.question import Question
from tests.demo.shop import DEMO, catalogue, index
from tests.papers.reading import squeezed, text_by_pypdf

DETAILS = Details(number="J-1", dated="2026-05-17", vehicle="Pick-up, grey", shop="Bench (invented)")


def asked() -> tuple[Answer, AnsweredRoute]:
    from graph.counter import Shop

    answer = Shop(index()).ask(Question(gearbox="tansy-5", engine="pipit-16"))
    return answer, answer.routes[0]


def test_a_plan_says_that_it_is_one_and_names_machining_and_what_else_is_touched() -> None:
    answer, route = asked()

    page = unescape(as_html(declaration(answer, route, DETAILS)))

    assert PLANNED in page and NO_APPROVAL in page
    assert "Cannot be undone: " in page and "machined" in page
    assert "Flywheel or clutch is another one than the engine had" in page
    assert "propeller shaft" not in page
    assert "approved" not in page.replace(NO_APPROVAL, "")


def test_what_was_built_and_measured_takes_the_plans_place() -> None:
    answer, route = asked()
    built = (AsBuilt("at-clutch-disc", "disc-tansy-225", "new", ""),)
    job = Job("J-1", "x", "tansy-5", "pipit-16", (), as_built=built,
              measurements=(JobMeasurement("bore run-out", "0.08 mm", "bell", "dial gauge", "bench 1"),))  # fmt: skip

    text = squeezed(text_by_pypdf(as_pdf(declaration(answer, route, DETAILS, job, catalogue()))))

    assert squeezed("Disc 225 with the Tansy hub") in text and squeezed("0.08 mm") in text
    assert squeezed(PLANNED) not in text


def test_every_point_names_tasks_and_places_that_exist() -> None:
    known = catalogue()
    with (DEMO.parent / "kinds" / "declaration_points.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            assert set(row["tasks"].split()) <= set(known.tasks), row
            assert set(row["positions"].split()) <= set(known.position_kinds), row
            assert row["says"] and row["source"]
