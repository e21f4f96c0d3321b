"""Puts the shop's notebook onto an app: its routers and pages, and the facts that follow its notes.

`install` does it to an app made by `api.app.create_app`; the caller closes the notebook when the app ends.
"""

from __future__ import annotations

import anyio.to_thread
from fastapi import FastAPI
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.long_work import LongWork
from api.pages import disputes, keeping, new_part, note_files, people, photos, sign_in, unit_sheet
from api.pages import faces as face_pages
from api.pages import notes as note_pages
from api.pages import workbook as workbook_pages
from api.routers import care, exchange, faces, first_steps, graph_export, notes, search, session, sparql, workbook
from graph.counter import Shop
from graph.ledger.notebook import Notebook

# Addresses whose answers do not hang on the facts: no look at the ledger before them.
_WITHOUT_FACTS = ("/docs", "/openapi.json", "/healthz", "/sparql", "/notes", "/tokens", "/attachments", "/static",
                  "/session", "/sign-in", "/sign-out", "/people", "/metrics", "/readyz", "/ledger",
                  "/keeping")  # fmt: skip
LEFT_OUT = b"notes-left-out"


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
    app.state.notebook, app.state.long_work = notebook, LongWork(getattr(app.state, "work_folder", None))
    routers = (notes, search, exchange, care, sparql, graph_export, session, workbook, first_steps, faces)
    pages = (note_pages, disputes, note_files, photos, people, sign_in, keeping, new_part, unit_sheet, workbook_pages,
             face_pages)  # fmt: skip
    for module in (*routers, *pages):
        app.include_router(module.router)


def install(app: FastAPI, notebook: Notebook) -> None:
    """The same on the app of `api.app.create_app`; its answers follow the notes from then on."""
    install_notes(app, notebook)
    shop = app.state.workshop.shop
    shop.follow_notes(notebook)
    app.add_middleware(FollowNotes, shop=shop)
