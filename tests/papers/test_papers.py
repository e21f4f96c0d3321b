"""The papers of the kit car, read back: every step and caution is there, and the sums are the answer's."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.answer.model.answer import Answer, UnitLine
from graph.answer.model.lines import Named
from graph.answer.model.route import AnsweredRoute
from graph.costing.found import found_options
from graph.costing.jobs.entries import as_built_entry, finding_entry, hours_entry, measurement_entry, remark_entry
from graph.costing.jobs.job import AsBuilt, JobMeasurement, get_job
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import MemoryNotes, Provenance
from graph.costing.spread import spread_of_route
from graph.errors import InvalidInput
from graph.papers.build_record import build_record
from graph.papers.common import cautions_of, safety_lines
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.html import as_html, content_policy
from graph.papers.job_sheet import job_sheet
from graph.papers.lengths import length
from graph.papers.lines import priced_lines, rounded_to_sum
from graph.papers.model import Paper, PaperWay
from graph.papers.pdf import as_pdf
from graph.plain_text import printable
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
def test_every_paper_says_what_its_reader_needs_in_html_and_pdf(kind: str) -> None:
    """The bench gets every step and every caution, the record every step, the customer every part and its price."""
    paper = make(kind)
    said = [step.text for step in ROUTE.steps] if kind != "estimate" else [part.label for part in ROUTE.parts]
    if kind == "job sheet":
        said += [*cautions_of(ANSWER, ROUTE), *safety_lines("clutch-and-propshaft")]

    pdf = as_pdf(paper)
    texts = [Outline(as_html(paper)).text, text_by_pypdf(pdf), text_by_pdfium(pdf)]

    for text in map(squeezed, texts):
        missing = [each for each in said if squeezed(printable(each)) not in text and squeezed(each) not in text]
        assert missing == []


def test_the_lines_of_the_estimate_add_up_to_the_answers_total() -> None:
    rows = [row for row in Outline(as_html(make("estimate"))).rows if len(row) == 2 and row[1].endswith(" EUR")]
    *lines, total = rows

    assert total == ["Total", "581.00 EUR"]
    assert sum(Decimal(row[1].removesuffix(" EUR")) for row in lines) == Decimal(581)
    assert ["Labour, 5.6 h at 60.00 EUR an hour", "336.00 EUR"] in lines  # 5.6 x 60


def test_the_customer_reads_no_bench_caution_no_row_of_nothing_and_no_amount_without_its_currency() -> None:
    text = Outline(as_html(make("estimate"))).text

    assert "CAUTION" not in text and "Press work" not in text and not re.search(r"(?<!\d)0\.00 EUR", text)
    assert re.findall(r"\d+\.\d\d(?! EUR| mm| h|\d)", text) == []


@pytest.mark.parametrize(("percent", "tax", "total"), [("19", "110.39", "691.39"), ("7.5", "43.58", "624.58")])
def test_the_tax_that_the_shop_states_is_added_to_the_hundredth(percent: str, tax: str, total: str) -> None:
    """581.00 x 0.19 = 110.39; 581.00 x 0.075 = 43.575, half up. Arithmetic."""
    made = as_html(estimate(ANSWER, ROUTE, replace(DETAILS, tax_percent=Fraction(percent))))

    text = Outline(made).text
    assert f"Tax, {percent} %" in text and f"{tax} EUR" in text and f"{total} EUR" in text


def test_the_estimate_says_whether_the_gearbox_is_in_the_price() -> None:
    unit = UnitLine(
        what="gearbox", part=Named("box", "The box"), state="in hand", price_hundredths=None, lead_days=Fraction(0),
        in_stock=False, exchanged_hundredths=0, words="",
    )  # fmt: skip

    said = Outline(as_html(estimate(replace(ANSWER, asked_units=(unit,)), ROUTE, DETAILS))).text

    assert "The gearbox itself, The box, is taken as yours and is not in the price" in said


@pytest.mark.parametrize("kind", KINDS)
def test_no_head_stands_without_anything_behind_it(kind: str) -> None:
    details = Details(number="-", dated="2026-06-30")
    makers: dict[str, Callable[[Answer, AnsweredRoute, Details], Paper]] = {
        "job sheet": job_sheet, "build record": build_record, "estimate": estimate
    }  # fmt: skip
    made = makers[kind](ANSWER, ROUTE, details)

    texts = (Outline(as_html(made)).text, text_by_pdfium(as_pdf(made)))

    for text in texts:
        assert "No -" not in text and "- -" not in text and "None" not in text
        assert "Customer" not in text and "Workshop" not in text and "2026-06-30" in text


def test_the_work_begins_on_the_first_page_of_the_job_sheet() -> None:
    first = pypdfium2.PdfDocument(as_pdf(make("job sheet")))[0].get_textpage().get_text_range()

    assert "Order of work" in first and ROUTE.steps[0].text in first


def test_a_line_for_split_tractors_stands_on_their_job_sheets_and_no_other() -> None:
    assert any("split tractor" in line for line in safety_lines("tractor-split"))
    assert not any("tractor" in line or "boat" in line for line in safety_lines("clutch-and-propshaft"))


def test_a_page_of_a_paper_has_ways_on_and_the_print_has_none() -> None:
    html = as_html(make("estimate"), [PaperWay("Back to the route", "/route?gearbox=a&engine=b")])

    assert ("href", "/route?gearbox=a&engine=b") in Outline(html).attributes


def test_the_pdf_says_low_expected_high_and_the_chance_of_exceeding_the_limit() -> None:
    text = squeezed(text_by_pypdf(as_pdf(make("estimate"))))

    for said in ("581.00 EUR", "844.20 EUR", "1333.00 EUR", "900.00 EUR", "Chance of exceeding it 35 %"):
        assert squeezed(said) in text


def test_what_may_be_found_on_strip_is_priced_now_and_later() -> None:
    (option,) = found_options(conversion(), PICKS, ROUTE.tasks)

    # now: ring 72 and the strip 410; later: the same and the gearbox out and in again, 270
    assert (option.now, option.later, option.opened) == (482, 752, False)
    printed = squeezed(text_by_pypdf(as_pdf(make("estimate"))))
    assert squeezed("Second-gear ring worn 35 % 482.00 EUR 752.00 EUR") in printed


def test_a_route_whose_steps_do_not_add_up_makes_no_estimate() -> None:
    with pytest.raises(InvalidInput, match="the lines add up to 58100 hundredths, the route to 58200"):
        estimate(ANSWER, replace(ROUTE, total=Fraction(582)), DETAILS)


@given(st.lists(st.fractions(min_value=0, max_value=1000, max_denominator=10_000), max_size=20))
def test_rounded_lines_sum_to_the_rounded_whole_and_none_is_off_by_a_hundredth(amounts: list[Fraction]) -> None:
    rounded = rounded_to_sum(amounts)

    assert abs(sum(rounded) - sum(amounts, Fraction(0)) * 100) <= Fraction(1, 2)
    assert all(abs(whole - exact * 100) <= 1 for whole, exact in zip(rounded, amounts, strict=True))


def test_priced_lines_carry_the_routes_cash_and_labour() -> None:
    lines = priced_lines(ROUTE, 6000)

    assert sum(line.cash_hundredths for line in lines) == ROUTE.cash_hundredths
    assert sum(line.labour_hundredths for line in lines) == 560 * 60


@pytest.mark.parametrize("kind", KINDS)
def test_the_pdf_opens_every_page_shows_ink_and_nothing_runs_off_the_paper(kind: str) -> None:
    pages = pixels(as_pdf(make(kind)))

    for page in pages:
        dark = page.point(lambda grey: 255 if grey < 200 else 0).getbbox()
        assert dark is not None
        margin = page.width * 8 // 210
        assert dark[0] >= margin and dark[2] <= page.width - margin and dark[3] <= page.height - margin // 2


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_paper_gives_the_same_bytes(kind: str) -> None:
    assert as_pdf(make(kind)) == as_pdf(make(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_the_html_holds_no_script_and_asks_for_nothing_from_elsewhere(kind: str) -> None:
    outline = Outline(as_html(make(kind)))

    assert "script" not in outline.tags
    assert not {name for name, _ in outline.attributes} & {"src", "href", "style"}
    assert not any(name.startswith("on") for name, _ in outline.attributes)
    assert "'sha256-" in content_policy() and "unsafe" not in content_policy()


def test_words_of_the_customer_are_escaped_and_never_executed() -> None:
    evil = "<script>alert(1)</script> & co"

    html = as_html(estimate(ANSWER, ROUTE, replace(DETAILS, customer=evil)))

    assert "<script>" not in html
    assert evil in Outline(html).text


def test_letters_that_the_fonts_lack_are_written_with_the_nearest() -> None:
    details = replace(DETAILS, customer="Łódź Żółw, 漢字, 50 €")

    text = text_by_pdfium(as_pdf(estimate(ANSWER, ROUTE, details)))

    assert "Lódz Zólw, ??, 50 €" in text


@given(st.text(max_size=200))
@settings(max_examples=40, deadline=None)
def test_no_text_at_all_keeps_a_pdf_from_being_printed(text: str) -> None:
    assert as_pdf(estimate(ANSWER, ROUTE, replace(DETAILS, wish=text))).startswith(b"%PDF-")


def test_the_build_records_qr_code_holds_its_modules_as_drawn() -> None:
    # Drawn modules read back from pixels equal those of the code (segno itself is checked against ISO/IEC 18004).
    from graph.papers import qr
    from graph.papers.drawn import MODULE

    scale = 4.0
    page = pixels(as_pdf(make("build record")), scale)[0]
    per_mm = scale * 72 / 25.4
    wanted = qr.matrix(PAGE)
    size = len(wanted)

    def grey(x: int, y: int) -> int:
        found = page.getpixel((x, y))
        assert isinstance(found, int)  # one channel
        return found

    def read(left: int, top: int) -> list[list[bool]]:
        step = MODULE * per_mm
        return [
            [grey(int(left + (x + 0.5) * step), int(top + (y + 0.5) * step)) < 128 for x in range(size)]
            for y in range(size)
        ]

    target = [list(row) for row in wanted]
    left = int(14 * per_mm)
    assert any(read(left, top) == target for top in range(page.height // 2))
    assert PAGE in squeezed(text_by_pypdf(as_pdf(make("build record"))))


def test_the_build_record_of_a_job_says_what_is_really_inside() -> None:
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


def test_the_job_sheet_stops_before_what_cannot_be_undone() -> None:
    text = Outline(as_html(make("job sheet"))).text

    assert "Stop before step 4 (turned bush): it cannot be undone. Do not cut before sign-off." in text
    assert "Make sure before money is spent: Measure the crank bore before the bush is turned" in text
    assert "Sketch for work sent out: nose in the bush" in text and "To be done" in text


@pytest.mark.parametrize(
    ("units", "wanted"), [("metric", "12.0 mm"), ("inch", "0.472 in"), ("both", "12.0 mm (0.472 in)")]
)
def test_lengths_are_printed_in_the_units_that_were_asked_for(units: str, wanted: str) -> None:
    text = text_by_pdfium(as_pdf(job_sheet(ANSWER, ROUTE, replace(DETAILS, units=units))))

    assert squeezed(wanted) in squeezed(text)
    assert ("mm" in length(12000, units)) == (units != "inch")


def test_lengths_beside_each_other_are_printed_in_one_unit() -> None:
    # 1 in = 25.4 mm exactly (international yard and pound agreement of 1959), so 0.127 mm is 0.005 in
    assert length(127, "inch") == "0.005 in" and length(25400, "inch") == "1.000 in"


def test_condition_that_nobody_stated_is_shouted_on_the_estimate() -> None:
    parts = (replace(ROUTE.parts[0], condition="unknown"), *ROUTE.parts[1:])

    assert "NOT STATED" in Outline(as_html(estimate(ANSWER, replace(ROUTE, parts=parts), DETAILS))).text


@pytest.mark.parametrize(
    ("change", "message"),
    [({"number": " "}, "number"), ({"units": "cubits"}, "metric"), ({"dated": "31.3.2026"}, "2026-03-31"),
     ({"limit_hundredths": -1}, "0 or more"),
     ({"address": "javascript:alert(1)"}, "http"), ({"wish": "x" * 5000}, "at most 4,000")],
)  # fmt: skip
def test_details_that_cannot_be_printed_are_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(InvalidInput, match=message):
        replace(DETAILS, **change)
