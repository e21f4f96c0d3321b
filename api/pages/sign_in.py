"""`/sign-in`: a browser on another machine signs in with an access token, and signs out again.

The page shows nothing of the workshop to somebody who has not signed in.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Annotated

from fastapi import Form, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse

from api.lockout import TooManyTries, doorkeeper_of
from api.notebook import UsesNotebook
from api.pages.base import FORM_FIELD, check_form_token, page, page_router
from api.roles import OPEN, needs
from api.security import address_of
from api.sessions import COOKIE, drop_session, keep_session
from graph.ledger.sessions import Sessions
from graph.ledger.tokens import Tokens

router = page_router()
HOME = "/"


@dataclass(frozen=True, slots=True)
class SignInView:
    """Where to go afterwards (`wanted`), and what was wrong with the last attempt (`fault`)."""

    wanted: str
    fault: str = ""


def _inside(address: str) -> str:
    """The address if it is a path of this service, else the first page: nobody is sent to another site."""
    return address if address.startswith("/") and not address.startswith(("//", "/\\")) else HOME


@needs(OPEN)
@router.get("/sign-in")
def show_sign_in(request: Request, wanted: Annotated[str, Query(max_length=2000)] = HOME) -> Response:
    """A field for the token."""
    return page(request, "sign_in.html", SignInView(_inside(wanted)), title="Sign in", form=True)


@needs(OPEN)
@router.post("/sign-in")
async def sign_in(
    request: Request, notebook: UsesNotebook, token: Annotated[str, Form(max_length=200)] = "",
    wanted: Annotated[str, Form(max_length=2000)] = HOME,
    form_token: Annotated[str, Form(alias=FORM_FIELD, max_length=200)] = "",
) -> Response:  # fmt: skip
    """Sets the session's cookie and goes to the page that was wanted."""
    check_form_token(request, form_token)
    tokens, address = Tokens(notebook.ledger.engine), address_of(request.scope)
    keeper = doorkeeper_of(request.app, tokens)
    try:
        found = await run_in_threadpool(keeper.find, token.strip(), address, time.monotonic())
    except TooManyTries as error:
        answer = _again(request, wanted, f"{error}.", 429)
        answer.headers["Retry-After"] = str(error.wait_s)
        return answer
    if found is None:
        fault = "No living access token is written so. Ask whoever looks after this service."
        return _again(request, wanted, fault, 401)
    cookie = await run_in_threadpool(Sessions(tokens.engine).start, found, int(time.time()))
    answer = RedirectResponse(_inside(wanted), status_code=303)
    keep_session(request, answer, cookie)
    return answer


def _again(request: Request, wanted: str, fault: str, status: int) -> Response:
    """The form with what was wrong."""
    view = SignInView(_inside(wanted), fault)
    return page(request, "sign_in.html", view, title="Sign in", status=status, form=True)


@needs(OPEN)
@router.post("/sign-out")
def sign_out(request: Request, notebook: UsesNotebook) -> Response:
    """Ends the session, and goes to the page for signing in."""
    if cookie := request.cookies.get(COOKIE):
        Sessions(notebook.ledger.engine).end(cookie)
    answer = RedirectResponse("/sign-in", status_code=303)
    drop_session(request, answer)
    return answer
