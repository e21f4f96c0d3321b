"""What the pages of parts, notes, bench and identify share besides the frame: their style sheet and their paging."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote, unquote, urlencode

from fastapi import Depends, Request, Response
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException

from api.pages.back import keep_back
from api.pages.base import FORM_FIELD, asset, check_form_token, environment
from api.security import Access, access_of
from api.workshop import without_thread
from graph.catalogue.names import SHOP
from graph.errors import InvalidInput, Problem
from graph.ledger.notebook import Notebook

WRITER_COOKIE, WRITER_S, LONGEST_WRITER = "writer", 180 * 24 * 3600, 200
environment().globals["asset"] = asset  # a template names a further style sheet or script by it


@dataclass(frozen=True, slots=True)
class Pages:
    """Which rows of how many a page shows. `before` and `after`: addresses of the neighbours, empty at the ends."""

    first: int
    last: int
    total: int
    before: str = ""
    after: str = ""


def pages_of(path: str, query: Mapping[str, str], total: int, number: int, size: int) -> Pages:
    """The page `number` (from 1) of `total` rows, `size` to a page.

    >>> pages_of("/browse", {"text": "bell"}, 120, 2, 50)
    Pages(first=51, last=100, total=120, before='/browse?text=bell&page=1', after='/browse?text=bell&page=3')
    """
    first, last = (number - 1) * size + 1, min(number * size, total)
    kept = {name: value for name, value in query.items() if value}

    def at(page: int) -> str:
        return f"{path}?{urlencode({**kept, 'page': page})}"

    return Pages(
        min(first, total), last, total, at(number - 1) if number > 1 else "", at(number + 1) if last < total else ""
    )


def notebook_or_none(request: Request) -> Notebook | None:
    """The app's notebook, if it keeps one."""
    found = getattr(request.app.state, "notebook", None)
    return found if isinstance(found, Notebook) else None


def kept_notebook(request: Request) -> Notebook:
    """The app's notebook. Raises a 404 problem where none is kept."""
    found = notebook_or_none(request)
    if found is None:
        raise HTTPException(404, "this service keeps no notes; start it with a data folder")
    return found


KeptNotebook = Annotated[Notebook, Depends(without_thread(kept_notebook))]


def base_of(request: Request) -> str:
    """The shop's base IRI."""
    notebook = notebook_or_none(request)
    return notebook.ledger.base if notebook else SHOP


def writer_of(request: Request, form: FormData) -> Access:
    """Who sends a form that changes something. Raises a 403 problem for a form that no page of ours made."""
    keep_back(request, form)
    check_form_token(request, text_of(form, FORM_FIELD))
    check_said_once(form)
    return access_of(request)


def check_said_once(form: FormData) -> None:
    """Raises InvalidInput for fields that were sent several times with different words: none of them silently wins."""
    said: dict[str, set[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            said.setdefault(name, set()).add(value)
    twice = [name for name, values in said.items() if len(values) > 1]
    if twice:
        told = "was sent several times with different words: send it once, with what is meant"
        raise InvalidInput([Problem(name[:100], told) for name in twice[:50]])


def last_writer(request: Request) -> str:
    """Who is likely to say so: the name signed in with, or who wrote last on this device; empty where nobody did."""
    return access_of(request).default_author or unquote(request.cookies.get(WRITER_COOKIE, ""))[:LONGEST_WRITER]


def remember_writer(request: Request, response: Response, author: str) -> Response:
    """The response, so that this device offers the name in its next form."""
    kept = quote(author[:LONGEST_WRITER])
    response.set_cookie(WRITER_COOKIE, kept, max_age=WRITER_S, httponly=True, samesite="strict",
                        secure=request.url.scheme == "https")  # fmt: skip
    return response


def text_of(form: FormData, name: str) -> str:
    """A field of a form as text; empty where it was not sent (or a file was)."""
    found = form.get(name, "")
    return found if isinstance(found, str) else ""
