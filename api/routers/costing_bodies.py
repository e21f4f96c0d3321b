"""What the costing routers share: forms of bodies, the answer that a body asks for, and how notes are kept."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any

from fastapi import Path, Query, Request, Response
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from api.json import PlainJson
from api.questions import QuestionBody
from api.security import access_of
from api.workshop import Workshop
from graph.answer.serial import part_as_json
from graph.costing.asking import (
    CostedAnswer,
)
from graph.costing.currency import minor_units
from graph.costing.notes import Provenance
from graph.costing.spread import HoursRange
from graph.errors import InvalidInput, Problem
from graph.exact import HUNDREDTHS
from graph.wear import LONGEST_WARRANTY, RenewalWish

MOST_TICKED = 100
PLAIN = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"
Short = Annotated[str, Field(max_length=200, pattern=PLAIN)]
Named = Annotated[str, Field(min_length=1, max_length=200, pattern=PLAIN)]
Long = Annotated[str, Field(max_length=2000, pattern=PLAIN)]


def exact_schema(most: int) -> dict[str, Any]:
    """The JSON schema of an amount from 0 to `most` in steps of 0.01, as number or as text, which stays exact."""
    digits = len(str(most)) - 1
    return {
        "anyOf": [
            {"type": "number", "minimum": 0, "maximum": most, "multipleOf": 0.01},
            {"type": "string", "pattern": rf"^[0-9]{{1,{digits}}}(\.[0-9]{{1,2}})?$"},
        ]
    }


def _whole(value: object) -> int:
    """A JSON whole number: 5 and 5.0 (JSON Schema knows no difference), never true or "5"."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value // 1:
        raise ValueError(f"expected a whole number, found {value!r}")
    return int(value)


Money = Annotated[Decimal, Field(ge=0, le=10**7, decimal_places=2), WithJsonSchema(exact_schema(10**7))]
Hours = Annotated[Decimal, Field(ge=0, le=1000, decimal_places=2), WithJsonSchema(exact_schema(1000))]
Currency = Annotated[
    str, Field(max_length=3, description="ISO 4217", json_schema_extra={"enum": sorted(minor_units())})
]
Whole = Annotated[int, BeforeValidator(_whole)]
YesNo = Annotated[bool, Field(strict=True)]
JobId = Annotated[str, Path(max_length=200, pattern=PLAIN, examples=["J-1"])]
Part = Annotated[str, Query(max_length=200, description="only this part; empty for all")]
MOST_LISTED = 500
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class Body(BaseModel):
    """What every body refuses: fields that nobody knows."""

    model_config = ConfigDict(extra="forbid")


class SaidBy(Body):
    """Who says so, and how it is known."""

    author: Short = Field(
        "",
        description="a role or initials; the name on the token is added, or stands alone if left out",
        examples=["bench 1"],
    )
    method: Short = Field("", description="how it was found out")

    def provenance(self, request: Request) -> Provenance:
        """Who, how and now."""
        return Provenance(access_of(request).signed(self.author), self.method)


class HoursBody(Body):
    """An operation's hours: low, usual, high."""

    operation: Named = Field(description="id of the task, candidate or link")
    low: Hours
    usual: Hours
    high: Hours

    def range(self) -> HoursRange:
        """The same as the core's range."""
        return HoursRange(self.operation, *(int(each * HUNDREDTHS) for each in (self.low, self.usual, self.high)))


class TickedBody(Body):
    """What the customer ticked of `/while-it-is-out`."""

    renew: list[Named] | None = Field(
        None, max_length=MOST_TICKED,
        description="what the customer ticked of `/while-it-is-out`; [] offers the list without a tick",
    )  # fmt: skip
    warranty_months: Whole | None = Field(None, ge=0, le=LONGEST_WARRANTY)

    def wish(self) -> RenewalWish | None:
        """The same as the core's wish, None where nothing is asked. Raises InvalidInput for a warranty by itself."""
        if self.renew is not None:
            return RenewalWish(tuple(dict.fromkeys(self.renew)), self.warranty_months)
        if self.warranty_months is not None:
            told = "counts only with `renew`; send [] there to offer the list without a tick"
            raise InvalidInput([Problem("warranty_months", told)])
        return None


class ChosenRoute(Body):
    """A question, which of its routes, and the signs that are known."""

    question: QuestionBody
    rank: Whole = Field(1, ge=1, le=1000, description="which route; 1 is the best")
    signs: dict[Named, Named] = Field(
        default_factory=dict, max_length=20, description="known before opening: sign and its state",
        examples=[{"mileage class": "high"}],
    )  # fmt: skip


class LimitedRoute(ChosenRoute):
    """The same with the customer's limit."""

    limit: Money | None = Field(None, description="the customer's limit")

    @property
    def limit_hundredths(self) -> int | None:
        """The limit in whole hundredths."""
        return None if self.limit is None else int(self.limit * HUNDREDTHS)


class RouteBody(LimitedRoute):
    """The same with hours that are not certain."""

    hours: list[HoursBody] = Field(default_factory=list, max_length=100, description="hours with low, usual, high")


def asked(body: ChosenRoute, workshop: Workshop) -> CostedAnswer:
    """The body's question answered with the shop's record."""
    return workshop.shop.ask_costed(body.question.question(), body.signs)


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept: the batch to take back, how many notes it has, and how many rows of a list were left out."""

    batch: str
    notes: int
    left_out: int = 0


LONGEST_KEY = 200


def sent_as(request: Request) -> str:
    """The name of a request with an `Idempotency-Key`: sent again by the same one, it writes once. "" without a key."""
    key = request.headers.get("idempotency-key", "")
    if len(key) > LONGEST_KEY:
        raise InvalidInput([Problem("Idempotency-Key", f"expected at most {LONGEST_KEY} characters")])
    return f"{access_of(request).name}\n{request.url.path}\n{key}" if key else ""


async def keep(request: Request, workshop: Workshop, made: list[Any]) -> Response:
    """Keeps the notes, once under one key."""
    name = sent_as(request)
    kept = await workshop.work_out(lambda: workshop.shop.keep(made, name))
    return PlainJson(part_as_json(Kept(kept[0].batch, len(kept))))
