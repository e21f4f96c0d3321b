"""What every page shares: the frame around it, the template engine, its errors, and the tokens of its forms.

A page module makes a router with `page_router()`, builds its view object, and returns `page(request, "x.html", view)`.
A template reads `view` (the page's own object) and `frame` (see `Frame`), nothing else.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse
from fastapi.routing import APIRoute
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.exceptions import HTTPException
from starlette.routing import Match

from api import problems
from api.fault_words import dotted, fault_words
from api.pages.allowed import only_allowed
from api.pages.back import back_of
from graph.answer.model.answer import UnusedNote
from graph.errors import InvalidInput, LayshaftError, NotFound, Problem

HERE = Path(__file__).resolve().parents[1]
TEMPLATES, STATIC = HERE / "templates", HERE / "static"
MOST_FAULTS = 30  # told on a page
FORM_COOKIE, FORM_FIELD = "form", "form_token"

# What the navigation offers, in order: the words, and the address. Only addresses that the app has are shown.
NAVIGATION = (
    ("Ask", "/ask"), ("Where to", "/reach"), ("Parts", "/browse"), ("Notes", "/notebook"), ("Bench", "/bench"),
    ("Shop", "/shop/prices/page"),
    ("Jobs", "/job-book"),
    ("Identify", "/identify"), ("Fault finding", "/fault-finding"), ("Tour", "/tour"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PageLink:
    """A link: `words`, `address`, and whether it is the page being read (`here`)."""

    words: str
    address: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around every page.

    `title`: of the page. `links`: the navigation. `workshop`: a line that says whose facts these are, and how many.
    `left_out`: notes that contradict the rest, so that nothing on the page rests on them.
    `visiting`: the demo is looked at, though there is an own workshop; `demo_apart`: it is one click away;
    `can_start`: an own workshop can be started. `back`: the answer that this page was opened from.
    `style`, `script`: addresses of the style sheet and the script, with their fingerprint. `token`: for a form that
    changes something, as the hidden field `form_token`; empty on pages without one.
    """

    title: str
    links: tuple[PageLink, ...]
    workshop: str
    style: str
    script: str
    token: str = ""
    left_out: tuple[UnusedNote, ...] = ()
    visiting: bool = False
    demo_apart: bool = False
    can_start: bool = False
    back: str = ""


@dataclass(frozen=True, slots=True)
class ErrorView:
    """A page that says what was wrong. `status`, `title`: in numbers and words; `detail`: the whole sentence.

    `problems`: each fault with its place; `near`: ids that look like the unknown one, at `near_address` if they have
    pages; `back`: where to go on; `pages`: what there is.
    """

    status: int
    title: str
    detail: str
    problems: tuple[Problem, ...] = ()
    near: tuple[str, ...] = ()
    back: str = "/ask"
    pages: tuple[PageLink, ...] = ()
    near_address: str = ""


@cache
def environment() -> Environment:
    """The template engine: everything is escaped, an unknown name is an error, nothing is left of loop lines."""
    return Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=select_autoescape(default=True), undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip


@cache
def asset(name: str) -> str:
    """The address of a static file with a fingerprint of its content, so that it may be kept for a year.

    >>> asset("base.css").startswith("/static/base.css?v=")
    True
    """
    return f"/static/{name}?v={hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]}"


def page(
    request: Request, template: str, view: object, *, title: str, status: int = 200, form: bool = False
) -> Response:
    """The template filled with the view. `form`: it holds a form that changes something, so it gets a token."""
    token = (request.cookies.get(FORM_COOKIE) or secrets.token_urlsafe(24)) if form else ""
    two = getattr(request.app.state, "two", None)
    visiting = two is not None and two.wants_demo(request)
    frame = Frame(
        title=title, links=_links(request), workshop=_workshop_words(request), style=asset("base.css"),
        script=asset("base.js"), token=token, left_out=request.app.state.workshop.shop.left_out,
        visiting=visiting, demo_apart=two is not None and two.has_own and not visiting,
        can_start=two is not None and two.can_start, back=back_of(request),
    )  # fmt: skip
    html = only_allowed(request, environment().get_template(template).render(view=view, frame=frame))
    response = HTMLResponse(html, status_code=status)
    response.headers["cache-control"] = "no-store" if form else "private, no-cache"
    if form:
        response.set_cookie(FORM_COOKIE, token, httponly=True, samesite="strict", secure=request.url.scheme == "https")
    return response


def fragment(template: str, view: object) -> Response:
    """A part of a page, for a script of ours to put in its place."""
    response = HTMLResponse(environment().get_template(template).render(view=view))
    response.headers["cache-control"] = "private, no-cache"
    return response


def check_form_token(request: Request, sent: str) -> None:
    """Raises a 403 problem unless the form was made by a page of ours (double submit of a strict cookie)."""
    kept = request.cookies.get(FORM_COOKIE, "")
    if not kept or not hmac.compare_digest(kept.encode(), sent.encode()):
        raise HTTPException(403, "this form is not from a page of this service, or is too old: load it again")


def page_router(**more: Any) -> APIRouter:
    """A router whose routes answer with pages, also where something is wrong; out of the API's description."""
    return APIRouter(route_class=PageRoute, include_in_schema=False, **more)


Handler = Callable[[Request], Coroutine[Any, Any, Response]]


class PageRoute(APIRoute):
    """A route whose errors are pages too, also that the role of whoever asks is too low (`api.roles`)."""

    answers_with_a_page = True

    def get_route_handler(self) -> Handler:
        """The handler, with errors raised on purpose made into pages."""
        plain = super().get_route_handler()

        async def handled(request: Request) -> Response:
            try:
                return await plain(request)
            except (LayshaftError, HTTPException, RequestValidationError) as error:
                return error_page(request, error)

        return handled


def error_page(request: Request, error: Exception) -> Response:
    """The page for an error that was raised on purpose."""
    status, faults = _status_and_problems(error)
    word = problems.KINDS.get(status, ("", "Something went wrong"))[1]
    detail = str(error.detail) if isinstance(error, HTTPException) else "" if faults else str(error)
    near = tuple(error.near) if isinstance(error, NotFound) else ()
    is_part = isinstance(error, NotFound) and error.what == "part"
    view = ErrorView(
        status, word, detail, faults, near, pages=_links(request), near_address="/part/" if is_part else ""
    )
    response = page(request, "error.html", view, title=word, status=status)
    if isinstance(error, HTTPException):
        response.headers.update(error.headers or {})
    return response


def _status_and_problems(error: Exception) -> tuple[int, tuple[Problem, ...]]:
    if isinstance(error, HTTPException):
        return error.status_code, ()
    if isinstance(error, RequestValidationError):
        found = (Problem(dotted(one["loc"][1:]), fault_words(one)) for one in error.errors())
        return 422, problems.first_of(tuple(found), MOST_FAULTS)
    status = next(status for kind, status in problems.STATUS_OF if isinstance(error, kind))
    return status, problems.first_of(error.problems, MOST_FAULTS) if isinstance(error, InvalidInput) else ()


def _links(request: Request) -> tuple[PageLink, ...]:
    known = _addresses(request)
    path = request.url.path
    return tuple(
        PageLink(words, address, here=path == address or path.startswith(address + "/"))
        for words, address in NAVIGATION
        if address in known
    )


def _addresses(request: Request) -> frozenset[str]:
    """The addresses of the navigation that the app answers, looked up once for each app."""
    app = request.app
    if not hasattr(app.state, "page_addresses"):
        app.state.page_addresses = frozenset(address for _, address in NAVIGATION if _answers(app, address))
    found = app.state.page_addresses
    assert isinstance(found, frozenset)
    return found


def has_page(request: Request, address: str) -> bool:
    """Whether the app answers this address of the navigation."""
    return address in _addresses(request)


def _answers(app: FastAPI, address: str) -> bool:
    scope = {"type": "http", "method": "GET", "path": address, "root_path": "", "headers": []}
    return any(route.matches(scope)[0] == Match.FULL for route in app.routes)


def _workshop_words(request: Request) -> str:
    known = request.app.state.workshop.index.catalogue
    counted = f"{len(known.parts):,} parts; {len(known.edges):,} edges".replace(",", "\u202f").replace(";", ",")
    return f"{known.workshop}: {counted}" if known.workshop else counted
