"""The app factory: facts and settings in, a FastAPI app out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import APIRouter, Depends, FastAPI
from starlette.types import ASGIApp

from api import docs, problems, roles
from api.addresses import all_is_read
from api.asking import AskedBy
from api.edges import JsonBodies, Readable, WholeAnswers
from api.limits import BodyLimit, SafeHeaders, UnderWay
from api.metrics import Counts, MeasuredRequests, metrics_router
from api.pages import mount
from api.readiness import readiness_router
from api.routers import (
    complaints,
    conversions,
    fits,
    glossary,
    health,
    made_parts,
    parts,
    plates,
    reach,
    redrilling,
    routes,
    solve,
    spoken,
    stock,
    used_boxes,
)
from api.settings import Settings
from api.workshop import Workshop
from graph.catalogue.model import Catalogue
from graph.counter import Shop
from graph.lookups.index import CatalogueIndex

ABOUT = """What is the cheapest route from this gearbox to that engine?

A question goes in, the proven cheapest route comes out, step by step, with what it moves, what it rests on and what
would change it. Money is in the one currency of the facts, hours are bench hours, lengths are millimetres.

Measure your own parts before you spend money or cut. Follow local law and a qualified person's advice.
"""
TAGS = [
    {"name": "routes", "description": "questions and answers"},
    {"name": "conversions", "description": "the document between a question and its answer"},
    {"name": "parts", "description": "what the graph knows"},
    {"name": "fits", "description": "what follows from measurements"},
    {"name": "used gearboxes", "description": "what to look at before one is paid for, and what it is worth"},
    {"name": "plates", "description": "adapter plates and their drawings, hole patterns"},
    {"name": "made parts", "description": "bushes, sleeves and spacers to be made, and their drawings"},
    {"name": "complaints", "description": "what is wrong, and what to look at next"},
    {"name": "service", "description": "the service itself"},
]


def create_app(
    catalogue: Catalogue | CatalogueIndex | Shop, settings: Settings | None = None, extra: Iterable[APIRouter] = ()
) -> FastAPI:
    """The JSON API over a catalogue or a shop. `extra`: further routers (pages, notes) under the same limits."""
    chosen = settings or Settings()
    app = _Service(
        title="Layshaft",
        version="0.1.0",
        description=ABOUT,
        openapi_tags=TAGS,
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(all_is_read)],
    )
    for route in app.routes:
        roles.needs(roles.OPEN)(route.endpoint)  # type: ignore[attr-defined]  # the framework's own: /openapi.json
    app.most_under_way = chosen.most_under_way
    app.state.workshop = Workshop(_shop_of(catalogue, chosen), chosen)
    for router in (
        routes.router,
        spoken.router,
        conversions.router,
        solve.router,
        parts.router,
        fits.router,
        plates.router,
        made_parts.router,
        redrilling.router,
        complaints.router,
        used_boxes.router,
        glossary.router,
        health.router,
        reach.router,
        stock.router,
        *extra,
    ):
        app.include_router(router)
    _describe_problems(app)
    problems.install(app)
    docs.install(app)
    mount.install(app)
    imports = dict.fromkeys(("/imports", "/merges"), max(chosen.most_import_bytes, chosen.most_body_bytes))
    app.add_middleware(JsonBodies)
    photos = ("/attachments", "/notebook", "/faces/photo", "/bench/face")
    app.add_middleware(BodyLimit, most_bytes=chosen.most_body_bytes, larger=imports, photos=photos)
    app.include_router(metrics_router(app.counts))
    app.include_router(readiness_router())
    return app


class _Service(FastAPI):
    """FastAPI with layers around all others, whenever those are added: what they refuse is counted as well."""

    most_under_way = Settings().most_under_way

    def __init__(self, **given: Any):
        super().__init__(**given)
        self.counts = Counts()

    def build_middleware_stack(self) -> ASGIApp:
        inside = super().build_middleware_stack()
        kept = UnderWay(AskedBy(inside), self.most_under_way)
        return MeasuredRequests(SafeHeaders(WholeAnswers(Readable(kept))), self.counts)


def _shop_of(given: Catalogue | CatalogueIndex | Shop, settings: Settings) -> Shop:
    if isinstance(given, Shop):
        return given
    return Shop(given if isinstance(given, CatalogueIndex) else CatalogueIndex(given), limits=settings.limits)


def _describe_problems(app: FastAPI) -> None:
    plain = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = roles.describe(problems.describe(plain()), app)
        return app.openapi_schema

    app.openapi = described  # type: ignore[method-assign]
