"""POST /reach: what can go behind this engine, where can this gearbox go? Cheapest first, a line as soon as proven."""

from __future__ import annotations

import time
from collections.abc import AsyncIterator
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse
from pydantic import ConfigDict, Field
from pydantic_core import to_json

from api import problems
from api.questions import EXAMPLE, QuestionBody
from api.reaching import Underway, state_as_json, unit_as_json
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.exact import MOST_PLACES
from graph.reach import Reached

router = APIRouter(tags=["routes"])
LINES = "application/x-ndjson"
PROGRESS_EVERY_S = 0.5
PATIENCE_S = 30.0
Budget = Annotated[Decimal, Field(ge=0, le=10**9, decimal_places=MOST_PLACES)]
ASKED = {name: value for name, value in EXAMPLE.items() if name not in ("gearbox", "alternatives")}


class ReachBody(QuestionBody):
    """A question with one unit left open: `gearbox` or `engine` stays empty."""

    model_config = ConfigDict(json_schema_extra={"examples": [{**ASKED, "limit": 5, "budget": 2500}]})

    gearbox: str = Field("", max_length=200, description="the gearbox; empty: which gearboxes can go there?")
    engine: str = Field("", max_length=200, description="the engine; empty: which engines can it go behind?")
    limit: int = Field(20, ge=1, le=1000, description="the most units to name")
    budget: Budget | None = Field(None, description="the most that the objective may come to")
    seconds: Annotated[Decimal, Field(gt=0, le=600, decimal_places=MOST_PLACES)] | None = Field(
        None, description="stop here, and say what the rest costs at least; 30 if left out"
    )
    progress: bool = Field(False, description="also a line twice a second that says how far it is")

    @property
    def patience_s(self) -> float:
        """The seconds asked for, or the usual ones."""
        return PATIENCE_S if self.seconds is None else float(self.seconds)

    def side(self) -> Literal["gearbox", "engine"]:
        """The unit left open."""
        return "engine" if self.gearbox and not self.engine else "gearbox"


@needs("read")
@router.post(
    "/reach",
    summary="What can go behind this engine, or where can this gearbox go",
    response_model=None,
    responses=problems.responses(
        {"description": "One JSON object a line, cheapest first; the last says how far it went",
         "content": {LINES: {"schema": {"type": "string"}}}}, 404, 413, 422,
    ),
)  # fmt: skip
async def reach_out(body: ReachBody, workshop: UsesWorkshop) -> Response:
    """A line with `unit` is a unit with its cheapest route's sums, as POST /routes says of that pair: first those
    whose route assumes nothing, then those that hold if what they assume does (`status`, `assumed`), each the
    cheapest of its like that follow. `known` of `of`: places and joints of which something is stated; `assumptions`
    and `unpriced` name what the route takes for given and what has no price, `told` says both in words. Every other
    line says how many units there are, of how many everything is known (`looked_at`), how many had to be read and
    solved, and what any further one costs at least (`at_least`; null: none is left). The last has `ended`, and says
    whether nothing is left to name (`complete`) or the time ran out. With `progress` such lines come on the way too.
    It stops when the client goes away."""
    budget = None if body.budget is None else Fraction(body.budget)
    underway = Underway(workshop, body.question(), body.side(), body.limit, budget, body.patience_s)
    first = await underway.some()  # a wrong question fails here, with a status of its own
    return StreamingResponse(_lines(underway, first, body.progress), media_type=LINES)


async def _lines(underway: Underway, found: list[Reached], progress: bool) -> AsyncIterator[bytes]:
    told = time.monotonic()
    while True:
        lines = [unit_as_json(one) for one in found]
        if underway.ended:
            yield _written([*lines, state_as_json(underway.state, True)])
            return
        if progress and time.monotonic() - told >= PROGRESS_EVERY_S:
            told = time.monotonic()
            lines.append(state_as_json(underway.state, False))
        if lines:
            yield _written(lines)
        found = await underway.some()


def _written(lines: list[dict[str, Any]]) -> bytes:
    return b"".join(to_json(line) + b"\n" for line in lines)
