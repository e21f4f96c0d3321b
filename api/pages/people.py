"""`/people`: who may come in; somebody new, or a phone, signs in with a code that the desk shows (`/sign-in/phone`)."""

from __future__ import annotations

import socket
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar
from urllib.parse import urlencode, urlsplit

from fastapi import Form, Query, Request, Response
from fastapi.responses import RedirectResponse
from markupsafe import Markup

from api.notebook import UsesNotebook
from api.pages.base import FORM_FIELD, check_form_token, page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.form_faults import FormFaults
from api.pages.notes import SentForm
from api.roles import OPEN, needs
from api.sessions import keep_session
from graph.errors import InvalidInput, Problem
from graph.ledger.sessions import CODE_S, Sessions
from graph.ledger.tokens import Token, Tokens
from graph.notes.form import Choice
from graph.papers.qr import as_svg

router = page_router()
ROLE_WORDS = {
    "note": "write notes, prices and jobs", "read": "ask and read only", "manage": "everything, people too",
}  # fmt: skip
HERE_ONLY = ("127.0.0.1", "localhost", "::1", "[::1]")
_NOWHERE = ("192.0.2.1", 9)  # RFC 5737: an address for documentation; nothing is sent to it


@dataclass(frozen=True, slots=True)
class Shown:
    """What is shown once: for whom (`name`), the `code` as a drawing, its `address`, the `secret` of the token."""

    name: str
    code: Markup
    address: str
    secret: str


@dataclass(frozen=True, slots=True)
class PeopleView(FormFaults):
    """Tokens (`people`), newest first; the form as typed (`name`, `role`, `at`: the address that phones reach).

    `roles`: to choose from; `here_only`: the service listens to this machine alone; `shown`: a code just made;
    `minutes`: how long it holds; `problems`: of what was sent.
    """

    labels: ClassVar[Mapping[str, str]] = {
        "name": "Who, or which phone", "role": "May", "at": "Address that the phone reaches",
    }  # fmt: skip

    people: tuple[Token, ...]
    roles: tuple[Choice, ...]
    here_only: bool
    at: str
    minutes: int = CODE_S // 60
    name: str = ""
    role: str = "note"
    shown: Shown | None = None
    problems: tuple[Problem, ...] = ()

    def otherwise(self) -> str:
        """The first field, unless there is a code to be read."""
        return "" if self.shown else "name"


@dataclass(frozen=True, slots=True)
class PhoneView:
    """The page that the code leads to: the `code`, and what was wrong with it (`fault`)."""

    code: str
    fault: str = ""


@needs("manage")
@router.get("/people")
def show_people(request: Request, notebook: UsesNotebook) -> Response:
    """Who may come in, and the form for somebody new."""
    return page(request, "people.html", _view(request, Tokens(notebook.ledger.engine)), title="People", form=True)


@needs("manage")
@router.post("/people")
def let_in(request: Request, form: SentForm, notebook: UsesNotebook) -> Response:
    """Makes a token, and a code for its first session; both are shown on this answer and nowhere else."""
    writer_of(request, form)
    tokens = Tokens(notebook.ledger.engine)
    name, role, at = (text_of(form, one).strip() for one in ("name", "role", "at"))
    base = urlsplit(at)
    problems = []
    if base.scheme not in ("http", "https") or not base.netloc or base.query or base.fragment or len(at) > 200:
        problems.append(Problem("at", f"expected an address such as http://192.0.2.7:8000, found {at[:80]!r}"))
    try:
        if problems:
            raise InvalidInput(problems)
        token, secret = tokens.add(name, role)
    except InvalidInput as error:
        view = _view(request, tokens, name=name, role=role, at=at, problems=error.problems)
        return page(request, "people.html", view, title="People", status=422, form=True)
    code = Sessions(tokens.engine).offer(token, int(time.time()))
    address = f"{at.rstrip('/')}/sign-in/phone?{urlencode({'code': code})}"
    shown = Shown(name, Markup(as_svg(address)), address, secret)
    response = page(request, "people.html", _view(request, tokens, shown=shown, at=at), title="People", form=True)
    response.headers["cache-control"] = "no-store"
    return response


@needs("manage")
@router.post("/people/end")
def end_token(request: Request, form: SentForm, notebook: UsesNotebook) -> Response:
    """Ends a token with its sessions, at once."""
    writer_of(request, form)
    Tokens(notebook.ledger.engine).revoke(text_of(form, "id"))
    return RedirectResponse("/people", status_code=303)


@needs(OPEN)
@router.get("/sign-in/phone")
def show_phone(request: Request, code: Annotated[str, Query(max_length=200)] = "") -> Response:
    """What the code leads to: looking at it uses nothing up, so that no preview of the address can."""
    return page(request, "phone.html", PhoneView(code), title="Sign in", form=True)


@needs(OPEN)
@router.post("/sign-in/phone")
def sign_in_phone(
    request: Request, notebook: UsesNotebook, code: Annotated[str, Form(max_length=200)] = "",
    form_token: Annotated[str, Form(alias=FORM_FIELD, max_length=200)] = "",
) -> Response:  # fmt: skip
    """Uses the code up and signs this browser in."""
    check_form_token(request, form_token)
    cookie = Sessions(notebook.ledger.engine).take(code.strip(), int(time.time())) if code.strip() else None
    if cookie is None:
        fault = "This code was used already, or is too old. Let the desk show a new one."
        status = 401 if code else 422
        return page(request, "phone.html", PhoneView("", fault), title="Sign in", status=status, form=True)
    answer = RedirectResponse("/", status_code=303)
    keep_session(request, answer, cookie)
    return answer


def _view(
    request: Request, tokens: Tokens, *, name: str = "", role: str = "note", at: str = "", shown: Shown | None = None,
    problems: tuple[Problem, ...] = (),
) -> PeopleView:  # fmt: skip
    people = tuple(reversed(tokens.list_tokens()))
    roles = tuple(Choice(one, words) for one, words in ROLE_WORDS.items())
    here_only = not getattr(request.app.state, "open_to_others", False)
    return PeopleView(people, roles, here_only, at or _reached_at(request), CODE_S // 60, name, role, shown, problems)


def _reached_at(request: Request) -> str:
    """Where a phone reaches this service: as the desk does, or, where the desk is this machine, by its own address."""
    address = request.url.replace(path="", query="", fragment="")
    if (address.hostname or "") in HERE_ONLY and (own := _own_address()):
        address = address.replace(hostname=own)
    return str(address).rstrip("/")


def _own_address() -> str:
    """The address of this machine towards others; empty where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(_NOWHERE)  # of a datagram socket: looks the way up and sends nothing
        except OSError:
            return ""
        return str(asked.getsockname()[0])
