"""GET /glossary: what the words mean that answers, papers and messages use."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.glossary import LONGEST_SEARCH, list_words
from graph.answer.serial import part_as_json

router = APIRouter(tags=["parts"])


class GlossaryWord(BaseModel):
    """`source`: word of the trade, a standard by its number, or whose own word it is; `sort`: what sort of word."""

    word: str
    meaning: str
    source: str
    sort: str


class GlossaryWords(BaseModel):
    """Words in order; with a text, those that have it in the word first."""

    words: list[GlossaryWord]


@needs("read")
@router.get("/glossary", summary="What the words mean", responses=problems.responses({"model": GlossaryWords}, 422))
async def get_glossary(
    workshop: UsesWorkshop,
    text: Annotated[
        str, Query(max_length=LONGEST_SEARCH, description="only words with this in them or in their meaning")
    ] = "",
) -> Response:
    """The words that screens, papers and messages use, each in plain words with its source; and the kinds of parts,
    places, joints, tasks, features and evidence as this workshop defines them."""
    return PlainJson({"words": part_as_json(list_words(workshop.index.catalogue, text))})
