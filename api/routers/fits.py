"""Fits from measurements: what-if checks, identification, bolt faces over each other, workings, what to measure next.

Nothing posted here is stored.
"""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.questions import QuestionBody
from api.roles import needs
from api.routers.fits_answers import (
    CheckAnswer,
    CheckKindAnswer,
    IdentificationAnswer,
    MeasurementsAnswer,
    MeasurePlanAnswer,
    OverlayAnswer,
    WorkingAnswer,
)
from api.workshop import UsesWorkshop
from graph.answer.show import (
    explained_as_json,
    face_of,
    identification_as_json,
    measurements_as_json,
    overlay_as_json,
    what_if_as_json,
)
from graph.counter.measuring import plan_as_json
from graph.derive.explain import explain_edge
from graph.fits.lengths import read_nm
from graph.fits.pattern import Face, Hole
from graph.identify.units import identify_unit
from graph.what_if.kinds import WHAT_IFS

router = APIRouter(tags=["fits"])
Text = Annotated[str, Field(max_length=200)]
Inputs = Annotated[dict[Annotated[str, Field(max_length=60)], Text], Field(max_length=60)]


class CheckBody(BaseModel):
    """Dimensions as text with units; one that is left out is one that nobody has measured."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [{"inputs": {"width": "25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.02 mm from the shoulder"}}]
        },
    )
    inputs: Inputs = Field(description="by name of the input; GET /fit-checks lists them")


class IdentifyBody(BaseModel):
    """What can be seen and measured of one unit."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={"examples": [{"family": "tansy", "observations": {"stick-out": "147.1 mm +/- 0.1 mm"}}]},
    )
    family: Text = Field("gearbox", description="a family, or gearbox or engine for all of them")
    observations: Inputs = Field(default_factory=dict, description="by quantity: 147.1 mm +/- 0.1 mm, 10 teeth, boss")


class HoleBody(BaseModel):
    """One hole of a face, places and sizes as text with units."""

    model_config = ConfigDict(extra="forbid")
    id: Text
    x: Text
    y: Text
    diameter: Text
    use: Literal["thread", "clearance", "dowel", "other"] = "clearance"
    thread: Text = ""
    edge: Text = ""


class FaceBody(BaseModel):
    """A bolt face as measured, about its axis."""

    model_config = ConfigDict(extra="forbid")
    label: Text
    axis: Text
    seen_from: Literal["rear", "front"]
    uncertainty: Text
    holes: Annotated[list[HoleBody], Field(min_length=1, max_length=200)]

    def face(self, name: str) -> Face:
        """The core's face. Raises InvalidInput naming every fault it finds first."""
        holes = tuple(
            Hole(
                id=hole.id, x_nm=read_nm(hole.x, f"{name}.holes[{n}].x"), y_nm=read_nm(hole.y, f"{name}.holes[{n}].y"),
                diameter_nm=read_nm(hole.diameter, f"{name}.holes[{n}].diameter"), use=hole.use, thread=hole.thread,
                edge_nm=read_nm(hole.edge, f"{name}.holes[{n}].edge") if hole.edge else None,
            )
            for n, hole in enumerate(self.holes)
        )  # fmt: skip
        return Face(
            id=name, label=self.label, holes=holes, axis=self.axis, seen_from=self.seen_from,
            uncertainty_nm=read_nm(self.uncertainty, f"{name}.uncertainty"),
        )  # fmt: skip


class OverlayBody(BaseModel):
    """Two faces: parts whose faces are measured, or faces given here. Face b is laid on face a."""

    model_config = ConfigDict(
        extra="forbid", json_schema_extra={"examples": [{"a": "block-pipit", "b": "bell-tansy-spare"}]}
    )
    a: Text | FaceBody
    b: Text | FaceBody
    joint: Text = Field("engine-face", description="joint kind of the measured faces")
    lean_deg: float = Field(180.0, gt=0, le=180, description="how far face b may be turned either way")


@needs("read")
@router.get(
    "/fit-checks",
    summary="The checks that can be tried",
    response_model=dict[str, CheckKindAnswer],
    responses=problems.responses({}),
)
async def list_checks() -> Response:
    """Every check with its inputs and how each is written."""
    return PlainJson(
        {
            kind: {
                "about": what.about,
                "inputs": {
                    name: {"about": field.about, "write": field.how, "needed": field.needed, "words": field.words}
                    for name, field in what.fields.items()
                },
            }
            for kind, what in WHAT_IFS.items()
        }
    )


@needs("read")
@router.post(
    "/fit-checks/{kind}", summary="Try a joint check on typed dimensions", response_model=CheckAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def try_check(
    kind: Annotated[str, Path(max_length=60, examples=["axial-location"])], body: CheckBody, workshop: UsesWorkshop
) -> Response:
    """Verdict, margin, worst case and RSS, remedies with their sublet sketches, and the working. Nothing is stored."""
    return PlainJson(await workshop.work_out(lambda: what_if_as_json(kind, body.inputs)))


@needs("read")
@router.post(
    "/identify", summary="Which variant is this?", response_model=IdentificationAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def identify(body: IdentifyBody, workshop: UsesWorkshop) -> Response:
    """The variants that remain possible, how sure, and the next thing to find out, by information per minute."""
    index = workshop.index
    return PlainJson(
        await workshop.work_out(lambda: identification_as_json(identify_unit(index, body.family, body.observations)))
    )


@needs("read")
@router.post(
    "/patterns/overlay", summary="Lay one bolt face over another", response_model=OverlayAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def overlay(body: OverlayBody, workshop: UsesWorkshop) -> Response:
    """The best clocking angle, which holes line up, which miss by how many millimetres, and the drawing as SVG."""
    index = workshop.index

    def face(side: str | FaceBody, name: str) -> Face:
        return face_of(index, side, body.joint) if isinstance(side, str) else side.face(name)

    return PlainJson(
        await workshop.work_out(lambda: overlay_as_json(face(body.a, "a"), face(body.b, "b"), body.lean_deg))
    )


@needs("read")
@router.get(
    "/edges/{id}/working", summary="The working behind an edge", response_model=WorkingAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def get_working(
    id: Annotated[str, Path(max_length=600, examples=["case-hollin-late-fits-bearing-6309"])], workshop: UsesWorkshop
) -> Response:
    """Numbers, units, formula, source and margins, and sublet sketches. For a noted edge: does the arithmetic agree?"""
    index = workshop.index
    return PlainJson(await workshop.work_out(lambda: explained_as_json(explain_edge(index, id))))


@needs("read")
@router.get(
    "/parts/{id}/measurements", summary="What was measured of a part", response_model=MeasurementsAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def get_measurements(
    id: Annotated[str, Path(max_length=200, examples=["disc-unlabelled"])], workshop: UsesWorkshop
) -> Response:
    """Every reading as it was read, what the readings settle to, bolt faces, and what is in dispute."""
    index = workshop.index
    return PlainJson(await workshop.work_out(lambda: measurements_as_json(index, id)))


@needs("read")
@router.post(
    "/measure-next", summary="What to measure next for a question", response_model=MeasurePlanAnswer,
    responses=problems.responses({}, 404, 422),
)  # fmt: skip
async def next_measurements(body: QuestionBody, workshop: UsesWorkshop) -> Response:
    """The answer's own plan: what to look at before work starts, the most telling first, and where to begin. `missing`
    has measurements that joints wait for where no assembly is settled; `words` what stays open otherwise."""
    question = body.question()
    return PlainJson(await workshop.work_out(lambda: plan_as_json(workshop.shop.measure_next(question))))
