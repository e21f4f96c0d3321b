"""What routers and pages of notes ask of the app: its notebook, and its work that outlasts a request."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Request

from api.long_work import LongWork
from api.workshop import without_thread
from graph.ledger.notebook import Notebook


def notebook_of(request: Request) -> Notebook:
    """The app's notebook."""
    found = request.app.state.notebook
    assert isinstance(found, Notebook)
    return found


UsesNotebook = Annotated[Notebook, Depends(without_thread(notebook_of))]


def long_work_of(request: Request) -> LongWork:
    """The app's work that outlasts a request."""
    found = request.app.state.long_work
    assert isinstance(found, LongWork)
    return found


UsesLongWork = Annotated[LongWork, Depends(without_thread(long_work_of))]


def described(media_types: tuple[str, ...], description: str) -> dict[str, Any]:
    """The 200 response of a route that answers in one of several media types, for OpenAPI."""
    return {"description": description, "content": {name: {"schema": {"type": "string"}} for name in media_types}}
