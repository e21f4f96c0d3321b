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

from api.notebook import UsesNotebook
from api.pages.base import FORM_FIELD, check_form_token, page, page_router
from api.roles import OPEN, needs
from api.sessions import COOKIE, Sessions, keep_session
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
    sessions = Sessions(Tokens(notebook.ledger.engine))
    started = await run_in_threadpool(sessions.start, token.strip(), int(time.time()))
    if started is None:
        view = SignInView(
            _inside(wanted), "No living access token is written so. Ask whoever looks after this service."
        )
        return page(request, "sign_in.html", view, title="Sign in", status=401, form=True)
    answer = RedirectResponse(_inside(wanted), status_code=303)
    keep_session(request, answer, started[0])
    return answer


@needs(OPEN)
@router.post("/sign-out")
def sign_out() -> Response:
    """Drops the cookie."""
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return answer
