"""`/workshop/start`: an own workshop, empty, beside the demo; `/workshop/demo` and `/workshop/mine`: which is shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from starlette.exceptions import HTTPException

from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.form_faults import FormFaults
from api.pages.notes import SentForm
from api.roles import needs
from api.two_workshops import COOKIE, DEMO, TwoWorkshops
from graph.cli.workshop import NewWorkshop, start_workshop
from graph.costing.currency import minor_units
from graph.costing.tax import MOST_PERCENT
from graph.errors import Conflict, InvalidInput, Problem
from graph.fits.decimals import decimal_of
from graph.notes.form import Choice
from graph.plain_text import fault_of_text

router = page_router()
LABELS = {
    "name": "Name of the workshop",
    "currency": "Currency",
    "rate": "Bench rate an hour",
    "day_hours": "Hours a day",
    "tax": "Tax on a price, in percent",
}
MOST_NAME = 200


@dataclass(frozen=True, slots=True)
class StartView(FormFaults):
    """The form of a new workshop as typed: `name`, `currency`, `rate`, `day_hours`, `tax`; `currencies` to choose."""

    labels: ClassVar[Mapping[str, str]] = LABELS

    currencies: tuple[Choice, ...]
    name: str = ""
    currency: str = ""
    rate: str = ""
    day_hours: str = "8"
    tax: str = ""
    problems: tuple[Problem, ...] = ()

    def otherwise(self) -> str:
        """The field to begin with."""
        return "name"


def two_of(request: Request) -> TwoWorkshops:
    """The service's two workshops. Raises a 404 problem where it has but one."""
    found = getattr(request.app.state, "two", None)
    if not isinstance(found, TwoWorkshops):
        raise HTTPException(404, "this service has one workshop only")
    return found


def _currencies() -> tuple[Choice, ...]:
    return tuple(Choice(code, code) for code in sorted(minor_units()))


@needs("manage")
@router.get("/workshop/start")
def show_start(request: Request) -> Response:
    """The form."""
    startable(request)
    return page(request, "start.html", StartView(_currencies()), title="Start my workshop", form=True)


def startable(request: Request) -> TwoWorkshops:
    """The service's two workshops, where an own one can be started. Raises Conflict."""
    two = two_of(request)
    if not two.can_start:
        reason = "there is one already" if two.has_own else "its ledger is in a database, which holds the demo's notes"
        raise Conflict(f"no own workshop can be started here: {reason}")
    return two


@needs("manage")
@router.post("/workshop/start")
def start(request: Request, form: SentForm, notebook: UsesNotebook) -> Response:
    """Makes the workshop and goes to its first page."""
    writer_of(request, form)
    two = startable(request)
    sent = {name: text_of(form, name).strip() for name in LABELS}
    try:
        start_workshop(two.data, read_start(sent), notebook.ledger.engine)
    except InvalidInput as error:
        view = StartView(_currencies(), **sent, problems=error.problems)
        return page(request, "start.html", view, title="Start my workshop", status=422, form=True)
    return mine(request)


def read_start(sent: dict[str, str]) -> NewWorkshop:
    """The workshop as typed. Raises InvalidInput with every fault."""
    problems = list[Problem]()
    amounts = dict[str, str]()
    for name, example in (("rate", "62.50"), ("day_hours", "8"), ("tax", "19")):
        try:
            amounts[name] = decimal_of(sent[name].rstrip("% ") if name == "tax" else sent[name], name, example)
            if not amounts[name] and name != "tax":
                problems.append(Problem(name, f"say how much, such as {example}"))
        except InvalidInput as error:
            problems += error.problems
    if amounts.get("day_hours") and not Fraction(1, 2) <= Fraction(amounts["day_hours"]) <= 24:
        problems.append(Problem("day_hours", "expected from 0.5 to 24 hours"))
    if amounts.get("tax") and Fraction(amounts["tax"]) > MOST_PERCENT:
        problems.append(Problem("tax", f"expected from 0 to {MOST_PERCENT} percent"))
    if amounts.get("rate") and Fraction(amounts["rate"]) > 10**6:
        problems.append(Problem("rate", "expected at most 1,000,000 an hour"))
    if not sent["name"] or len(sent["name"]) > MOST_NAME or fault_of_text(sent["name"]):
        problems.append(
            Problem("name", fault_of_text(sent["name"]) or f"give it a name of 1 to {MOST_NAME} characters")
        )
    if sent["currency"] not in minor_units():
        problems.append(Problem("currency", "choose the currency that all prices are in"))
    if problems:
        raise InvalidInput(problems)
    return NewWorkshop(sent["name"], sent["currency"], amounts["rate"], amounts["day_hours"], amounts["tax"])


@needs("read")
@router.get("/workshop/demo")
def look_at_demo(request: Request) -> Response:
    """Shows the demo from now on, in this browser."""
    two_of(request)
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, DEMO, httponly=True, samesite="strict", secure=request.url.scheme == "https")
    return answer


@needs("read")
@router.get("/workshop/mine")
def mine(request: Request) -> Response:
    """Shows the own workshop again."""
    answer = RedirectResponse("/", status_code=303)
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return answer
