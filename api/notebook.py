"""The shop's notebook inside the app: its routers, and the facts that follow its notes.

`install` puts them onto an app made by `api.app.create_app`; the caller closes the notebook when the app ends.
"""

from __future__ import annotations

from typing import Annotated, Any

import anyio.to_thread
from fastapi import Depends, FastAPI, Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.long_work import LongWork
from api.workshop import without_thread
from graph.counter import Shop
from graph.ledger.notebook import Notebook

# Addresses whose answers do not hang on the facts: no look at the ledger before them.
_WITHOUT_FACTS = ("/docs", "/openapi.json", "/healthz", "/sparql", "/notes", "/tokens", "/attachments", "/static",
                  "/session", "/sign-in", "/sign-out", "/people", "/metrics", "/readyz", "/ledger",
                  "/keeping")  # fmt: skip
LEFT_OUT = b"notes-left-out"


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


class FollowNotes:
    """Before a question is answered, takes in the notes that were added here or by another process.

    An answer that does not rest on all of them says so in the header LEFT_OUT: how many notes are left out.
    """

    def __init__(self, app: ASGIApp, shop: Shop):
        self.app, self.shop = app, shop

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not scope["path"].startswith(_WITHOUT_FACTS):
            await anyio.to_thread.run_sync(self.shop.follow)
        out = len(self.shop.left_out) if scope["type"] == "http" else 0

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), (LEFT_OUT, str(out).encode())]
            await send(message)

        await self.app(scope, receive, told if out else send)


def install_notes(app: FastAPI, notebook: Notebook) -> None:
    """Adds notes, disputes, search, files, SPARQL and the graph's export to any app, and the notes' pages."""
    from api.pages import disputes, keeping, new_part, note_files, people, photos, sign_in, unit_sheet
    from api.pages import notes as note_pages
    from api.pages import workbook as workbook_pages
    from api.routers import care, exchange, first_steps, graph_export, notes, search, session, sparql, workbook

    app.state.notebook, app.state.long_work = notebook, LongWork(getattr(app.state, "work_folder", None))
    routers = (notes, search, exchange, care, sparql, graph_export, session, workbook, first_steps)
    pages = (note_pages, disputes, note_files, photos, people, sign_in, keeping, new_part, unit_sheet, workbook_pages)
    for module in (*routers, *pages):
        app.include_router(module.router)


def install(app: FastAPI, notebook: Notebook) -> None:
    """The same on the app of `api.app.create_app`; its answers follow the notes from then on."""
    install_notes(app, notebook)
    shop = app.state.workshop.shop
    shop.follow_notes(notebook)
    app.add_middleware(FollowNotes, shop=shop)


def described(media_types: tuple[str, ...], description: str) -> dict[str, Any]:
    """The 200 response of a route that answers in one of several media types, for OpenAPI."""
    return {"description": description, "content": {name: {"schema": {"type": "string"}} for name in media_types}}
