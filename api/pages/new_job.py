"""`/new-job`: a route of an answer becomes a job, with its number, its name and what is known before opening."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from api.addresses import reads
from api.pages.asked import QUESTION_NAMES, address, asked_anything, question_of
from api.pages.base import page, page_router
from api.pages.extra import writer_of
from api.pages.form_faults import FormFaults
from api.pages.job_view import address_of_job, sign_choices, signs_of
from api.pages.notes import SentForm
from api.pages.question_view import label_of
from api.pages.route import Rank
from api.pages.while_out import TickedThere, asked_with
from api.roles import needs
from api.workshop import UsesWorkshop, Workshop
from graph.costing.asking import CostedAnswer, route_at
from graph.costing.jobs.job import Job
from graph.costing.notes import Provenance, new_id
from graph.errors import Conflict, InvalidInput, NotFound, Problem
from graph.notes.form import Choice
from graph.plain_text import fault_of_text
from graph.reading.question import Question
from graph.wear import RenewalWish, open_as_wished
from graph.wear.said import ticked_words

router = page_router()
LABELS = {"title": "What the job is called", "number": "Its number in the shop", "author": "Who says so"}
MOST_SIGNS = 20


@dataclass(frozen=True, slots=True)
class NewJobView(FormFaults):
    """The form of a new job. `summary`: of the route of this `rank`; `here`: the form's own address; `back`: the route.

    `ticked`: what the customer ticked to be renewed besides, with its sum; "" where nothing is.

    `signs`: per sign, its states to choose from; `typed`: the fields as typed; `key`: this form's own, so that sent
    twice it opens one job.
    """

    labels: ClassVar[Mapping[str, str]] = LABELS

    summary: str
    ticked: str
    here: str
    back: str
    signs: Mapping[str, tuple[Choice, ...]]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...] = ()
    key: str = ""

    def value(self, name: str) -> str:
        """What was typed into a field."""
        return self.typed.get(name, "")

    def otherwise(self) -> str:
        """The field to begin with."""
        return "title"


@reads(QUESTION_NAMES)
@needs("note")
@router.get("/new-job")
async def show_new_job(request: Request, workshop: UsesWorkshop, wish: TickedThere, rank: Rank = 1) -> Response:
    """The form, for the question and the route in the address."""
    if not asked_anything(request.query_params):
        return RedirectResponse("/ask", status_code=303)
    question = question_of(request.query_params)
    title = f"{label_of(workshop.index, question.gearbox)} behind {label_of(workshop.index, question.engine)}"
    return await _shown(request, workshop, question, rank, wish, {"title": title})


@reads(QUESTION_NAMES)
@needs("note")
@router.post("/new-job")
async def make_job(
    request: Request, form: SentForm, workshop: UsesWorkshop, wish: TickedThere, rank: Rank = 1
) -> Response:
    """Plans the job and goes to its page; or shows the form again with what is wrong."""
    access, question = writer_of(request, form), question_of(request.query_params)
    typed = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    by = Provenance(access.signed(typed.get("author", "")), "job book")
    try:
        signs = _read(typed)

        def planned() -> Job:
            shop = workshop.shop
            found = shop.ask_costed(question, signs)
            ranked = _rank_then(shop.ask_costed(question), rank, found) if signs else rank
            ticked = None if wish is None else shop.costed_and_open(question, ranked, wish, signs)[1]
            form = f"{access.name}\nnew job\n{typed['key']}" if typed.get("key") else ""
            return open_as_wished(shop.notes, found, ranked, typed["title"], by, typed.get("number", ""), ticked, form)

        job = await workshop.work_out(planned)
    except InvalidInput as error:
        return await _shown(request, workshop, question, rank, wish, typed, error.problems, 422)
    except Conflict as error:
        return await _shown(request, workshop, question, rank, wish, typed, (Problem("number", str(error)),), 409)
    return RedirectResponse(address_of_job(job.id), status_code=303)


def _rank_then(shown: CostedAnswer, rank: int, found: CostedAnswer) -> int:
    """The rank that the route which was shown has once the signs are known: they may change the order."""
    wanted = route_at(shown.answer, rank)
    for route in found.answer.routes:
        if dict(route.picks) == dict(wanted.picks) and dict(route.links) == dict(wanted.links):
            return route.rank
    told = "with these signs that route is no longer among the best; ask again with more routes to compare"
    raise InvalidInput([Problem("", told)])


def _read(typed: Mapping[str, str]) -> dict[str, str]:
    """The signs that were chosen. Raises InvalidInput with every fault of the form."""
    problems = [
        Problem(name, fault)
        for name in LABELS
        if (
            fault := fault_of_text(typed.get(name, ""))
            or ("at most 200 characters" if len(typed.get(name, "")) > 200 else "")
        )
    ]
    if not typed.get("title"):
        problems.append(Problem("title", "say what it is called, such as the customer's own words for it"))
    chosen = [value for name, value in typed.items() if name.startswith("sign.") and value]
    if len(chosen) > MOST_SIGNS:
        problems.append(Problem("", f"{len(chosen)} signs were chosen; at most {MOST_SIGNS} count: leave out the rest"))
    known = {one.id for one in sign_choices()}
    problems += [Problem("", f"{value[:80]!r} is no sign; choose one") for value in chosen if value not in known]
    if problems:
        raise InvalidInput(problems)
    return {sign: state for value in chosen for sign, state in signs_of(value).items()}


async def _shown(
    request: Request, workshop: Workshop, question: Question, rank: int, wish: RenewalWish | None,
    typed: Mapping[str, str], problems: tuple[Problem, ...] = (), status: int = 200,
) -> Response:  # fmt: skip
    shop = workshop.shop
    if not shop.keeps_record:
        raise NotFound("job", "")
    found, out = await workshop.work_out(lambda: shop.costed_as_wished(question, rank, wish))
    ticked = "" if out is None else ticked_words(out)
    ranked = [("rank", str(rank)), *([] if wish is None else asked_with(wish))]
    signs: dict[str, tuple[Choice, ...]] = {}
    for one in sign_choices():
        sign, _, state = one.id.partition("=")
        signs[sign] = (*signs.get(sign, ()), Choice(one.id, state))
    view = NewJobView(
        route_at(found.answer, rank).summary, ticked, address("/new-job", question, ranked),
        address("/route", question, ranked), signs, typed, problems, typed.get("key") or new_id("form"),
    )  # fmt: skip
    return page(request, "new_job.html", view, title="Make it a job", status=status, form=True)
