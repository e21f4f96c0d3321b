"""The papers of the kit car, read back: every step and caution is there, and the sums are the answer's."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.answer.model import Answer, AnsweredRoute
from graph.costing.found import found_options
from graph.costing.jobs import (
    AsBuilt,
    JobMeasurement,
    as_built_entry,
    finding_entry,
    get_job,
    hours_entry,
    measurement_entry,
    open_job,
    plan_job,
    remark_entry,
)
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.spread import spread_of_route
from graph.errors import InvalidInput
from graph.papers.build_record import build_record
from graph.papers.common import cautions_of, safety_lines
from graph.papers.details import Details
from graph.papers.drawn import printable
from graph.papers.estimate import estimate
from graph.papers.html import as_html, content_policy
from graph.papers.job_sheet import job_sheet
from graph.papers.lengths import length
from graph.papers.lines import priced_lines, rounded_to_sum
from graph.papers.model import Paper
from graph.papers.pdf import as_pdf
from tests.costing.kit_car import PICKS, answer, conversion
from tests.papers.reading import Outline, pixels, squeezed, text_by_pdfium, text_by_pypdf

PAGE = "https://shop.example/records/J-1"
DETAILS = Details(number="J-1", dated="2026-06-30", shop="The shop", limit_hundredths=90000, address=PAGE)
BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")
ANSWER: Answer = answer()
ROUTE: AnsweredRoute = ANSWER.routes[0]


def make(kind: str) -> Paper:
    if kind == "job sheet":
        return job_sheet(ANSWER, ROUTE, DETAILS)
    if kind == "build record":
        return build_record(ANSWER, ROUTE, DETAILS)
    document = conversion()
    options = found_options(document, PICKS, ROUTE.tasks)
    return estimate(ANSWER, ROUTE, DETAILS, options, spread_of_route(document, PICKS, ROUTE.tasks, ROUTE.total))


KINDS = ("estimate", "job sheet", "build record")


@pytest.mark.parametrize("kind", KINDS)
def test_every_step_and_every_caution_stands_in_html_and_pdf(kind):
    paper = make(kind)
    said = [step.text for step in ROUTE.steps] + list(cautions_of(ANSWER, ROUTE))
    if kind == "job sheet":
        said += safety_lines()

    pdf = as_pdf(paper)
    texts = [Outline(as_html(paper)).text, text_by_pypdf(pdf), text_by_pdfium(pdf)]

    for text in map(squeezed, texts):
        missing = [each for each in said if squeezed(printable(each)) not in text and squeezed(each) not in text]
        assert missing == []


def test_the_lines_of_the_estimate_add_up_to_the_answers_total():
    rows = Outline(as_html(make("estimate"))).rows
    steps = [row for row in rows if len(row) == 8 and row[0].isdigit()]
    (total,) = [row for row in rows if len(row) == 8 and row[2] == "Total"]

    assert len(steps) == len(ROUTE.steps)
    assert sum(Decimal(row[7]) for row in steps) == Decimal(581) == Decimal(total[7].removesuffix(" EUR"))
    assert sum(Decimal(row[3].removesuffix(" h") or 0) for row in steps) == Decimal("5.6")
    for row in steps:
        assert Decimal(row[5] or 0) + Decimal(row[6] or 0) == Decimal(row[7])


def test_the_pdf_says_low_expected_high_and_the_chance_of_exceeding_the_limit():
    text = squeezed(text_by_pypdf(as_pdf(make("estimate"))))

    for said in ("581.00 EUR", "844.20 EUR", "1333.00 EUR", "900.00 EUR", "Chance of exceeding it 35 %"):
        assert squeezed(said) in text


def test_what_may_be_found_on_strip_is_priced_now_and_later():
    (option,) = found_options(conversion(), PICKS, ROUTE.tasks)

    # now: ring 72 and the strip 410; later: the same and the gearbox out and in again, 270
    assert (option.now, option.later, option.opened) == (482, 752, False)
    assert squeezed("Second-gear ring worn 35 % no 482.00 752.00") in squeezed(text_by_pypdf(as_pdf(make("estimate"))))


def test_a_route_whose_steps_do_not_add_up_makes_no_estimate():
    with pytest.raises(InvalidInput, match="the lines add up to 58100 hundredths, the route to 58200"):
        estimate(ANSWER, replace(ROUTE, total=Fraction(582)), DETAILS)


@given(st.lists(st.fractions(min_value=0, max_value=1000, max_denominator=10_000), max_size=20))
def test_rounded_lines_sum_to_the_rounded_whole_and_none_is_off_by_a_hundredth(amounts):
    rounded = rounded_to_sum(amounts)

    assert abs(sum(rounded) - sum(amounts, Fraction(0)) * 100) <= Fraction(1, 2)
    assert all(abs(whole - exact * 100) <= 1 for whole, exact in zip(rounded, amounts, strict=True))


def test_priced_lines_carry_the_routes_cash_and_labour():
    lines = priced_lines(ROUTE, 6000)

    assert sum(line.cash_hundredths for line in lines) == ROUTE.cash_hundredths
    assert sum(line.labour_hundredths for line in lines) == 560 * 60


@pytest.mark.parametrize("kind", KINDS)
def test_the_pdf_opens_every_page_shows_ink_and_nothing_runs_off_the_paper(kind):
    pages = pixels(as_pdf(make(kind)))

    for page in pages:
        dark = page.point(lambda grey: 255 if grey < 200 else 0).getbbox()
        assert dark is not None
        margin = page.width * 8 // 210
        assert dark[0] >= margin and dark[2] <= page.width - margin and dark[3] <= page.height - margin // 2


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_paper_gives_the_same_bytes(kind):
    assert as_pdf(make(kind)) == as_pdf(make(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_the_html_holds_no_script_and_asks_for_nothing_from_elsewhere(kind):
    outline = Outline(as_html(make(kind)))

    assert "script" not in outline.tags
    assert not {name for name, _ in outline.attributes} & {"src", "href", "style"}
    assert not any(name.startswith("on") for name, _ in outline.attributes)
    assert "'sha256-" in content_policy() and "unsafe" not in content_policy()


def test_words_of_the_customer_are_escaped_and_never_executed():
    evil = "<script>alert(1)</script> & co"

    html = as_html(estimate(ANSWER, ROUTE, replace(DETAILS, customer=evil)))

    assert "<script>" not in html
    assert evil in Outline(html).text


def test_letters_that_the_fonts_lack_are_written_with_the_nearest():
    details = replace(DETAILS, customer="Łódź Żółw, 漢字, 50 €")

    text = text_by_pdfium(as_pdf(estimate(ANSWER, ROUTE, details)))

    assert "Lódz Zólw, ??, 50 €" in text


@given(st.text(max_size=200))
@settings(max_examples=40, deadline=None)
def test_no_text_at_all_keeps_a_pdf_from_being_printed(text):
    assert as_pdf(estimate(ANSWER, ROUTE, replace(DETAILS, wish=text))).startswith(b"%PDF-")


def test_the_build_records_qr_code_holds_its_modules_as_drawn():
    # Drawn modules read back from pixels equal those of the code (segno itself is checked against ISO/IEC 18004).
    from graph.papers import qr
    from graph.papers.drawn import MODULE

    scale = 4.0
    page = pixels(as_pdf(make("build record")), scale)[0]
    per_mm = scale * 72 / 25.4
    wanted = qr.matrix(PAGE)
    size = len(wanted)

    def read(left: int, top: int) -> list[list[bool]]:
        step = MODULE * per_mm
        return [
            [page.getpixel((int(left + (x + 0.5) * step), int(top + (y + 0.5) * step))) < 128 for x in range(size)]
            for y in range(size)
        ]

    target = [list(row) for row in wanted]
    left = int(14 * per_mm)
    assert any(read(left, top) == target for top in range(page.height // 2))
    assert PAGE in squeezed(text_by_pypdf(as_pdf(make("build record"))))


def test_the_build_record_of_a_job_says_what_is_really_inside():
    notes = MemoryNotes()
    job = open_job(notes, plan_job(ANSWER, ROUTE, "kit car", BENCH, "J-1"))
    notes.append([
        as_built_entry(job, AsBuilt("input shaft", "shaft of the 21 box", "used-tested", "housing says 23"), BENCH),
        measurement_entry(
            job, JobMeasurement("Crank bore, depth", "1-3/4 in", "crank flange", "depth micrometer", "AB"), BENCH
        ),
        hours_entry(job, 1, "5.25", BENCH), finding_entry(job, "ring-worn", False, False, BENCH),
        remark_entry(job, "dowels were missing", BENCH),
    ])  # fmt: skip

    record = squeezed(text_by_pypdf(as_pdf(build_record(ANSWER, ROUTE, DETAILS, get_job(notes, "J-1")))))
    sheet = squeezed(text_by_pypdf(as_pdf(job_sheet(ANSWER, ROUTE, DETAILS, get_job(notes, "J-1")))))

    for said in ("shaft of the 21 box", "housing says 23", "1-3/4 in", "5.25 h", "not seen", "dowels were missing"):
        assert squeezed(said) in record
    assert squeezed("Crank bore, depth crank flange depth micrometer 1-3/4 in") in sheet


def test_the_job_sheet_stops_before_what_cannot_be_undone():
    text = Outline(as_html(make("job sheet"))).text

    assert "Stop before step 4 (turned bush): it cannot be undone. Do not cut before sign-off." in text
    assert "Before parts are ordered: Measure the crank bore before the bush is turned" in text
    assert "Sketch for work sent out: nose in the bush: turned bush" in text


@pytest.mark.parametrize(
    ("units", "wanted"), [("metric", "12.0 mm"), ("inch", "0.472 in"), ("both", "12.0 mm (0.472 in)")]
)
def test_lengths_are_printed_in_the_units_that_were_asked_for(units, wanted):
    text = text_by_pdfium(as_pdf(job_sheet(ANSWER, ROUTE, replace(DETAILS, units=units))))

    assert squeezed(wanted) in squeezed(text)
    assert ("mm" in length(12000, units)) == (units != "inch")


def test_small_lengths_are_printed_in_thou():
    # 1 in = 25.4 mm exactly (international yard and pound agreement of 1959), so 0.127 mm is 5 thou
    assert length(127, "inch") == "5.0 thou" and length(25400, "inch") == "1.000 in"


def test_condition_that_nobody_stated_is_shouted_on_the_estimate():
    parts = (replace(ROUTE.parts[0], condition="unknown"), *ROUTE.parts[1:])

    assert "NOT STATED" in Outline(as_html(estimate(ANSWER, replace(ROUTE, parts=parts), DETAILS))).text


@pytest.mark.parametrize(
    ("change", "message"),
    [({"number": " "}, "number"), ({"units": "cubits"}, "metric"), ({"dated": "31.3.2026"}, "2026-03-31"),
     ({"limit_hundredths": -1}, "0 or more"),
     ({"address": "javascript:alert(1)"}, "http"), ({"wish": "x" * 5000}, "at most 4,000")],
)  # fmt: skip
def test_details_that_cannot_be_printed_are_refused(change, message):
    with pytest.raises(InvalidInput, match=message):
        replace(DETAILS, **change)
