"""Puts the pages and their static files onto the app."""

from __future__ import annotations

from os import PathLike, stat_result
from typing import Any

from fastapi import APIRouter, FastAPI, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from api.pages import (
    ask,
    bench,
    bench_joint,
    compare,
    fault_finding,
    first_run,
    glossary,
    identify,
    in_words,
    job_book,
    made_parts,
    new_job,
    part,
    plates,
    reach,
    redrill,
    route,
    stock,
    used_box,
    while_out,
)
from api.pages.base import STATIC, error_page
from api.roles import OPEN, needs

# The pages of notes are added with the notebook (api/with_notes.py).
ROUTERS: tuple[APIRouter, ...] = tuple(
    module.router
    for module in (
        first_run,
        ask,
        in_words,
        glossary,
        reach,
        stock,
        compare,
        route,
        part,
        bench,
        bench_joint,
        plates,
        made_parts,
        redrill,
        identify,
        fault_finding,
        job_book,
        new_job,
        while_out,
        used_box,
    )
)
A_YEAR = "public, max-age=31536000, immutable"


@needs(OPEN)
class KeptFiles(StaticFiles):
    """Static files; one that is asked for by its fingerprint may be kept for a year."""

    def file_response(
        self, full_path: str | PathLike[str], stat_result: stat_result, scope: Scope, status_code: int = 200
    ) -> Response:
        """As usual, with how long the file may be kept."""
        response = super().file_response(full_path, stat_result, scope, status_code)
        response.headers["cache-control"] = A_YEAR if scope.get("query_string") else "no-cache"
        return response


def install(app: FastAPI, *more: Any) -> None:
    """Adds `/static` and every page, and the pages of further modules (each with a `router`)."""
    app.state.error_as_page = error_page
    app.mount("/static", KeptFiles(directory=STATIC), name="static")
    for router in (*ROUTERS, *(module.router for module in more)):
        app.include_router(router)
