"""What is wrong with a value is said as the rest of the house says it, whichever framework found it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

import pytest
from fastapi.testclient import TestClient
from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model

from api.fault_words import fault_words


class Every(BaseModel):
    """A field of each sort that bodies and addresses of ours have."""

    model_config = ConfigDict(extra="forbid")
    needed: int = 0
    word: Literal["cash", "hours"] = "cash"
    text: Annotated[str, Field(min_length=2, max_length=3, pattern="^[a-z]+$")] = "ab"
    count: Annotated[int, Field(ge=1, le=9)] = 1
    share: Annotated[float, Field(gt=0, lt=1, allow_inf_nan=False)] = 0.5
    money: Annotated[Decimal, Field(max_digits=5, decimal_places=2)] = Decimal(1)
    yes: bool = False
    few: Annotated[list[str], Field(max_length=1)] = []
    named: dict[str, int] = {}
    day: date = date(2026, 1, 1)


SENT: list[dict[str, Any]] = [
    {"needed": "x"}, {"needed": 1.5}, {"needed": None}, {"word": "time"}, {"text": 3}, {"text": "a"}, {"text": "abcd"},
    {"text": "A1"}, {"count": 0}, {"count": 10}, {"share": 0}, {"share": 1}, {"share": "inf"}, {"share": "y"},
    {"money": "1.234"}, {"money": "123456"}, {"money": "x"}, {"money": []}, {"yes": "perhaps"}, {"yes": []},
    {"few": "a"}, {"few": ["a", "b"]}, {"named": []}, {"day": "tomorrow"}, {"day": []}, {"else": 1},
]  # fmt: skip


@pytest.mark.parametrize("sent", SENT, ids=str)
def test_every_sort_of_fault_is_said_in_our_words(sent: dict[str, Any]) -> None:
    with pytest.raises(ValidationError) as found:
        Every.model_validate(sent)

    for fault in found.value.errors():
        said = fault_words(fault)
        assert said != fault["msg"] and "nput" not in said
        assert said.startswith(("expected ", "nobody reads"))


def test_what_is_missing_is_needed() -> None:
    with pytest.raises(ValidationError) as found:
        create_model("Needs", one=(int, ...)).model_validate({})

    assert [fault_words(fault) for fault in found.value.errors()] == ["is needed and is not there"]


def test_pages_and_api_say_it_alike(client: TestClient) -> None:
    """The same wrong word in a body and in an address."""
    sent = {"gearbox": "g", "engine": "e", "objective": "beauty"}
    body = client.post("/routes", json=sent).json()["problems"]
    page = client.get("/compare", params=sent).text

    said = next(one["message"] for one in body if one["path"] == "objective")
    assert said.startswith("expected ") and said.endswith("found “beauty”")
    assert "found “beauty”" in page
