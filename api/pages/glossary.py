"""GET /words: what the words of these pages mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Request, Response

from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import workshop_of
from graph.answer.glossary import LONGEST_SEARCH, GlossaryEntry, list_words

router = page_router()


@dataclass(frozen=True, slots=True)
class GlossaryView:
    """`text`: what was looked for; `words`: of the trade, of standards and of this service; `kinds`: the workshop's."""

    text: str
    words: tuple[GlossaryEntry, ...]
    kinds: tuple[GlossaryEntry, ...]


@needs("read")
@router.get("/words")
def words(request: Request, text: Annotated[str, Query(max_length=LONGEST_SEARCH)] = "") -> Response:
    """The glossary, whole or searched."""
    found = list_words(workshop_of(request).index.catalogue, text)
    view = GlossaryView(
        text, tuple(one for one in found if one.sort == "word"), tuple(one for one in found if one.sort != "word")
    )
    return page(request, "glossary.html", view, title="Words")
