"""Ways for two parts to mate, and what is said for and against them."""

from __future__ import annotations

from dataclasses import replace

from graph.reading.model import BELOW_FLOOR, DISPUTED, OVERRULED, RULED_OUT_BY_NOTE
from tests.reading.bench import Bench, candidate, link, links_at, only_if, reasons


def test_parts_that_one_unit_contains_mate_as_assembled_without_work() -> None:
    assembled = link(Bench().closed().read(), "journal/bearing-1+shaft-1")

    assert (assembled.kind, assembled.cash_hundredths, assembled.hours_hundredths, assembled.tasks) == (
        "fits",
        0,
        0,
        (),
    )


def test_parts_of_two_units_need_the_work_of_the_joint() -> None:
    face = link(Bench().closed().read(), "face/block-1+housing-1")

    assert face.tasks == ("box-out",)
    assert face.parts == ("at-block/block-1", "at-housing/housing-1")


def test_machining_is_a_link_with_its_operations_costs_and_finality() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.machined(
        "disc-1", "shaft-1", "spline", cash_hundredths=4500, hours_hundredths=30, operations=("turn 2.00 mm off",),
        irreversible=True, tasks=("strip",),
    )  # fmt: skip

    cut = link(bench.read(), "spline/disc-1+shaft-1 machined")

    assert (cut.kind, cut.cash_hundredths, cut.hours_hundredths) == ("fits after machining", 4500, 30)
    assert (cut.operations, cut.irreversible, cut.tasks) == (("turn 2.00 mm off",), True, ("strip",))


def test_a_plate_between_two_faces_adds_its_price_its_thickness_and_its_lead() -> None:
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.part("plate-20", "plate", cash_hundredths=14000, hours_hundredths=100, days=5)
    bench.fits("block-1", "plate-20", "face", hours_hundredths=20)
    bench.fits("plate-20", "housing-1", "face")

    through = link(bench.read(), "face/block-1+plate-20+housing-1")

    assert (through.kind, through.via) == ("fits through", ("plate-20",))
    assert (through.cash_hundredths, through.hours_hundredths, through.days) == (14000, 120, 5)


def test_at_most_two_parts_stand_inside_a_joint() -> None:
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    for plate in ("plate-a", "plate-b", "plate-c"):
        bench.part(plate, "plate", cash_hundredths=1000)
    bench.fits("block-1", "plate-a", "face")
    bench.fits("plate-a", "plate-b", "face")
    bench.fits("plate-b", "plate-c", "face")
    bench.fits("plate-c", "housing-1", "face")
    assert links_at(bench.read(), "face") == []

    bench.fits("plate-a", "plate-c", "face")

    assert links_at(bench.read(), "face") == ["face/block-1+plate-a+plate-c+housing-1"]
    assert link(bench.read(), "face/block-1+plate-a+plate-c+housing-1").cash_hundredths == 2000


def test_only_the_kinds_that_the_joint_names_may_stand_inside_it() -> None:
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.part("sleeve-1", "sleeve")
    bench.fits("block-1", "sleeve-1", "face")
    bench.fits("sleeve-1", "housing-1", "face")

    assert links_at(bench.read(), "face") == []


def test_a_plate_that_stands_in_two_joints_is_paid_for_once() -> None:
    bench = Bench().closed()
    bench.part("plate-20", "plate", cash_hundredths=14000)
    bench.part("case-2", "case")
    for one, other, at in (
        ("block-1", "plate-20", "face"), ("plate-20", "housing-1", "face"),
        ("housing-1", "plate-20", "flange"), ("plate-20", "case-2", "flange"),
    ):  # fmt: skip
        bench.fits(one, other, at)
    bench.fits("case-2", "bearing-1", "seat")

    reading = bench.read()

    ways = ("face/block-1+plate-20+housing-1", "flange/housing-1+plate-20+case-2")
    assert [link(reading, way).cash_hundredths for way in ways] == [0, 0]
    assert candidate(reading, "extra/plate-20").cash_hundredths == 14000
    assert {rule.when: rule.needs_any for rule in reading.conversion.rules} == {
        **dict.fromkeys(ways, ("extra/plate-20",)),
        "extra/plate-20": ways,
    }


def test_what_is_said_of_a_family_holds_for_its_variant() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("shaft-family", "shaft", abstract=True)
    bench.parts["shaft-1"] = replace(bench.parts["shaft-1"], variant_of="shaft-family")
    bench.fits("disc-1", "shaft-family", "spline")

    assert links_at(bench.read(), "spline") == ["spline/disc-1+shaft-1"]


def test_a_variants_own_misfit_speaks_over_the_familys_fit() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("shaft-family", "shaft", abstract=True)
    bench.parts["shaft-1"] = replace(bench.parts["shaft-1"], variant_of="shaft-family")
    family = bench.fits("disc-1", "shaft-family", "spline")
    bench.misfit("disc-1", "shaft-1", "spline", reason="loose on the larger diameter", miss_um=500)

    reading = bench.read()

    assert links_at(reading, "spline") == []
    assert reasons(reading)[f"{family} (disc-1+shaft-1)"] == OVERRULED
    assert reading.disputes == ()


def test_a_fit_and_a_misfit_of_equal_standing_are_a_dispute_and_the_misfit_holds_until_it_is_settled() -> None:
    bench = Bench().closed()
    against = bench.misfit("disc-1", "shaft-1", "spline", reason="0.5 mm loose")

    reading = bench.read()

    assert links_at(reading, "spline") == []
    assert reasons(reading)["disc-1-fits-shaft-1-at-spline"] == RULED_OUT_BY_NOTE
    assert [dispute.edges_against for dispute in reading.disputes] == [(against,)]


def test_a_question_may_refuse_what_is_disputed() -> None:
    bench = Bench().closed()
    bench.misfit("disc-1", "shaft-1", "spline", reason="0.5 mm loose")

    reading = bench.read(refuse_disputed=True)

    assert links_at(reading, "spline") == []
    assert reasons(reading)["disc-1-fits-shaft-1-at-spline"] == DISPUTED


def test_a_fit_that_is_known_to_be_contradicted_is_taken_and_marked() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.fits("disc-1", "shaft-1", "spline", evidence="contradicted")

    reading = bench.read()

    assert link(reading, "spline/disc-1+shaft-1").to_confirm == ("disputed: measure it before relying on it",)
    assert reading.links["spline/disc-1+shaft-1"].disputed


def test_not_fitting_rules_out_machining_too_until_the_machining_names_it_as_overruled() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.misfit("disc-1", "shaft-1", "spline", reason="2.00 mm too long", miss_um=2000)
    machined = bench.machined("disc-1", "shaft-1", "spline")
    ruled_out = bench.read()
    bench.edges[machined] = replace(bench.edges[machined], overrules=("disc-1-does-not-fit-shaft-1-at-spline",))

    settled = bench.read()

    assert links_at(ruled_out, "spline") == []
    (why,) = [out for out in ruled_out.left_out if out.reason == RULED_OUT_BY_NOTE]
    assert "2.00 mm too long" in why.text
    assert ruled_out.disputes == ()
    assert links_at(settled, "spline") == ["spline/disc-1+shaft-1 machined"]
    assert reasons(settled)["disc-1-does-not-fit-shaft-1-at-spline"] == OVERRULED


def test_a_misfit_whose_condition_is_unknown_leaves_the_fit_to_confirm() -> None:
    bench = Bench().closed()
    bench.misfit("disc-1", "shaft-1", "spline", reason="other spline", conditions=only_if("year", ">=", "1990"))

    asked = "spline/disc-1+shaft-1"
    assert link(bench.read(), asked).to_confirm == ("does not fit (other spline) if year >= 1990",)
    assert link(bench.read(context={"year": 1985}), asked).to_confirm == ()
    assert links_at(bench.read(context={"year": 1995}), "spline") == []


def test_evidence_below_the_questions_floor_is_left_out_and_no_evidence_is_the_weakest() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face", evidence="measured")
    bench.fits("disc-1", "shaft-1", "spline", evidence="hearsay")
    bench.part("disc-2", "disc")
    bench.fits("disc-2", "shaft-1", "spline")

    reading = bench.read(evidence_floor="drawing")

    assert links_at(reading, "face") == ["face/block-1+housing-1"]
    assert links_at(reading, "spline") == []
    assert reasons(reading)["disc-1-fits-shaft-1-at-spline"] == BELOW_FLOOR
    assert reasons(reading)["disc-2-fits-shaft-1-at-spline"] == BELOW_FLOOR


def test_a_link_is_known_no_better_than_its_weakest_edge() -> None:
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.part("plate-20", "plate")
    bench.fits("block-1", "plate-20", "face", evidence="measured")
    bench.fits("plate-20", "housing-1", "face", evidence="hearsay")

    assert bench.read().evidence["face/block-1+plate-20+housing-1"] == "hearsay"


def test_an_open_joint_names_its_nearest_misses_first() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("disc-2", "disc")
    bench.replaces("disc-2", "disc-1")
    bench.misfit("disc-1", "shaft-1", "spline", reason="3.0 mm too small", miss_um=-3000)
    bench.misfit("disc-2", "shaft-1", "spline", reason="0.5 mm loose", miss_um=500)

    (open_joint,) = bench.read().open_joints

    assert open_joint.joint == "spline"
    assert [miss.reason for miss in open_joint.misses] == ["0.5 mm loose", "3.0 mm too small"]


def test_an_open_joint_does_not_empty_the_rest_of_the_document() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")

    reading = bench.read()

    assert [joint.joint for joint in reading.open_joints] == ["spline"]
    assert all(position.candidates for position in reading.conversion.positions)
    assert links_at(reading, "journal") == ["journal/bearing-1+shaft-1"]


def test_one_note_that_a_pair_fits_only_after_machining_is_no_misfit_that_rules_the_work_out() -> None:
    bench = Bench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.misfit("block-1", "housing-1", "face", reason="2 mm too long", note="note-1")
    bench.machined("block-1", "housing-1", "face", operations=("grind 2 mm off",), note="note-1")

    reading = bench.read()
    bench.edges["block-1-requires-machining-housing-1-at-face"] = replace(
        bench.edges["block-1-requires-machining-housing-1-at-face"], note="note-2"
    )

    assert (links_at(reading, "face"), reading.disputes) == (["face/block-1+housing-1 machined"], ())
    assert links_at(bench.read(), "face") == []
