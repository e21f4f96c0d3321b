"""A route's work as ordered lines that add up to its cash and hours.

Every done task, picked candidate and picked link that costs or changes anything becomes a line; a bought part
with a lead time becomes two (ordered, then fitted). Lines stand in an order that a person can work in
(work_order.py) and, where that leaves a choice, goes: bought ahead (longest lead first), strip (outside in), lengths,
send out, bench (opened outside in, then fitted inside out and closed again), refit (inside out).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.answer import evidence, words
from graph.answer.checks import checks_of, step_to_check_at
from graph.answer.comes_off import altered, comes_off
from graph.answer.conditions import states_of
from graph.answer.ground import Ground
from graph.answer.model.work import BENCH, REFIT, RENEWAL, SEND_OUT, STAGES, STRIP, Besides, Step
from graph.answer.sent_out import sent_out
from graph.answer.what_is_there import nothing_is_there, opening_words
from graph.answer.why_here import with_reasons
from graph.answer.work_order import decided_by, line_of_besides, open_on, work_order
from graph.conversion.document import Candidate, Fault, Link
from graph.reading.needs import EXTRA
from graph.reading.untold import prices_among
from graph.search.result import Route

MACHINING_LINK = "fits after machining"
BOX_OUT = "gearbox-out-and-in"  # or what a job does instead of it
LAY_READY = "Lay ready"  # bolts that go in with what is put back next, not before it
DEEPEST = 1_000  # deeper than any access tree
AHEAD = -1  # before the first stage
TOLD = 2  # so many things to find out are named at an order


@dataclass(frozen=True, slots=True)
class StepDraft:
    """A line before it has its number. `order` decides between lines that may stand in either order.

    `step`: None where there is nothing to do: a place that is laid open because nothing is there.
    """

    step: Step | None
    order: tuple[int, float, int, str]


def steps_of(ground: Ground, route: Route, besides: Sequence[Besides] = ()) -> tuple[Step, ...]:
    """The route's lines in working order, numbered from 1, with what is done `besides` where it lies open.

    The route's own lines' cash and hours sum to the route's exactly.
    """
    drafts = _task_lines(ground, route)
    for choice in _choices(ground, route):
        drafts.update(_choice_lines(ground, choice))
    drafts.update(_due_lines(ground, route))
    besides = [_with_the_box_out(ground, route, one) for one in besides]
    for one in besides:
        drafts.update(_lines_besides(ground, one))
    _bench_what_closes_there(ground, route, drafts)
    _say_what_to_find_out(ground, route, drafts)
    _say_what_comes_off(ground, route, drafts, besides)
    _say_what_goes_along(ground, route, drafts)
    import networkx as nx

    graph = work_order(ground, route, _choices(ground, route), due_on(ground, route), drafts, besides)
    for key in (key for key in graph if key.startswith("order ") and graph.pred[key]):
        _, lead, level, name = drafts[key].order
        drafts[key] = replace(drafts[key], order=(STAGES.index(SEND_OUT), lead, level, name))
    order = list(nx.lexicographical_topological_sort(graph, key=lambda key: (*drafts[key].order, key)))
    _say_what_to_check(ground, route, drafts, order)
    steps = {key: step for key, draft in drafts.items() if (step := draft.step) is not None}
    return with_reasons(graph, order, steps)


def _bench_what_closes_there(ground: Ground, route: Route, drafts: dict[str, StepDraft]) -> None:
    """A part that a task of the bench waits for (the front retainer, for the end float) is fitted there, just before
    that task is put back."""
    for known in filter(None, map(ground.known_task, route.tasks)):
        places = known.waits_for if known.stage == "bench" and known.refit else ()
        fitted = {f"choice {route.picks.get(place)}" for place in places}
        fitted |= {key for key in drafts for place in places if key.startswith(f"{RENEWAL} {place}/")}
        for key in sorted(fitted & drafts.keys()):
            draft = drafts[key]
            if draft.step is not None and draft.step.stage == REFIT:
                stage, lead, level, name = _order_of_closing(BENCH, ground.depth(known.id), draft.order[3])
                drafts[key] = StepDraft(replace(draft.step, stage=BENCH), (stage, lead, level - 1, name))


def _say_what_to_check(ground: Ground, route: Route, drafts: dict[str, StepDraft], order: Sequence[str]) -> None:
    """At the step that brings parts together, what can be looked at only then."""
    written = {key: place for place, key in enumerate(order) if drafts[key].step is not None}
    for choice in _choices(ground, route):
        checks = checks_of(ground, choice)
        key = step_to_check_at(ground, route, choice, written) if checks else ""
        if key and (step := drafts[key].step) is not None:
            drafts[key] = replace(drafts[key], step=replace(step, checks=tuple(dict.fromkeys((*step.checks, *checks)))))


def _say_what_comes_off(ground: Ground, route: Route, drafts: dict[str, StepDraft], besides: Sequence[Besides]) -> None:
    """At the step where it happens, which parts come off for good."""
    written = {key for key, draft in drafts.items() if draft.step is not None}
    kept = altered(ground, route)
    for key, parts in comes_off(ground, route, written, besides).items():
        if (step := drafts[key].step) is not None:
            back = tuple(part.id for part in parts if part.id in kept)
            drafts[key] = replace(drafts[key], step=replace(step, comes_off=parts, altered=back))


def _say_what_goes_along(ground: Ground, route: Route, drafts: dict[str, StepDraft]) -> None:
    """At a visit, which parts it takes: what cannot be undone is signed off before they leave, not on the way."""
    for key, sent in sent_out(ground, route).items():
        if key in drafts and (step := drafts[key].step) is not None:
            text = f"{step.text}: {'; '.join(sent.parts)}" if sent.parts else step.text
            drafts[key] = replace(drafts[key], step=replace(step, text=text, irreversible=sent.irreversible))


def _say_what_to_find_out(ground: Ground, route: Route, drafts: dict[str, StepDraft]) -> None:
    """At an order, what nobody has stated and decides whether it is the right part."""
    asked: dict[str, list[str]] = {}
    for fault in open_on(ground, route):
        for choice in decided_by(ground, route, fault):
            asked.setdefault(f"order {choice}", []).append(ground.doubt(fault.id).text or fault.label or fault.id)
    for key, texts in asked.items():
        draft = drafts.get(key)
        if draft is not None and draft.step is not None:
            more = [f"and {len(texts) - TOLD} more"] if len(texts) > TOLD else []
            said = f"find out first: {'; '.join([*texts[:TOLD], *more])}"
            drafts[key] = replace(draft, step=replace(draft.step, checks=(said, *draft.step.checks)))


def _choices(ground: Ground, route: Route) -> list[Candidate | Link]:
    picked: list[Candidate | Link] = [ground.candidates[c] for _, c in sorted(route.picks.items())]
    return picked + [ground.links[link] for _, link in sorted(route.links.items())]


def _task_lines(ground: Ground, route: Route) -> dict[str, StepDraft]:
    """Per done task its line, and a refit line where it is put back in a step of its own."""
    needed = ground.closed(t for choice in _choices(ground, route) for t in choice.tasks)
    drafts: dict[str, StepDraft] = {}
    for task_id in route.tasks:
        task, known = ground.tasks[task_id], ground.known_task(task_id)
        stage = words.STAGE_OF_TASK[ground.stage_of(task_id)]
        depth = ground.depth(task_id)
        caution = (known.caution,) if known and known.caution else ()
        looks = _looks(ground, task_id)
        look = "" if task_id in needed else " (to look for wear)"
        if stage == BENCH and known and known.waits_for and not known.refit:
            stage = REFIT  # done on the way back, when what it is measured over is in place
        step = Step(
            number=0, stage=stage, text=opening_words(ground, task_id) + look, source=task_id, source_kind="task",
            cash_hundredths=task.cash_hundredths, hours_hundredths=task.hours_hundredths, days=task.days,
            cautions=caution, checks=() if known and known.refit else looks,
            not_stated=ground.untold_of_task(task_id),
        )  # fmt: skip
        order = _order(stage, task.days, depth, task_id)
        if known and known.measures_lengths:
            order = (STAGES.index(STRIP), 0.0, DEEPEST, task_id)  # as soon as all is off
        drafts[f"task {task_id}"] = StepDraft(step, order)
        if known and known.refit:
            where = BENCH if stage == BENCH else REFIT
            back = Step(
                number=0, stage=where, text=known.refit, source=task_id, source_kind="task", cautions=caution,
                checks=looks,
            )  # fmt: skip
            if nothing_is_there(ground, task_id):
                drafts[f"task {task_id}"] = StepDraft(None, order)
                back = replace(step, stage=REFIT, text=known.refit, checks=looks)
            drafts[f"refit {task_id}"] = StepDraft(back, _order_of_closing(where, depth, task_id))
    return drafts


def _looks(ground: Ground, task: str) -> tuple[str, ...]:
    """What is to be looked at as the task is put back: its own, else what the task says that it stands in for."""
    known = ground.known_task(task)
    general = ground.known_task(known.instead_of) if known and known.instead_of else None
    return (known.check_when_fitted if known else ()) or (general.check_when_fitted if general else ())


def due_on(ground: Ground, route: Route) -> list[Fault]:
    """The doubts of the route that are known to have failed: put right before the job is closed."""
    picked = {*route.picks.values(), *route.links.values()}
    return [one for one in ground.conversion.faults if one.odds == 1 and not picked.isdisjoint(one.on)]


def _due_lines(ground: Ground, route: Route) -> dict[str, StepDraft]:
    drafts = {}
    for fault in due_on(ground, route):
        if needed := ground.needed_by(fault):
            drafts.update(_lines_of_part_to_come(ground, fault, needed))
            continue
        read = ground.doubt(fault.id)
        remedy = f": {read.remedy}" if read.remedy else ""
        remedy += f" (not priced: {words.listed(read.unpriced)})" if read.unpriced else ""
        step = Step(
            number=0, stage=BENCH, text=f"Put right what is known not to hold: {fault.label or fault.id}{remedy}",
            source=fault.id, source_kind="doubt", cash_hundredths=fault.cash_hundredths,
            hours_hundredths=fault.hours_hundredths,
        )  # fmt: skip
        depth = max((ground.depth(task) for task in ground.closed(fault.reach)), default=0)
        drafts[f"due {fault.id}"] = StepDraft(step, _order(BENCH, Fraction(0), depth, fault.id))
    return drafts


def _with_the_box_out(ground: Ground, route: Route, one: Besides) -> Besides:
    """A part of the gearbox is renewed on the bench where the route has the box out, not under the car."""
    kind = ground.catalogue.position_kinds.get(one.place)
    of_the_box = kind is not None and kind.owner == "gearbox" and not one.sent
    known = filter(None, map(ground.known_task, route.tasks)) if of_the_box else ()
    out = tuple(task.id for task in known if BOX_OUT in (task.id, task.instead_of))
    return replace(one, tasks=tuple(dict.fromkeys((*one.tasks, *out))))


def _lines_besides(ground: Ground, one: Besides) -> dict[str, StepDraft]:
    """What is ticked, ordered first if it has to be bought: the price is the order's, the hours are the fitting's."""
    key, draft = line_of_besides(one), _line_besides(ground, one)
    if not one.buys or draft.step is None:
        return {key: draft}
    priced = prices_among(one.not_stated)
    order = replace(
        draft.step, stage=SEND_OUT, text=one.buys, order=True, days=one.lead_days, hours_hundredths=0, cautions=(),
        not_stated=priced,
    )  # fmt: skip
    untold = tuple(what for what in one.not_stated if what not in priced)
    fit = replace(draft.step, cash_hundredths=0, not_stated=untold)
    return {
        f"order {key}": StepDraft(order, _order_of_buying(one.lead_days, one.id)),
        key: StepDraft(fit, draft.order),
    }


def _line_besides(ground: Ground, one: Besides) -> StepDraft:
    kind = ground.catalogue.position_kinds.get(one.place)
    out = [task for task in map(ground.known_task, one.tasks) if task and BOX_OUT in (task.id, task.instead_of)]
    on_bench = any(ground.stage_of(task) == "bench" for task in ground.closed(one.tasks))
    on_bench |= bool(out) and kind is not None and BOX_OUT not in kind.fit_tasks
    stage = SEND_OUT if one.sent else BENCH if on_bench else REFIT
    step = Step(
        number=0, stage=stage, text=one.text, source=f"{RENEWAL}/{one.id}", source_kind=RENEWAL,
        cash_hundredths=one.cash_hundredths, hours_hundredths=one.hours_hundredths, cautions=one.cautions,
        not_stated=one.not_stated,
    )  # fmt: skip
    depth = max((ground.depth(task) for task in ground.closed(one.tasks)), default=0)
    return StepDraft(step, _order_of_fitting(stage, Fraction(0), depth, one.id))


def _lines_of_part_to_come(ground: Ground, fault: Fault, place: str) -> dict[str, StepDraft]:
    """A part that the place must have and does not: bought, then fitted, like one that is picked."""
    read, kind = ground.doubt(fault.id), ground.catalogue.position_kinds.get(place)
    what = f"{kind.label if kind else place} to suit"
    missing = f" (not priced: {words.listed(read.unpriced)})" if read.unpriced else ""
    order = Step(
        number=0, stage=SEND_OUT, text=f"Order {what}{missing}", source=fault.id, source_kind="doubt", order=True,
        cash_hundredths=fault.cash_hundredths, checks=(read.text,) if read.text else (),
    )  # fmt: skip
    fit = Step(
        number=0, stage=REFIT, text=f"Fit {what}", source=fault.id, source_kind="doubt",
        hours_hundredths=fault.hours_hundredths,
    )  # fmt: skip
    depth = max((ground.depth(task) for task in ground.closed(fault.reach)), default=0)
    return {
        f"order due {fault.id}": StepDraft(order, _order_of_buying(Fraction(0), fault.id)),
        f"due {fault.id}": StepDraft(fit, _order(REFIT, Fraction(0), depth, fault.id)),
    }


def _order(stage: str, days: Fraction, depth: int, name: str) -> tuple[int, float, int, str]:
    """Strip goes outside in, refit inside out, what is sent out longest lead first."""
    lead = -float(days) if stage == SEND_OUT else 0.0
    level = depth if stage in (STRIP, BENCH) else -2 * depth
    return STAGES.index(stage), lead, level, name


def _order_of_closing(stage: str, depth: int, name: str) -> tuple[int, float, int, str]:
    """Inside out; on the bench after all that is fitted there."""
    return (STAGES.index(stage), 0.0, (2 * DEEPEST if stage == BENCH else 1) - 2 * depth, name)


def _order_of_buying(days: Fraction, name: str) -> tuple[int, float, int, str]:
    """Before anything comes off, the longest lead first."""
    return AHEAD, -float(days), 0, name


def _order_of_fitting(stage: str, days: Fraction, depth: int, name: str) -> tuple[int, float, int, str]:
    """As `_order`; on the bench after all that is opened there, inside out."""
    return _order(stage, days, DEEPEST - depth if stage == BENCH else depth, name)


def _choice_lines(ground: Ground, choice: Candidate | Link) -> dict[str, StepDraft]:
    """The lines of a candidate or link, made once per choice; none where it stays as it is at no cost."""
    key = ("lines", choice.id)
    if key not in ground.kept:
        ground.kept[key] = _make_choice_lines(ground, choice)
    found: dict[str, StepDraft] = ground.kept[key]
    return found


def _make_choice_lines(ground: Ground, choice: Candidate | Link) -> dict[str, StepDraft]:
    if not changes_something(ground, choice):
        return {}
    if choice.id in ground.bought_units:
        step = replace(_line(ground, choice, SEND_OUT), text=f"Buy {ground.thing(choice)}", order=True)
        return {f"order {choice.id}": StepDraft(step, _order_of_buying(choice.days, choice.id))}
    stage = _stage(ground, choice)
    step = _line(ground, choice, stage)
    depth = max((ground.depth(t) for t in choice.tasks), default=0)
    key = f"choice {choice.id}"
    if stage == SEND_OUT or not choice.days or not _bought(choice):
        return {key: StepDraft(step, _order_of_fitting(stage, choice.days, depth, choice.id))}
    order = replace(
        step, stage=SEND_OUT, text=f"Order {ground.thing(choice)}", order=True,
        hours_hundredths=0, operations=(), cautions=(), checks=(), not_stated=(),
    )  # fmt: skip
    fit = replace(step, cash_hundredths=0, days=Fraction(0))
    return {
        f"order {choice.id}": StepDraft(order, _order_of_buying(choice.days, choice.id)),
        key: StepDraft(fit, _order_of_fitting(stage, Fraction(0), depth, choice.id)),
    }


def changes_something(ground: Ground, choice: Candidate | Link) -> bool:
    """Whether the choice costs or changes anything, rather than standing as found or as assembled."""
    if choice.cash_hundredths or choice.hours_hundredths or choice.days:
        return True
    if isinstance(choice, Candidate):
        return not choice.as_found and not ground.is_empty(choice.id)
    return bool(choice.via or choice.operations or choice.irreversible)


def _bought(choice: Candidate | Link) -> bool:
    return not choice.as_found if isinstance(choice, Candidate) else bool(choice.via)


def _stage(ground: Ground, choice: Candidate | Link) -> str:
    """Sent out: machining that waits or goes with a visit. Bench: what is fitted or cut on the bench. Else refit."""
    stages = {ground.stage_of(task) for task in choice.tasks}
    machining = isinstance(choice, Link) and choice.kind == MACHINING_LINK
    if machining and ("send-out" in stages or choice.days):
        return SEND_OUT
    on_bench = any(ground.stage_of(task) == "bench" for task in ground.closed(choice.tasks))
    return BENCH if machining or on_bench else REFIT


def _text(ground: Ground, choice: Candidate | Link) -> str:
    if isinstance(choice, Candidate):
        loose = ground.place_of_choice[choice.id].kind == EXTRA
        verb = "Refit" if choice.as_found else LAY_READY if loose else "Fit"
        return f"{verb} {ground.thing(choice)}"
    if choice.operations:
        return f"{choice.label or choice.id}: {words.listed(choice.operations)}"
    if choice.via:
        first, second = choice.parts
        return f"Fit {ground.thing(choice)} between {_held(ground, first)} and {_held(ground, second)}"
    return choice.label or choice.id


def _held(ground: Ground, candidate: str) -> str:
    found = ground.candidates[candidate]
    return found.label or ground.part_label(found.part)


def _parts(choice: Candidate | Link) -> tuple[str, ...]:
    if isinstance(choice, Candidate):
        return () if choice.as_found else (choice.part,)
    return choice.via


def _line(ground: Ground, choice: Candidate | Link, stage: str) -> Step:
    level = evidence.level_of(ground, choice.id)
    return Step(
        number=0, stage=stage, text=_text(ground, choice) + _whose_hours(ground, choice), source=choice.id,
        source_kind="candidate" if isinstance(choice, Candidate) else "link",
        edges=tuple(edge.id for edge in ground.edges_of(choice.id)), parts=_parts(choice),
        operations=() if isinstance(choice, Candidate) else choice.operations,
        cash_hundredths=choice.cash_hundredths, hours_hundredths=choice.hours_hundredths, days=choice.days,
        conditions=states_of(ground, choice), evidence=level, evidence_words=evidence.level_words(ground, level),
        notes=evidence.notes_of(ground, choice.id), disputed=ground.is_disputed(choice.id),
        irreversible=isinstance(choice, Link) and choice.irreversible,
        cautions=_cautions(ground, choice), not_stated=ground.untold(choice.id),
    )  # fmt: skip


def _whose_hours(ground: Ground, choice: Candidate | Link) -> str:
    said = ground.general_hours(choice.id)
    return f" ({words.listed(said)})" if said else ""


def _cautions(ground: Ground, choice: Candidate | Link) -> tuple[str, ...]:
    """The cautions of the edges, of the kinds of part handled, and of the joint's kind, each once."""
    catalogue = ground.catalogue
    found = [edge.caution for edge in ground.edges_of(choice.id)]
    for part in _parts(choice):
        known = catalogue.parts.get(part)
        kind = catalogue.part_kinds.get(known.kind) if known else None
        found.append(kind.caution if kind else "")
    if isinstance(choice, Link):
        kind_of_joint = catalogue.joint_kinds.get(ground.joint_of[choice.id].kind)
        found.append(kind_of_joint.caution if kind_of_joint else "")
    return tuple(dict.fromkeys(caution for caution in found if caution))
