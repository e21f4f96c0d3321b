"""GET /readyz: can the service answer questions? For whatever sends it requests; /healthz says only that it lives."""

from __future__ import annotations

from typing import Any

import anyio
import anyio.to_thread
from fastapi import APIRouter, Request, Response

from api.json import PlainJson
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.errors import LayshaftError
from graph.ledger.notebook import Notebook

PATIENCE_SECONDS = 2.0
Found = dict[str, Any]


def readiness_router() -> APIRouter:
    """The router, with a thread of its own, so that the answer never waits behind questions."""
    router = APIRouter(tags=["service"])
    alone: list[anyio.CapacityLimiter] = []

    @needs("read")
    @router.get("/readyz", summary="Can the service answer questions?", response_model=None)
    async def ready(workshop: UsesWorkshop, request: Request) -> Response:
        """200 when there is a gearbox and an engine to ask about, the ledger can be read, and the view of its notes
        stands where the ledger does; else 503. `fault`: why the newest notes are not in the answers, if so.
        `left_out`: notes that contradict facts or other notes, so that no answer rests on them, each with its reason.
        `backup`: how the backups by the clock fare; one that fails does not make the service unready."""
        lacking = [unit for unit in ("gearbox", "engine") if not workshop.index.units(unit)]
        found: Found = {}
        notebook = getattr(request.app.state, "notebook", None)
        if isinstance(notebook, Notebook):
            if not alone:
                alone.append(anyio.CapacityLimiter(1))
            found = await _looked_at(notebook, alone[0])
            lacking += found.pop("lacking")
        found |= _backups(request)
        state = {"status": "waiting" if lacking else "ready", "lacking": lacking, **found}
        return PlainJson(state, status_code=503 if lacking else 200)

    return router


def _backups(request: Request) -> Found:
    keeper = getattr(request.app.state, "keeper", None)
    if keeper is None or keeper.plan is None:
        return {}
    state = keeper.state()
    return {"backup": {"status": state.words, "last_good": state.good_at, "bytes": state.size,
                       "failed": state.failed_at, "failure": state.failure}}  # fmt: skip


async def _looked_at(notebook: Notebook, alone: anyio.CapacityLimiter) -> Found:
    with anyio.move_on_after(PATIENCE_SECONDS):
        return await anyio.to_thread.run_sync(_standing, notebook, limiter=alone, abandon_on_cancel=True)
    return {"lacking": ["view"], "view": f"has been taking in notes for more than {PATIENCE_SECONDS:g} s"}


def _standing(notebook: Notebook) -> Found:
    try:
        ledger = notebook.ledger.head().position
    except LayshaftError as error:
        return {"lacking": ["ledger"], "ledger": str(error)}
    try:
        view = notebook.view.catch_up()
    except LayshaftError as error:
        return {"lacking": ["view"], "ledger": ledger, "view": str(error)}
    found: Found = {"lacking": [] if view >= ledger else ["view"], "ledger": ledger, "view": view}
    found["left_out"] = [{"note": one.note, "reason": one.reason} for one in notebook.left_out]
    return found | ({"fault": notebook.catalogue_fault} if notebook.catalogue_fault else {})
