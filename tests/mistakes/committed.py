"""The invented workshop with mistakes committed in its readings, and the doors by which a user asks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from graph.answer.asking import answer_question
from graph.answer.model.answer import Answer
from graph.answer.model.fit import AssemblyCheck
from graph.catalogue.model import Edge, Measurement, Part
from graph.reading import CatalogueIndex
from graph.reading.question import Question
from tests.derive.shop import index, measured

FRICTION = "flywheel friction face"
SPACER: dict[str, Any] = {  # the demo's way with a plate of 20: a spacer of 5 behind the flywheel, with longer bolts
    "gearbox": "tansy-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up", "context": {"torque_nm": "180"},
    "avoid": ("plate-15", "spacer-release-5"),
}  # fmt: skip
HERE = {"gearbox": "hollin-5", "engine": "ouzel-20", "context": {"tools": ["press"]}}


def length(quantity: str, of: str, reading: str, **more: str) -> Measurement:
    """A length read to 0.05 mm on the very part."""
    return measured(quantity, of, reading, uncertainty="0.05 mm", **more)


def ask(facts: CatalogueIndex, gearbox: str = "hollin-5", engine: str = "ouzel-20", **asked: Any) -> Answer:
    asked.setdefault("context", {"tools": ("press",)})
    return answer_question(facts, Question(gearbox=gearbox, engine=engine, **asked))


def asked_with(*readings: Measurement, **asked: Any) -> Answer:
    """The answer for the Hollin behind the Ouzel once these have been read."""
    return ask(index(more=readings), **asked)


def check(answer: Answer, name: str) -> AssemblyCheck:
    (found,) = [line for line in answer.routes[0].checks if line.check == name]
    return found


def with_sensor(readings: Sequence[Measurement]) -> CatalogueIndex:
    """The Ouzel with a sensor at its ring, which the demo's has not, and what is read of it."""
    whole = index().catalogue
    sensor = Part(id="sensor-ouzel", label="Ouzel crankshaft sensor", kind="crank-sensor")
    holds = Edge(
        id="ouzel-has-sensor", kind="contains", source="ouzel-20", target=sensor.id, position="at-crank-sensor"
    )
    edges = {name: edge for name, edge in whole.edges.items() if name != "ouzel-20-none-at-crank-sensor"}
    told = {**whole.measurements, **{one.id: one for one in readings}}
    parts = {**whole.parts, sensor.id: sensor}
    return CatalogueIndex(replace(whole, parts=parts, edges={**edges, holds.id: holds}, measurements=told))


def gears(shaft: str, layshaft: str, teeth: Sequence[int], centres: str) -> Iterable[Measurement]:
    """Two spur gears of module 2.5 and the centre distance of their case."""
    for part, count in zip((shaft, layshaft), teeth, strict=True):
        yield measured("gear-teeth", part, f"{count} teeth")
        yield measured("gear-module", part, "2.5 mm", uncertainty="0.01 mm")
        yield measured("gear-helix", part, "0 deg", uncertainty="1 deg")
        yield measured("gear-hand", part, "none")
    yield measured("centre-distance", layshaft, centres, uncertainty="0.01 mm")


FLYWHEEL_BOLTS = {
    "flywheel-bolt-grip": ("flywheel-ouzel", "20.00 mm"), "crank-thread": ("crank-ouzel", "10.00 mm"),
    "crank-hole-depth": ("crank-ouzel", "22.00 mm"),
}  # fmt: skip


def flywheel_bolts(under_head: str) -> list[Measurement]:
    """M10 through 20 mm into a flange that takes 22."""
    known = [length(quantity, of, reading) for quantity, (of, reading) in FLYWHEEL_BOLTS.items()]
    return [length("flywheel-bolt-length", "flywheel-ouzel", under_head), *known]


def housing_bolts(under_head: str, material: str = "cast iron") -> list[Measurement]:
    """M10 through 15 mm into a block that takes 30."""
    return [
        length("housing-bolt-length", "bell-hollin", under_head),
        length("housing-bolt-grip", "bell-hollin", "15.00 mm"),
        length("block-thread", "block-ouzel", "10.00 mm"), length("block-hole-depth", "block-ouzel", "30.00 mm"),
        measured("block-material", "block-ouzel", material),
    ]  # fmt: skip
