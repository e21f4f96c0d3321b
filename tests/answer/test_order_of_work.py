"""A route's lines can be worked down as they stand: played by a small model of hands and parts that knows no graph.

The rules are common practice: nothing is worked on that is shut or not there; what lies behind goes in first; a
propshaft is measured when the box hangs on its mounts; bolts go in with what they hold; end float is set when what
it is measured over is in; a housing is dialled in with the clutch off and the flywheel on; what was opened is closed
again; what joins gearbox and car is fitted with the gearbox in; what moves a length is bought when the lengths are
known, a bush when what it goes between is, all else before anything comes off; nothing comes off that is not there; a
road test closes the job; a part goes where the one before it has come off, and that comes off where it can be reached;
what a step needs is named at it.
LAYSHAFT_ORDERS sets how many more of the demo's pairs of units are asked a day (0: all of them), LAYSHAFT_HOLES how
many books of facts with holes torn in them, their jobs turned into ones of a transaxle or a tractor.
"""

from __future__ import annotations

import io
import os
import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest
from rich.console import Console

from graph.answer.asking import ask_index
from graph.answer.model.work import Step
from graph.answer.text import print_answer
from graph.answer.why_here import leaving, short_text, why_here
from graph.answer.work_reasons import work_reasons
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.errors import LayshaftError
from graph.reading import CatalogueIndex, Question
from tests.rotating import todays

HOLES = int(os.environ.get("LAYSHAFT_HOLES", "1"))
TORN = 0.06  # of the facts, so that some routes must take something for given
JOBS = ("transaxle", "tractor-split", "clutch-and-propshaft")
HOW_MANY = int(os.environ.get("LAYSHAFT_ORDERS", "4"))
ASKED = [
    Question(gearbox=gearbox, engine=engine, vehicle=vehicle, assembly=assembly)
    for gearbox, engine, vehicle, assembly in (
        ("tansy-5", "pipit-16", "", ""), ("hollin-5", "ouzel-20", "", ""), ("tansy-5", "ouzel-20", "", ""),
        ("tansy-5", "ouzel-20", "sorrel-pick-up", ""),
        ("sedge-4a", "pipit-16", "", ""), ("hollin-5", "whimbrel-30", "", ""),
        ("hollin-5", "pipit-16", "sorrel-pick-up", ""),
        ("drake-2", "grebe-40", "mayfly-launch", ""), ("sluice-pump", "rail-60", "", ""),
        ("sedge-4c", "firefly-30", "", "motor-on-a-coupler"), ("tansy-5", "firefly-30", "", "motor-on-a-coupler"),
        ("hollin-5", "plover-30a", "", "clutch-and-propshaft"),
        ("tansy-5", "pipit-16", "", "converter-and-flexplate"),
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
CLOSED_AGAIN = (  # common practice: what is opened on a job and must not be left so
    "raised-and-drained", "starter-off-and-on", "prop-shaft-off-and-on", "crossmember-and-lever-off",
    "transfer-box-off-and-on", "gearbox-out-and-in", "clutch-off-and-on", "flywheel-off-and-on", "covers-off-and-on",
    "retainer-and-tail-off-and-on", "gear-train-out-and-in", "mainshaft-pressed-apart", "engine-out-and-in",
    "marine-shaft-uncoupled", "unit-moved-back", "motor-out-and-in", "tractor-split-and-rejoined", "loader-off-and-on",
)  # fmt: skip
NAMED_AT = {  # what the step that puts back a task, or fits at a place, has to name where it is changed
    "gear-train-out-and-in": (
        "at-gearbox-case", "at-input-bearing", "at-synchro-ring-second", "input-bearing-on-shaft",
    ),
    "retainer-and-tail-off-and-on": ("at-front-retainer", "at-input-bearing"),
    "clutch-off-and-on": ("at-clutch-disc", "at-pilot"), "housing-dialled-in": ("at-bell-housing", "engine-face"),
    "at-input-bearing": ("input-bearing-on-shaft",), "at-clutch-disc": ("at-pilot", "housing-dialled-in"),
    "at-release-bearing": ("at-front-retainer",), "at-front-retainer": ("at-input-bearing",),
    "gearbox-out-and-in": ("at-release-bearing", "at-bell-housing", "engine-face", "housing-dialled-in"),
}  # fmt: skip
IN_THE_CAR = ("lever-in-tunnel/", "mount-to-crossmember/", "mount-on-box/", "prop-flange/", "at-lever/")
WITH_THE_BOX_IN = (
    "hydraulics-opened-and-bled", "marine-shaft-aligned", "guard-on", "crankshaft-end-float-again",
    "converter-free-gap-measured",
)  # fmt: skip
MOVE_A_LENGTH = (
    "at-clutch-disc/", "at-gearbox-case/", "at-bell-housing/", "at-release-bearing/", "engine-face/", "doubt/",
    "at-pilot/bush-extended", "lever-in-tunnel/", "mount-to-crossmember/",
)  # fmt: skip
MADE_TO_SIZE = ("Order Bush", "Order Extended pilot bush", "Order Flywheel spacer", "Order Release bearing shim")
HANG_ON_NOTHING = ("at-synchro-ring", "at-input-bearing/bearing-6309", "extra/bolts-bell", "speedometer-drive/")
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
    lines = [step for step in steps if step.source_kind == "task"]
    taken_off = {step.source for step in lines if step.stage != "refit" or tasks[step.source].stage != "strip"}
    never_there = {step.source for step in lines} - taken_off
    open_now = set(never_there)
    fitted: set[str] = set()
    changes = {place for step in steps if step.source_kind == "candidate" and not step.order for place in places(step)}
    occupied = there_now(steps, index)
    for step in steps:
        where = f"{step.number} {step.text}"
        if LAST_THING in fitted and step.source not in ROAD and step.source_kind != "task":
            yield f"{where}: after the job was closed"
        yield from (f"{where}: {fault}" for fault in too_early(step, steps, open_now - never_there, fitted))
        yield from (f"{where}: {fault}" for fault in taken_or_put(step, steps, occupied, open_now))
        if step.source_kind == "task" and step.source not in open_now:
            yield from (f"{where}: {one} is not open" for one in after[step.source] if one not in open_now)
            open_now |= {step.source, tasks[step.source].instead_of}  # a car's own form of a task opens the same
            if step.source in ROAD:
                fitted.add(LAST_THING)
                left = set(CLOSED_AGAIN) & open_now - fitted
                yield from (f"{where}: {one} was never put back" for one in sorted(left))
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


def there_now(steps: tuple[Step, ...], index: CatalogueIndex) -> dict[str, str]:
    """By place, the part that sits there before work: what a unit of this job is stated to hold, and is not fitted."""
    fitted = {part for step in steps if step.source_kind == "candidate" and not step.order for part in step.parts}
    named = {part.id for step in steps for part in step.comes_off}
    held = {edge.target: edge.position for edge in index.catalogue.edges.values() if edge.kind == "contains"}
    return {held[part]: part for part in named if part in held and part not in fitted}


def taken_or_put(step: Step, steps: tuple[Step, ...], occupied: dict[str, str], open_now: set[str]) -> Iterator[str]:
    """A part comes off where its place is open; another one goes in where it has come off."""
    opens_here = {step.source} if step.source_kind == "task" else set()
    for part in step.comes_off:
        place = next((at for at, held in occupied.items() if held == part.id), "")
        shut = {task for task, hidden in SHUT_BY.items() if place in hidden} & {one.source for one in steps}
        if shut and not shut & (open_now | opens_here):
            yield f"{part.label} cannot be reached yet"
        occupied.pop(place, None)
    if step.source_kind == "candidate" and not step.order and step.source.partition("/")[0] in occupied:
        yield f"{occupied[step.source.partition('/')[0]]} is still there"


def never_taken_off(steps: tuple[Step, ...], index: CatalogueIndex, units: tuple[str, ...]) -> Iterator[str]:
    """Parts of these units (or of their families, where they say nothing themselves) whose place is given to another
    one and that no step takes off."""
    named = {part.id for step in steps for part in step.comes_off}
    for step in steps:
        place = step.source.partition("/")[0]
        if step.source_kind != "candidate" or step.order or not place.startswith("at-"):
            continue
        owner = index.catalogue.position_kinds[place].owner
        unit = next((one for one in units if owner in index.kinds_of(index.catalogue.parts[one].kind)), "")
        for one in filter(None, (unit, index.catalogue.parts[unit].variant_of if unit else "")):
            held = [edge for edge in index.catalogue.edges.values() if (edge.source, edge.position) == (one, place)]
            if held:
                gone = {edge.target for edge in held if edge.target} - {*step.parts}
                yield from (f"{step.number} {step.text}: {part} never came off" for part in gone - named)
                break


def unnamed_needs(steps: tuple[Step, ...]) -> Iterator[str]:
    """What a step rests on and does not name, by the trade's own pairs (common practice)."""
    done: dict[str, Step] = {}
    for step in steps:
        key = step.source if step.source_kind == "task" else step.source.partition("/")[0]
        if not step.order and step.source_kind in ("task", "candidate", "link"):
            done[key] = step  # of a task, its putting back
    for key, needed in NAMED_AT.items():
        resting = done.get(key)
        if resting is None:
            continue
        for one in (done[name] for name in needed if name in done):
            if one.number not in {need.number for need in (*resting.needs_open, *resting.needs_done)}:
                yield f"{resting.number} {resting.text}: does not name {one.number} {one.text}"


def too_early(step: Step, steps: tuple[Step, ...], open_now: set[str], fitted: set[str]) -> Iterator[str]:
    """What the step comes before though it needs it."""
    measured = {one.source for one in steps if one.source == "lengths-measured"} - open_now
    box_is_out = "gearbox-out-and-in" in open_now - fitted or "unit-moved-back" in open_now - fitted
    if step.order:
        if step.source.startswith(MOVE_A_LENGTH) and measured:
            yield "bought before the lengths are measured"
        if step.text.startswith(MADE_TO_SIZE) and measured:
            yield "made before the measuring that decides its size"
        if step.source.startswith(HANG_ON_NOTHING) and open_now and not step.checks:
            yield "bought late though it hangs on nothing"
    elif step.source == "clutch-heights-set" and "clutch-off-and-on" in open_now - fitted:
        yield "the clutch is not on"
    elif step.source == "housing-dialled-in":
        if {"at-clutch-disc", "at-clutch-cover"} & fitted or "clutch-off-and-on" in fitted:
            yield "the clutch is in the way of the dial gauge"
        if "flywheel-off-and-on" in open_now - fitted:
            yield "no flywheel for the dial gauge"
    elif step.source.startswith(IN_THE_CAR) and box_is_out:
        yield "the gearbox is not in the car"
    elif step.source in WITH_THE_BOX_IN and box_is_out:
        yield "the unit is not in place"
    elif step.source.startswith("at-front-retainer/") and "gear-train-out-and-in" in open_now - fitted:
        yield "the gear train is not in"
    elif step.source in ("coupler-run-out-measured", "plate-to-coupler-measured") and any(
        "oupler" in one.text and one.text.startswith("Fit ") and one.number > step.number for one in steps
    ):
        yield "the coupler is not on"


def places(step: Step) -> list[str]:
    """The place of a part, and the part by itself: a loose one has no place that is anyone else's."""
    if step.source_kind == "doubt" and step.text.startswith("Fit "):
        return [step.source.split("/")[1]]
    return [step.source.partition("/")[0], step.source] if step.source_kind == "candidate" else []


def refitted(task: str, steps: tuple[Step, ...]) -> bool:
    return sum(step.source == task for step in steps) > 1


def pairs(index: CatalogueIndex) -> list[Question]:
    every = [Question(gearbox=box, engine=engine) for box in index.units("gearbox") for engine in index.units("engine")]
    return [*ASKED, *(every if HOW_MANY == 0 else todays(every, len(every) // HOW_MANY))]


def test_every_route_can_be_worked_down_as_it_stands(index: CatalogueIndex) -> None:
    played, wrong = 0, []
    for question in pairs(index):
        try:
            answer = ask_index(index, question).answer
        except LayshaftError:
            continue  # units that are made for no job together
        for route in answer.routes:
            played += 1
            units = tuple(filter(None, (question.gearbox, question.engine, question.vehicle)))
            wrong += [
                f"{question.gearbox} {question.engine} route {route.rank}, {one}"
                for one in (
                    *cannot_be_done(route.steps, index), *never_taken_off(route.steps, index, units),
                    *unnamed_needs(route.steps),
                )
            ]  # fmt: skip

    assert wrong == []
    assert played >= len(ASKED)


@cache
def demo() -> Catalogue:
    return load_catalogue([FACTS_FOLDER / "demo"])


def torn(seed: int, job: str) -> tuple[CatalogueIndex, Question]:
    """The demo's facts with some torn out, its units made for another kind of job, and a pair of them."""
    chance, known = random.Random(seed), demo()
    parts = {name: replace(part, made_for=(job,)) if part.made_for else part for name, part in known.parts.items()}
    edges = {name: edge for name, edge in known.edges.items() if chance.random() > TORN}
    index = CatalogueIndex(replace(known, parts=parts, edges=edges))
    box, engine = ("tansy-5", "hollin-5", "tansy-6"), ("pipit-16", "ouzel-20", "whimbrel-30")
    return index, Question(gearbox=chance.choice(box), engine=chance.choice(engine), alternatives=1)


def test_jobs_of_a_transaxle_or_a_tractor_and_facts_with_holes_can_be_worked_down_too() -> None:
    """Common practice: lengths are measured before what moves one is bought, and a run on the road or under load
    closes the job, of a transaxle and of a split tractor as of any other."""
    played, wrong = 0, []
    for seed in range(HOLES) if HOLES > 1 else todays(list(range(8)), 4):
        for job in JOBS[:2] if HOLES == 1 else (JOBS[seed % len(JOBS)],):
            index, question = torn(seed, job)
            for route in ask_index(index, question).answer.routes:
                played += 1
                told = f"seed {seed}, {job}, {question.gearbox} {question.engine} route {route.rank}"
                wrong += [f"{told}, {one}" for one in (*cannot_be_done(route.steps, index), *left_open(route.steps))]

    assert wrong == []
    assert played


def left_open(steps: tuple[Step, ...]) -> Iterator[str]:
    """What a list lacks that every such job has."""
    done = [step.source for step in steps]
    if "lengths-measured" not in done and any(step.order and step.source.startswith(MOVE_A_LENGTH) for step in steps):
        yield "what moves a length is bought and none is measured"
    if not set(ROAD) & set(done):
        yield "nobody tries it when it is done"


def test_each_step_says_what_it_needs_open_and_done_and_why_it_stands_there(index: CatalogueIndex) -> None:
    answer = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer
    steps = {step.text: step for step in answer.routes[0].steps}
    disc = next(step for text, step in steps.items() if text.startswith("Fit Disc"))
    page = io.StringIO()

    print_answer(answer, Console(file=page, width=200, color_system=None, highlight=False), with_why=True)

    for step in steps.values():
        assert all(one.number < step.number for one in (*step.needs_open, *step.needs_done)), step.text
        assert all(steps[one.text].number == one.number for one in (*step.needs_open, *step.needs_done))
        assert why_here(step)
    assert [one.text for one in disc.needs_open] == ["Clutch off"]
    assert [one.text.split(" on ")[0] for one in disc.needs_done] == [
        "Order Disc 225 with the Tansy hub",
        "Housing dialled in",
    ]
    assert why_here(steps["Raised, undertray off, oil drained"]) == ("Nothing has to come before it.",)
    assert "Why the steps stand in this order" in page.getvalue()
    assert f"{disc.number} {disc.text}. Must be open: 7 (Clutch off)" in page.getvalue()


def test_reasons_are_physical_and_name_the_step_that_matters(index: CatalogueIndex) -> None:
    """Common practice: a bearing goes on a ground seat, the gear train runs in it; a housing takes no cover off."""
    steps = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    at = {step.source: step for step in steps if not step.order}
    told = {step.number: "; ".join(why_here(step)) for step in steps}
    bearing, ground = at["at-input-bearing/bearing-6309"], next(one for one in steps if "grind" in one.text)
    train = next(step for step in steps if step.text.startswith("Gear train in"))

    assert f"After {ground.number} (grind 2.00 mm off the shoulder" in told[bearing.number]
    assert (
        f"After {bearing.number} (Fit Bearing 45 x 100 x 25 (ISO 15, 6309)): the input shaft runs in it"
        in (told[train.number])
    )
    assert not any("cover" in need.text for need in at["at-bell-housing/bell-hollin-spare"].needs_done)
    assert "One visit to the machine shop): it is done on that visit" in told[ground.number]
    assert not any("Must be open: 15 (One visit" in one for one in told.values())


def test_what_the_reasons_are_about_is_known_to_the_facts(index: CatalogueIndex) -> None:
    known = {*index.catalogue.tasks, *index.catalogue.position_kinds, *index.catalogue.joint_kinds}

    assert {one for pair in work_reasons() for one in pair if one.removesuffix(" back") not in known} == set()
    assert all(reason.strip() and not reason.endswith(".") for reason in work_reasons().values())


def test_the_player_refuses_a_part_where_another_still_sits(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    kept_on = tuple(replace(step, comes_off=()) if step.text.startswith("Clutch off") else step for step in steps)
    taken_late = tuple(
        replace(step, comes_off=tuple(one for other in steps for one in other.comes_off)) if step.number == 3
        else replace(step, comes_off=()) for step in steps
    )  # fmt: skip

    assert any("disc-pipit never came off" in one for one in never_taken_off(kept_on, index, ("tansy-5", "pipit-16")))
    assert any("cannot be reached yet" in one for one in cannot_be_done(taken_late, index))
    late = (*(replace(step, comes_off=()) for step in steps), replace(steps[-1], comes_off=steps[5].comes_off))
    assert any("is still there" in one for one in cannot_be_done(late, index))


def test_names_of_steps_are_cut_at_no_comma_inside_brackets() -> None:
    assert short_text("Order Bearing 45 x 100 x 25 (ISO 15, 6309)") == "Order Bearing 45 x 100 x 25 (ISO 15, 6309)"
    long = "Order Bearing 45 x 100 x 25 for the input shaft (ISO 15, 6309)"
    assert short_text(long).count("(") == short_text(long).count(")")


def test_the_player_refuses_a_disc_before_the_pilot_bearing(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="hollin-5", engine="ouzel-20")).answer.routes[0].steps
    fits = {step.source.partition("/")[0]: step for step in steps if step.source_kind == "candidate" and not step.order}
    in_turn = tuple(turned_over(steps, fits["at-pilot"], fits["at-clutch-disc"]))

    assert list(cannot_be_done(steps, index)) == []
    assert [one.partition(": ")[2] for one in cannot_be_done(in_turn, index)] == ["at-pilot is not in yet"]


def test_the_player_refuses_each_other_fault_that_a_list_has_had(index: CatalogueIndex) -> None:
    """The list as it should be, one step moved, and what the person then runs into."""
    pipit = Question(gearbox="tansy-5", engine="pipit-16")
    sorrel = Question(gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up")
    moved = (  # the question, the step, before which other it is put, the complaint
        (pipit, "Fit Disc", "Housing dialled in", "the clutch is in the way of the dial gauge"),
        (pipit, "Order Disc", "Raised", "bought before the lengths are measured"),
        (pipit, "Lengths measured", "Fill with oil", "bought before the lengths are measured"),
        (pipit, "Raised", "Order Tansy second", "bought late though it hangs on nothing"),
        (pipit, "Fit Hollin front retainer", "Gear train in", "the gear train is not in"),
        (sorrel, "Fit Lever extension", "Gearbox in", "the gearbox is not in the car"),
        (Question(gearbox="sluice-pump", engine="rail-60"), "Guard fitted", "Driven unit", "the unit is not in place"),
    )
    for question, step, before, complaint in moved:
        steps = ask_index(index, question).answer.routes[0].steps
        one, other = (next(each for each in steps if each.text.startswith(said)) for said in (step, before))
        without = [each for each in steps if each is not one]
        at = without.index(other)

        found = {said.partition(": ")[2] for said in cannot_be_done((*without[:at], one, *without[at:]), index)}

        assert complaint in found, (step, found)


def test_the_player_refuses_a_cover_that_is_never_put_back(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    left_off = tuple(step for step in steps if not step.text.startswith("Top or side cover on"))

    assert any("covers-off-and-on was never put back" in one for one in cannot_be_done(left_off, index))


def test_an_engine_that_never_had_a_clutch_loses_none_and_gets_a_whole_one(index: CatalogueIndex) -> None:
    asked = Question(gearbox="hollin-5", engine="plover-30a", assembly="clutch-and-propshaft")
    route = ask_index(index, asked).answer.routes[0]
    texts = [step.text for step in route.steps]

    assert not any(text.startswith("Clutch off") for text in texts)
    flywheel = next(step for step in route.steps if step.text.startswith("Flywheel off"))
    assert [one.text.partition(":")[0] for one in flywheel.needs_open] == ["Gearbox out"]
    assert any("converter" in text for text in texts) and any("here it is the Plover flexplate" in t for t in texts)
    for part in ("clutch disc", "clutch cover"):
        order, fit = (
            next(n for n, text in enumerate(texts) if text.startswith(f"{verb} {part} to suit"))
            for verb in ("Order", "Fit")
        )
        assert order < fit < texts.index("Clutch on, disc centred with a mandrel")
    assert sum(step.hours_hundredths for step in route.steps) == route.hours_hundredths


def test_what_can_only_be_seen_in_place_is_said_where_it_is_fitted_not_before_money_is_spent(
    index: CatalogueIndex,
) -> None:
    route = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0]

    assert not any("after the case is changed" in text for text in route.to_confirm)
    assert [step.text for step in route.steps if any("after the case is changed" in one for one in step.checks)] == [
        "Front retainer and tail housing on; set end float"
    ]


def steps_asking(index: CatalogueIndex, words: str, *asked: str) -> set[str]:
    """The tasks or choices whose steps ask for a check with these words, on all routes of the question."""
    found = ask_index(index, Question(gearbox=asked[0], engine=asked[1], vehicle="".join(asked[2:]))).answer
    return {
        (index.catalogue.tasks[step.source].instead_of or step.source) if step.source_kind == "task" else step.source
        for route in found.routes for step in route.steps if any(words in check for check in step.checks)
    }  # fmt: skip


def test_a_check_stands_where_it_can_be_made(index: CatalogueIndex) -> None:
    """Common practice: room in the tunnel with the box on its mounts, run-out at the dial gauge, end float with the
    retainer on; none of them on a bare case or after the gearbox is in."""
    on_its_mounts, closed = {"crossmember-and-lever-off"}, {"retainer-and-tail-off-and-on"}
    assert steps_asking(index, "left rib", "tansy-6", "dunlin-25d", "sorrel-pick-up") == on_its_mounts
    assert steps_asking(index, "left rib", "tansy-5", "ouzel-20", "sorrel-pick-up") == on_its_mounts
    assert steps_asking(index, "0.13 mm TIR", "tansy-5", "ouzel-20") == {"housing-dialled-in"}
    assert steps_asking(index, "0.13 mm TIR", "hollin-5", "whimbrel-30") == {"housing-dialled-in"}
    assert steps_asking(index, "end float 0.05", "tansy-5", "pipit-16") == closed


def test_a_shaft_that_is_shortened_is_kept_and_a_clutch_disc_is_not(index: CatalogueIndex) -> None:
    """Common practice: what the propshaft shop shortens must not be scrapped by then."""
    asked = Question(gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up")
    found = [line for route in ask_index(index, asked).answer.routes for step in route.steps for line in leaving(step)]

    kept, gone = ({line for line in found if line.startswith(start)} for start in ("kept, to be altered", "comes off"))
    assert {line.partition(": ")[2] for line in kept} == {"Sorrel propshaft, four bolts on 75", "Sorrel tunnel"}
    assert any("clutch disc" in line for line in gone)
    assert not [line for line in gone if "propshaft" in line or "tunnel" in line]


def test_bolts_are_laid_ready_and_what_cannot_be_undone_is_signed_off_before_the_part_leaves(
    index: CatalogueIndex,
) -> None:
    """Common practice: bolts through the housing go in with the gearbox; a shaft on its way cannot be stopped."""
    plate = ask_index(index, Question(gearbox="tansy-5", engine="ouzel-20")).answer.routes
    assert [step for route in plate for step in route.steps if step.text.startswith("Lay ready Bell bolts")]

    route = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0]
    visit, ground = (step for step in route.steps if step.irreversible)
    assert visit.text.startswith("One visit to the machine shop: ") and "Tansy input shaft" in visit.text
    assert visit.number < ground.number and "grind" in ground.text
    assert route.irreversible == (ground.text,)


def test_offset_dowels_are_ordered_when_the_housing_has_been_dialled_in(index: CatalogueIndex) -> None:
    """Common practice: how far the housing is off is read there, and read again on the dowels."""
    for route in ask_index(index, Question(gearbox="sedge-4a", engine="pipit-16")).answer.routes:
        at = {step.text.split(",")[0]: step for step in route.steps}
        dialled = next(step for step in route.steps if step.source == "housing-dialled-in")
        assert dialled.number < at["Order Offset dowels"].number < at["Fit Offset dowels"].number
        assert any("once more" in check for check in at["Fit Offset dowels"].checks)


def test_the_converters_gap_is_measured_before_oil_and_undertray(index: CatalogueIndex) -> None:
    """Common practice: it is reached from below, with the gearbox bolted up."""
    asked = Question(gearbox="tansy-5", engine="plover-30a", assembly="converter-and-flexplate")
    for route in ask_index(index, asked).answer.routes:
        at = {step.source: step.number for step in route.steps}  # of what is put back, the putting back
        assert at["gearbox-out-and-in"] < at["converter-free-gap-measured"] < at["raised-and-drained"]


def test_the_end_float_that_the_facts_state_is_what_is_set(index: CatalogueIndex) -> None:
    route = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0]

    line = next(line for line in route.to_set if line.label == "input shaft end float")

    assert "wanted: end float 0.05 to 0.15 mm" in line.words
    assert not [one for one in line.measure if "wants" in one]


def turned_over(steps: tuple[Step, ...], one: Step, other: Step) -> Iterator[Step]:
    for step in steps:
        yield other if step is one else one if step is other else step


def test_what_is_ground_has_come_out_first(index: CatalogueIndex) -> None:
    steps = ask_index(index, Question(gearbox="tansy-5", engine="pipit-16")).answer.routes[0].steps
    at = {(step.source, step.stage): step.number for step in reversed(steps)}
    ground = next(step.number for step in steps if "grind" in step.text)

    assert at["gear-train-out-and-in", "bench"] < ground
    assert ground < next(step.number for step in steps if step.text.startswith("Gear train in"))
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
