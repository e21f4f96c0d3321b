"""The gearbox itself, in hand or bought; donors in hand; and which places a unit's sisters make it need."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graph.answer.asked_units import unit_lines
from graph.answer.asking import answer_question
from graph.answer.ground import Ground
from graph.answer.text import answer_as_text
from graph.catalogue.model import HAS_NONE
from graph.reading import CatalogueIndex, Question
from graph.search import solve
from graph.search.result import Route
from tests.reading.bench import ENGINE, GEARBOX, Bench, candidate, joint, link, links_at, parts_at, position

OUT_AND_IN = 450


def best(bench: Bench, **asked: object) -> Route:
    (route,) = solve(bench.read(**asked).conversion, "expected", 0).routes
    return route


def bought_box(**fields: object) -> Bench:
    """A gearbox at 1450.00 that takes 15 days to come."""
    bench = Bench().closed()
    priced = {"cash_hundredths": 145000, "days": Fraction(15), **fields}
    bench.parts[GEARBOX] = replace(bench.parts[GEARBOX], **priced)  # type: ignore[arg-type]
    return bench


def test_a_gearbox_that_states_a_price_is_bought_and_waited_for() -> None:
    route = best(bought_box())

    assert route.cash_hundredths == 145000
    assert route.days == 15 + Fraction(OUT_AND_IN, 800)


def test_a_gearbox_in_hand_costs_nothing_and_needs_no_waiting() -> None:
    route = best(bought_box(), own=(GEARBOX,))

    assert (route.cash_hundredths, route.days) == (0, Fraction(OUT_AND_IN, 800))


def test_a_gearbox_on_the_shelf_costs_its_book_value_at_once() -> None:
    route = best(bought_box(in_stock=True))

    assert (route.cash_hundredths, route.days) == (145000, Fraction(OUT_AND_IN, 800))


def test_a_price_that_nobody_knows_is_said_and_is_not_nothing() -> None:
    bench = Bench().closed()

    answer = answer_question(CatalogueIndex(bench.catalogue()), Question(gearbox=GEARBOX, engine=ENGINE, own=(ENGINE,)))

    assert [(line.state, line.price_hundredths) for line in answer.asked_units] == [
        ("price not known", None),
        ("in hand", None),
    ]
    assert any(line.startswith("box-1: taken as in hand; no price of it is noted") for line in answer.assumptions)


def test_the_old_one_handed_in_takes_its_allowance_off_and_never_more_than_the_price() -> None:
    allowed = bought_box(part_exchange_hundredths=25000)

    assert best(allowed).cash_hundredths == 145000
    assert best(allowed, part_exchange=True).cash_hundredths == 145000 - 25000
    assert best(bought_box(part_exchange_hundredths=200000), part_exchange=True).cash_hundredths == 0


def test_a_core_deposit_is_cash_on_the_day_and_counts_as_what_is_expected_to_be_lost() -> None:
    """1450 with 200 of deposit, of which one in five is lost: 1490 in the sums, 1650 on the day."""
    bench = bought_box(cash_hundredths=145000 + 4000, deposit_hundredths=20000, deposit_counted_hundredths=4000)

    answer = answer_question(CatalogueIndex(bench.catalogue()), Question(gearbox=GEARBOX, engine=ENGINE, own=(ENGINE,)))
    (route,) = answer.routes

    assert route.cash_hundredths == 149000
    assert route.on_the_day_hundredths == 165000
    assert [(step.text, step.cash_hundredths, step.days) for step in route.steps if step.order] == [
        ("Buy box-1", 149000, 15)
    ]
    assert route.split.parts == 1490
    text = answer_as_text(answer)
    assert "core deposit 200.00 XTS on the day, of which 40.00 XTS are counted as lost on average" in " ".join(
        text.split()
    )
    assert "cash on the day 1650.00 XTS" in text


def test_a_bought_gearbox_still_goes_straight_on() -> None:
    answer = answer_question(CatalogueIndex(bought_box().catalogue()), Question(gearbox=GEARBOX, engine=ENGINE))

    assert answer.verdict == "direct"
    assert [part.part for part in answer.routes[0].parts if part.is_unit] == [GEARBOX]


def test_a_bought_unit_is_told_with_its_price_its_wait_and_what_the_old_one_would_bring() -> None:
    bench = bought_box(part_exchange_hundredths=25000)
    reading = bench.read()
    ground = Ground(reading.conversion, reading.catalogue, reading, CatalogueIndex(reading.catalogue))

    (gearbox, _) = unit_lines(ground)

    assert gearbox.words == (
        "box-1: to be bought, 1450.00 XTS, 15 days, in every sum; 250.00 XTS less if an old one is handed in"
    )


def donor_bench() -> Bench:
    """Box 2 has a housing, case and bearing of its own; its housing takes the block, its bearing the shaft of box 1."""
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.part("box-2", "gearbox", cash_hundredths=None)
    for kind in ("housing", "case", "bearing"):
        bench.part(f"{kind}-2", kind, cash_hundredths=None)
        bench.contains("box-2", f"{kind}-2", kind)
    bench.fits("block-1", "housing-2", "face")
    bench.fits("bearing-2", "shaft-1", "journal")
    bench.tasks["strip"] = replace(bench.tasks["strip"], stage="bench")
    return bench


def test_a_donors_parts_mate_among_themselves_without_a_note() -> None:
    reading = donor_bench().read(own=("box-2",))

    assert parts_at(reading, "case") == ["case-2"]
    assert links_at(reading, "flange") == ["flange/housing-2+case-2"]
    assert links_at(reading, "seat") == ["seat/case-2+bearing-2"]
    assert link(reading, "seat/case-2+bearing-2").label == "case-2 and bearing-2, as they stand together in box-2"


def test_what_a_donor_gives_is_free_but_for_stripping_it_once() -> None:
    """Gearbox 4.5 h, strip 5.0 h, and the donor's own strip 5.0 h; it stands on the bench already."""
    route = best(donor_bench(), own=("box-2",))

    assert route.cash_hundredths == 0
    assert route.hours_hundredths == OUT_AND_IN + 500 + 500
    assert "strip-on-box-2" in route.tasks
    assert "box-out-on-box-2" not in route.tasks


def test_a_donor_that_is_not_in_hand_gives_nothing() -> None:
    assert links_at(donor_bench().read(), "face") == []


def test_parts_bought_loose_mate_as_the_unit_that_holds_both_has_them() -> None:
    bench = donor_bench()
    for kind in ("housing", "case", "bearing"):
        bench.parts[f"{kind}-2"] = replace(bench.parts[f"{kind}-2"], cash_hundredths=1000)
        bench.replaces(f"{kind}-2", f"{kind}-1")

    route = best(bench)

    assert route.cash_hundredths == 3 * 1000
    assert not any(task.endswith("-on-box-2") for task in route.tasks)


def test_a_donors_joint_is_not_taken_against_a_note_that_it_does_not_fit() -> None:
    bench = donor_bench()
    bench.misfit("case-2", "bearing-2", "seat", reason="seat beaten out")

    assert links_at(bench.read(own=("box-2",)), "seat") == []


def coupler_bench(*mates: str) -> Bench:
    """Box 1 and box 3 are of one family. Box 3 has a coupler that mates with these; of box 1's nobody says anything."""
    bench = Bench().closed()
    bench.part("boxes", "gearbox", abstract=True, cash_hundredths=None)
    bench.part("box-3", "gearbox", variant_of="boxes", cash_hundredths=None)
    bench.parts[GEARBOX] = replace(bench.parts[GEARBOX], variant_of="boxes")
    bench.positions["at-coupler"] = position("coupler", "plug")
    for there in mates:
        bench.joints[f"coupler-{there}"] = joint(f"coupler-{there}", "coupler", there)
    bench.part("coupler-3", "plug", cash_hundredths=5000)
    bench.contains("box-3", "coupler-3", "coupler")
    return bench


def test_a_place_that_a_sister_fills_between_two_others_is_needed_here_too() -> None:
    reading = coupler_bench("block", "shaft").read()

    assert "at-coupler" in {place.id for place in reading.conversion.positions}


def test_a_sisters_coupler_is_not_needed_where_another_part_already_stands_between_the_same_two() -> None:
    """As a drive plate between flywheel and input shaft is not, where a clutch disc stands there."""
    reading = coupler_bench("case", "shaft").read()

    assert "at-coupler" not in {place.id for place in reading.conversion.positions}
    assert candidate(reading, "at-bearing/bearing-1").as_found


def test_a_sister_made_for_another_kind_of_job_makes_no_place_needed() -> None:
    bench = coupler_bench("block", "shaft")
    bench.parts[GEARBOX] = replace(bench.parts[GEARBOX], made_for=("clutch",))
    bench.parts["box-3"] = replace(bench.parts["box-3"], made_for=("coupler",))

    reading = bench.read()

    assert "at-coupler" not in {place.id for place in reading.conversion.positions}


def test_a_sister_that_has_none_of_what_the_unit_has_makes_no_place_needed() -> None:
    bench = coupler_bench("block", "shaft")
    bench.edge(HAS_NONE, "box-3", "", position="at-housing")

    reading = bench.read()

    assert "at-coupler" not in {place.id for place in reading.conversion.positions}


def test_why_two_parts_do_not_fit_as_they_are_stands_beside_what_is_done_about_it() -> None:
    bench = Bench().closed()
    machined = bench.machined("block-1", "housing-1", "face", operations=("slot two holes",))
    del bench.edges["block-1-fits-housing-1-at-face"]
    miss = bench.misfit("block-1", "housing-1", "face", reason="two holes miss by 1.0 mm")
    bench.edges[machined] = replace(bench.edges[machined], overrules=(miss,))

    answer = answer_question(CatalogueIndex(bench.catalogue()), Question(gearbox=GEARBOX, engine=ENGINE))
    (face,) = [joint for joint in answer.routes[0].joints if joint.joint == "face"]

    assert face.misfit == "two holes miss by 1.0 mm"
    assert "as they are they do not fit: two holes miss by 1.0 mm" in " ".join(answer_as_text(answer).split())
