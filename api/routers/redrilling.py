"""New holes in a part that another is to bolt to: where they go among the old ones, and the drawings.

Nothing posted here is stored.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.drawings import Form, Paper, design_answer
from api.roles import needs
from api.routers.fits import FaceBody, Text
from api.routers.fits_answers import Answered
from api.routers.plates import DRAWN, PlateReasonAnswer
from api.workshop import UsesWorkshop, Workshop
from graph.answer.drawings import redrill_drawing
from graph.answer.redrill_asking import RedrillAsked, ask_redrill, redrill_found_as_json
from graph.fits.pattern import Face

router = APIRouter(tags=["plates"])


class RedrillOptions(BaseModel):
    """What counts besides the two faces. Lengths as text with units; empty where nothing is stated."""

    model_config = ConfigDict(extra="forbid")
    joint: Text = Field("flywheel-to-crank", description="joint kind of the measured faces")
    turn: Text = Field("", description="degrees anticlockwise, seen from the gearbox; chosen where both parts turn")
    material: Literal["steel", "light alloy"] = "steel"
    rim: Text = Field("", description="diameter of the drilled part's rim; asked for where it is not stated")
    opening: Text = Field("", description="diameter of its opening; what is read of it if left out")
    thread: Text = Field("", description="the screw (M10, 3/8-16 UNC) of the kept face's holes that name none")
    paper: Paper = Field("A4", description="of a PDF: larger drawings on several sheets of it")

    def asked(self, drilled: str | Face, kept: str | Face) -> RedrillAsked:
        """The same as the core asks it."""
        values = self.model_dump(include=set(RedrillOptions.model_fields) - {"paper"})
        return RedrillAsked(drilled=drilled, kept=kept, **values)


class RedrillQuery(RedrillOptions):
    """Two parts whose faces are measured; the kept one may be a published face (`sae:3`)."""

    drilled: Text = Field(description="the part that is drilled", examples=["bell-tansy-spare"])
    kept: Text = Field(description="the part whose pattern it gets", examples=["block-pipit"])


class RedrillBody(RedrillOptions):
    """The same; a face may also be given hole by hole."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [{"joint": "engine-face", "drilled": "bell-tansy-spare", "kept": "block-pipit"}]
        },
    )
    drilled: Text | FaceBody
    kept: Text | FaceBody


class RedrillAnswer(Answered):
    """`verdict`: designed; to measure (where there is a design it is drawn but not proven, for `measure` lists what is
    not known); or refused with its reasons. `known`: readings there are of a part that cannot be drawn yet."""

    verdict: Literal["designed", "to measure", "refused"]
    reasons: list[PlateReasonAnswer]
    measure: list[str]
    known: list[str]
    design: dict[str, Any] | None
    price: list[str]


@needs("read")
@router.get(
    "/redrilling/design.{form}", summary="New holes in a part for another's pattern", response_model=RedrillAnswer,
    responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def get_redrilling(
    form: Annotated[Form, Path()], asked: Annotated[RedrillQuery, Query()], workshop: UsesWorkshop
) -> Response:
    """Where the new holes go among the old ones, or which are in the way; as DXF, PDF or SVG the drawing."""
    return await _answered(workshop, form, asked.paper, asked.asked(asked.drilled.strip(), asked.kept.strip()))


@needs("read")
@router.post(
    "/redrilling/design.{form}", summary="New holes in a part, its face or the other's given here",
    response_model=RedrillAnswer, responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def design_redrilling(form: Annotated[Form, Path()], body: RedrillBody, workshop: UsesWorkshop) -> Response:
    """The same; nothing is stored."""
    drilled, kept = (
        side.face(name) if isinstance(side, FaceBody) else side.strip()
        for side, name in ((body.drilled, "drilled"), (body.kept, "kept"))
    )
    return await _answered(workshop, form, body.paper, body.asked(drilled, kept))


async def _answered(workshop: Workshop, form: Form, paper: str, asked: RedrillAsked) -> Response:
    return await design_answer(
        workshop, form, "new-holes", lambda index: ask_redrill(index, asked), redrill_found_as_json,
        lambda found: redrill_drawing(found, form, paper),
    )  # fmt: skip
