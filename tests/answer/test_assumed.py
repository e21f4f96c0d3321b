"""The words of an answer that assumes something: what, at which odds, what it costs, what settles it, where to begin.

Sums are those of tests/answer/test_status.py: box out and in 270; other disc, stated to fit, 405; the disc as found on
a shaft nobody has measured: 270, and 400 for another one with odds 0.1.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction

import pytest

from api.pages.bars import cost_bars
from graph.answer import status
from graph.answer.assumed import TELLING, shortly
from graph.answer.build import build_answer
from graph.answer.ground import Ground
from graph.answer.model.answer import Answer
from graph.answer.model.fit import UNKNOWN
from graph.answer.plain import first_to_do, sum_notes, sum_words
from graph.answer.serial import answer_as_json
from graph.answer.text import answer_as_text
from graph.catalogue.model import Catalogue
from graph.conversion.document import Conversion
from graph.costing.found import FoundOption
from graph.counter.measuring import NO_LOOK, plan_of_answer
from graph.lookups.findings import Derived
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.model import Facts, Table
from graph.reading.model import Doubt, Settling
from graph.reading.outcome import Reading
from graph.reading.question import Question
from graph.search import search_here
from tests.answer.test_status import NOT_KNOWN, ORDER, STATED, document

FORBIDDEN = re.compile(r"\bdirect\b|straight on|\bproven\b", re.IGNORECASE)
CATALOGUE = Catalogue(currency="EUR")
DOUBT = Doubt(
    fault="d", text="nobody has measured the hub of the disc as found", joint="spline", parts=("own", "s"),
    odds_source="estimate", remedy="another disc", cost_source="the kind's usual price",
    settles=(Settling("gauge", "spline-major", "own", "calliper", Fraction(6)),),
)  # fmt: skip


def reading(conversion: Conversion, *doubts: Doubt, asks: tuple[str, ...] = (), **asked: object) -> Reading:
    question = Question(gearbox="g", engine="e", **asked)  # type: ignore[arg-type]
    return Reading(
        question=question, conversion=conversion, catalogue=CATALOGUE, derived=Derived(), candidates={}, links={},
        settled={}, evidence={}, asks=asks, doubts={doubt.fault: doubt for doubt in doubts},
    )  # fmt: skip


def answered(conversion: Conversion, read: Reading | None = None) -> Answer:
    weighed = status.weigh(conversion, ORDER, search_here)
    return build_answer(Ground(conversion, CATALOGUE, read), weighed, question={})


def test_a_route_says_what_it_assumes_at_which_odds_what_that_costs_and_what_settles_it() -> None:
    conversion = document(NOT_KNOWN)

    (line,) = answered(conversion, reading(conversion, DOUBT)).routes[0].assumptions

    assert (line.odds, line.cost, line.state) == (Fraction(1, 10), 400, "seen")
    assert line.words == (
        "nobody has measured the hub of the disc as found: does not hold with 10 % (estimate); if it does not hold,"
        " another disc, 400.00 EUR (the kind's usual price)"
    )
    (settling,) = line.settles
    assert (settling.inspection, settling.tool, settling.minutes) == ("gauge", "calliper", 6)
    assert settling.words == "measure spline-major (calliper, 6 min)"
    assert line.takes_result.startswith("the bench page of disc as found and shaft")


def test_three_sums_stand_in_the_headline_each_with_its_if() -> None:
    """All holds 270; on average 310; with odds of 0.9 nothing fails, so nine in ten stay at 270."""
    found = answered(document(NOT_KNOWN))

    assert found.status == status.IF_IT_HOLDS
    assert found.headline == (
        "g to e: if what is assumed holds (1 thing), cheapest: 270.00 EUR if all holds,"
        " 310.00 EUR expected, nine in ten at most 270.00 EUR (4.5 h, 0.6 days); begin here: measure the hub"
    )
    assert (found.routes[0].if_all_holds, found.routes[0].verdict) == (270, UNKNOWN)


def test_what_is_missing_from_a_remedy_is_named_and_the_sum_is_at_least() -> None:
    conversion = document(NOT_KNOWN)
    doubt = replace(DOUBT, unpriced=("the hours of fitting it", "odds"))

    found = answered(conversion, reading(conversion, doubt))

    (line,) = found.routes[0].assumptions
    assert (line.at_least, line.odds) == (True, None)
    assert "the odds are not known" in line.words and "at least 400.00 EUR" in line.words
    assert line.words.endswith("; not priced: the hours of fitting it")
    assert "at least 310.00 EUR expected" in found.headline


def test_a_remedy_without_any_price_is_never_told_as_nothing() -> None:
    conversion = document(NOT_KNOWN)
    free = replace(conversion, faults=(replace(conversion.faults[0], cash_hundredths=0),))

    (line,) = answered(free, reading(free, replace(DOUBT, unpriced=("price of another disc",)))).routes[0].assumptions

    assert "another disc, at a cost that nobody has stated" in line.words
    assert "0.00" not in line.words


def test_a_condition_nobody_has_settled_is_answered_in_the_question_itself() -> None:
    conversion = document(NOT_KNOWN)
    condition = Doubt(fault="d", text="whether it is so here: up to 240 Nm")

    (line,) = answered(conversion, reading(conversion, condition)).routes[0].assumptions

    assert line.takes_result == "the question: say there how it is"


def test_an_assumed_part_that_no_doubt_speaks_of_is_an_assumption_all_the_same() -> None:
    conversion = replace(document(NOT_KNOWN), faults=(), inspections=())

    (line,) = answered(conversion).routes[0].assumptions

    assert (line.fault, line.odds, line.at_least) == ("", None, True)


def test_a_length_that_nobody_has_measured_is_an_assumption() -> None:
    open_length = replace(document(replace(STATED, unmeasured=("gap",))), faults=(), inspections=())

    (line,) = answered(open_length).routes[0].assumptions

    assert line.words == "other disc on shaft: nobody has measured it, so gap is not judged"


def test_what_is_known_stands_first_and_the_hopeful_route_last_with_its_if() -> None:
    found = answered(document(STATED, NOT_KNOWN))

    assert found.status == status.ON_WHAT_IS_KNOWN
    assert [bool(route.assumptions) for route in found.routes] == [False, True]
    assert "proven cheapest on what is known: 405.00 EUR" in found.headline
    assert (
        "if what route 2 assumes holds, 270.00 EUR; for route 2, not for the first, begin here: measure the hub"
        in found.headline
    )
    assert found.routes[1].summary.startswith("If what is assumed holds: ")


def test_the_look_that_pays_comes_first_with_what_it_saves() -> None:
    """Blind 310. The gauge costs 11: 11 + 0.9 x 270 + 0.1 x 405 = 294.50, so it saves 15.50."""
    found = answered(document(STATED, NOT_KNOWN))

    (first,) = found.measure_first
    assert (first.inspection, first.changes, first.cost) == ("gauge", "the route", 11)
    assert first.saves == Fraction(31, 2)
    assert first.spread == 2 * Fraction(9, 100) * 400


def test_a_look_that_no_route_hangs_on_is_told_by_how_much_of_the_sum_it_settles() -> None:
    """Without another way the job costs 310 looked at or not; the sum is off by 2 x 0.1 x 0.9 x 400 = 72 on average."""
    (first,) = answered(document(NOT_KNOWN)).measure_first

    assert (first.changes, first.saves, first.spread) == ("the sum, not the route", None, 72)
    assert first.per_money == Fraction(72, 11)


def test_where_the_job_need_not_be_done_a_look_may_decide_whether_to_begin() -> None:
    """Odds 0.6: blind 510, leaving it 400. The gauge: 11 + 0.4 x 270 + 0.6 x 400 = 359, so it saves 41."""
    conversion = replace(document(NOT_KNOWN, odds=Fraction(6, 10)), instead_hundredths=40000)

    found = answered(conversion)

    assert found.look_first is not None
    assert (found.look_first.expected, found.look_first.saves) == (359, 41)
    assert "or leave the job" in found.look_first.words
    assert found.instead is not None
    assert found.instead.words == "Not doing the job costs 400.00 EUR, less than the first route is expected to."
    assert found.measure_first[0].changes == "the route"


def test_a_deadline_that_only_an_assumption_meets_says_so() -> None:
    found = answered(replace(document(NOT_KNOWN), deadline=Fraction(3)))

    assert "The deadline of 3 days is met only if what is assumed holds." in found.routes[0].to_confirm


def test_without_a_rate_hours_are_never_nothing() -> None:
    found = answered(replace(document(NOT_KNOWN), rate_hundredths=0))
    plain = answered(replace(document(replace(NOT_KNOWN, assumed=False)), rate_hundredths=0, faults=(), inspections=()))

    assert "4.5 h; no rate stated" in plain.headline
    assert "0.00" not in plain.headline
    assert found.routes[0].at_least
    assert "No bench rate is stated" in "".join(plain.assumptions)
    assert "0.00 EUR expected" not in answer_as_text(plain)


def test_where_the_assembly_is_not_stated_the_answer_asks_and_calls_nothing_proven() -> None:
    conversion = replace(document(STATED), faults=(), inspections=())
    ask = "which assembly: clutch and propshaft, or transaxle?"

    found = answered(conversion, reading(conversion, asks=(ask,)))

    assert (found.status, found.asks) == (status.ASSEMBLY_NOT_STATED, (ask,))
    assert found.headline == (f"g to e: on what is written down, at least 405.00 EUR (4.5 h, 0.6 days); {ask}")
    assert not FORBIDDEN.search(answer_as_text(found))


def test_no_way_on_what_is_written_down_is_no_final_no_while_the_assembly_is_not_stated() -> None:
    conversion = document()

    found = answered(conversion, reading(conversion, asks=("say which assembly",)))

    assert found.status == status.ASSEMBLY_NOT_STATED
    assert "no route on what is written down" in found.headline


@pytest.mark.parametrize(
    "links", [(NOT_KNOWN,), (replace(NOT_KNOWN, assumed=False),), (replace(STATED, assumed=True),)]
)
def test_words_of_certainty_never_stand_in_an_answer_that_assumes_something(links: tuple[object, ...]) -> None:
    found = answered(document(*links))  # type: ignore[arg-type]

    assert found.status == status.IF_IT_HOLDS
    assert not FORBIDDEN.search(answer_as_text(found))
    assert not FORBIDDEN.search(json.dumps(answer_as_json(found)["routes"][0]["summary"]))


def test_every_sum_of_a_hopeful_route_in_the_table_has_its_if() -> None:
    told = answer_as_text(answered(document(STATED, NOT_KNOWN)), width=200)

    row = next(line for line in told.splitlines() if re.match(r"2 +If what is assumed", line))
    assert re.findall(r"if \d+\.\d\d", row) == ["if 270.00", "if 310.00", "if 270.00"]


def test_what_is_known_to_fail_is_a_line_of_the_work_and_the_lines_still_add_up() -> None:
    due = document(replace(NOT_KNOWN, assumed=False), odds=Fraction(1))

    found = answered(due, reading(due, DOUBT))

    (route,) = found.routes
    assert found.status == status.PROVEN
    assert sum(step.cash_hundredths for step in route.steps) == route.cash_hundredths == 40000
    line = next(step for step in route.steps if step.source == "d")
    assert line.text.endswith("another disc")
    assert [fault.state for fault in route.faults] == ["due"]


def doubted(count: int) -> Conversion:
    """The disc not known on the shaft, with so many doubts on it; each costs ten more than the one before."""
    conversion = document(NOT_KNOWN)
    (one,) = conversion.faults
    faults = tuple(replace(one, id=f"d{n}", label=f"thing {n}", cash_hundredths=n * 1000) for n in range(count))
    return replace(conversion, faults=faults, inspections=())


def test_the_most_telling_assumptions_come_first_and_of_many_the_rest_are_counted() -> None:
    """Off on average by 2 x 0.1 x 0.9 x c (a cost c of odds p), so the dearest of equal odds tells most."""
    found = answered(doubted(14))

    assert [line.text for line in found.routes[0].assumptions] == [f"thing {n}" for n in reversed(range(14))]
    shown = shortly(found.routes[0].assumptions)
    assert [line.text for line in shown[:TELLING]] == [f"thing {n}" for n in range(13, 3, -1)]
    assert [line.words for line in shown[TELLING:]] == ["4 more that tell less: thing 3; thing 2; thing 1; thing 0"]
    assert "(--json lists all)" in " ".join(answer_as_text(found).split())
    assert len(answer_as_json(found)["routes"][0]["assumptions"]) == 14


def test_of_eleven_assumptions_none_is_only_counted() -> None:
    assert len(shortly(answered(doubted(11)).routes[0].assumptions)) == 11


def test_a_look_names_only_the_last_state_that_must_be_reached_for_it() -> None:
    """All that comes before it follows; naming the sump off says the undertray is off. The job itself opens neither."""
    conversion = document(NOT_KNOWN)
    (look,), (out,) = conversion.inspections, conversion.tasks
    tray = replace(out, id="tray", label="undertray off and on", hours_hundredths=40)
    sump = replace(out, id="sump", label="sump off and on", hours_hundredths=200, after=("tray",))
    conversion = replace(
        conversion, tasks=(out, tray, sump), inspections=(replace(look, tasks=("sump", "tray")),)
    )  # fmt: skip

    (line,) = answered(conversion).measure_first

    assert line.cost == 5 + 6 + 60 * (Fraction(2) + Fraction(2, 5))
    assert "with sump off and on done for it" in line.words and "undertray" not in line.words


def test_a_look_costs_nothing_for_what_the_job_opens_anyway() -> None:
    """The gauge is 5 and 0.1 h at 60, so 11; the box comes out for the job itself, at 270, and only once."""
    conversion = document(NOT_KNOWN)
    (gauge,) = conversion.inspections
    opened = replace(conversion, inspections=(replace(gauge, tasks=("out",)),))

    (look,) = answered(opened).measure_first

    assert (look.cost, look.hours_hundredths) == (11, 10)
    assert look.words.startswith("Measure the hub: 11.00 EUR, while it is open anyway (gearbox out and in); ")


def test_what_has_no_price_is_named_with_the_route_and_what_is_due_comes_first() -> None:
    conversion = document(NOT_KNOWN)
    doubt = replace(DOUBT, unpriced=("price of another disc", "odds"))

    found = answered(conversion, reading(conversion, doubt))

    assert found.routes[0].unpriced == ("price of another disc",)
    assert "At least, because it is not stated: price of another disc." in answer_as_text(found)


def test_a_dearer_route_with_a_price_for_everything_says_how_long_the_first_one_is_cheaper() -> None:
    """The first: 270, and 0.1 x what nobody has priced. The other: 405, and 0.1 x 5, so 135.50 more."""
    other = replace(STATED, assumed=True)
    conversion = document(NOT_KNOWN, other)
    (one,) = conversion.faults
    free, priced = replace(one, cash_hundredths=0), replace(one, id="p", on=("new-fits",), cash_hundredths=500)
    both = replace(conversion, faults=(free, priced), inspections=())
    told = (replace(DOUBT, unpriced=("price of another disc",)), replace(DOUBT, fault="p"))

    found = answered(both, reading(both, *told))

    assert found.ranking == (
        "Route 2 costs 135.50 EUR more and leaves less without a price: route 1 is cheaper only while this comes to"
        " less than 135.50 EUR on average: price of another disc.",
    )
    assert found.ranking[0] in " ".join(answer_as_text(found).split())


def test_each_sum_says_which_it_is_in_text_and_json_alike() -> None:
    found = answered(document(NOT_KNOWN))

    (route,) = answer_as_json(found)["routes"]
    told = {line["what"]: (line["label"], line["words"]) for line in route["sums"]}
    assert told == {
        "total": ("As far as known, nothing worn", "if 270.00 EUR"),
        "if_all_holds": ("If all that is assumed holds, with likely faults", "270.00 EUR"),
        "expected": ("On average, with likely faults and what is assumed at its odds", "if 310.00 EUR"),
        "half": ("Half of such jobs cost at most", "if 270.00 EUR"),
        "nine_in_ten": ("Nine in ten cost at most", "if 270.00 EUR"),
    }
    text = answer_as_text(found)
    assert all(f"{label}: {said}" in text for what, (label, said) in told.items() if what != "half")


def test_what_is_due_without_a_price_is_never_told_as_nothing() -> None:
    due = replace(document(replace(NOT_KNOWN, assumed=False), odds=Fraction(1)), inspections=())
    free = replace(due, faults=(replace(due.faults[0], cash_hundredths=0),))

    found = answered(free, reading(free, replace(DOUBT, unpriced=("price of another disc",))))

    (fault,) = found.routes[0].faults
    assert (
        fault.words
        == "due: known before work starts, nothing yet in the sum, because it is not stated: price of another disc"
    )


def test_an_average_and_a_share_say_that_they_leave_out_what_has_no_price() -> None:
    """The disc costs 400 and its fitting nobody has priced: the one thing in doubt is priced in part only."""
    conversion = document(NOT_KNOWN)

    found = answered(conversion, reading(conversion, replace(DOUBT, unpriced=("the hours of fitting it",))))

    (route,) = found.routes
    said = {line.what: line.words for line in route.sums}
    assert said["expected"] == "if at least 310.00 EUR, without what nobody has priced"
    assert said["nine_in_ten"] == "if 270.00 EUR, without what nobody has priced"
    assert "half" not in said  # most of what is in doubt has no price
    first, second = sum_notes(found, route)
    assert first.endswith("on average, nine in ten at most 270.00 EUR, both without what nobody has priced")
    assert second.endswith("; ready in at least 0.6 days")


def test_where_nothing_in_doubt_has_a_price_there_is_no_average() -> None:
    conversion = document(NOT_KNOWN)
    free = replace(conversion, faults=(replace(conversion.faults[0], cash_hundredths=0),))

    found = answered(free, reading(free, replace(DOUBT, unpriced=("price of another disc",))))

    (route,) = found.routes
    why = "no average: 1 of what is in doubt has no price"
    assert {line.what for line in route.sums} == {"total", "if_all_holds"}
    assert why in found.headline and why in sum_notes(found, route)[0]
    text = answer_as_text(found)
    assert why[1:] in text and "ine in ten" not in text
    assert sum_words(found, route) == "if it holds, at least 270.00 EUR"
    (bar,) = cost_bars(found).bars
    assert bar.nine == why and "ine in ten" not in bar.words


def test_what_doubts_add_is_not_called_likely_faults() -> None:
    """A tenth of 400 comes from the doubt; no fault is known."""
    found = answered(document(NOT_KNOWN))

    bars = cost_bars(found)

    assert ("what is in doubt", "40.00 EUR") in [(share.label, share.amount) for share in bars.bars[0].shares]
    assert "likely faults" not in dict(bars.kinds).values()


def test_what_nobody_has_written_a_look_for_is_to_be_found_out_all_the_same() -> None:
    conversion = replace(document(NOT_KNOWN), inspections=())

    found = answered(conversion, reading(conversion, DOUBT))

    wanted = f"Find out: {found.routes[0].assumptions[0].text}"
    assert first_to_do(found, found.routes[0])[0] == wanted
    assert plan_of_answer(found, lambda: ()).words == (NO_LOOK, wanted)


def test_the_estimate_never_prices_at_nothing_what_nobody_has_priced() -> None:
    conversion = document(NOT_KNOWN)
    free = replace(conversion, faults=(replace(conversion.faults[0], cash_hundredths=0),))
    found = answered(free, reading(free, replace(DOUBT, unpriced=("price of another disc", "odds"))))
    (route,) = found.routes
    option = FoundOption("d", "hub of the disc", Fraction(1, 10), Fraction(0), Fraction(81), Fraction(2), True)

    paper = estimate(found, route, Details(number="J-1", dated="2026-06-30", tax_percent=Fraction(20)), [option])

    tables = [block for part in paper.sections for block in part.blocks if isinstance(block, Table)]
    assert tables[-1].rows[0][:4] == ("hub of the disc", "not stated", "not stated", "at least 81.00 EUR")
    assert tables[0].total == ("Total, as far as known, nothing worn", "at least 270.00 EUR")
    stated = [block for part in paper.sections for block in part.blocks if isinstance(block, Facts)]
    facts = {label: said for block in stated for label, said in block.rows}
    assert facts["Total with tax"] == "at least 324.00 EUR"
    assert not any(label.startswith(("Half", "Nine")) for label in facts)
