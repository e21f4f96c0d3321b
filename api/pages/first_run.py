"""GET / and GET /tour: what this is, a short tour in the demo workshop, and what to do first in an own one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from fastapi import Request, Response

from api.pages.asked import address
from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import workshop_of
from graph.cli.question import DEMO_QUESTION
from graph.reading.index import CatalogueIndex
from graph.reading.question import Question

router = page_router()

PLATE_QUESTION = Question(
    gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up", context={"torque_nm": "180", "duty": "road"}
)
LOOKS_IMPOSSIBLE = Question(gearbox="tansy-5", engine="pipit-16", context={"torque_nm": "120", "duty": "road"})
NO_ROUTE = Question(gearbox="hollin-5", engine="dunlin-25d")


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the tour: its `heading`, what to look for (`words`), and where to go (`link` as words, `address`)."""

    heading: str
    words: str
    address: str
    link: str


@dataclass(frozen=True, slots=True)
class HomeView:
    """The first page. `demo`: these are the facts of the invented workshop. `parts`, `edges`: how many are known.

    `gearboxes`, `engines`, `vehicles`: how many units can be asked about.
    """

    demo: bool
    parts: int
    edges: int
    gearboxes: int
    engines: int
    vehicles: int


@dataclass(frozen=True, slots=True)
class TourView:
    """The tour: its `stops` in order; `demo`: whether the facts that it speaks of are loaded."""

    stops: tuple[Stop, ...]
    demo: bool


@dataclass(frozen=True, slots=True)
class EmptyView:
    """A workshop of which nothing can be asked yet. `parts`: how many are known; `missing`: which units are not."""

    parts: int
    missing: tuple[str, ...]


@needs("read")
@router.get("/")
async def home(request: Request) -> Response:
    """What this is, and where to go on."""
    index = workshop_of(request).index
    empty = empty_view(index)
    if empty is not None:
        return page(request, "empty.html", empty, title="What to do first")
    known = index.catalogue
    counts = (len(index.units(what)) for what in ("gearbox", "engine", "vehicle"))
    view = HomeView(is_demo(index), len(known.parts), len(known.edges), *counts)
    return page(request, "home.html", view, title="Which gearbox behind which engine?")


@needs("read")
@router.get("/tour")
async def tour(request: Request) -> Response:
    """A few real questions of the demo workshop, each with what to look for."""
    view = TourView(_stops(), is_demo(workshop_of(request).index))
    return page(request, "tour.html", view, title="A short tour")


def is_demo(index: CatalogueIndex) -> bool:
    """Whether the units that the tour asks about are known."""
    return all(unit in index.catalogue.parts for unit in (*DEMO_QUESTION.units, *PLATE_QUESTION.units))


def empty_view(index: CatalogueIndex) -> EmptyView | None:
    """What to do first, where there is not at least one gearbox and one engine; else None."""
    missing = tuple(what for what in ("gearbox", "engine") if not index.units(what))
    return EmptyView(len(index.catalogue.parts), missing) if missing else None


def _stops() -> tuple[Stop, ...]:
    soon = replace(PLATE_QUESTION, deadline=Fraction(9))
    return (
        Stop(
            "A question and its answer",
            "A five-speed box goes behind another engine, in a pick-up. The cheapest way is not the sum of the cheapest"
            " parts: look at what worn parts are expected to add, and at what looking first is worth.",
            address("/compare", DEMO_QUESTION), "Hollin 5 behind the two-litre Ouzel",
        ),
        Stop(
            "An adapter plate moves six other dimensions",
            "Look at the side effects with their margins, then press “Without” beside the plate and see what works"
            " instead, and what it costs.",
            address("/compare", PLATE_QUESTION), "Tansy 5 behind the Ouzel, with a plate",
        ),
        Stop(
            "The same job in a hurry",
            "With nine working days another plate is the right one: the cheaper one takes too long to come.",
            address("/compare", soon), "The same within nine days",
        ),
        Stop(
            "It looks impossible, and is not",
            "Another case, a bearing of a published size and two millimetres off a shoulder. Open the best route and"
            " read its steps.",
            address("/compare", LOOKS_IMPOSSIBLE), "Tansy 5 behind the Pipit",
        ),
        Stop(
            "No route, and why",
            "Faces that were held together and do not meet. The answer names what stays open, how far off"
            " the nearest part is, and what would open the way.",
            address("/compare", NO_ROUTE), "Hollin 5 behind the Dunlin",
        ),
    )  # fmt: skip
