"""An own workshop, a new part, and what a unit contains: what their pages do, as JSON.

The faults of a field are told by the name that it has in the body; names are words, numbers or ids, as on the pages.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Annotated

from fastapi import APIRouter, Header, Path, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.pages.new_part import PartForm, added_before, keep_part, read_part, said_problems, subject_of
from api.pages.sheet_history import history_of
from api.pages.sheet_view import SheetView, standing_sheet, told
from api.pages.sheet_writing import Clash, SheetProblem, clash_words, find_sheet, write_sheet_of
from api.pages.start import read_start, startable, two_of
from api.pages.unit_sheet import get_unit
from api.roles import needs
from api.routers.costing_bodies import Long, Named, Short, YesNo
from api.security import access_of
from api.workshop import UsesWorkshop
from graph.catalogue.names import KIND
from graph.cli.workshop import start_workshop
from graph.errors import InvalidInput, Problem
from graph.ledger.book import Retry
from graph.ledger.identity import digest
from graph.ledger.unit_sheets import PlaceSaid
from graph.notes.form import Choice

router = APIRouter(tags=["parts"])
UnitId = Annotated[str, Path(max_length=200, description="id of a gearbox, engine or vehicle", examples=["hollin-5"])]
IfMatch = Annotated[str, Header(max_length=40, description='the revision that was read, as its ETag: "1"')]
Key = Annotated[str, Header(alias="Idempotency-Key", max_length=200, description="sent again, writes once")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class NewWorkshopBody(_Strict):
    """An own workshop: `currency` as ISO 4217; `rate`, `day_hours`: decimals as text; `tax`: percent, empty: unsaid."""

    name: Named
    currency: Named = Field(examples=["EUR"])
    rate: Named = Field(examples=["62.50"])
    day_hours: Named = "8"
    tax: Short = Field("", examples=["19"])


class Workshops(BaseModel):
    """`own`: there is an own workshop beside the demo; `can_start`: one can be started here."""

    own: bool
    can_start: bool


class NewPartBody(_Strict):
    """A part or unit: `kind` as id; `like`: a part by id or words; `another`: though one has this name."""

    name: Named
    kind: Named = Field(examples=["clutch-disc"])
    number: Short = ""
    condition: Short = Field("", examples=["used-tested"])
    price: Short = Field("", examples=["135.50"])
    like: Short = ""
    another: YesNo = False
    evidence: Named = Field(examples=["measured-on-these-parts"])
    author: Named = Field(examples=["bench 2"])
    text: Long = ""


class AddedPart(BaseModel):
    """The id that was made from its name, and the note that brought it."""

    id: str
    note: str


class PartAtPlace(_Strict):
    """What is at a place: `part` by id, number or words (empty: not known), or a standard one by its number; `none`: it
    has none there; `new`: that part is new, of this `kind`, with `number`, `price`; `condition`: as found; `evidence`,
    `author`: of this place, where they are not the sheet's."""

    part: Short = ""
    none: YesNo = False
    new: YesNo = False
    kind: Short = ""
    number: Short = ""
    condition: Short = ""
    price: Short = ""
    evidence: Short = ""
    author: Short = ""


class SheetBody(_Strict):
    """`places`: by id of the position kind; one that is left out stays as it stands. `made_for`: the kind of job that
    the unit was made for, by id; left out it stays, empty it is not stated. `note`: the sheet's note that was read."""

    places: dict[str, PartAtPlace] = Field(max_length=500, examples=[{"at-flywheel": {"part": "flywheel-ouzel"}}])
    made_for: Short | None = Field(None, examples=["clutch-and-propshaft"])
    note: Short = ""
    evidence: Named = Field(examples=["measured-on-these-parts"])
    author: Named = Field(examples=["bench 2"])
    text: Long = ""


class SheetPlace(BaseModel):
    """`part`: its id, empty where it is not known or `none`; `elsewhere`: parts that other notes and facts name;
    `evidence`, `author`: of what this sheet says of the place; `condition`: of the part."""

    position: str
    label: str
    part: str
    part_label: str
    none: bool
    elsewhere: list[str]
    evidence: str
    author: str
    condition: str


class SaidOfPlace(BaseModel):
    """What one writing says of a place, by ids, and the whole of it in words."""

    part: str
    none: bool
    condition: str
    evidence: str
    author: str
    words: str


class SheetClash(BaseModel):
    """A place that two changed to different things: as it was `read`, `yours` and `theirs`, which stands."""

    position: str
    label: str
    read: SaidOfPlace
    yours: SaidOfPlace
    theirs: SaidOfPlace


class SheetClashes(problems.ProblemDetails):
    """Nothing was written: `places` that both changed; send again, with what shall hold, If-Match `version`."""

    places: list[SheetClash]
    version: str


class SheetAnswer(BaseModel):
    """What a unit contains, by its own sheet. `revision`: 0 before the first; `note`: the sheet's note; `made_for`: the
    kind of job that the sheet says it was made for."""

    unit: str
    revision: int
    note: str
    evidence: str
    author: str
    text: str
    made_for: str
    places: list[SheetPlace]


class SheetTurnAnswer(BaseModel):
    """One writing about what a unit contains: who wrote it, when (UTC), how it is known, and what it changed, in words.

    `revision`: of the sheet, 0 for a note beside it, whose id is then `note`; `way`: the workbook that it came with.
    """

    revision: int
    note: str
    who: str
    when: str
    evidence: str
    way: str
    changes: list[str]


class SheetHistory(BaseModel):
    """The writings, newest first; the last 50."""

    turns: list[SheetTurnAnswer]


CLASHING = {
    "model": SheetClashes, "description": problems.KINDS[409][1],
    "content": {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/SheetClashes"}}},
}  # fmt: skip


@needs("read")
@router.get("/workshop", summary="Is there an own workshop?", response_model=Workshops,
            responses=problems.responses({}, 401, 404, 429, 503))  # fmt: skip
def get_workshops(request: Request) -> Response:
    """Beside the demo, which stays in its own data."""
    two = two_of(request)
    return PlainJson({"own": two.has_own, "can_start": two.can_start})


@needs("manage")
@router.post("/workshop", status_code=201, summary="Start an own workshop", response_model=Workshops,
             responses=problems.responses({}, 400, 401, 403, 404, 409, 413, 422, 429, 503))  # fmt: skip
def post_workshop(body: NewWorkshopBody, request: Request, notebook: UsesNotebook) -> Response:
    """Empty but for these figures; from now on requests are for it, unless a cookie asks for the demo."""
    two = startable(request)
    start_workshop(two.data, read_start(body.model_dump()), notebook.ledger.engine)
    return PlainJson({"own": True, "can_start": False}, 201)


@needs("note")
@router.post("/parts", status_code=201, summary="Add a part or unit", response_model=AddedPart,
             responses=problems.responses({}, 400, 401, 403, 409, 413, 422, 429, 503))  # fmt: skip
def post_part(
    body: NewPartBody, request: Request, notebook: UsesNotebook, workshop: UsesWorkshop, key: Key = ""
) -> Response:
    """Kept as a note; its id is made from its name."""
    values = body.model_dump(exclude={"another"})
    typed = PartForm(**values, another="yes" if body.another else "", key=key)
    who = access_of(request).name
    entry = added_before(notebook, typed, who)
    if entry is None:
        faults: list[Problem] = []
        choices: dict[str, tuple[Choice, ...]] = {}
        part = read_part(typed, workshop.index, notebook, faults, choices)
        faults += said_problems(workshop.index.catalogue, body.evidence, body.author)
        if faults or part is None:
            raise InvalidInput(_with_choices(faults, choices))
        entry = keep_part(notebook, part, typed, who)
    name = subject_of(entry, notebook)
    return PlainJson({"id": name, "note": entry.note_id}, 201, headers={"Location": f"/parts/{name}"})


@needs("read")
@router.get("/units/{unit_id}/sheet", summary="What a unit contains, by its sheet", response_model=SheetAnswer,
            responses=problems.responses({}, 401, 404, 422, 429, 503))  # fmt: skip
def get_sheet(unit_id: UnitId, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """Every place that such a unit can have. The ETag is the sheet's revision, for the next change."""
    unit = get_unit(workshop.index, unit_id)
    return _answer(standing_sheet(workshop.index, notebook, unit, find_sheet(notebook, unit)))


@needs("read")
@router.get("/units/{unit_id}/sheet/history", summary="Who wrote what a unit contains", response_model=SheetHistory,
            responses=problems.responses({}, 401, 404, 422, 429, 503))  # fmt: skip
def get_sheet_history(unit_id: UnitId, notebook: UsesNotebook, workshop: UsesWorkshop) -> Response:
    """On its sheet, by workbooks, and in notes beside it. `PUT /notes/NOTE` with what an earlier revision of the
    sheet's note said goes back to it."""
    unit = get_unit(workshop.index, unit_id)
    turns = history_of(workshop.index.catalogue, notebook, unit, find_sheet(notebook, unit))
    return PlainJson({"turns": [asdict(turn) | {"changes": list(turn.changes)} for turn in turns]})


@needs("note")
@router.put("/units/{unit_id}/sheet", summary="Say what a unit contains", response_model=SheetAnswer,
            responses=problems.responses({"model": SheetAnswer}, 400, 401, 403, 404, 413, 422, 428, 429, 503)
            | {409: CLASHING})  # fmt: skip
def put_sheet(
    unit_id: UnitId, body: SheetBody, request: Request, notebook: UsesNotebook, workshop: UsesWorkshop,
    if_match: IfMatch = "", key: Key = "",
) -> Response:  # fmt: skip
    """One note, revised. What others wrote since the revision that was read is kept; at a place that both changed to
    different things, nothing is written: 409 tells both, and the version to send next."""
    unit = get_unit(workshop.index, unit_id)
    sheet, retry = find_sheet(notebook, unit), _retry_of(request, unit_id, key, body)
    if done := notebook.ledger.sent_before(retry):
        return _answer(standing_sheet(workshop.index, notebook, unit, done[0]))
    if sheet is not None and not if_match:
        return problems.problem(request.url.path, 428, 'send If-Match with the ETag of the sheet that was read: "1"')
    found = re.fullmatch(r'"(\d{1,8})"', if_match or '"0"')
    if found is None:
        raise InvalidInput([Problem("If-Match", f"expected the ETag that was read, found {if_match[:40]!r}")])
    sent = dict(_form(body)) | {"revision": str(int(found[1]))}
    try:
        write_sheet_of(workshop, notebook, unit, sent, access_of(request), retry)
    except SheetProblem as error:
        if error.clashes:
            return _clashing(request, workshop, error)
        choices = {place.name: place.choices for place in error.view.places if place.choices}
        raise InvalidInput([_renamed(one) for one in _with_choices(error.view.problems, choices)]) from error
    workshop.shop.follow()
    return _answer(standing_sheet(workshop.index, notebook, unit, find_sheet(notebook, unit)))


def _retry_of(request: Request, unit: str, key: str, body: SheetBody) -> Retry | None:
    """By which the same request is known when it is sent again, by the same one to the same unit."""
    name = f"put sheet\n{access_of(request).name}\n{unit}\n{key}"
    return Retry(digest(name), digest(body.model_dump_json())) if key else None


def _clashing(request: Request, workshop: UsesWorkshop, error: SheetProblem) -> Response:
    known, view = workshop.index.catalogue, error.view

    def said(one: PlaceSaid) -> dict[str, object]:
        words, condition = told(known, one, error.new), one.condition.removeprefix(KIND)
        return {"part": one.part, "none": one.none, "condition": condition, "evidence": one.evidence,
                "author": one.author, "words": words}  # fmt: skip

    def row(one: Clash) -> dict[str, object]:
        states = {"read": one.read, "yours": one.yours, "theirs": one.theirs}
        return {"position": one.name.removeprefix("at."), "label": one.label} | {
            name: said(state) for name, state in states.items()
        }

    lines = [_renamed(Problem(one.name, clash_words(known, one, error.new))) for one in error.clashes]
    names = ", ".join(one.label for one in error.clashes)
    detail = f"others wrote this sheet meanwhile, at the same places as you: {names}. Nothing of yours was written"
    version = f'"{view.revision}"'
    more = {"places": [row(one) for one in error.clashes], "version": version}
    return problems.problem(
        request.url.path, 409, detail, problems=lines, headers={"ETag": version}, more=more, title=problems.FASTER
    )


def _form(body: SheetBody) -> Iterator[tuple[str, str]]:
    """The body as the page's form would send it."""
    yield from (("evidence", body.evidence), ("author", body.author), ("text", body.text), ("note", body.note))
    if body.made_for is not None:
        yield "made_for", body.made_for
    for position, at in body.places.items():
        name = f"at.{position}"
        yield name, at.part.strip()
        ends = {"none": "yes" if at.none else "", "new": "yes" if at.new else "", "kind": at.kind,
                "number": at.number, "condition": at.condition, "price": at.price, "evidence": at.evidence,
                "author": at.author}  # fmt: skip
        yield from ((f"{name}/{end}", value) for end, value in ends.items() if value or end != "condition")


def _renamed(problem: Problem) -> Problem:
    return Problem(re.sub(r"^at\.", "places.", problem.path), problem.message)


def _with_choices(faults: Iterable[Problem], choices: Mapping[str, tuple[Choice, ...]]) -> list[Problem]:
    """The faults, each with the ids that its words may have meant."""
    return [
        Problem(one.path, f"{one.message}: {', '.join(each.id for each in choices[one.path])}")
        if one.path in choices else one
        for one in faults
    ]  # fmt: skip


def _answer(view: SheetView) -> Response:
    places = [
        {"position": one.position.id, "label": one.position.label, "part": one.was, "part_label": one.label,
         "none": one.none == "yes", "elsewhere": [other.id for other in one.elsewhere],
         "evidence": one.said.evidence, "author": one.said.author, "condition": one.condition}
        for one in view.places
    ]  # fmt: skip
    said = {"unit": view.unit.id, "revision": view.revision, "note": view.note, "evidence": view.evidence,
            "author": view.author, "text": view.text, "made_for": view.made_for, "places": places}  # fmt: skip
    return PlainJson(said, headers={"ETag": f'"{view.revision}"'})
