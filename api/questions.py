"""The question as JSON: checked for form here, for sense in `graph.reading.question`."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat

from graph.answer.serial import SCALED, json_name
from graph.exact import HUNDREDTHS, MOST_PLACES
from graph.fits.wanted import EXAMPLES, LONGEST
from graph.reading.question import LEAST_MEMORY_MB, MOST_ALTERNATIVES, MOST_DEMANDS, MOST_TRIED, Question

Id = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(max_length=200)]
Demand = Annotated[str, Field(min_length=1, max_length=LONGEST)]
Ids = Annotated[list[Id], Field(max_length=200)]
Days = Annotated[Decimal, Field(ge=0, le=10**5, decimal_places=MOST_PLACES)]
Odds = Annotated[Decimal, Field(ge=0, le=1, decimal_places=4)]
Price = Annotated[Decimal, Field(ge=0, le=10**9, decimal_places=2)]
Known = bool | int | FiniteFloat | Text | Annotated[list[Text], Field(max_length=50)]

EXAMPLE: dict[str, Any] = {
    "gearbox": "hollin-5",
    "engine": "ouzel-20",
    "vehicle": "sorrel-pick-up",
    "context": {"torque_nm": 180, "duty": "road"},
    "objective": "expected",
    "alternatives": 2,
}


class QuestionBody(BaseModel):
    """What is the cheapest route from this gearbox to that engine, under these circumstances?"""

    model_config = ConfigDict(extra="forbid", json_schema_extra={"examples": [EXAMPLE]})

    gearbox: Id = Field(description="id of the gearbox, a variant and not a family")
    engine: Id = Field(description="id of the engine, a variant and not a family")
    vehicle: Text = Field("", description="id of the vehicle that takes both; empty for none")
    context: dict[Id, Known] = Field(
        default_factory=dict, max_length=100, description="what is known of the job: duty, tools, ecu, year, torque_nm"
    )
    avoid: Ids = Field(default_factory=list, description="parts, families or kinds that no route may use")
    own: Ids = Field(
        default_factory=list,
        description="parts in hand: no price, no lead time; also the gearbox or engine itself, which is bought if it "
        "states a price and is not named here; any other unit is a donor of parts",
    )
    part_exchange: bool = Field(False, description="an old unit is handed in for the one that is bought")
    features: Ids = Field(default_factory=list, description="what the finished assembly must offer")
    demands: Annotated[list[Demand], Field(max_length=MOST_DEMANDS)] = Field(
        default_factory=list,
        description="what sums over its parts must come to, in words such as " + "; ".join(EXAMPLES),
    )
    evidence_floor: Text = Field("", description="the weakest evidence level that a route may rest on")
    refuse_disputed: bool = Field(False, description="leave out what notes contradict")
    without_machining: bool = Field(False, description="nothing is machined for it")
    from_shelf: bool = Field(False, description="only parts on the shelf or in hand are fitted")
    rate: Annotated[Decimal, Field(ge=0, le=10**6, decimal_places=2)] | None = Field(
        None, description="money per bench hour; the facts' own rate if left out"
    )
    odds: dict[Id, Odds] = Field(
        default_factory=dict,
        max_length=MOST_TRIED,
        description="odds to try in place of what is known, by the id of a fault or doubt; for this answer only",
    )
    prices: dict[Id, Price] = Field(
        default_factory=dict,
        max_length=MOST_TRIED,
        description="prices to try in place of what is known, by the id of a part; for this answer only",
    )
    deadline: Days | None = Field(None, description="longest time in days")
    objective: Literal["expected", "total", "cash", "hours"] = Field("expected", description="what to make smallest")
    alternatives: int = Field(2, ge=0, le=MOST_ALTERNATIVES, description="how many next-best routes to show")
    assembly: Text = Field(
        "", description="id of the kind of finished job; empty: as the units say that they were made for"
    )
    instead: Annotated[Decimal, Field(ge=0, le=10**9, decimal_places=2)] | None = Field(
        None, description="what not doing the job costs: another box, or handing it back"
    )
    most_assumed: Annotated[int, Field(ge=0, le=1000)] | None = Field(
        None, description="at most so many things of a route may be assumed; 0: nothing"
    )
    seconds: Annotated[Decimal, Field(gt=0, le=3600, decimal_places=MOST_PLACES)] | None = Field(
        None, description="the most that the search may take; at most, and if left out, what the service allows"
    )
    memory_mb: Annotated[int, Field(ge=LEAST_MEMORY_MB, le=10**6)] | None = Field(
        None, description="the most memory that the search may take; at most, and if left out, what the service allows"
    )

    def question(self) -> Question:
        """The same as the core's question."""
        return Question(
            **{one.name: _of_core(one.name, getattr(self, json_name(one.name))) for one in fields(Question)}
        )


def _of_core(name: str, value: Any) -> Any:
    """What a field of the core's question holds: whole hundredths or exact fractions, tuples."""
    if isinstance(value, Decimal):
        return int(value * HUNDREDTHS) if name.endswith(SCALED) else Fraction(value)
    if isinstance(value, dict):
        return {key: _of_core(name, each) for key, each in value.items()}
    return tuple(value) if isinstance(value, list) else value
