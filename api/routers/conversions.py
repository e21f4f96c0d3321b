"""POST /conversions: the conversion document of a question."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from api import problems
from api.documents import CONVERSION_SCHEMA
from api.json import PlainJson
from api.questions import QuestionBody
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.conversion.as_json import conversion_as_json

router = APIRouter(tags=["conversions"])


@needs("read")
@router.post(
    "/conversions",
    summary="Everything that could be done, as a document",
    response_model=None,
    responses=problems.responses(
        {
            "description": "The conversion document: save it, mail it, solve it again",
            "content": {"application/json": {"schema": CONVERSION_SCHEMA}},
        },
        404,
        413,
        422,
    ),
)
async def convert(body: QuestionBody, workshop: UsesWorkshop) -> Response:
    """The graph around the question's units, read into positions with candidates, joints with links, tasks, chains,
    rules, faults and inspections. `POST /solve` takes it as it is."""
    question = body.question()

    def document() -> dict[str, Any]:
        return dict(conversion_as_json(workshop.shop.document(question)))

    return PlainJson(await workshop.work_out(document))
