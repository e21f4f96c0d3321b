"""Every error of the API as an RFC 9457 problem details object (`application/problem+json`).

Members: `type`, `title`, `status`, `detail`, `instance` (the path asked for); `problems` (path and message of each
fault) where the input is at fault; `near` (ids that look alike) where an id is not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from api.addresses import UnreadAddress
from api.fault_words import fault_words, field_steps
from api.json import PlainJson
from api.negotiation import chosen
from graph.counter.asker import GivenUp
from graph.errors import (
    Busy,
    Closed,
    Conflict,
    InvalidInput,
    LayshaftError,
    LimitExceeded,
    NotFound,
    Problem,
    StoreProblem,
)
from graph.search import OutOfTime
from graph.workers import WorkerDied

MEDIA_TYPE = "application/problem+json"
HTML = "text/html"
TYPES = "https://layshaft.example/problems/"
MOST_NAMED = 100  # faults of one body

# The type's last word and its title, by status. A type is an identifier, not a page to fetch (RFC 9457, 3.1.1).
KINDS: Mapping[int, tuple[str, str]] = {
    400: ("bad-request", "The request cannot be read"),
    401: ("unauthorized", "An access token is needed"),
    403: ("forbidden", "The access token does not allow this"),
    404: ("not-found", "Not found"),
    405: ("method-not-allowed", "This address does not take that method"),
    406: ("not-acceptable", "None of the wanted representations exists"),
    408: ("request-timeout", "The request did not come in whole in time"),
    409: ("conflict", "It clashes with what is there already"),
    412: ("precondition-failed", "It has changed since it was read"),
    413: ("too-large", "The request body is too large"),
    415: ("unsupported-media-type", "The request body is of the wrong media type"),
    422: ("invalid-input", "Something that was handed in is wrong"),
    416: ("range-not-satisfiable", "No such part of it"),
    421: ("misdirected", "This service does not answer under that name"),
    428: ("precondition-required", "Say which revision was read"),
    429: ("too-many-requests", "Too many requests at once"),
    431: ("headers-too-large", "The headers of the request are too large"),
    500: ("internal-error", "The service made a mistake"),
    503: ("unavailable", "The service cannot do this right now"),
    504: ("time-limit", "Stopped at its time limit"),
}
FASTER, CLOSED = "Someone else was faster", "It is closed"  # titles of a 409 that say more
STATUS_OF: Sequence[tuple[type[LayshaftError], int]] = (
    (UnreadAddress, 400), (Busy, 503), (WorkerDied, 503), (GivenUp, 503), (OutOfTime, 504),
    (InvalidInput, 422), (NotFound, 404), (Conflict, 409), (LimitExceeded, 422), (StoreProblem, 503),
    (LayshaftError, 500),
)  # fmt: skip


class ProblemLine(BaseModel):
    """One fault of the input."""

    path: str = Field(description="where: the path of the field, empty for the whole input", examples=["context.year"])
    message: str = Field(description="what was found and what was expected")


class ProblemDetails(BaseModel):
    """RFC 9457 problem details."""

    type: str = Field(description="identifies the kind of problem", examples=[TYPES + "not-found"])
    title: str
    status: int
    detail: str
    instance: str = Field(description="the path that was asked for")
    problems: list[ProblemLine] = Field(default_factory=list, description="each fault of the input, in reading order")
    near: list[str] = Field(default_factory=list, description="ids that look like the unknown one, nearest first")


def responses(found: Mapping[str, Any], *statuses: int) -> dict[int | str, dict[str, Any]]:
    """The responses of a route for its OpenAPI description: what it finds (200), and its errors."""
    schema = {"$ref": "#/components/schemas/ProblemDetails"}
    errors: dict[int | str, dict[str, Any]] = {
        status: {"description": KINDS[status][1], "content": {MEDIA_TYPE: {"schema": schema}}} for status in statuses
    }
    return {200: dict(found), **errors}


def describe(description: dict[str, Any]) -> dict[str, Any]:
    """The OpenAPI description with the schema that `responses` refers to."""
    schema = ProblemDetails.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas = description.setdefault("components", {}).setdefault("schemas", {})
    schemas.update(schema.pop("$defs"))
    schemas["ProblemDetails"] = schema
    for operations in description.get("paths", {}).values():
        for operation in operations.values():
            _describe_edges(operation)
    return description


AT_THE_EDGE, WITH_A_BODY = (400, 429, 431, 503), (413, 415, 422)


def _describe_edges(operation: dict[str, Any]) -> None:
    """Adds what the layers around the routes may answer, and says each error in the one shape."""
    stated = operation["responses"]
    at_fault = (422,) if "422" in stated else ()  # as the framework adds it: in its own shape
    statuses = (*AT_THE_EDGE, *(WITH_A_BODY if "requestBody" in operation else at_fault))
    for status, told in responses({}, *statuses).items():
        if status != 200 and MEDIA_TYPE not in stated.get(str(status), {}).get("content", {}):
            stated[str(status)] = told


def problem(
    path: str,
    status: int,
    detail: str,
    *,
    problems: Iterable[Problem] = (),
    near: Iterable[str] = (),
    headers: Mapping[str, str] | None = None,
    more: Mapping[str, Any] | None = None,
    title: str = "",
) -> Response:
    """The problem details response. `more`: members of this kind of problem alone (RFC 9457, 3.2). `title`: in place
    of the usual one of the status."""
    word, usual = KINDS.get(status, ("error", HTTPStatus(status).phrase))
    body: dict[str, Any] = {
        "type": TYPES + word, "title": title or usual, "status": status, "detail": detail, "instance": path,
    }  # fmt: skip
    lines = [{"path": one.path, "message": one.message} for one in problems]
    if lines:
        body["problems"] = lines
    if alike := list(near):
        body["near"] = alike
    body |= more or {}
    return PlainJson(body, status_code=status, headers=dict(headers or {}), media_type=MEDIA_TYPE)


def of_error(path: str, error: LayshaftError) -> Response:
    """The response for an error that the core raised on purpose."""
    status = next(status for kind, status in STATUS_OF if isinstance(error, kind))
    found = first_of(error.problems) if isinstance(error, InvalidInput) else ()
    return problem(
        path,
        status,
        "; ".join(map(str, found)) or str(error),
        problems=found,
        near=error.near if isinstance(error, NotFound) else (),
        headers={"retry-after": str(error.retry_s)} if isinstance(error, Busy) else None,
        title=CLOSED if isinstance(error, Closed) else "",
    )


def first_of(found: Sequence[Problem], most: int = MOST_NAMED) -> tuple[Problem, ...]:
    """The first faults, at most `most` lines, the last of which counts the rest: no answer grows with what was sent.

    >>> [str(one) for one in first_of([Problem("a", "no"), Problem("b", "no"), Problem("c", "no")], 2)]
    ['a: no', 'and 2 more of the kind']
    """
    if len(found) <= most:
        return tuple(found)
    return (*found[: most - 1], Problem("", f"and {len(found) - most + 1:,} more of the kind"))


def of_any_error(path: str, error: Exception) -> Response:
    """The response for whatever error reached the edge."""
    if isinstance(error, LayshaftError):
        return of_error(path, error)
    return problem(path, 500, "an error that nobody foresaw; the log of the service has the details")


def _field_path(location: Sequence[Any]) -> str:
    """`("body", "avoid", 0)` as `avoid[0]`: the same form of path that the core uses."""
    path = ""
    for step in field_steps(location[1:]):
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else str(step)
    return path


def reads_pages(request: Request) -> bool:
    """Whether a browser asks for something to read: a GET that likes HTML better than JSON (RFC 9110, 12.5.1)."""
    if request.method not in ("GET", "HEAD"):
        return False
    offers = {"application/json": MEDIA_TYPE, MEDIA_TYPE: MEDIA_TYPE, HTML: HTML}
    try:
        return chosen(request.headers.get("accept", ""), offers) == HTML
    except HTTPException:
        return False


def install(app: FastAPI) -> None:
    """Makes every error leave the app as problem details, also those of the framework and those of nobody.

    A browser that comes to an address by hand gets a page instead: `app.state.error_as_page`, set by who has pages.
    """

    def shown(request: Request, error: Exception, plain: Response) -> Response:
        """The same as a page, where a browser asks and the app has pages."""
        as_page = getattr(request.app.state, "error_as_page", None)
        return as_page(request, error) if as_page is not None and reads_pages(request) else plain

    async def known(request: Request, error: Exception) -> Response:
        assert isinstance(error, LayshaftError)
        return shown(request, error, of_error(request.url.path, error))

    async def malformed(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        every = error.errors()
        found = first_of([Problem(_field_path(one["loc"]), fault_words(one)) for one in every])
        if any(one["type"] == "json_invalid" for one in every):
            found = tuple(Problem("", "not JSON: " + str(one.get("ctx", {}).get("error", ""))) for one in every)
        return problem(request.url.path, 422, "; ".join(map(str, found)), problems=found)

    async def refused(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        detail = error.detail
        if error.status_code == 404 and detail == HTTPStatus(404).phrase:
            detail = f"nothing stands at {request.url.path}"
        elif error.status_code == 405:
            detail = f"{request.method} is not possible at {request.url.path}"
        told = HTTPException(error.status_code, detail, error.headers)
        plain = problem(request.url.path, error.status_code, detail, headers=error.headers)
        return shown(request, told, plain)

    async def unforeseen(request: Request, error: Exception) -> Response:
        return of_any_error(request.url.path, error)  # also ours, from a layer around the routes: `known` is inside

    app.add_exception_handler(LayshaftError, known)
    app.add_exception_handler(RequestValidationError, malformed)
    app.add_exception_handler(HTTPException, refused)
    app.add_exception_handler(Exception, unforeseen)
