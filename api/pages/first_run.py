"""GET / and GET /tour: what this is, a short tour in the demo workshop, and what to do first in an own one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from fastapi import Request, Response

from api.pages.asked import address
from api.pages.base import page, page_router
from api.pages.in_words import WORDS_EXAMPLE
from api.roles import needs
from api.workshop import workshop_of
from graph.catalogue.model import UNIT_KINDS
from graph.cli.question import DEMO_QUESTION
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

router = page_router()

PLATE_QUESTION = Question(
    gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up", context={"torque_nm": "180", "duty": "road"}
)
LOOKS_IMPOSSIBLE = Question(gearbox="tansy-5", engine="pipit-16", context={"torque_nm": "120", "duty": "road"})
NO_ROUTE = Question(gearbox="hollin-5", engine="dunlin-25d")


BY_FIVE_FACTS = Question(gearbox="teasel-5", engine="knot-18")
YARD = (
    BY_FIVE_FACTS,
    Question(gearbox="hollin-5", engine="plover-30a", assembly="clutch-and-propshaft"),
    Question(gearbox="drake-2", engine="grebe-40", vehicle="mayfly-launch"),
    Question(gearbox="sluice-pump", engine="rail-60"),
    Question(gearbox="sedge-4c", engine="firefly-30", assembly="motor-on-a-coupler"),
)


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

    `gearboxes`, `engines`, `vehicles`: how many units can be asked about. `example`, `words`: of the field for a
    question in words.
    """

    demo: bool
    parts: int
    edges: int
    gearboxes: int
    engines: int
    vehicles: int
    example: str = WORDS_EXAMPLE
    words: str = ""


@dataclass(frozen=True, slots=True)
class TourView:
    """The tour: its `stops` in order; `demo`: whether the facts that it speaks of are loaded. `yard`: whether the five
    other sorts of job are, which are stops then too."""

    stops: tuple[Stop, ...]
    demo: bool
    yard: bool


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
    gearboxes, engines, vehicles = (len(index.units(what)) for what in UNIT_KINDS)
    view = HomeView(is_demo(index), len(known.parts), len(known.edges), gearboxes, engines, vehicles)
    return page(request, "home.html", view, title="Which gearbox behind which engine?")


@needs("read")
@router.get("/tour")
async def tour(request: Request) -> Response:
    """A few real questions of the demo workshop, each with what to look for."""
    known = workshop_of(request).index
    yard = all(unit in known.catalogue.parts for question in YARD for unit in question.units)
    view = TourView((*_stops(), *(_yard_stops() if yard else ())), is_demo(known), yard)
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


def _yard_stops() -> tuple[Stop, ...]:
    told = (
        (
            "Known by five facts",
            "Two units of which next to nothing is written down. Nothing is called proven: look at the range, at what"
            " it hangs on, and at what to measure first.", "Teasel 5 behind the Knot",
        ),
        (
            "An automatic made manual",
            "The engine never had a clutch. What comes and what goes follows from the two kinds of finished job.",
            "Hollin 5 behind the Plover",
        ),
        ("A boat", "A marine gear on a damper plate, in a launch.", "Drake 2 behind the Grebe"),
        ("A pump", "A stationary drive on housings of a published standard.", "The Sluice pump behind the Rail"),
        ("A motor on a coupler", "An electric motor in front of a gearbox.", "Sedge 4c behind the Firefly"),
    )  # fmt: skip
    return tuple(
        Stop(heading, words, address("/compare", question), link)
        for (heading, words, link), question in zip(told, YARD, strict=True)
    )
