"""The units of facts/yard: what each was made for, how little of some is known, what a conversion brings and drops."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from api.pages.compare_view import compare_view
from api.pages.first_run import YARD
from graph.answer.asking import answer_question, answer_with_and_without
from graph.answer.model.answer import Answer
from graph.answer.serial import answer_as_json
from graph.answer.text import answer_as_text
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import FITS
from graph.cli.workshop import yard_of
from graph.errors import InvalidDocument, InvalidQuestion, Problem
from graph.lookups.index import PlaceState
from graph.papers.common import lengths_section
from graph.papers.model import Table
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.reading.question import check_question

MADE_MANUAL = Question(gearbox="hollin-5", engine="plover-30a", assembly="clutch-and-propshaft")


@pytest.fixture(scope="module")
def yard() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo", FACTS_FOLDER / "yard"]))


@pytest.fixture(scope="module")
def made_manual(yard: CatalogueIndex) -> Answer:
    return answer_question(yard, MADE_MANUAL)


@pytest.mark.parametrize(
    ("gearbox", "engine", "vehicle", "assembly"),
    [
        ("teasel-5", "knot-18", "", "clutch-and-propshaft"), ("hollin-5", "plover-30a", "", "clutch-and-propshaft"),
        ("drake-2", "grebe-40", "mayfly-launch", "marine-gear-on-damper"),
        ("sluice-pump", "rail-60", "", "stationary-drive"), ("sedge-4c", "firefly-30", "", "motor-on-a-coupler"),
    ],
)  # fmt: skip
def test_each_pair_can_be_asked_for_its_job(
    yard: CatalogueIndex, gearbox: str, engine: str, vehicle: str, assembly: str
) -> None:
    """One of the units was made for the job; the other was too, or its own kind of job turns into it."""
    made_for = yard.made_for(gearbox), yard.made_for(engine)

    check_question(yard, Question(gearbox=gearbox, engine=engine, vehicle=vehicle, assembly=assembly))

    kinds = yard.catalogue.assemblies
    assert (assembly,) in made_for
    assert all(one == assembly or assembly in kinds[one].turns_into for stated in made_for for one in stated)


def test_one_pair_is_known_by_five_facts(yard: CatalogueIndex) -> None:
    stated = [place for unit in ("teasel-5", "knot-18") for place in yard.places(unit).values()]
    joined = [one.id for one in yard.catalogue.edges.values() if one.kind == FITS and "teasel" in one.target]

    assert [place.state for place in stated] == [PlaceState.HOLDS] * 4
    assert joined == ["block-knot-fits-bell-teasel"]


def test_an_engine_that_never_had_a_clutch_says_so(yard: CatalogueIndex) -> None:
    places = {
        name: yard.place("plover-30a", f"at-{name}").state for name in ("clutch-disc", "clutch-cover", "flywheel")
    }

    assert places == {
        "clutch-disc": PlaceState.HAS_NONE, "clutch-cover": PlaceState.HAS_NONE, "flywheel": PlaceState.HOLDS,
    }  # fmt: skip


def test_automatic_to_manual_brings_the_clutch_and_drops_the_converter(yard: CatalogueIndex) -> None:
    """Common practice: clutch, pedals, crossmember and lever come; converter, pump, cooler and selector link go."""
    before, after = (set(yard.catalogue.assemblies[one].must_have)
                     for one in ("converter-and-flexplate", "clutch-and-propshaft"))  # fmt: skip

    assert after - before >= {"at-clutch-disc", "at-clutch-cover", "at-release-bearing", "at-clutch-actuation",
                              "at-crossmember", "at-lever"}  # fmt: skip
    assert before - after == {"at-torque-converter", "at-oil-pump", "at-selector-link", "at-oil-cooler"}


def test_the_tour_asks_each_of_them(yard: CatalogueIndex) -> None:
    for question in YARD:
        check_question(yard, question)

    assert [(one.gearbox, one.engine) for one in YARD] == [
        ("teasel-5", "knot-18"), ("hollin-5", "plover-30a"), ("drake-2", "grebe-40"), ("sluice-pump", "rail-60"),
        ("sedge-4c", "firefly-30"),
    ]  # fmt: skip


def test_a_folder_of_their_own_is_made_once_and_what_is_changed_in_it_stays(tmp_path: Path) -> None:
    home = yard_of(tmp_path)
    (home / "facts" / "yard" / "motor-on-a-coupler.ttl").unlink()

    assert yard_of(tmp_path) == home == tmp_path / "yard"
    assert sorted(one.name for one in (home / "facts" / "yard").iterdir()) == [
        "boat-and-pump.ttl", "one-of-five-and-automatic.ttl",
    ]  # fmt: skip
    assert (home / "facts" / "demo" / "gearboxes.ttl").is_file()
    assert [one.name for one in home.iterdir()] == ["facts"]


def test_no_flexplate_stays_under_a_clutch(yard: CatalogueIndex) -> None:
    """Common practice: a clutch needs a flywheel's face."""
    question = Question(gearbox="hollin-5", engine="plover-30a", assembly="clutch-and-propshaft", alternatives=20)

    routes = answer_question(yard, question).routes

    assert routes
    assert not [route.rank for route in routes if any("flexplate" in step.source for step in route.steps)]
    document = read_conversion(yard, question).conversion
    assert not [one.part for place in document.positions for one in place.candidates if "flexplate" in one.part]


@pytest.mark.parametrize(
    ("gearbox", "engine", "assembly"),
    [("hollin-5", "ouzel-20", "marine-gear-on-damper"), ("drake-2", "grebe-40", "clutch-and-propshaft")],
)
def test_a_job_that_the_units_were_not_made_for_is_refused(
    yard: CatalogueIndex, gearbox: str, engine: str, assembly: str
) -> None:
    with pytest.raises(InvalidQuestion, match="is made for another kind of job; ask for one of"):
        check_question(yard, Question(gearbox=gearbox, engine=engine, assembly=assembly))


@pytest.mark.parametrize("torque", ["-5", "0", "lots"])
def test_a_torque_that_is_none_is_refused(yard: CatalogueIndex, torque: str) -> None:
    question = Question(gearbox="hollin-5", engine="ouzel-20", context={"torque_nm": torque})

    with pytest.raises(InvalidQuestion, match="above 0 in Nm"):
        check_question(yard, question)


def test_where_nothing_may_be_assumed_the_answer_says_so(yard: CatalogueIndex) -> None:
    answer = answer_question(yard, Question(gearbox="hollin-5", engine="ouzel-20", most_assumed=0))

    assert [(line.kind, line.label) for line in answer.open] == [("most_assumed", "nothing may be assumed")]


def test_faults_found_in_another_process_arrive_as_they_were() -> None:
    fault = InvalidDocument([Problem("picks", "unknown key"), Problem("odds", "above 1")])

    again = pickle.loads(pickle.dumps(fault))

    assert (str(again), again.problems) == (str(fault), fault.problems)


def test_the_flywheel_that_the_shop_has_takes_the_place_of_the_flexplate(made_manual: Answer) -> None:
    """Once a flywheel "to suit", at no known price, stood there at nothing, and the shop's own was not offered."""
    (route, *_) = made_manual.routes

    assert route.picks["at-flywheel"] == "at-flywheel/flywheel-plover"
    assert route.cash_hundredths >= 26000
    assert not [line.text for line in route.assumptions if "flywheel to suit" in line.text]
    assert route.unpriced[:2] == ("price of clutch cover", "hours to fit clutch cover")


def test_no_article_stands_before_a_word_that_takes_none(yard: CatalogueIndex) -> None:
    question = Question(gearbox="drake-2", engine="grebe-40", vehicle="mayfly-launch")

    lines = answer_question(yard, question).routes[0].assumptions

    assert [line.remedy for line in lines if line.position == "at-engine-feet"] == ["engine feet to suit"]


def test_each_reading_asked_for_says_of_which_unit_or_part_it_is(yard: CatalogueIndex) -> None:
    question = Question(gearbox="drake-2", engine="grebe-40", vehicle="mayfly-launch")

    lines = answer_question(yard, question).routes[0].assumptions

    readings = [one for line in lines for one in line.settles if one.quantity or line.position]
    assert len(readings) > 5
    assert [one.words for one in readings if one.of is None] == []
    feet = next(one for line in lines if line.position == "at-engine-feet" for one in line.settles)
    assert feet.of is not None
    assert (feet.of.id, feet.of.label) == ("grebe-40", "engine feet of Grebe 40, marine diesel")


def test_a_sum_that_lacks_a_length_reads_not_known_and_names_the_length(made_manual: Answer) -> None:
    """Once "release gap: 90.0 mm; ... (thin: measure again before cutting)" of a clutch of which nothing is known."""
    answer = made_manual

    (gap,) = [one for one in answer.routes[0].side_effects if one.label == "tip to bore bottom"]
    assert (gap.value_um, gap.margin_um, gap.verdict) == (None, None, "not known")
    assert gap.words.startswith(f"not known: nobody has stated or measured {gap.missing[0]}")
    assert "crankshaft" in gap.missing[0]
    assert f"tip to bore bottom: {gap.words}" in " ".join(answer_as_text(answer).split())
    assert [one["value_mm"] for one in answer_as_json(answer)["routes"][0]["side_effects"] if one["missing"]] != []
    assert not [one.words for one in answer.routes[0].side_effects if "-" in one.words.partition(";")[0]]


def test_on_paper_and_page_such_a_length_is_not_known_either(yard: CatalogueIndex, made_manual: Answer) -> None:
    section = lengths_section(made_manual.routes[0], "metric")
    row = next(
        row for row in compare_view(yard, MADE_MANUAL, made_manual, False).same if row.label == "Tip to bore bottom"
    )

    assert section is not None
    (_, table) = section.blocks
    assert isinstance(table, Table)
    (line,) = [one for one in table.rows if one[0] == "tip to bore bottom"]
    assert line[1] == "not known"
    assert line[3].startswith("not known: measure ")
    assert row.cells[0].lines[0] == "not known"


def test_a_word_of_the_job_that_nothing_asks_for_is_refused_with_what_was_meant(yard: CatalogueIndex) -> None:
    question = Question(gearbox="hollin-5", engine="ouzel-20", context={"torqe_nm": "900"})

    with pytest.raises(InvalidQuestion, match="did you mean torque_nm") as refused:
        check_question(yard, question)

    assert [one.path for one in refused.value.problems] == ["context.torqe_nm"]
    check_question(
        yard, Question(gearbox="hollin-5", engine="ouzel-20", context={"power_kw": "80", "tools": ("press",)})
    )


def test_a_motor_on_a_coupler_asks_for_no_part_of_the_clutch_that_it_has_not(yard: CatalogueIndex) -> None:
    """Common practice. Once the worn release bearing of the box was renewed for it."""
    question = Question(gearbox="sedge-4c", engine="firefly-30", assembly="motor-on-a-coupler")

    answer = answer_question(yard, question)

    (first, *_) = answer.routes
    assert [part.part for part in first.parts] == ["coupler-firefly-23"]
    assert not [pick for pick in first.picks if "release" in pick or "clutch" in pick]
    assert "release bearing: of no use in this job, there is no clutch cover that it works on" in [
        out.why for out in answer.left_out
    ]


@pytest.mark.parametrize(
    ("gearbox", "engine", "vehicle"), [("drake-2", "grebe-40", "mayfly-launch"), ("sluice-pump", "rail-60", "")]
)
def test_on_a_standard_housing_nothing_but_that_housing_meets_the_gear(
    yard: CatalogueIndex, gearbox: str, engine: str, vehicle: str
) -> None:
    """SAE J617: the engine's own housing carries the starter and runs true to the crankshaft."""
    document = read_conversion(yard, Question(gearbox=gearbox, engine=engine, vehicle=vehicle)).conversion

    assert {"engine-face", "housing-alignment", "starter-to-housing"}.isdisjoint(one.id for one in document.joints)
    assert "standard-housing" in {one.id for one in document.joints}


def test_why_a_part_or_a_joint_is_ruled_out_is_said_where_it_is_missed(yard: CatalogueIndex) -> None:
    """In the answer, where a part is asked for that cannot be used, and where no route is left."""
    reason = "Pipit clutch disc, 10 teeth does not fit Sedge input shaft, 23 teeth: 10 teeth against 23"
    asked = Question(gearbox="sedge-4a", engine="pipit-16")

    answer = answer_question(yard, asked)
    both = answer_with_and_without(yard, asked, "disc-pipit")
    (closed,) = answer_question(yard, Question(gearbox="hollin-5", engine="dunlin-25d")).open

    assert reason in [out.why for out in answer.left_out]
    assert reason in " ".join(answer_as_text(answer).split())
    assert both.with_part.open[0].left_out[0] == reason
    assert "four of ten holes line up, the others miss by 4.2 mm and more" in closed.nearest_miss
