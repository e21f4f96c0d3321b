"""GET /parts and what hangs on a part: its edges, and the best routes with it and without it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Response

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.browse import count_edges, edges_of_part, get_part, list_parts
from graph.answer.model.answer import Answer
from graph.answer.model.lines import Named
from graph.answer.serial import part_as_json
from graph.catalogue.model import Edge, Note, Part
from graph.errors import InvalidQuestion, Problem
from graph.lookups.index import CatalogueIndex
from graph.reading.question import MOST_ALTERNATIVES, Question

router = APIRouter(tags=["parts"])
EDGES_PER_PAGE, MOST_EDGES = 500, 2_000  # of one part: only standard parts have more
PartId = Annotated[str, Path(description="id of the part", max_length=200, examples=["bush-extended"])]


@dataclass(frozen=True, slots=True)
class Parts:
    """A page of parts, in order of ids. `total`: parts that the filter lets through, on all pages."""

    total: int
    offset: int
    limit: int
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class OnePart:
    """A part, its kind in words, its family line and variants, and the note it rests on."""

    part: Part
    kind_label: str
    families: tuple[Named, ...]
    variants: tuple[Named, ...]
    note: Note | None


@dataclass(frozen=True, slots=True)
class Edges:
    """The edges that start or end at a part or at a family it is a variant of; labels of their ends by id.

    `total`: how many there are in all.
    """

    part: Named
    total: int
    offset: int
    limit: int
    edges: tuple[Edge, ...]
    labels: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """The best routes with a part and without it, side by side. `extra_expected`: what doing without it costs."""

    part: Part
    with_part: Answer
    without_part: Answer
    extra_expected: Fraction | None


@needs("read")
@router.get(
    "/parts", summary="List parts", response_model=None,
    responses=problems.responses({"model": shape(Parts)}, 404, 422),
)  # fmt: skip
async def get_parts(
    workshop: UsesWorkshop,
    kind: Annotated[str, Query(max_length=200, description="only this kind, narrower kinds included")] = "",
    text: Annotated[str, Query(max_length=200, description="words that stand in id, label or number")] = "",
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0,
    limit: Annotated[int, Query(ge=1)] = 50,
) -> Response:
    """Parts, families and units, in order of ids."""
    most = workshop.settings.most_parts_per_page
    if limit > most:
        raise InvalidQuestion([Problem("limit", f"expected at most {most} parts per page; found {limit}")])
    index = workshop.index

    def look_up() -> Parts:
        found = list_parts(index, kind=kind, text=text)
        return Parts(len(found), offset, limit, tuple(found[offset : offset + limit]))

    return PlainJson(part_as_json(await workshop.look_up(look_up)))


@needs("read")
@router.get(
    "/parts/{id}", summary="One part", response_model=None,
    responses=problems.responses({"model": shape(OnePart)}, 404, 422),
)  # fmt: skip
async def get_one_part(id: PartId, workshop: UsesWorkshop) -> Response:
    """The part with its families, variants and note."""
    index = workshop.index
    part = get_part(index, id)
    kind = index.catalogue.part_kinds.get(part.kind)
    found = OnePart(
        part=part,
        kind_label=kind.label if kind else part.kind,
        families=_named(index, index.lineage(id)[1:]),
        variants=_named(index, index.variants_of(id)),
        note=index.catalogue.notes.get(part.note),
    )
    return PlainJson(part_as_json(found))


def _named(index: CatalogueIndex, ids: tuple[str, ...]) -> tuple[Named, ...]:
    return tuple(Named(one, label) for one, label in _labels(index, ids).items())


def _labels(index: CatalogueIndex, ids: tuple[str, ...]) -> dict[str, str]:
    """What the ends of edges are called; an edge that is itself an end keeps its id."""
    known = index.catalogue
    tables: tuple[Any, ...] = (known.parts, known.features, known.chain_kinds, known.tasks, known.faults)
    return {one: next((table[one].label for table in tables if one in table), one) for one in ids}


@needs("read")
@router.get(
    "/parts/{id}/edges", summary="What is known of a part", response_model=None,
    responses=problems.responses({"model": shape(Edges)}, 404, 422),
)  # fmt: skip
async def get_edges(
    id: PartId,
    workshop: UsesWorkshop,
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0,
    limit: Annotated[int, Query(ge=1, le=MOST_EDGES)] = EDGES_PER_PAGE,
) -> Response:
    """What it fits, needs, replaces, excludes, shifts, adds; what fits, needs or replaces it; what contains it."""
    index = workshop.index
    part = get_part(index, id)

    def look_up() -> Edges:
        edges = edges_of_part(index, id, offset, limit)
        ends = tuple(dict.fromkeys(end for edge in edges for end in (edge.source, edge.target) if end))
        total = count_edges(index, id)
        return Edges(Named(part.id, part.label), total, offset, limit, edges, _labels(index, ends))

    return PlainJson(part_as_json(await workshop.look_up(look_up)))


@needs("read")
@router.get(
    "/parts/{id}/alternatives", summary="With the part and without it", response_model=None,
    responses=problems.responses({"model": shape(Alternatives)}, 404, 422),
)  # fmt: skip
async def get_alternatives(
    id: PartId,
    workshop: UsesWorkshop,
    gearbox: Annotated[str, Query(max_length=200, description="id of the gearbox")],
    engine: Annotated[str, Query(max_length=200, description="id of the engine")],
    vehicle: Annotated[str, Query(max_length=200, description="id of the vehicle, if there is one")] = "",
    objective: Annotated[Literal["expected", "total", "cash", "hours"], Query()] = "expected",
    alternatives: Annotated[int, Query(ge=0, le=MOST_ALTERNATIVES)] = 2,
) -> Response:
    """An adapter plate and what works instead: the routes that use the part, and those that do without."""
    question = Question(gearbox=gearbox, engine=engine, vehicle=vehicle, objective=objective, alternatives=alternatives)

    def work() -> Any:
        both = workshop.shop.beside(question, id)
        routes = both.with_part.routes[:1] + both.without_part.routes[:1]
        extra = routes[1].expected - routes[0].expected if len(routes) == 2 else None
        return part_as_json(Alternatives(both.part, both.with_part, both.without_part, extra))

    return PlainJson(await workshop.work_out(work))
