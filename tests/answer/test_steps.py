"""Steps: in an order a mechanic can work in, adding up to the route's sums."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from graph.answer.ground import Ground
from graph.answer.model.work import BENCH, REFIT, SEND_OUT, STRIP, Step
from graph.answer.steps import steps_of
from graph.catalogue.model import Catalogue
from graph.catalogue.terms import TaskKind
from graph.conversion.document import Candidate, Conversion, Position, Task
from graph.search.result import Route
from tests.answer.by_hand import DISC_AND_BUSH, GROUND, LONG_SHAFT, texts


def test_the_gearbox_comes_out_before_parts_are_fitted_and_goes_in_after() -> None:
    steps = steps_of(GROUND, DISC_AND_BUSH)

    assert texts(steps) == [
        "Order extended bush", "Gearbox out", "Fit extended bush", "Fit other disc", "Gearbox in",
    ]  # fmt: skip
    assert [step.stage for step in steps] == [SEND_OUT, STRIP, REFIT, REFIT, REFIT]
    assert [step.number for step in steps] == [1, 2, 3, 4, 5]


def test_what_is_sent_out_waits_until_it_is_out_and_comes_back_before_the_gearbox_closes() -> None:
    steps = steps_of(GROUND, LONG_SHAFT)

    assert texts(steps) == [
        "Gearbox out",
        "Gear train out",
        "One visit to the grinder: long-nose shaft",
        "long nose: grind the nose to 15 mm",
        "Fit long-nose shaft",
        "Gear train in",
        "Gearbox in",
    ]
    assert steps[3].stage == SEND_OUT
    assert steps[4].stage == BENCH


def test_the_lines_add_up_to_the_routes_cash_and_hours() -> None:
    for route in (DISC_AND_BUSH, LONG_SHAFT):
        steps = steps_of(GROUND, route)

        assert sum(step.cash_hundredths for step in steps) == route.cash_hundredths
        assert sum(step.hours_hundredths for step in steps) == route.hours_hundredths


def test_a_part_with_a_lead_time_is_ordered_in_one_line_and_fitted_in_another() -> None:
    order, fit = (step for step in steps_of(GROUND, DISC_AND_BUSH) if step.source == "bush")

    assert (order.order, order.cash_hundredths, order.hours_hundredths, order.days) == (True, 11000, 0, 5)
    assert (fit.order, fit.cash_hundredths, fit.hours_hundredths, fit.days) == (False, 0, 50, 0)


def test_a_step_carries_its_notes_its_evidence_and_the_state_of_its_conditions() -> None:
    grind = next(step for step in steps_of(GROUND, LONG_SHAFT) if step.source == "d")

    assert [(c.text, c.state) for c in grind.conditions] == [("nose not hardened through", "to confirm")]
    assert grind.irreversible
    assert grind.operations == ("grind the nose to 15 mm",)


def test_work_that_can_hurt_someone_carries_its_caution() -> None:
    steps = steps_of(GROUND, DISC_AND_BUSH)

    assert next(step for step in steps if step.text == "Gearbox out").cautions == ("Strap it to the jack.",)
    fit_disc = next(step for step in steps if step.source == "disc1")
    assert fit_disc.cautions == ("Old linings may hold asbestos: no air line.",)


def test_a_task_that_is_done_only_to_look_says_so() -> None:
    look = replace(DISC_AND_BUSH, tasks=("out", "strip"))

    assert "Gear train out (to look for wear)" in texts(steps_of(GROUND, look))


LOOKING = " (to look for wear)"


@st.composite
def jobs(draw: st.DrawFn) -> tuple[Ground, Route]:
    """Any tree of tasks with any stages, and candidates that need some of them; everything is done."""
    count = draw(st.integers(1, 7))
    stages = st.sampled_from(["strip", "send-out", "bench", "refit"])
    amounts = st.integers(0, 9999)
    tasks, known = [], {}
    for n in range(count):
        after = tuple(sorted(draw(st.sets(st.integers(0, n - 1), max_size=2)))) if n else ()
        names = tuple(f"t{each}" for each in after)
        tasks.append(Task(f"t{n}", f"t{n}", names, draw(amounts), draw(amounts), Fraction(draw(st.integers(0, 5)))))
        refit = draw(st.sampled_from(["", f"t{n} back"]))
        known[f"t{n}"] = TaskKind(f"t{n}", f"t{n}", cash_hundredths=0, stage=draw(stages), after=names, refit=refit)
    positions = []
    for n in range(draw(st.integers(0, 4))):
        needs = tuple(f"t{each}" for each in sorted(draw(st.sets(st.integers(0, count - 1), max_size=3))))
        candidate = Candidate(
            id=f"c{n}", label=f"c{n}", part=f"p{n}", cash_hundredths=draw(amounts), hours_hundredths=draw(amounts),
            days=Fraction(draw(st.integers(0, 9))), tasks=needs,
        )  # fmt: skip
        positions.append(Position(f"at{n}", "", f"at{n}", (candidate,)))
    priced: list[Task | Candidate] = [*tasks, *(position.candidates[0] for position in positions)]
    route = Route(
        picks={position.id: position.candidates[0].id for position in positions}, links={},
        tasks=tuple(task.id for task in tasks),
        cash_hundredths=sum(each.cash_hundredths for each in priced),
        hours_hundredths=sum(each.hours_hundredths for each in priced),
        total=Fraction(0), expected=Fraction(0), days=Fraction(0), p50=Fraction(0), p90=Fraction(0), chains_um={},
    )  # fmt: skip
    return Ground(Conversion("g", "e", tasks=tuple(tasks), positions=tuple(positions)), Catalogue(tasks=known)), route


def place(steps: tuple[Step, ...], source: str, text: str) -> int:
    return next((step.number for step in steps if step.source == source and step.text.removesuffix(LOOKING) == text), 0)


@given(jobs())
def test_whatever_the_tasks_the_lines_add_up_and_nothing_is_done_before_what_it_needs(
    job: tuple[Ground, Route],
) -> None:
    ground, route = job

    steps = steps_of(ground, route)

    assert sum(step.cash_hundredths for step in steps) == route.cash_hundredths
    assert sum(step.hours_hundredths for step in steps) == route.hours_hundredths
    for task in ground.tasks.values():
        for before in task.after:
            assert place(steps, before, before) < place(steps, task.id, task.id)
        back = place(steps, task.id, f"{task.id} back")
        assert back == 0 or back > place(steps, task.id, task.id)
    for choice in ground.candidates.values():
        fitted = place(steps, choice.id, f"Fit {choice.label}")
        assert all(place(steps, task, task) < fitted for task in choice.tasks)
        assert place(steps, choice.id, f"Order {choice.label}") < fitted
