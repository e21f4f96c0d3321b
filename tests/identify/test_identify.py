"""Identifying a variant.

Bayes against the screening example of the textbooks (prevalence 1 %, right in 99 % either way: 50 % after a positive).
Information against Shannon, "A mathematical theory of communication" (1948): a fair choice of two is 1 bit, of eight
3 bits; a binary symmetric channel carries 1 - H(p). Densities against scipy's integration.
"""

from dataclasses import replace
from fractions import Fraction
from math import log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm, uniform

from graph.errors import InvalidInput
from graph.identify.identify import Prior, entropy_bits, identify, information_bits
from graph.identify.likelihood import density
from graph.identify.model import COUNTED, MEASURED, SEEN, Feature, Length, Observation, Variant

MM = 1_000_000
RIB = Feature(id="rib", label="rib on the casting", kind=SEEN, minutes=Fraction(1))
HOLES = Feature(id="holes", label="holes in the front face", kind=COUNTED, minutes=Fraction(2))
STICK_OUT = Feature(
    id="stick-out", label="stick-out", kind=MEASURED, minutes=Fraction(10), uncertainty_nm=100_000,
    how="straight-edge and depth micrometer",
)  # fmt: skip
BEARING = Feature(
    id="bearing", label="front bearing outside diameter", kind=MEASURED, minutes=Fraction(20), uncertainty_nm=20_000
)
FEATURES = [RIB, HOLES, STICK_OUT, BEARING]


def mm(nominal: float, half: float = 0.2) -> Length:
    return Length(round(nominal * MM), round(half * MM))


LONG = Variant(id="long", label="long shaft", values={"rib": "yes", "holes": 8, "stick-out": mm(190)}, met=12)
SHORT = Variant(id="short", label="short shaft", values={"rib": "yes", "holes": 8, "stick-out": mm(174.5)}, met=3)
EARLY = Variant(id="early", label="early casing", values={"rib": "no", "holes": 6, "stick-out": mm(190)}, met=1)
FAMILY = [LONG, SHORT, EARLY]
TINY = Fraction(1, 10**9)


def chances(*observations: Observation, variants: list[Variant] = FAMILY, **more: object) -> dict[str, float]:
    answer = identify(FEATURES, variants, observations, **more)  # type: ignore[arg-type]
    return {standing.variant: standing.probability for standing in answer.standings}


def test_the_screening_example_of_the_textbooks_comes_out_at_a_half() -> None:
    test = Feature(id="test", label="test", kind=SEEN, minutes=Fraction(1), misread=Fraction(1, 100))
    ill = Variant(id="ill", label="ill", values={"test": "positive"}, met=0)  # one in a hundred: weights 1 and 99
    well = Variant(id="well", label="well", values={"test": "negative"}, met=98)

    positive = Observation(feature="test", value="positive")
    answer = identify([test], [ill, well], [positive], prior=Prior.BY_COUNT, other=TINY)

    assert {s.variant: round(s.probability, 6) for s in answer.standings} == {"ill": 0.5, "well": 0.5}


def test_a_clear_length_leaves_one_variant() -> None:
    answer = identify(FEATURES, FAMILY, [
        Observation(feature="rib", value="yes"), Observation(feature="stick-out", value=round(174.45 * MM)),
    ])  # fmt: skip

    assert answer.identified == "short"
    assert [standing.variant for standing in answer.standings if standing.possible] == ["short"]
    assert "sure" in answer.summary


def test_what_contradicts_a_variant_is_told_with_the_figures() -> None:
    answer = identify(FEATURES, FAMILY, [Observation(feature="stick-out", value=190 * MM)])

    short = next(standing for standing in answer.standings if standing.variant == "short")
    assert short.contradictions == ("stick-out 190.000 mm +/- 0.100 mm, of this variant 174.500 mm +/- 0.200 mm",)


def test_between_two_tolerances_the_odds_follow_the_densities() -> None:
    a = Variant(id="a", label="a", values={"stick-out": mm(100.0)})
    b = Variant(id="b", label="b", values={"stick-out": mm(100.3)})
    reading = 100.17

    found = chances(Observation(feature="stick-out", value=round(reading * MM)), variants=[a, b], other=TINY)

    def smeared(middle: float) -> float:  # an even spread of +/- 0.2 blurred by the tool's sigma of 0.05
        part = uniform(middle - 0.2, 0.4)
        return quad(lambda x: part.pdf(x) * norm.pdf(reading, x, 0.05), middle - 0.2, middle + 0.2)[0]

    assert found["a"] == pytest.approx(smeared(100.0) / (smeared(100.0) + smeared(100.3)), rel=1e-6)


def test_what_nobody_recorded_of_a_variant_neither_helps_nor_hurts_it() -> None:
    unrecorded = Variant(id="blank", label="blank", values={})

    before = chances(variants=[*FAMILY, unrecorded], other=TINY)["blank"]
    after = chances(
        Observation(feature="stick-out", value=190 * MM), variants=[*FAMILY, unrecorded], other=TINY
    )  # fmt: skip

    assert after["blank"] == pytest.approx(before)
    assert after["long"] > after["blank"] > after["short"]


def test_a_reading_that_contradicts_every_recorded_variant_leaves_the_unrecorded_one() -> None:
    """Bayes: what rules out all the others raises the one of which nobody has recorded that feature."""
    blank = Variant(id="blank", label="blank", values={"stick-out": mm(190), "holes": 8})
    sized = [replace(variant, values={**variant.values, "bearing": mm(100, 0.02)}) for variant in FAMILY]
    seen = [Observation(feature="stick-out", value=190 * MM), Observation(feature="holes", value=8)]

    before = chances(*seen, variants=[*sized, blank])["blank"]
    after = chances(*seen, Observation(feature="bearing", value=90 * MM), variants=[*sized, blank])

    assert 0.3 < before < 0.6
    assert after["blank"] > 0.9
    assert all(after[variant.id] < 0.01 for variant in sized)


def test_a_unit_like_none_of_them_is_something_else() -> None:
    answer = identify(FEATURES, FAMILY, [Observation(feature="stick-out", value=182 * MM)])

    assert answer.something_else > 0.99
    assert answer.identified is None
    assert answer.summary.startswith("no known variant agrees")


def test_the_prior_is_equal_or_by_count() -> None:
    assert chances(other=TINY)["long"] == pytest.approx(1 / 3, rel=1e-6)
    assert chances(other=TINY, prior=Prior.BY_COUNT)["long"] == pytest.approx(13 / 19, rel=1e-6)


def test_the_next_step_tells_most_per_minute() -> None:
    answer = identify(FEATURES, FAMILY, [Observation(feature="rib", value="yes")])

    assert answer.next_steps[0].feature == "stick-out"  # eight holes either way; only the stick-out still divides
    assert dict(answer.next_steps[0].outcomes)["174.500 mm +/- 0.200 mm"] == ("short",)
    assert {step.feature for step in answer.next_steps} == {"stick-out", "holes"}  # nobody recorded the bearing


def test_a_quick_look_beats_a_slow_measurement_that_tells_as_much() -> None:
    pair = [
        replace(LONG, values={"rib": "yes", "bearing": mm(80)}),
        replace(SHORT, values={"rib": "no", "bearing": mm(72)}),
    ]

    steps = identify(FEATURES, pair).next_steps

    assert [step.feature for step in steps] == ["rib", "bearing"]
    assert steps[1].bits > steps[0].bits  # the bearing tells more, but takes twenty minutes


@pytest.mark.parametrize(("count", "bits"), [(2, 1.0), (8, 3.0)])
def test_lengths_far_apart_tell_as_much_as_there_is_to_know(count: int, bits: float) -> None:
    variants = [Variant(id=str(n), label=str(n), values={"stick-out": mm(100 + 5 * n)}) for n in range(count)]
    odds = np.append(np.full(count, 1 / count), 0.0)

    assert entropy_bits(odds) == pytest.approx(bits)
    assert information_bits(STICK_OUT, variants, odds) == pytest.approx(bits, abs=1e-6)


def test_a_look_that_may_be_misread_is_a_binary_symmetric_channel() -> None:
    variants = [replace(LONG, values={"rib": "yes"}), replace(SHORT, values={"rib": "no"})]
    p = 1 / 50

    bits = information_bits(RIB, variants, np.array([0.5, 0.5, 0.0]))

    assert bits == pytest.approx(1 + p * log2(p) + (1 - p) * log2(1 - p))


def test_overlapping_lengths_tell_what_integration_says() -> None:
    lengths = [mm(100.0), mm(100.25)]
    variants = [Variant(id=str(n), label=str(n), values={"stick-out": length}) for n, length in enumerate(lengths)]

    def integrand(x: float) -> float:
        rows = [float(density(length, 0.05, np.array([x]))[0]) for length in lengths]
        middle = sum(rows) / 2
        return sum(row / 2 * log2(row / middle) for row in rows if row > 0)

    wanted = quad(integrand, 99.4, 100.9, points=[99.8, 100.05, 100.2, 100.45], limit=400)[0]
    assert information_bits(STICK_OUT, variants, np.array([0.5, 0.5, 0.0])) == pytest.approx(wanted, abs=2e-3)


@given(st.lists(st.tuples(st.sampled_from(["yes", "no", "half"]), st.floats(0.01, 1)), min_size=2, max_size=6))
def test_expected_doubt_after_looking_is_doubt_before_less_the_information(rows: list[tuple[str, float]]) -> None:
    variants = [Variant(id=str(n), label=str(n), values={"rib": word}) for n, (word, _) in enumerate(rows)]
    odds = np.append(np.array([weight for _, weight in rows]), 0.0)
    odds = odds / odds.sum()
    words = sorted({word for word, _ in rows})
    p = 1 / 50
    table = np.array([[1 - p if word == seen else p / max(len(words) - 1, 1) for seen in words] for word, _ in rows])
    table = table / table.sum(axis=1, keepdims=True)

    doubt = sum(
        float(odds[:-1] @ column) * entropy_bits(odds[:-1] * column / (odds[:-1] @ column)) for column in table.T
    )

    assert information_bits(RIB, variants, odds) == pytest.approx(entropy_bits(odds) - doubt, abs=1e-9)


@given(st.permutations([
    Observation(feature="rib", value="yes"), Observation(feature="holes", value=8),
    Observation(feature="stick-out", value=190 * MM + 150_000),
]))  # fmt: skip
def test_the_order_of_looking_does_not_change_the_answer(order: list[Observation]) -> None:
    assert chances(*order) == pytest.approx(chances(*sorted(order, key=lambda item: item.feature)), abs=1e-12)


@given(st.integers(160 * MM, 200 * MM), st.integers(10_000, 2 * MM))
def test_odds_always_add_up_to_one(value: int, uncertainty: int) -> None:
    answer = identify(FEATURES, FAMILY, [Observation(feature="stick-out", value=value, uncertainty_nm=uncertainty)])

    assert sum(s.probability for s in answer.standings) + answer.something_else == pytest.approx(1)


def test_every_fault_is_named_at_once() -> None:
    with pytest.raises(InvalidInput) as caught:
        identify(
            [replace(STICK_OUT, uncertainty_nm=0), replace(RIB, minutes=Fraction(0))],
            [Variant(id="a", label="a", values={"stick-out": Length(1, 0), "tail": 3}), Variant(id="a", label="b")],
            [Observation(feature="rib", value=3), Observation(feature="colour", value="red")],
        )  # fmt: skip

    text = str(caught.value)
    for words in ("no reading is exact", "minutes above zero", "zero tolerance", "unknown feature", "used twice"):
        assert words in text
    with pytest.raises(InvalidInput, match="nothing to tell apart"):
        identify(FEATURES, [])
