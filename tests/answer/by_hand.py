"""A conversion small enough to work by hand, and routes of it with sums added up here, not by the search.

The figures are those of the worked example in the route definition: rate 60; gearbox out and in 4.5 h; strip 5.0 h
with 110 of consumables; disc 135, 0.6 h; extended bush 110, 0.5 h; long-nose shaft 160, 0.5 h; worn ring 48, 0.4 h.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from graph.answer.ground import Ground
from graph.catalogue.model import Catalogue, Note, Part
from graph.catalogue.terms import EvidenceLevel, PartKind, TaskKind
from graph.conversion.document import Candidate, Chain, Conversion, Fault, Inspection, Joint, Link, Position, Task
from graph.search.result import Route

CONVERSION = Conversion(
    gearbox="alder-4",
    engine="brook-16",
    rate_hundredths=6000,
    tasks=(
        Task("out", "Gearbox out", hours_hundredths=450),
        Task("strip", "Gear train out", after=("out",), cash_hundredths=11000, hours_hundredths=500),
        Task("grinder", "One visit to the grinder", after=("strip",), cash_hundredths=2000, days=Fraction(6)),
    ),
    positions=(
        Position(
            "shaft", "shaft", "input shaft",
            (
                Candidate(id="short", label="short shaft", part="short", as_found=True),
                Candidate(
                    id="long", label="long-nose shaft", part="long", cash_hundredths=16000, hours_hundredths=50,
                    tasks=("strip",), shifts_um={"overlap": 9000},
                ),
            ),
        ),
        Position(
            "disc", "disc", "clutch disc",
            (
                Candidate(id="disc0", label="disc as found", part="disc0", as_found=True),
                Candidate(
                    id="disc1", label="other disc", part="disc1", cash_hundredths=13500, hours_hundredths=60,
                    tasks=("out",),
                ),
            ),
        ),
        Position(
            "pilot", "pilot", "pilot",
            (
                Candidate(id="pilot0", label="pilot as found", part="pilot0", as_found=True),
                Candidate(
                    id="bush", label="extended bush", part="bush", cash_hundredths=11000, hours_hundredths=50,
                    days=Fraction(5), tasks=("out",), shifts_um={"overlap": 7500},
                ),
            ),
        ),
        Position("ring", "ring", "second ring", (Candidate(id="ring0", label="ring", part="ring0", as_found=True),)),
    ),
    joints=(
        Joint(
            "spline", "spline", "spline", ("shaft", "disc"),
            (
                Link(id="a", label="disc on short shaft", parts=("short", "disc1"), facts=("note-1",)),
                Link(id="b", label="long shaft in disc", parts=("long", "disc0"), facts=("note-2",)),
            ),
        ),
        Joint(
            "nose", "nose", "pilot", ("shaft", "pilot"),
            (
                Link(id="c", label="short nose in bush", parts=("short", "bush")),
                Link(
                    id="d", label="long nose", parts=("long", "pilot0"), kind="fits after machining",
                    operations=("grind the nose to 15 mm",), irreversible=True, hours_hundredths=20, tasks=("grinder",),
                    conditions=("nose not hardened through",), to_confirm=("nose not hardened through",),
                ),
            ),
        ),
    ),
    chains=(Chain("overlap", "pilot overlap", start_um=5000, low_um=12000, high_um=16000),),
    faults=(Fault("worn", "worn ring", "ring", Fraction(35, 100), 4800, 40, ("strip",), True),),
    inspections=(Inspection("test", "road test", 0, 100, ("worn",)),),
)  # fmt: skip

CATALOGUE = Catalogue(
    currency="EUR",
    part_kinds={"disc": PartKind("disc", "clutch disc", caution="Old linings may hold asbestos: no air line.")},
    tasks={
        "out": TaskKind("out", "Gearbox out", cash_hundredths=0, refit="Gearbox in", caution="Strap it to the jack."),
        "strip": TaskKind(
            "strip", "Gear train out", cash_hundredths=0, stage="bench", after=("out",), refit="Gear train in"
        ),
        "grinder": TaskKind(
            "grinder", "One visit to the grinder", cash_hundredths=0, stage="send-out", after=("strip",)
        ),
    },
    parts={
        "disc1": Part(id="disc1", label="other disc", kind="disc", number="D-1", condition="new", cash_hundredths=13500)
    },
    notes={
        "note-1": Note("note-1", "slides free by hand", "measured"),
        "note-2": Note("note-2", "said to fit", "hearsay"),
    },
    evidence_levels={
        "measured": EvidenceLevel("measured", "measured on these parts", rank=1),
        "hearsay": EvidenceLevel("hearsay", "hearsay", rank=8),
    },
)
GROUND = Ground(CONVERSION, CATALOGUE)

# Disc and bush, never opened: 135 + 110 and 4.5 + 0.6 + 0.5 h; 581 + 0.35 x (72 + 680) = 844.20.
DISC_AND_BUSH = Route(
    picks={"shaft": "short", "disc": "disc1", "pilot": "bush", "ring": "ring0"},
    links={"spline": "a", "nose": "c"},
    tasks=("out",),
    cash_hundredths=24500,
    hours_hundredths=560,
    total=Fraction(581),
    expected=Fraction(84420, 100),
    days=Fraction(57, 10),
    p50=Fraction(581),
    p90=Fraction(1333),
    chains_um={"overlap": 12500},
)
# Shaft with a ground nose: 160 + 110 + 20 and 4.5 + 5 + 0.5 + 0.2 h; 902 + 0.35 x 72 = 927.20.
LONG_SHAFT = Route(
    picks={"shaft": "long", "disc": "disc0", "pilot": "pilot0", "ring": "ring0"},
    links={"spline": "b", "nose": "d"},
    tasks=("grinder", "out", "strip"),
    cash_hundredths=29000,
    hours_hundredths=1020,
    total=Fraction(902),
    expected=Fraction(92720, 100),
    days=Fraction(7275, 1000),
    p50=Fraction(902),
    p90=Fraction(974),
    chains_um={"overlap": 14000},
)


def texts(steps: tuple[object, ...]) -> list[str]:
    """The steps' words in order."""
    return [getattr(step, "text") for step in steps]  # noqa: B009


def amounts(split: object) -> Mapping[str, Fraction]:
    """A cost split as a mapping."""
    return {name: getattr(split, name) for name in ("parts", "sublet", "bench", "likely_faults")}
