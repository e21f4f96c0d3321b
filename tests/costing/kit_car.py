"""The kit car of the worked example by hand, as an answer: rate 60, gearbox out and in 4.5 h, another disc and a bush.

Total 581, expected 844.20 with a second-gear ring worn with odds 0.35. All invented.
"""

from __future__ import annotations

from fractions import Fraction

from graph.answer.build import build_answer
from graph.answer.ground import Ground
from graph.answer.model.answer import Answer
from graph.catalogue.model import Catalogue
from graph.catalogue.model import Part as KnownPart
from graph.catalogue.terms import TaskKind
from graph.conversion.document import Candidate, Chain, Conversion, Fault, Joint, Link, Position, Task
from graph.search.result import Route, Solution

PICKS = {"shaft": "shaft-in-it", "disc": "disc-28", "pilot": "bush-12", "inside": "inside-as-found"}
LINKS = {"spline": "disc-on-shaft", "nose": "nose-in-bush"}


def conversion(odds: str = "0.35") -> Conversion:
    """The document; everything that the picked route needs, and the strip that it does not."""
    tasks = (
        Task("out", "Gearbox out and in", (), 0, 450),
        Task("strip", "Gear train out and in", ("out",), 11000, 500),
    )
    positions = (
        Position("shaft", "input-shaft", "input shaft", (
            Candidate(id="shaft-in-it", label="shaft as found", part="shaft-23", as_found=True),)),
        Position("disc", "clutch-disc", "clutch disc", (
            Candidate(id="disc-28", label="Disc with a 28-tooth hub", part="disc-28-hub", cash_hundredths=13500,
                      hours_hundredths=60, days=Fraction(2), tasks=("out",), facts=("note-disc",)),)),
        Position("pilot", "pilot-bush", "pilot bush", (
            Candidate(id="bush-12", label="Extended pilot bush", part="bush-ext", cash_hundredths=11000,
                      hours_hundredths=50, days=Fraction(5), tasks=("out",),
                      to_confirm=("Measure the crank bore before the bush is turned",)),)),
        Position("inside", "second-synchro-ring", "second-gear ring", (
            Candidate(id="inside-as-found", label="ring as found", part="ring-2", as_found=True),)),
    )  # fmt: skip
    joints = (
        Joint("spline", "spline", "disc on the shaft", ("shaft", "disc"), (
            Link(id="disc-on-shaft", label="slides by hand", parts=("shaft-in-it", "disc-28")),)),
        Joint("nose", "pilot", "nose in the bush", ("shaft", "pilot"), (
            Link(id="nose-in-bush", label="turned bush", parts=("shaft-in-it", "bush-12"),
                 kind="fits after machining", irreversible=True, shifts_um={"overlap": 7000}),)),
    )  # fmt: skip
    chains = (Chain("overlap", "pilot overlap", 5000, 12000, 16000),)
    faults = (Fault("ring-worn", "Second-gear ring worn", "inside", Fraction(odds), 4800, 40, ("strip",), True),)
    return Conversion(
        "box-23", "engine-marl", 6000, tasks=tasks, positions=positions, joints=joints, chains=chains, faults=faults
    )


def catalogue() -> Catalogue:
    """What is known of the parts and tasks: labels, numbers, conditions, cautions."""
    return Catalogue(
        currency="EUR", rate_hundredths=6000,
        parts={
            "disc-28-hub": KnownPart(id="disc-28-hub", label="Disc with a 28-tooth hub", kind="clutch-disc",
                                     number="D-28", condition="new", cash_hundredths=13500, days=Fraction(2)),
            "bush-ext": KnownPart(id="bush-ext", label="Extended pilot bush", kind="pilot-bush", number="B-12",
                                  condition="new", cash_hundredths=11000, days=Fraction(5)),
            "box-23": KnownPart(id="box-23", label="Gearbox 23", kind="gearbox"),
            "engine-marl": KnownPart(id="engine-marl", label="Engine Marl", kind="engine"),
        },
        tasks={
            "out": TaskKind("out", "Gearbox out and in", cash_hundredths=0, stage="strip", hours_hundredths=450,
                             caution="Strap the box to the jack: its balance shifts as the shaft clears the housing.",
                             refit="Gearbox in on guide studs, closed by hand"),
            "strip": TaskKind("strip", "Gear train out and in", cash_hundredths=0, stage="bench",
                              caution="Circlips fly: glasses."),
        },
    )  # fmt: skip


def answer(odds: str = "0.35") -> Answer:
    """The answer with its one route."""
    p = Fraction(odds)
    expected = 581 + 752 * p
    route = Route(
        PICKS, LINKS, ("out",), 24500, 560, Fraction(581), expected, Fraction(57, 10), Fraction(581),
        Fraction(1333) if p > Fraction(1, 10) else Fraction(581), {"overlap": 12000},
    )  # fmt: skip
    ground = Ground(conversion(odds), catalogue())
    return build_answer(ground, Solution("optimal", "expected", (route,)), question={})
