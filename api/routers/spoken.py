"""POST /ask: a question in a person's own words, read into the body of `POST /routes`."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.serial import question_as_json
from graph.spoken import InWords, understand
from graph.spoken.pieces import LONGEST_TEXT

router = APIRouter(tags=["routes"])
EXAMPLE = "tansy five speed behind a pipit, no plate, 180 Nm, under 900"


class WordsBody(BaseModel):
    """A question in words."""

    model_config = ConfigDict(extra="forbid", json_schema_extra={"examples": [{"words": EXAMPLE}]})

    words: Annotated[str, Field(min_length=1, max_length=LONGEST_TEXT, description="as one would say it")]


class SpokenChoiceBody(BaseModel):
    """A field of the question with a value for it, and both in words. `context.torque_nm`: a key of the context."""

    field: str
    value: str
    label: str


class SpokenChipBody(SpokenChoiceBody):
    """What was understood, from which words of the text."""

    words: str
    start: int
    end: int


class SpokenDoubtBody(BaseModel):
    """Words with several readings, or one that is not sure. `several`: more than one of the choices may hold."""

    words: str
    start: int
    end: int
    asked: str
    choices: list[SpokenChoiceBody]
    several: bool


class SpokenWordBody(BaseModel):
    """A word with its place; `reason`: why it is no part of a question, empty where it is not known at all.

    `near`: known words that it may be a slip of.
    """

    word: str
    start: int
    end: int
    reason: str
    near: list[str]


class InWordsBody(BaseModel):
    """What became of every word, and what is certain as the body of `POST /routes`.

    `ready`: it can be asked as it stands: nothing is missing, doubtful or not understood. `missing`: gearbox or engine,
    of which nothing certain was said.
    """

    text: str
    chips: list[SpokenChipBody]
    doubts: list[SpokenDoubtBody]
    not_understood: list[SpokenWordBody]
    passed_over: list[SpokenWordBody]
    missing: list[str]
    ready: bool
    question: dict[str, Any]


@needs("read")
@router.post(
    "/ask", summary="Read a question in words",
    responses=problems.responses({"model": InWordsBody}, 413, 422),
)  # fmt: skip
async def read_words(body: WordsBody, workshop: UsesWorkshop) -> Response:
    """Names with slips of the pen, kinds to do without, parts in hand, numbers with units, days and dates, what matters
    most. Nothing is searched for: every word comes back in a chip, in a doubt with choices, among the words that were
    not understood, or among those that were passed over. Put the choices that hold into `question` and send it on."""
    index = workshop.index
    found = await workshop.look_up(lambda: understand(index, body.words, date.today()))
    return PlainJson(in_words_as_json(found))


def in_words_as_json(found: InWords) -> dict[str, Any]:
    """As JSON values; units that are lacking are left out of the question."""
    question = question_as_json(found.question())
    asked = {name: value for name, value in question.items() if value or name not in ("gearbox", "engine")}
    return {**asdict(found), "missing": list(found.missing), "ready": found.ready, "question": asked}
