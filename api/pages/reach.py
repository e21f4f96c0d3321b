"""GET /reach: what can go behind this engine, where can this gearbox go? A form, and the units cheapest first.

With scripts the units come one by one, as POST /reach proves them (api/static/reach.js). Without, the form asks for the
finished list, which takes at most WITHOUT_SCRIPTS_S; where the time ran out the page says so and offers more of it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from fastapi import Request, Response
from pydantic import ValidationError

from api.addresses import ReadNames, reads
from api.fault_words import dotted, fault_words
from api.pages.ask import Matter, UnitField, ask_view, asked_so_far
from api.pages.asked import LIST_NAMES, address
from api.pages.base import asset, page, page_router
from api.pages.choices import KnownField, Option, find_options, find_unit
from api.pages.first_run import empty_view
from api.pages.question_view import OBJECTIVE_WORDS, label_of
from api.reaching import Underway
from api.roles import needs
from api.routers.reach import ReachBody
from api.workshop import workshop_of
from graph.answer import words
from graph.answer.status import ASSEMBLY_NOT_STATED, IF_IT_HOLDS
from graph.catalogue.model import UNIT_KINDS
from graph.errors import InvalidQuestion, NotFound, Problem
from graph.lookups.index import CatalogueIndex
from graph.reach import Reached, Reaching
from graph.reading.question import Question

router = page_router()
WITHOUT_SCRIPTS_S, WITH_SCRIPTS_S, MOST_S = 5.0, 30.0, 600.0
STATUS_WORDS = {
    IF_IT_HOLDS: "assumes something that nobody has stated",
    ASSEMBLY_NOT_STATED: "nobody has said which kind of job it is to be",
}  # what marks a line whose sums hold only if something does
USUAL_LIMIT, MOST_NEAR = 20, 5

# What the page says of how far it is; the script fills in the same sentences.
WORDS = {
    "working": "Looked at {looked_at} of {units} {what}. Any further one costs at least {at_least}.",
    "all": "Looked at all {units} {what}: there is no further one{within}.",
    "first": "Looked at {looked_at} of {units} {what}: each of the others costs at least {at_least}.",
    "late": "Not finished: looked at {looked_at} of {units} {what} in {seconds} s. "
            "Any further one costs at least {at_least}.",
    "stopped": "Stopped: looked at {looked_at} of {units} {what}. Any further one costs at least {at_least}.",
    "failed": "It could not be worked out just now. Try again.",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReachedLine:
    """A unit that can be reached: its `label`, the `address` of the whole answer, its `figure`, `sums` besides, how
    much of it is `known`, in words, and `told`: what it assumes and what of it has no price."""

    label: str
    address: str
    figure: str
    sums: str
    known: str
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReachView:
    """The form, and what was asked.

    `units`: gearbox, engine, vehicle; `matters`: what is to be smallest; `assemblies`: kinds of finished job; `known`:
    what is said of the job; `limit`, `budget`: as typed; `currency`; `rate_stated`: there is a bench rate.
    `script`: the address of the page's own script. `asked`: a unit is named, so there is something to show.
    `heading`: the question in words; `objective` likewise; `what`: gearboxes or engines. `body`: the question for
    POST /reach, as JSON; `answer`: the address of a pair's whole answer with "-" for the unit, which is called
    `side` in it; `words`: as JSON. `whole`: the list was asked for in one piece. `rows`: its lines; `status`: how
    far it went; `looked_at`, `of`: the same in numbers. `more`: the address that allows more time, empty where it
    is finished; `list_address`: the list in one piece. `shelf`: the address of the question which part to stock for
    these.
    """

    units: tuple[UnitField, ...]
    matters: tuple[Matter, ...]
    assemblies: tuple[Option, ...]
    known: tuple[KnownField, ...]
    limit: str
    budget: str
    currency: str
    rate_stated: bool
    script: str
    asked: bool = False
    heading: str = ""
    objective: str = ""
    what: str = ""
    body: str = ""
    answer: str = ""
    side: str = ""
    words: str = ""
    whole: bool = False
    rows: tuple[ReachedLine, ...] = ()
    status: str = ""
    looked_at: int = 0
    of: int = 0
    more: str = ""
    list_address: str = ""
    shelf: str = ""


@reads(LIST_NAMES | ReadNames(frozenset(("limit", "budget", "seconds", "list"))))
@needs("read")
@router.get("/reach")
async def reach_page(request: Request) -> Response:
    """The form; with a unit in the address its answer too."""
    workshop = workshop_of(request)
    index, parameters = workshop.index, request.query_params
    empty = empty_view(index)
    if empty is not None:
        return page(request, "empty.html", empty, title="What to do first")
    question = _meant(index, asked_so_far(request))
    view = _form(index, question, parameters)
    if not question.gearbox and not question.engine:
        return page(request, "reach.html", view, title="What can go where")
    body = _body(question, parameters)
    view = _asked(index, view, question, body)
    if parameters.get("list") == "whole":
        view = await _with_list(request, view, question, body)
    return page(request, "reach.html", view, title=view.heading)


def _meant(index: CatalogueIndex, question: Question) -> Question:
    """Words typed for a unit become its id. Raises NotFound for a unit that is not known, InvalidQuestion for both."""
    meant = {what: find_unit(index, what, question.unit_of(what)) for what in UNIT_KINDS}
    for what, unit in meant.items():
        if unit and unit not in index.catalogue.parts:
            raise NotFound(what, unit, [option.id for option in find_options(index, what, unit)[:MOST_NEAR]])
    if meant["gearbox"] and meant["engine"]:
        raise InvalidQuestion([Problem("engine", "name a gearbox or an engine; the other is what is looked for")])
    return replace(question, gearbox=meant["gearbox"], engine=meant["engine"], vehicle=meant["vehicle"])


def _form(index: CatalogueIndex, question: Question, parameters: Mapping[str, str]) -> ReachView:
    ask = ask_view(index, question)
    units = tuple(replace(field, needed=False) for field in ask.units)
    return ReachView(
        units, ask.matters, ask.assemblies, ask.known, parameters.get("limit", str(USUAL_LIMIT)),
        parameters.get("budget", ""), ask.currency,
        question.rate_hundredths is not None or index.catalogue.rate_hundredths > 0, asset("reach.js"),
    )  # fmt: skip


def _body(question: Question, parameters: Mapping[str, str]) -> ReachBody:
    """The question as POST /reach takes it. Raises InvalidQuestion for a limit, budget or time that cannot be read."""
    typed = {name: parameters.get(name, "").strip().replace(",", ".") for name in ("limit", "budget", "seconds")}
    whole = parameters.get("list") == "whole"
    said: dict[str, Any] = {"seconds": WITHOUT_SCRIPTS_S if whole else WITH_SCRIPTS_S, "limit": USUAL_LIMIT}
    said |= {name: text for name, text in typed.items() if text}
    rate, instead = question.rate_hundredths, question.instead_hundredths
    said |= {
        "gearbox": question.gearbox, "engine": question.engine, "vehicle": question.vehicle, "avoid": question.avoid,
        "own": question.own, "part_exchange": question.part_exchange,
        "features": question.features, "demands": question.demands, "evidence_floor": question.evidence_floor,
        "refuse_disputed": question.refuse_disputed, "without_machining": question.without_machining,
        "from_shelf": question.from_shelf, "objective": question.objective, "progress": True,
        "context": {key: list(v) if isinstance(v, tuple) else v for key, v in question.context.items()},
        "rate": None if rate is None else f"{rate // 100}.{rate % 100:02}",
        "deadline": None if question.deadline is None else f"{float(question.deadline):g}",
        "assembly": question.assembly, "instead": None if instead is None else f"{instead // 100}.{instead % 100:02}",
        "most_assumed": question.most_assumed,
    }  # fmt: skip
    try:
        return ReachBody.model_validate(said)
    except ValidationError as error:
        raise InvalidQuestion(Problem(dotted(one["loc"]), fault_words(one)) for one in error.errors()) from None


def _asked(index: CatalogueIndex, view: ReachView, question: Question, body: ReachBody) -> ReachView:
    side = body.side()
    named = label_of(index, question.engine if side == "gearbox" else question.gearbox)
    heading = f"What can go behind {named}" if side == "gearbox" else f"Where can {named} go"
    if question.vehicle:
        heading += f", in {label_of(index, question.vehicle)}"
    limits = [("limit", str(body.limit)), *([("budget", view.budget)] if view.budget else [])]
    what = "gearboxes" if side == "gearbox" else "engines"
    within = f" within {words.money(Fraction(body.budget), _unit(view, body))}" if body.budget is not None else ""
    said = {name: text.replace("{what}", what).replace("{within}", within) for name, text in WORDS.items()}
    return replace(
        view, asked=True, heading=f"{heading}?", objective=OBJECTIVE_WORDS[question.objective], what=what, side=side,
        body=body.model_dump_json(), answer=_answer(question, side, "-"),
        words=json.dumps({**said, "marks": STATUS_WORDS}),
        list_address=address("/reach", question, [*limits, ("list", "whole")]),
        shelf=address("/reach/stock", question),
    )  # fmt: skip


def _answer(question: Question, side: str, unit: str) -> str:
    """The address of the whole answer for a unit."""
    pair = replace(question, gearbox=unit) if side == "gearbox" else replace(question, engine=unit)
    return address("/compare", pair)


def _unit(view: ReachView, body: ReachBody) -> str:
    return "h" if body.objective == "hours" else view.currency


async def _with_list(request: Request, view: ReachView, question: Question, body: ReachBody) -> ReachView:
    budget = None if body.budget is None else Fraction(body.budget)
    workshop = workshop_of(request)
    underway = Underway(workshop, body.question(), body.side(), body.limit, budget, body.patience_s)
    found: list[Reached] = []
    while not underway.ended:
        found += await underway.some()
    state = underway.state
    longer = str(min(MOST_S, max(4 * body.patience_s, WITHOUT_SCRIPTS_S)))
    more = "" if state.complete or body.patience_s >= MOST_S else f"{view.list_address}&seconds={longer}"
    return replace(
        view, whole=True, rows=tuple(_line(view, question, body, one) for one in found), more=more, of=state.units,
        status=_status(view, body, state), looked_at=state.looked_at,
    )  # fmt: skip


def _status(view: ReachView, body: ReachBody, state: Reaching) -> str:
    kind = "late" if not state.complete else "all" if state.at_least is None else "first"
    least = words.money(state.at_least or Fraction(0), _unit(view, body))
    said: str = json.loads(view.words)[kind]
    return said.format(looked_at=state.looked_at, units=state.units, at_least=least, seconds=f"{state.seconds:.1f}")


def _line(view: ReachView, question: Question, body: ReachBody, one: Reached) -> ReachedLine:
    route = one.route

    least = "at least " if one.at_least else ""

    def money(value: Fraction) -> str:
        return least + words.priced(value, route.hours_hundredths, view.currency, view.rate_stated)

    sums = {
        "expected": f"{money(route.expected)} expected",
        "total": f"{money(route.total)} if nothing is worn",
        "cash": f"{least}{words.cash(route.cash_hundredths, view.currency)} cash",
        "hours": f"{least}{words.hours(route.hours_hundredths)}", "days": f"{least}{words.days(route.days)}",
    }  # fmt: skip
    figure = sums.pop(body.objective)
    if one.status in STATUS_WORDS:
        figure = f"if it holds, {figure}"
    known = f"{one.known} of {one.of} places and joints known"
    if one.status in STATUS_WORDS:
        known = f"{STATUS_WORDS[one.status]}; {known}"
    address_of = _answer(question, view.side, one.unit)
    return ReachedLine(one.label, address_of, figure, "; ".join(sums.values()), known, one.told)
