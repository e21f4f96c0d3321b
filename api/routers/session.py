"""POST /session: a browser signs in with an access token and gets a cookie; DELETE ends it."""

from __future__ import annotations

import time
from typing import Annotated

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from api import problems
from api.json import PlainJson
from api.lockout import TooManyTries, doorkeeper_of
from api.notebook import UsesNotebook
from api.roles import OPEN, needs
from api.security import address_of
from api.sessions import COOKIE, csrf_token, drop_session, keep_session
from graph.ledger.sessions import Sessions
from graph.ledger.tokens import Tokens

router = APIRouter(tags=["service"])


class SignIn(BaseModel):
    """An access token."""

    model_config = ConfigDict(extra="forbid")

    token: Annotated[str, Field(min_length=1, max_length=200)]


class SignedIn(BaseModel):
    """Who is signed in, and what each change must send as `X-CSRF-Token`."""

    name: str
    role: str
    csrf_token: str


@needs(OPEN)
@router.post("/session", summary="Sign in", response_model=SignedIn,
             responses=problems.responses({"model": SignedIn}, 400, 401, 403, 422, 429, 503))  # fmt: skip
async def sign_in(body: SignIn, request: Request, notebook: UsesNotebook) -> Response:
    """Sets a cookie for twelve hours that scripts cannot read and other sites cannot send."""
    tokens = Tokens(notebook.ledger.engine)
    keeper, address = doorkeeper_of(request.app, tokens), address_of(request.scope)
    try:
        token = await run_in_threadpool(keeper.find, body.token, address, time.monotonic())
    except TooManyTries as error:
        raise HTTPException(429, str(error), headers={"Retry-After": str(error.wait_s)}) from None
    if token is None:
        raise HTTPException(401, "no such access token", headers={"WWW-Authenticate": 'Bearer realm="layshaft"'})
    sessions = Sessions(tokens.engine)
    cookie = await run_in_threadpool(sessions.start, token, int(time.time()))
    answer = PlainJson({"name": token.name, "role": token.role, "csrf_token": csrf_token(cookie)})
    keep_session(request, answer, cookie)
    return answer


@needs(OPEN)
@router.delete("/session", summary="Sign out", status_code=204, response_model=None)
async def sign_out(request: Request, notebook: UsesNotebook) -> Response:
    """Ends the session here and everywhere: its cookie is worth nothing from then on."""
    if cookie := request.cookies.get(COOKIE):
        await run_in_threadpool(Sessions(notebook.ledger.engine).end, cookie)
    answer = Response(status_code=204)
    drop_session(request, answer)
    return answer
