"""Adapter plates: the design between two faces as JSON, DXF, PDF or SVG; and which known pattern a face is.

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
from api.routers.fits import FaceBody, Text
from api.routers.fits_answers import Answered, ResultAnswer
from api.workshop import UsesWorkshop, Workshop
from graph.answer.drawings import plate_drawing
from graph.answer.plate_asking import (
    PlateAsked,
    ask_plate,
    likeness_as_json,
    plate_found_as_json,
    rank_known,
)
from graph.answer.show import face_of

router = APIRouter(tags=["plates"])
DRAWN = drawn("the design or its drawing")


class PlateOptions(BaseModel):
    """What is wanted of the plate besides its faces. Lengths as text with units; empty where nothing is stated."""

    model_config = ConfigDict(extra="forbid")
    joint: Text = Field("engine-face", description="joint kind of the measured faces")
    thickness: Text = Field("", description="15 mm, 14 mm to 15.5 mm, at least 14 mm, at most 20 mm")
    lean: Text = Field("", description="how many degrees the gearbox may be turned either way; upright if left out")
    material: Literal["steel", "light alloy"] = "steel"
    opening: Text = Field("", description="the opening about the shaft; as wide as the holes leave it if left out")
    register_bore: Text = Field("", description="a spigot of the gearbox that centres in the plate")
    spigot: Text = Field("", description="a register of the engine in which the plate centres")
    engine_thread: Text = Field("", description="the screw (M10, 3/8-16 UNC) of the engine's holes that name none")
    gearbox_thread: Text = Field("", description="the screw (M10, 3/8-16 UNC) of the gearbox's holes that name none")
    frame: bool = Field(False, description="the plate is part of the machine's frame (tractor)")
    force: Text = Field("", description="load at mid-span for a first look at bending: 3000 N")
    pieces: int = Field(2, ge=1, le=2, description="how many pieces it may have at most")
    gearbox: Text = Field("", description="the unit whose length chains bound the thickness")
    engine: Text = Field("", description="the other unit")
    piece: int = Field(1, ge=1, le=2, description="which piece a DXF or SVG draws")
    paper: Paper = "A4"

    def asked(self, a: Any, b: Any) -> PlateAsked:
        """The same as the core asks it."""
        values = self.model_dump(include=set(PlateOptions.model_fields) - {"piece", "paper", "register_bore"})
        return PlateAsked(a=a, b=b, register=self.register_bore, **values)


class PlateQuery(PlateOptions):
    """A plate between two faces, each a part whose face is measured, or a published one (`sae:3`)."""

    a: Text = Field(description="the engine's face", examples=["block-pipit"])
    b: Text = Field(description="the gearbox's face", examples=["bell-tansy-spare"])


class PlateBody(PlateOptions):
    """The same; a face may also be given hole by hole."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [{"a": "block-pipit", "b": "bell-tansy-spare", "thickness": "14 mm to 15.5 mm"}]
        },
    )
    a: Text | FaceBody
    b: Text | FaceBody


class PlateReasonAnswer(Answered):
    """Why there is no plate: where, what stands against what, what to move."""

    path: str
    what: str
    move: str


class PlateAnswer(Answered):
    """`verdict` is designed or refused; `moves`: what a plate of that thickness moves; `price`: line by line by the
    shop's rates; `design`: the plate."""

    verdict: Literal["designed", "refused"]
    reasons: list[PlateReasonAnswer]
    design: PlateDesignAnswer | None
    engine: str
    gearbox: str
    moves: list[str]
    price: list[str]


class PlateDesignAnswer(Answered):
    """The plate. Lengths in mm; `outline`: x, y and bulge of each corner of a closed line, as DXF has them."""

    thickness_mm: float
    angle_deg: float
    material: str
    window: dict[str, Any]
    solved: list[str]
    left_out: list[str]
    turns: list[str]
    order: list[str]
    pieces: list[dict[str, Any]]
    figures: list[dict[str, str]]
    measure: list[str]
    cautions: list[str]
    bending: ResultAnswer | None


class WhichBody(BaseModel):
    """A face given hole by hole, or a part whose face is measured."""

    model_config = ConfigDict(extra="forbid", json_schema_extra={"examples": [{"face": "bell-tansy-spare"}]})
    face: Text | FaceBody
    joint: Text = Field("engine-face", description="joint kind of the part's face")


class WhichAnswer(Answered):
    """Every known pattern that comes near, best first; misses of each hole in mm, null where it has none near."""

    patterns: list[dict[str, Any]]


@needs("read")
@router.get(
    "/plates/design.{form}", summary="Design an adapter plate between two measured faces", response_model=PlateAnswer,
    responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def get_plate(
    form: Annotated[Form, Path()], asked: Annotated[PlateQuery, Query()], workshop: UsesWorkshop
) -> Response:
    """The design with its figures and their sources, or the reasons against it; as DXF or PDF its drawing."""
    return await _answered(workshop, form, asked, asked.asked(asked.a, asked.b))


@needs("read")
@router.post(
    "/plates/design.{form}", summary="Design an adapter plate between two faces, also given here",
    response_model=PlateAnswer, responses=problems.responses(DRAWN, 404, 413, 422),
)  # fmt: skip
async def design_plate_between(form: Annotated[Form, Path()], body: PlateBody, workshop: UsesWorkshop) -> Response:
    """The same; nothing is stored."""
    faces = [side.face(name) if isinstance(side, FaceBody) else side for side, name in ((body.a, "a"), (body.b, "b"))]
    return await _answered(workshop, form, body, body.asked(*faces))


@needs("read")
@router.post(
    "/patterns/which", summary="Which known pattern is this face?", response_model=WhichAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def which_pattern(body: WhichBody, workshop: UsesWorkshop) -> Response:
    """Turned and mirrored, best first, with each hole's miss in mm. Nothing is stored."""
    index = workshop.index

    def ranked() -> Any:
        if isinstance(body.face, FaceBody):
            return likeness_as_json(rank_known(index, body.face.face("face")))
        face = face_of(index, body.face, body.joint)
        return likeness_as_json(rank_known(index, face, own=(body.face, body.joint)))

    return PlainJson(await workshop.work_out(ranked))


async def _answered(workshop: Workshop, form: Form, options: PlateOptions, asked: PlateAsked) -> Response:
    name = "plate" if form == "pdf" else f"plate-{options.piece}"
    return await design_answer(
        workshop, form, name, lambda index: ask_plate(index, asked), plate_found_as_json,
        lambda found: plate_drawing(found, form, options.paper, options.piece),
    )  # fmt: skip


PlateAnswer.model_rebuild()
