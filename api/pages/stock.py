"""GET /reach/stock: which single part, on the shelf, opens most of these questions? A list of pairs, then the job.

The job is the one of POST /reach/stock. With scripts the page follows it; without, a link looks again.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Annotated
from urllib.parse import quote

from fastapi import Path, Request, Response
from fastapi.responses import RedirectResponse

from api.addresses import reads
from api.pages.ask import Matter, ask_view, asked_so_far
from api.pages.asked import LIST_NAMES, address
from api.pages.base import asset, check_form_token, page, page_router
from api.pages.choices import find_options, find_unit, unit_options
from api.pages.extra import text_of
from api.pages.notes import SentForm
from api.pages.question_view import label_of
from api.roles import needs
from api.routers.stock import MOST_QUESTIONS, stock_jobs_of
from api.stock_jobs import StockJob
from api.workshop import workshop_of
from graph.errors import InvalidInput, LayshaftError, Problem
from graph.lookups.index import CatalogueIndex
from graph.reach.stocking import rank_parts
from graph.reading.question import Question

router = page_router()
MOST_PARTS, MOST_PAIRS_NAMED = 20, 10
JobId = Annotated[str, Path(max_length=64)]
IN_WORDS = {
    "waiting": "Waiting for the job before it.", "running": "Being worked out.", "done": "Worked out.",
    "failed": "It failed.", "cancelled": "Stopped.",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class OpenedQuestion:
    """A question that the part opens: its `words`, and the `address` of its answer with the part in hand."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class OpeningPart:
    """A part: its `label`, the `address` of its page, how many questions it `opens`, the first few `pairs`.

    `further`: how many more there are.
    """

    label: str
    address: str
    opens: int
    pairs: tuple[OpenedQuestion, ...]
    further: int


@dataclass(frozen=True, slots=True)
class StockView:
    """The form, or the job.

    `pairs`: the list as typed, a pair on a line; `matters`: what is to be smallest; `budget`: as typed; `currency`;
    `problems`: what is wrong with it. `most`: how many pairs a list may hold.
    `job`: its id, empty for the form; `state`: in words; `detail`: why it failed; `under_way`: more will come.
    `worked_out`, `of`: how many questions; `with_a_route`: how many have one already; `parts`: those that open most.
    `here`: the job's own address; `script`: the address of the page's script.
    """

    pairs: str = ""
    matters: tuple[Matter, ...] = ()
    budget: str = ""
    currency: str = ""
    problems: tuple[Problem, ...] = ()
    most: int = MOST_QUESTIONS
    job: str = ""
    state: str = ""
    detail: str = ""
    under_way: bool = False
    worked_out: int = 0
    of: int = 0
    with_a_route: int = 0
    parts: tuple[OpeningPart, ...] = ()
    here: str = ""
    script: str = ""


@needs("read")
@reads(LIST_NAMES)
@router.get("/reach/stock")
async def stock_page(request: Request) -> Response:
    """The form; with a gearbox or an engine in the address, all pairs with it that can be listed."""
    index = workshop_of(request).index
    view = _form(index, asked_so_far(request), _pairs_with(index, asked_so_far(request)), "")
    return page(request, "stock.html", view, title="Which part to stock", form=True)


def _form(
    index: CatalogueIndex, question: Question, pairs: str, budget: str, problems: tuple[Problem, ...] = ()
) -> StockView:  # fmt: skip
    ask = ask_view(index, question)
    return StockView(pairs, ask.matters, budget, ask.currency, problems, script=asset("stock.js"))


def _pairs_with(index: CatalogueIndex, question: Question) -> str:
    """The one unit with every unit of the other side that a list can offer."""
    if question.engine and not question.gearbox:
        return "\n".join(f"{one.id}, {question.engine}" for one in unit_options(index, "gearbox", ""))
    if question.gearbox and not question.engine:
        return "\n".join(f"{question.gearbox}, {one.id}" for one in unit_options(index, "engine", ""))
    return ""


@needs("read")
@router.post("/reach/stock/new")
async def start_stock(request: Request, form: SentForm) -> Response:
    """Starts the job and leads to it; or shows the form again with what is wrong."""
    check_form_token(request, text_of(form, "form_token"))
    workshop = workshop_of(request)
    index, jobs = workshop.index, stock_jobs_of(request)
    pairs, budget = text_of(form, "pairs"), text_of(form, "budget").strip()
    objective = text_of(form, "objective") or "expected"
    try:
        questions = _questions(index, pairs, objective)
        most = _budget(budget)
        job = await workshop.look_up(lambda: jobs.start(questions, most, workshop.shop.standing().index))
    except LayshaftError as error:
        problems = error.problems if isinstance(error, InvalidInput) else (Problem("", str(error)),)
        view = _form(index, Question(gearbox="", engine="", objective=objective), pairs, budget, problems)
        return page(request, "stock.html", view, title="Which part to stock", status=422, form=True)
    return RedirectResponse(f"/reach/stock/{job.id}/page", status_code=303)


@needs("read")
@router.get("/reach/stock/{job}/page")
async def stock_job_page(request: Request, job: JobId) -> Response:
    """How far the job is, and the parts that open most so far."""
    found = stock_jobs_of(request).get(job)
    view = await workshop_of(request).look_up(lambda: _job_view(workshop_of(request).index, found))
    return page(request, "stock.html", view, title="Which part to stock", form=True)


@needs("read")
@router.post("/reach/stock/{job}/stop")
async def stop_stock(request: Request, job: JobId, form: SentForm) -> Response:
    """Stops the job; what it found stays."""
    check_form_token(request, text_of(form, "form_token"))
    stock_jobs_of(request).cancel(job)
    return RedirectResponse(f"/reach/stock/{job}/page", status_code=303)


def _questions(index: CatalogueIndex, pairs: str, objective: str) -> list[Question]:
    """A question for each line. Raises InvalidInput with a problem for each line that cannot be read."""
    found, problems = [], []
    lines = [(number, line) for number, line in enumerate(pairs.splitlines(), 1) if line.strip()]
    for number, line in lines[: MOST_QUESTIONS + 1]:
        names = [name.strip() for name in line.replace(";", ",").replace("\t", ",").split(",")]
        if len(names) != 2:
            problems.append(Problem(f"line {number}", "expected a gearbox, a comma, an engine"))
            continue
        units = dict(zip(("gearbox", "engine"), names, strict=True))
        meant = {what: find_unit(index, what, text) for what, text in units.items()}
        for what, unit in meant.items():
            if not index.is_unit(unit, what):
                near = ", ".join(option.id for option in find_options(index, what, unit)[:3])
                problems.append(
                    Problem(f"line {number}", f"no {what} {unit!r}{f'; did you mean {near}?' if near else ''}")
                )
        found.append(Question(gearbox=meant["gearbox"], engine=meant["engine"], objective=objective))
    if not lines:
        problems.append(Problem("pairs", "name at least one pair"))
    if len(lines) > MOST_QUESTIONS:
        problems.append(Problem("pairs", f"{len(lines)} pairs; at most {MOST_QUESTIONS} are taken"))
    if problems:
        raise InvalidInput(problems[:MOST_PARTS])
    return found


def _budget(typed: str) -> Fraction | None:
    if not typed:
        return None
    if not re.fullmatch(r"\d{1,9}([.,]\d{1,2})?", typed):
        raise InvalidInput([Problem("budget", f"expected an amount such as 750 or 750.50; found {typed!r}")])
    return Fraction(typed.replace(",", "."))


def _job_view(index: CatalogueIndex, job: StockJob) -> StockView:
    known = dict(job.opened)
    parts = []
    for one in rank_parts(known)[:MOST_PARTS]:
        pairs = tuple(_pair(index, job.questions[place], one.part) for place in one.questions[:MOST_PAIRS_NAMED])
        further = len(one.questions) - len(pairs)
        label = label_of(index, one.part)
        parts.append(OpeningPart(label, f"/part/{quote(one.part, safe='')}", len(one.questions), pairs, further))
    return StockView(
        job=job.id, state=IN_WORDS[job.state], detail=job.detail, under_way=not job.ended, worked_out=len(known),
        of=len(job.questions), with_a_route=sum(one.has_route for one in known.values()), parts=tuple(parts),
        here=f"/reach/stock/{job.id}/page", script=asset("stock.js"),
    )  # fmt: skip


def _pair(index: CatalogueIndex, question: Question, part: str) -> OpenedQuestion:
    words = f"{label_of(index, question.gearbox)} behind {label_of(index, question.engine)}"
    return OpenedQuestion(words, address("/compare", replace(question, own=(*question.own, part))))
