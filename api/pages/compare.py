"""GET /compare: the answer to the question in the address, its routes side by side."""

from __future__ import annotations

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from api.addresses import reads
from api.pages.answers import find_answer, find_known
from api.pages.asked import QUESTION_NAMES, asked_anything, question_of
from api.pages.base import page, page_router
from api.pages.compare_view import allowing_last, compare_view
from api.roles import needs
from api.workshop import workshop_of

router = page_router()


@reads(QUESTION_NAMES)
@needs("read")
@router.get("/compare")
async def compare(request: Request, changes: str = "") -> Response:
    """The comparison. `changes`: also what would change the answer, which takes longer."""
    if not asked_anything(request.query_params):
        return RedirectResponse("/ask", status_code=303)
    question = question_of(request.query_params)
    wanted = changes not in ("", "no")
    found = await find_answer(request, question, with_changes=wanted)
    allowed = await find_answer(request, allowing_last(question)) if question.avoid else None
    known = await find_known(request, question)
    view = compare_view(
        found.index, question, found.answer, wanted, allowed.answer if allowed else None,
        workshop_of(request).shop.keeps_record, known,
    )  # fmt: skip
    return page(request, "compare.html" if view.columns else "no_route.html", view, title=view.question.title)
