"""POST /routes: a question in, the whole answer out; POST /routes/section.svg: one of its routes as a drawing."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Response

from api import problems
from api.json import PlainJson
from api.questions import QuestionBody
from api.roles import needs
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.model.answer import Answer
from graph.answer.section_drawing import section_drawing
from graph.answer.serial import answer_as_json
from graph.costing.asking import route_at

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


@needs("read")
@router.post(
    "/routes/section.svg",
    summary="A route's finished assembly as a longitudinal section to scale",
    response_class=Response,
    responses=problems.responses(
        {"description": "the drawing", "content": {"image/svg+xml": {}}}, 404, 409, 413, 422
    ),
)  # fmt: skip
async def draw_section(
    body: QuestionBody,
    workshop: UsesWorkshop,
    rank: Annotated[int, Query(ge=1, le=1000, description="which of the answer's routes")] = 1,
    which: Annotated[Literal["", "before", "after"], Query(description="only the one; both if left out")] = "",
) -> Response:
    """Before (the gearbox as found) and after, to one scale from the block's rear face. Every shape says in `data-...`
    what it stands for, with its ends in millimetres; `data-units-per-mm` is the scale. The same as numbers is `section`
    of each route of `POST /routes`. Where no length is known, 409 says so."""
    question = body.question()

    def work() -> str:
        return section_drawing(route_at(workshop.shop.ask(question), rank), which)

    return Response(await workshop.work_out(work), media_type="image/svg+xml")
