"""POST /routes: a question in, the whole answer out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from api import problems
from api.json import PlainJson
from api.questions import QuestionBody
from api.roles import needs
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.model import Answer
from graph.answer.serial import answer_as_json

router = APIRouter(tags=["routes"])


@needs("read")
@router.post(
    "/routes",
    summary="The cheapest route from a gearbox to an engine",
    response_model=None,
    responses=problems.responses(
        {"model": shape(Answer), "description": "Routes best first, or what keeps every route closed"}, 404, 413, 422
    ),
)
async def ask(
    body: QuestionBody,
    workshop: UsesWorkshop,
    changes: Annotated[bool, Query(description="also say what would change the answer (slower)")] = False,
) -> Response:
    """The proven cheapest route with its steps, parts, side effects and sums; the next-best routes; the front; what
    looking first is worth; what would change the answer. Prices, shelf, rates, hours and odds are the shop's own where
    its record has them: each part says where its price is from, and a stale one stands under the assumptions.
    What an assumption's `places` hold is said by `PUT /units/ID/sheet`, a reading or whether two parts fit by
    `POST /notes`, a part with its price by `POST /parts` or `POST /prices/import`, a rate by `POST /shop/rates`.
    "No route" is an answer too: it says what stays open, the nearest miss at each place, and what would open it."""
    question = body.question()

    def work() -> dict[str, Any]:
        return answer_as_json(workshop.shop.ask(question, with_changes=changes))

    return PlainJson(await workshop.work_out(work))
