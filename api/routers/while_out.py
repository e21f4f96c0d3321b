"""What else to renew while a route has it open: `POST /while-it-is-out`."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response
from pydantic import Field

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.routers.costing_bodies import MOST_TICKED, ChosenRoute, Named, Whole
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.serial import part_as_json
from graph.wear import LONGEST_WARRANTY, RenewalWish, WhileOut

router = APIRouter(tags=["costing"])


class WhileOutBody(ChosenRoute):
    """A route of a question, what the customer has ticked, and the warranty."""

    renew: list[Named] = Field(default_factory=list, max_length=MOST_TICKED, description="ids of items of the list")
    warranty_months: Whole | None = Field(None, ge=0, le=LONGEST_WARRANTY, description="none stated if left out")

    def wish(self) -> RenewalWish:
        """The same as the core's wish."""
        return RenewalWish(tuple(dict.fromkeys(self.renew)), self.warranty_months)


@needs("read")
@router.post(
    "/while-it-is-out", summary="What else to renew while it is open", response_model=None,
    responses=problems.responses({"model": shape(WhileOut)}, 400, 404, 413, 422),
)  # fmt: skip
async def list_while_out(body: WhileOutBody, workshop: UsesWorkshop) -> Response:
    """Every worn part that this route lays open: odds, cost now and later, renew, look or leave; what is ticked added
    up; and what lies deeper."""

    def worked_out() -> Any:
        question = body.question.question()
        return part_as_json(workshop.shop.while_out(question, body.rank, body.wish(), body.signs))

    return PlainJson(await workshop.work_out(worked_out))
