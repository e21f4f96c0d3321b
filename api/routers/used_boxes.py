"""A used gearbox before it is paid for: `POST /used-boxes`."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import Field

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.routers.costing_bodies import Body, Money, Named
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.serial import part_as_json
from graph.exact import HUNDREDTHS
from graph.used_box import UsedBox, UsedBoxVerdict

router = APIRouter(tags=["used gearboxes"])


class UsedBoxBody(Body):
    """Which gearbox or family of them, what was found so far, and what is asked for it."""

    gearbox: Named = Field(examples=["tansy-5"])
    found: Annotated[dict[Named, Literal["yes", "no"]], Field(max_length=100)] = Field(
        default_factory=dict, description="check -> yes or no; leave out what was not looked at",
        examples=[{"shaft-rocks": "yes"}],
    )  # fmt: skip
    asking: Money | None = Field(None, description="the seller's price, in the shop's currency")


@needs("read")
@router.post(
    "/used-boxes", summary="What to look at before buying, and what it is worth", response_model=None,
    responses=problems.responses({"model": shape(UsedBoxVerdict)}, 400, 404, 413, 422),
)  # fmt: skip
async def weigh(body: UsedBoxBody, workshop: UsesWorkshop) -> Response:
    """Checks without opening it, what tells most for its time first, with odds before and after; repairs to be
    expected; what it is worth; and what to measure on it."""
    asking = None if body.asking is None else int(body.asking * HUNDREDTHS)
    asked = UsedBox(body.gearbox, dict(body.found), asking)
    return PlainJson(part_as_json(await workshop.work_out(lambda: workshop.shop.weigh_used_box(asked))))
