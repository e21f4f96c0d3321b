"""A route's lines can be worked down as they stand: played by a small model of hands and parts that knows no graph.

The rules are common practice: nothing is worked on that is shut or not there; what lies behind goes in first; a
propshaft is measured when the box hangs on its mounts; bolts go in with what they hold; end float is set when what
it is measured over is in; a road test closes the job.
LAYSHAFT_ORDERS sets how many of the demo's pairs of units are asked (0: all of them).
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from graph.answer.asking import ask_index
from graph.answer.model import Step
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.errors import LayshaftError
from graph.reading import CatalogueIndex, Question

HOW_MANY = int(os.environ.get("LAYSHAFT_ORDERS", "12"))
ASKED = [
    Question(gearbox=gearbox, engine=engine, vehicle=vehicle, assembly=assembly)
    for gearbox, engine, vehicle, assembly in (
        ("tansy-5", "pipit-16", "", ""), ("hollin-5", "ouzel-20", "", ""), ("tansy-5", "ouzel-20", "", ""),
        ("tansy-5", "ouzel-20", "sorrel-pick-up", ""),
        ("sedge-4a", "pipit-16", "", ""), ("hollin-5", "pipit-16", "sorrel-pick-up", ""),
        ("drake-2", "grebe-40", "mayfly-launch", ""), ("sluice-pump", "rail-60", "", ""),
        ("sedge-4c", "firefly-30", "", "motor-on-a-coupler"),
    )
]  # fmt: skip
GOES_IN_BEHIND = {
    "at-clutch-disc": ("at-pilot", "at-flywheel"), "at-clutch-cover": ("at-clutch-disc", "at-pilot", "at-flywheel"),
    "at-flywheel": ("at-crank-seal",), "at-release-bearing": ("at-front-retainer",),
}  # fmt: skip
SHUT_BY = {  # what lies behind which task's putting back
    "clutch-off-and-on": ("at-clutch-disc", "at-clutch-cover", "at-pilot", "at-flywheel", "at-crank-seal"),
    "flywheel-off-and-on": ("at-flywheel", "at-crank-seal", "extra/bolts-flywheel-long"),
    "gearbox-out-and-in": (
        "at-bell-housing", "at-front-retainer", "at-release-bearing", "at-torque-converter", "extra/bolts-bell-long",
    ),
    "retainer-and-tail-off-and-on": ("at-front-retainer", "at-input-bearing", "at-tail-housing"),
    "gear-train-out-and-in": ("at-gearbox-case", "at-input-shaft", "at-input-bearing", "at-layshaft", "at-mainshaft"),
    "prop-shaft-off-and-on": ("at-prop-shaft", "at-output-flange", "at-output-seal"),
    "crossmember-and-lever-off": ("at-mount", "at-crossmember", "at-lever", "at-tail-housing"),
}  # fmt: skip
END_FLOAT_OVER = ("at-front-retainer", "at-gearbox-case", "at-input-shaft", "at-input-bearing", "at-mainshaft")
ROAD = ("road-test-and-recheck", "sea-trial", "test-at-low-voltage")
LAST_THING = "it is closed"


@pytest.fixture(scope="module")
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo", FACTS_FOLDER / "yard"]))


def cannot_be_done(steps: tuple[Step, ...], index: CatalogueIndex) -> Iterator[str]:
    """What a person who works down the list runs into."""
    tasks = index.catalogue.tasks
    after = {task.id: task.after for task in tasks.values()}
    open_now: set[str] = set()
    fitted: set[str] = set()
    changes = {place for step in steps if step.source_kind == "candidate" and not step.order for place in places(step)}
    for step in steps:
        where = f"{step.number} {step.text}"
        if LAST_THING in fitted and step.source not in ROAD and step.source_kind != "task":
            yield f"{where}: after the job was closed"
        if step.source_kind == "task" and step.source not in open_now:
            yield from (f"{where}: {one} is not open" for one in after[step.source] if one not in open_now)
            open_now |= {step.source, tasks[step.source].instead_of}  # a car's own form of a task opens the same
            if step.source in ROAD:
                fitted.add(LAST_THING)
        elif step.source_kind == "task":  # put back
            shut = {one for one in open_now if step.source in after.get(one, ()) and refitted(one, steps)}
            yield from (f"{where}: {one} is still open" for one in shut - fitted)
            if "end float" in step.text:
                over = set(END_FLOAT_OVER) & changes - fitted
                yield from (f"{where}: {one} is not in yet" for one in sorted(over))
            fitted |= {step.source, tasks[step.source].instead_of}
        elif not step.order:
            for place in places(step):
                yield from (
                    f"{where}: {task} has been put back"
                    for task, hidden in SHUT_BY.items() if place in hidden and task in fitted
                )  # fmt: skip
                behind = set(GOES_IN_BEHIND.get(place, ())) & changes - fitted
                yield from (f"{where}: {one} is not in yet" for one in behind)
                if place == "at-prop-shaft" and step.stage == "send out" and "crossmember-and-lever-off" in open_now:
                    yield from [f"{where}: the box is not on its mounts"][: "crossmember-and-lever-off" not in fitted]
                fitted.add(place)


def places(step: Step) -> list[str]:
    """The place of a part, and the part by itself: a loose one has no place that is anyone else's."""
    return [step.source.partition("/")[0], step.source] if step.source_kind == "candidate" else []


def refitted(task: str, steps: tuple[Step, ...]) -> bool:
    return sum(step.source == task for step in steps) > 1


def pairs(index: CatalogueIndex) -> list[Question]:
    every = [Question(gearbox=box, engine=engine) for box in index.units("gearbox") for engine in index.units("engine")]
    return [*ASKED, *(every if HOW_MANY == 0 else every[:: max(1, len(every) // (HOW_MANY - len(ASKED)))])]


def test_every_route_can_be_worked_down_as_it_stands(index: CatalogueIndex) -> None:
    played, wrong = 0, []
    for question in pairs(index):
        try:
            answer = ask_index(index, question).answer
        except LayshaftError:
            continue  # units that are made for no job together
        for route in answer.routes:
            played += 1
            wrong += [
                f"{question.gearbox} {question.engine} route {route.rank}, {one}"
                for one in cannot_be_done(route.steps, index)
            ]

    assert wrong == []
    assert played >= len(ASKED)


def test_the_player_refuses_a_disc_before_the_pilot_bearing(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="hollin-5", engine="ouzel-20")).answer.routes[0].steps
    fits = {step.source.partition("/")[0]: step for step in steps if step.source_kind == "candidate" and not step.order}
    in_turn = tuple(turned_over(steps, fits["at-pilot"], fits["at-clutch-disc"]))

    assert list(cannot_be_done(steps, index)) == []
    assert [one.partition(": ")[2] for one in cannot_be_done(in_turn, index)] == ["at-pilot is not in yet"]


def turned_over(steps: tuple[Step, ...], one: Step, other: Step) -> Iterator[Step]:
    for step in steps:
        yield other if step is one else one if step is other else step


def test_what_is_ground_has_come_out_first(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    at = {(step.source, step.stage): step.number for step in steps}
    ground = next(step.number for step in steps if "grind" in step.text)

    assert at["gear-train-out-and-in", "bench"] < ground < at["gear-train-out-and-in", "refit"]
    assert max(at.values()) == at["road-test-and-recheck", "refit"]


def test_the_player_refuses_bell_bolts_after_the_gearbox_and_end_float_before_the_retainer(
    index: CatalogueIndex,
) -> None:
    behind_ouzel = Question(gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up")
    bolted = ask_index(index, behind_ouzel).answer.routes[0].steps
    floated = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    bolts = next(step for step in bolted if step.source == "extra/bolts-bell-long" and not step.order)
    prop = next(step for step in bolted if step.text.startswith("Propshaft on"))
    retainer = next(step for step in floated if step.source.startswith("at-front-retainer/") and not step.order)
    float_set = next(step for step in floated if "end float" in step.text)

    late = [one.partition(": ")[2] for one in cannot_be_done(tuple(turned_over(bolted, bolts, prop)), index)]
    early = [one.partition(": ")[2] for one in cannot_be_done(tuple(turned_over(floated, retainer, float_set)), index)]

    assert "gearbox-out-and-in has been put back" in late
    assert "at-front-retainer is not in yet" in early
    assert retainer.number < float_set.number
