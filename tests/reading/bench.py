"""A catalogue on the workbench: parts, joints and edges put together by hand for one test each. All invented."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, Self

from graph.catalogue.model import (
    ADDS_FEATURE,
    CONTAINS,
    DOES_NOT_FIT,
    EXCLUDES,
    FITS,
    LAYS_OPEN,
    NEEDS,
    REPLACES,
    REQUIRES_MACHINING,
    SHIFTS,
    Catalogue,
    Condition,
    Edge,
    Part,
    StatedFault,
    StatedInspection,
)
from graph.catalogue.terms import (
    ChainKind,
    EvidenceLevel,
    JointKind,
    PartCondition,
    PartKind,
    PositionKind,
    TaskKind,
    Term,
)
from graph.conversion.document import Candidate, Joint, Link, Position
from graph.reading import Question, Reading, read_conversion

GEARBOX, ENGINE = "box-1", "engine-1"

LEVELS = {
    level: EvidenceLevel(level, level, "", rank)
    for rank, level in enumerate(("measured", "done", "drawing", "hearsay", "contradicted"), start=1)
}
CONDITIONS = {
    "new": PartCondition("new", "new"),
    "damaged": PartCondition("damaged", "damaged", usable=False),
}
KINDS = (
    "gearbox",
    "engine",
    "vehicle",
    "block",
    "crank",
    "disc",
    "housing",
    "case",
    "shaft",
    "bearing",
    "bolts",
    "plug",
)
BETWEEN = ("plate", "sleeve", "spacer")


def position(id_: str, part_kind: str, owner: str = "gearbox", *fit_tasks: str) -> PositionKind:
    return PositionKind(f"at-{id_}", id_, "", (part_kind,), owner, fit_tasks)


def joint(id_: str, first: str, second: str, *via_kinds: str, tasks: tuple[str, ...] = ()) -> JointKind:
    return JointKind(id_, id_, "", (f"at-{first}", f"at-{second}"), via_kinds, tasks)


@dataclass
class Bench:
    """Builds a catalogue: a box (case, housing, shaft, bearing) and an engine (block, disc), face and spline between.

    at-block --face-- at-housing --flange-- at-case --seat-- at-bearing --journal-- at-shaft --spline-- at-disc
    """

    parts: dict[str, Part] = field(default_factory=dict)
    edges: dict[str, Edge] = field(default_factory=dict)
    tasks: dict[str, TaskKind] = field(default_factory=dict)
    chains: dict[str, ChainKind] = field(default_factory=dict)
    faults: dict[str, StatedFault] = field(default_factory=dict)
    inspections: dict[str, StatedInspection] = field(default_factory=dict)
    positions: dict[str, PositionKind] = field(default_factory=dict)
    joints: dict[str, JointKind] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for kind in (
            position("block", "block", "engine"),
            position("disc", "disc", "engine", "clutch-off"),
            position("housing", "housing", "gearbox", "box-out"),
            position("case", "case", "gearbox", "strip"),
            position("bearing", "bearing", "gearbox", "strip"),
            position("shaft", "shaft", "gearbox", "strip"),
        ):
            self.positions[kind.id] = kind
        for mate in (
            joint("face", "block", "housing", "plate", tasks=("box-out",)),
            joint("flange", "housing", "case", "plate"),
            joint("seat", "case", "bearing", "sleeve"),
            joint("journal", "bearing", "shaft", "sleeve"),
            joint("spline", "disc", "shaft", "sleeve"),
        ):
            self.joints[mate.id] = mate
        for id_, after, hours in (("box-out", (), 450), ("clutch-off", ("box-out",), 50), ("strip", ("box-out",), 500)):
            self.tasks[id_] = TaskKind(id_, id_, "", after=after, cash_hundredths=0, hours_hundredths=hours)
        self.part(GEARBOX, "gearbox", cash_hundredths=None)
        self.part(ENGINE, "engine", cash_hundredths=None)
        for id_ in ("block", "disc"):
            self.part(f"{id_}-1", id_)
            self.contains(ENGINE, f"{id_}-1", id_)
        for id_ in ("housing", "case", "bearing", "shaft"):
            self.part(f"{id_}-1", id_)
            self.contains(GEARBOX, f"{id_}-1", id_)

    def part(self, id_: str, kind: str, **fields: Any) -> None:
        stated = {"cash_hundredths": 0, "hours_hundredths": 0, **fields}
        self.parts[id_] = Part(id=id_, label=id_, kind=kind, **stated)

    def edge(self, kind: str, source: str, target: str, **fields: Any) -> str:
        where = fields.get("joint") or fields.get("position") or ""
        id_: str = fields.pop("id", f"{source}-{kind}-{target}" + (f"-at-{where}" if where else ""))
        self.edges[id_] = Edge(id=id_, kind=kind, source=source, target=target, **fields)
        return id_

    def contains(self, unit: str, part: str, at: str, **fields: Any) -> str:
        return self.edge(CONTAINS, unit, part, position=f"at-{at}", **fields)

    def fits(self, one: str, other: str, at: str, **fields: Any) -> str:
        return self.edge(FITS, one, other, joint=at, **fields)

    def machined(self, one: str, other: str, at: str, **fields: Any) -> str:
        return self.edge(
            REQUIRES_MACHINING, one, other, joint=at, **{"cash_hundredths": 0, "hours_hundredths": 0, **fields}
        )

    def misfit(self, one: str, other: str, at: str, **fields: Any) -> str:
        return self.edge(DOES_NOT_FIT, one, other, joint=at, **fields)

    def replaces(self, new: str, old: str, **fields: Any) -> str:
        return self.edge(REPLACES, new, old, **fields)

    def needs(self, source: str, target: str, **fields: Any) -> str:
        return self.edge(NEEDS, source, target, **fields)

    def excludes(self, source: str, target: str, **fields: Any) -> str:
        return self.edge(EXCLUDES, source, target, **fields)

    def shifts(self, source: str, chain: str, um: int, **fields: Any) -> str:
        return self.edge(SHIFTS, source, chain, shift_um=um, **fields)

    def adds(self, source: str, feature: str, **fields: Any) -> str:
        return self.edge(ADDS_FEATURE, source, feature, **fields)

    def lays_open(self, task: str, fault: str) -> str:
        return self.edge(LAYS_OPEN, task, fault)

    def closed(self) -> Self:
        """With face and spline noted to fit as they are."""
        self.fits("block-1", "housing-1", "face")
        self.fits("disc-1", "shaft-1", "spline")
        return self

    def catalogue(self) -> Catalogue:
        kinds = {kind: PartKind(kind, kind) for kind in KINDS}
        kinds |= {kind: PartKind(kind, kind, intermediate=True) for kind in BETWEEN}
        return Catalogue(
            currency="XTS",
            rate_hundredths=6000,
            day_hours=Fraction(8),
            part_kinds=kinds,
            position_kinds=self.positions,
            joint_kinds=self.joints,
            chain_kinds=self.chains,
            tasks=self.tasks,
            features={name: Term(name, name) for name in ("gear-signal", "fifth-gear")},
            evidence_levels=LEVELS,
            part_conditions=CONDITIONS,
            parts=self.parts,
            edges=self.edges,
            faults=self.faults,
            inspections=self.inspections,
        )

    def read(self, **asked: Any) -> Reading:
        return read_conversion(self.catalogue(), Question(gearbox=GEARBOX, engine=ENGINE, **asked))


def only_if(key: str, op: str, value: str) -> tuple[Condition, ...]:
    return (Condition(key, op, value, f"{key} {op} {value}"),)


def shuffled(catalogue: Catalogue, order: Iterable[str]) -> Catalogue:
    """The same facts in another order."""
    edges = {edge: catalogue.edges[edge] for edge in order}
    return replace(catalogue, edges=edges, parts=dict(reversed(list(catalogue.parts.items()))))


def position_of(reading: Reading, id_: str) -> Position:
    return next(one for one in reading.conversion.positions if one.id == id_)


def joint_of(reading: Reading, id_: str) -> Joint:
    return next(one for one in reading.conversion.joints if one.id == id_)


def parts_at(reading: Reading, id_: str) -> list[str]:
    return [candidate.part for candidate in position_of(reading, f"at-{id_}").candidates]


def candidate(reading: Reading, id_: str) -> Candidate:
    return next(one for position in reading.conversion.positions for one in position.candidates if one.id == id_)


def links_at(reading: Reading, id_: str) -> list[str]:
    return [link.id for link in joint_of(reading, id_).links]


def link(reading: Reading, id_: str) -> Link:
    return next(one for joint in reading.conversion.joints for one in joint.links if one.id == id_)


def reasons(reading: Reading) -> dict[str, str]:
    return {one.what: one.reason for one in reading.left_out}
