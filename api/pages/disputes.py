"""`/notebook/disputes`: what notes say against each other, side by side; settled by a note that says why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse

from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.pages.extra import Pages, pages_of, text_of, writer_of
from api.pages.note_view import DisputeView, list_dispute_views
from api.pages.notes import Options, SentForm, options_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.errors import InvalidInput, Problem
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft

router = page_router()
PER_PAGE = 20


@dataclass(frozen=True, slots=True)
class DisputesView:
    """The disputes of a page, open ones first, and what was wrong with the last attempt to settle one."""

    disputes: tuple[DisputeView, ...]
    open: int
    pages: Pages
    options: Options
    problems: tuple[Problem, ...] = ()


@needs("read")
@router.get("/notebook/disputes")
def show_disputes(
    request: Request, notebook: UsesNotebook, workshop: UsesWorkshop,
    page_number: Annotated[int, Query(alias="page", ge=1, le=10**6)] = 1,
) -> Response:  # fmt: skip
    """Both sides of every dispute with their evidence."""
    return _shown(request, notebook, workshop, page_number)


def _shown(
    request: Request, notebook: Notebook, workshop: UsesWorkshop, number: int = 1,
    problems: tuple[Problem, ...] = (), status: int = 200,
) -> Response:  # fmt: skip
    known = workshop.index.catalogue
    found = list_dispute_views(notebook, known)
    start = (number - 1) * PER_PAGE
    view = DisputesView(
        found[start : start + PER_PAGE], sum(not one.settled for one in found),
        pages_of("/notebook/disputes", {}, len(found), number, PER_PAGE), options_of(known), problems,
    )  # fmt: skip
    return page(request, "disputes.html", view, title="Disputes", status=status, form=True)


@needs("note")
@router.post("/notebook/disputes")
def settle(request: Request, form: SentForm, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Adds the note that settles a dispute: it names the notes that lose, which stay readable."""
    access = writer_of(request, form)
    right, about = text_of(form, "right"), text_of(form, "about").split()
    dispute = next((one for one in notebook.disputes() if list(one.about) == about), None)
    try:
        if dispute is None:
            raise InvalidInput(
                [Problem("", "this dispute is no longer there: it was settled, or a note was taken back")]
            )
        winning = [claim for claim in dispute.claims if claim.note == right]
        if not winning:
            raise InvalidInput([Problem("right", "choose which side is right")])
        losing = {claim.note for claim in dispute.claims if claim.says != winning[0].says and not claim.set_aside_by}
        draft = Draft(
            text=text_of(form, "text").strip(), author=text_of(form, "author").strip(),
            evidence=text_of(form, "evidence"), method=text_of(form, "method").strip(), settles=tuple(sorted(losing)),
            recorded_by=access.name,
        )  # fmt: skip
        notebook.ledger.append(draft)
    except InvalidInput as error:
        return _shown(request, notebook, workshop, problems=error.problems, status=422)
    return RedirectResponse("/notebook/disputes", status_code=303)
