"""Every field of a question goes out as JSON and as an address, and comes back as it was."""

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction
from typing import Any

import pytest
from starlette.datastructures import QueryParams

from api.pages.asked import parameters_of, question_of
from api.questions import QuestionBody
from graph.answer.serial import question_as_json
from graph.reading.question import Question

PLAIN = Question(gearbox="box", engine="engine")
SAID: dict[str, Any] = {
    "gearbox": "other-box", "engine": "other-engine", "vehicle": "pick-up",
    "context": {"tools": ("press", "lathe"), "duty": "road"}, "avoid": ("plate", "ring"), "own": ("box",),
    "part_exchange": True, "features": ("quiet",), "demands": ("first gear at least 3.3",),
    "evidence_floor": "measured", "refuse_disputed": True, "without_machining": True, "from_shelf": True,
    "rate_hundredths": 6_250, "odds": {"ring-tired": Fraction(1, 4)}, "prices_hundredths": {"plate": 12_345},
    "deadline": Fraction(7, 2), "objective": "hours", "alternatives": 5, "assembly": "transaxle",
    "instead_hundredths": 90_050, "most_assumed": 0, "seconds": Fraction(3, 2), "memory_mb": 512,
}  # fmt: skip
LIMITS = {"seconds", "memory_mb"}  # of the one who asks, which no address holds


@pytest.mark.parametrize("name", [one.name for one in fields(Question)])
def test_each_field_comes_back(name: str) -> None:
    question = replace(PLAIN, **{name: SAID[name]})

    assert question != PLAIN
    assert QuestionBody.model_validate(question_as_json(question)).question() == question
    back = question_of(QueryParams(parameters_of(question)))
    assert back == (PLAIN if name in LIMITS else question)


def test_all_of_them_together_come_back() -> None:
    question = Question(**SAID)

    assert QuestionBody.model_validate(question_as_json(question)).question() == question
    assert question_as_json(question)["prices"] == {"plate": 123.45}
    assert (question_as_json(question)["rate"], question_as_json(question)["deadline"]) == (62.5, 3.5)
