"""Made parts: what a bush, a sleeve or a spacer between two parts is like, its price and its drawings.

Nothing posted here is stored.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.drawings import Form, Paper, design_answer, drawn
from api.json import PlainJson
from api.roles import needs
from api.routers.fits import Text
from api.routers.fits_answers import Answered
from api.routers.plates import PlateReasonAnswer
from api.workshop import UsesWorkshop, Workshop
from graph.answer.drawings import made_drawing
from graph.answer.made_asking import MadeAsked, ask_made, made_found_as_json, made_kinds_as_json

router = APIRouter(tags=["made parts"])
DRAWN = drawn("the made part or its drawing")


class MadeQuery(BaseModel):
    """A made part between two parts. Lengths as text with units; empty where nothing is stated."""

    model_config = ConfigDict(extra="forbid")
    a: Text = Field("", description="the part that holds the kind's first place", examples=["crank-pipit"])
    b: Text = Field("", description="the part that holds its second place", examples=["shaft-sedge"])
    size: Text = Field("", description="along the axis, as the chains count it; chosen from them if left out")
    gearbox: Text = Field("", description="the unit whose length chains choose and bound that size")
    engine: Text = Field("", description="the other unit")
    paper: Paper = Field("A4", description="of a PDF: larger drawings on several sheets of it")


class MadeBody(MadeQuery):
    """The same, with readings that count instead of those of the facts."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [{"a": "crank-pipit", "b": "shaft-sedge", "size": "8 mm",
                          "readings": {"crank-bore-depth": "22 mm +/- 0.05 mm"}}]
        },
    )  # fmt: skip
    readings: dict[Text, Text] = Field(
        default_factory=dict, max_length=20, description="by quantity: 28.000 mm +/- 0.005 mm"
    )


class MadePartAnswer(Answered):
    """`verdict` is designed, to measure (some size is not known yet) or refused; `design`: the part, its sizes in mm
    with their limits and where they come from; `price`: line by line by the shop's rates; `others`: sizes along the
    axis that serve other combinations of parts."""

    verdict: Literal["designed", "to measure", "refused"]
    reasons: list[PlateReasonAnswer]
    design: dict[str, Any] | None
    price: list[str]
    others: list[str]


class MadeKindsAnswer(Answered):
    """Every kind of made part: what it closes, between which places, which readings its sizes take."""

    kinds: list[dict[str, Any]]


@needs("read")
@router.get("/made-parts", summary="Kinds of part that are made for a joint", response_model=MadeKindsAnswer)
async def list_made_kinds() -> Response:
    """What each kind closes and what it takes."""
    return PlainJson(made_kinds_as_json())


Kind = Annotated[str, Path(max_length=80, examples=["pilot-bush"])]


@needs("read")
@router.get(
    "/made-parts/{kind}.{form}", summary="Design a made part between two parts", response_model=MadePartAnswer,
    responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def get_made_part(
    kind: Kind, form: Annotated[Form, Path()], asked: Annotated[MadeQuery, Query()], workshop: UsesWorkshop
) -> Response:
    """Its sizes with limits and sources, or the reasons against it; as DXF, PDF or SVG its drawing."""
    return await _answered(workshop, form, asked.paper, _asked(kind, asked))


@needs("read")
@router.post(
    "/made-parts/{kind}.{form}", summary="Design a made part, with readings given here", response_model=MadePartAnswer,
    responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def design_made_part(
    kind: Kind, form: Annotated[Form, Path()], body: MadeBody, workshop: UsesWorkshop
) -> Response:  # fmt: skip
    """The same; nothing is stored."""
    return await _answered(workshop, form, body.paper, _asked(kind, body, body.readings))


def _asked(kind: str, query: MadeQuery, readings: dict[str, str] | None = None) -> MadeAsked:
    return MadeAsked(
        kind=kind, a=query.a.strip(), b=query.b.strip(), size=query.size, gearbox=query.gearbox.strip(),
        engine=query.engine.strip(), readings=readings or {},
    )  # fmt: skip


async def _answered(workshop: Workshop, form: Form, paper: str, asked: MadeAsked) -> Response:
    return await design_answer(
        workshop, form, asked.kind, lambda index: ask_made(index, asked), made_found_as_json,
        lambda found: made_drawing(found, form, paper),
    )  # fmt: skip
