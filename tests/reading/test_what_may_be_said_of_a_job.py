"""A value that counts for nothing is refused, where a mistyped duty was answered as if it had been reckoned with."""

from __future__ import annotations

import pytest

from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.errors import InvalidQuestion
from graph.lookups.index import CatalogueIndex
from graph.reading.job_keys import USUAL_VALUES, faults_of_value
from graph.reading.question import Answerable, Question, check_question

INDEX = CatalogueIndex(load_catalogue([DEMO_FACTS]))


def asked(index: CatalogueIndex, **context: Answerable) -> None:
    check_question(index, Question(gearbox="hollin-5", engine="ouzel-20", context=context))


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("duty", "nope", "'nope'; did you mean"), ("duty", "raod", "did you mean road"),
        ("tools", "nope", "known are"), ("tools", ("press", "pulller"), "did you mean puller"),
        ("ecu", "laet", "did you mean late"),
        ("year", "abc", "expected a year"), ("year", "1e9", "expected a year"), ("year", "198", "expected a year"),
        ("year", "2999", "expected a year"), ("power_kw", "strong", "expected a power"),
        ("torque_nm", "0", "expected a torque"),
    ],
)  # fmt: skip
def test_a_value_that_nobody_knows_is_refused_at_its_key(key: str, value: str | tuple[str, ...], said: str) -> None:
    with pytest.raises(InvalidQuestion) as refused:
        asked(INDEX, **{key: value})

    [problem] = refused.value.problems
    assert problem.path == f"context.{key}" and said in problem.message


@pytest.mark.parametrize(
    "context",
    [
        {"duty": "Farm"}, {"duty": "other"}, {"duty": ""}, {"tools": ("press", "dial-gauge")}, {"ecu": "early"},
        {"year": 1985}, {"year": "1985"}, {"power_kw": "80"}, {"torque_nm": 180},
    ],
)  # fmt: skip
def test_what_is_usual_or_asked_for_and_plain_figures_are_taken(context: dict[str, Answerable]) -> None:
    asked(INDEX, **context)


def test_words_and_figures_of_a_shop_s_own_conditions_are_known() -> None:
    own = (("body", "=", "long"), ("body", "=", "short"), ("axle_ratio", ">=", "3.5"), ("towbar", "=", "true"))

    def faults(key: str, value: object) -> list[str]:
        return list(faults_of_value(key, value, lambda: own))

    assert faults("body", "Long") == faults("axle_ratio", "3.9") == faults("towbar", False) == []
    assert "did you mean short" in faults("body", "shrot")[0] and "a number" in faults("axle_ratio", "tall")[0]


def test_every_usual_value_is_taken_as_it_is_listed() -> None:
    assert [list(faults_of_value(key, values, lambda: ())) for key, values in USUAL_VALUES.items()] == [[], [], []]
