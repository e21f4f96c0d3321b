"""POST /solve: a conversion document in, routes out, exactly like `python -m graph solve`."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response

from api import problems
from api.documents import CONVERSION_SCHEMA, HAND_EXAMPLE, SOLUTION_SCHEMA
from api.json import PlainJson
from api.roles import needs
from api.workshop import UsesWorkshop

router = APIRouter(tags=["conversions"])

BODY = {
    "required": True,
    "content": {"application/json": {"schema": CONVERSION_SCHEMA, "examples": {"by hand": {"value": HAND_EXAMPLE}}}},
}


@needs("read")
@router.post(
    "/solve",
    summary="The cheapest routes of a conversion document",
    response_model=None,
    openapi_extra={"requestBody": BODY},
    responses=problems.responses(
        {
            "description": "Best first, the best plus the alternatives; `open` says what stays open if there is none",
            "content": {"application/json": {"schema": SOLUTION_SCHEMA}},
        },
        413,
        422,
    ),
)
async def solve(
    request: Request,
    workshop: UsesWorkshop,
    objective: Annotated[
        Literal["expected", "total", "cash", "hours"], Query(description="what to make smallest")
    ] = "expected",
    alternatives: Annotated[int, Query(ge=0, le=100, description="how many next-best routes to show")] = 2,
    seconds: Annotated[
        float | None, Query(gt=0, le=3600, description="the most it may take; at most what the service allows")
    ] = None,
) -> Response:
    """Numbers are read exactly as written: no rounding through binary fractions on the way in."""
    data = await request.body()

    limit = None if seconds is None else float(seconds)
    return PlainJson(await workshop.work_out(lambda: workshop.shop.solve(data, objective, alternatives, limit)))
