"""What must hold of every reading, on catalogues put together at random."""

from __future__ import annotations

from random import Random

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from graph.conversion.as_json import conversion_as_json
from graph.conversion.parse import parse_conversion
from graph.reading import Question, Reading, read_conversion
from tests.reading.bench import ENGINE, GEARBOX, Bench, shuffled

FIRST = {"face": "block", "flange": "housing", "seat": "case", "journal": "bearing", "spline": "disc"}
SECOND = {"face": "housing", "flange": "case", "seat": "bearing", "journal": "shaft", "spline": "shaft"}
BETWEEN = {"face": "plate", "flange": "plate", "seat": "sleeve", "journal": "sleeve", "spline": "sleeve"}
COUNT = st.integers(1, 3)


@st.composite
def benches(draw: st.DrawFn) -> Bench:
    """The two units closed as they stand, with up to three variants of each part and edges at random among them."""
    bench = Bench().closed()
    for kind in ("disc", "housing", "case", "bearing", "shaft", "plate", "sleeve"):
        for number in (2, 3):
            bench.part(f"{kind}-{number}", kind, cash_hundredths=draw(st.integers(0, 20000)))
    for at, kind in FIRST.items():
        far, between = SECOND[at], BETWEEN[at]
        for _ in range(draw(st.integers(0, 6))):
            one, other = draw(COUNT), draw(COUNT)
            via = draw(st.integers(2, 3))
            pick = draw(st.sampled_from(("fits", "machined", "misfit", "near", "far")))
            if pick in ("fits", "machined", "misfit"):
                if f"{kind}-{one}" in bench.parts and f"{far}-{other}" in bench.parts:
                    getattr(bench, pick)(f"{kind}-{one}", f"{far}-{other}", at)
            elif pick == "near" and f"{kind}-{one}" in bench.parts:
                bench.fits(f"{kind}-{one}", f"{between}-{via}", at)
            elif f"{far}-{other}" in bench.parts:
                bench.fits(f"{between}-{via}", f"{far}-{other}", at)
    return bench


def choices(reading: Reading) -> set[str]:
    found = {one.id for position in reading.conversion.positions for one in position.candidates}
    return found | {link.id for joint in reading.conversion.joints for link in joint.links}


@settings(max_examples=60, deadline=None)
@given(benches(), st.randoms(use_true_random=False))
def test_the_order_of_the_facts_does_not_matter(bench: Bench, chance: Random) -> None:
    catalogue = bench.catalogue()
    order = list(catalogue.edges)
    chance.shuffle(order)
    question = Question(gearbox=GEARBOX, engine=ENGINE)

    one, other = (read_conversion(facts, question) for facts in (catalogue, shuffled(catalogue, order)))

    assert conversion_as_json(one.conversion) == conversion_as_json(other.conversion)
    assert one.left_out == other.left_out


@settings(max_examples=60, deadline=None)
@given(benches(), st.sampled_from(("shaft-2", "plate-2", "sleeve-3", "disc-1", "bearing", "plate")))
def test_an_avoided_part_never_appears(bench: Bench, avoided: str) -> None:
    reading = bench.read(avoid=(avoided,))

    used = {one.part for position in reading.conversion.positions for one in position.candidates}
    used |= {part for joint in reading.conversion.joints for link in joint.links for part in link.via}
    kinds = {bench.parts[part].kind for part in used if part in bench.parts}
    assert avoided not in used | kinds


@settings(max_examples=60, deadline=None)
@given(benches(), st.sampled_from(tuple(FIRST)), COUNT)
def test_adding_a_part_never_removes_a_choice(bench: Bench, at: str, other: int) -> None:
    reading = bench.read()
    assume(not reading.open_joints)  # a part that closes an open joint shows which others never could
    before = choices(reading)
    bench.part("new", FIRST[at], cash_hundredths=100)
    bench.fits("new", f"{SECOND[at]}-{other}", at)
    for next_at, kind in SECOND.items():
        if kind == FIRST[at]:
            bench.fits(f"{FIRST[next_at]}-1", "new", next_at)

    assert before <= choices(bench.read())


@settings(max_examples=60, deadline=None)
@given(benches())
def test_every_candidate_closes_each_joint_that_is_not_open(bench: Bench) -> None:
    reading = bench.read()
    closed = [j for j in reading.conversion.joints if j.id not in {one.joint for one in reading.open_joints}]

    for joint in closed:
        for side, position_id in enumerate(joint.between):
            position = next(one for one in reading.conversion.positions if one.id == position_id)
            assert {one.id for one in position.candidates} == {link.parts[side] for link in joint.links}


@settings(max_examples=60, deadline=None)
@given(benches())
def test_a_reading_is_a_valid_conversion_document(bench: Bench) -> None:
    reading = bench.read()
    assume(not reading.open_joints)

    document = reading.conversion

    assert parse_conversion(conversion_as_json(document)) == document


def test_a_standard_bearing_that_stands_in_hundreds_of_cases_brings_none_of_them_in() -> None:
    bench = Bench().closed()
    alone = bench.read().conversion
    for number in range(300):
        bench.part(f"far-case-{number}", "case", cash_hundredths=5000)
        bench.fits(f"far-case-{number}", "bearing-1", "seat")

    assert bench.read().conversion == alone


def test_what_is_far_away_changes_nothing() -> None:
    bench = Bench().closed()
    alone = bench.read().conversion
    for number in range(50):
        bench.part(f"far-disc-{number}", "disc", cash_hundredths=5000)
        bench.part(f"far-shaft-{number}", "shaft", cash_hundredths=5000)
        bench.fits(f"far-disc-{number}", f"far-shaft-{number}", "spline")

    assert bench.read().conversion == alone
