"""A route's work as ordered lines that add up to its cash and hours.

Every done task, picked candidate and picked link that costs or changes anything becomes a line; a bought part
with a lead time becomes two (ordered, then fitted). Lines stand in an order that a person can work in
(work_order.py) and, where that leaves a choice, goes strip (outside in), send out (longest lead first), bench (opened
outside in, then fitted inside out), refit (inside out).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from graph.answer import evidence, words
from graph.answer.conditions import states_of
from graph.answer.ground import Ground
from graph.answer.model import BENCH, REFIT, SEND_OUT, STAGES, STRIP, Step
from graph.answer.work_order import work_order
from graph.conversion.document import Candidate, Fault, Link
from graph.search.result import Route

MACHINING_LINK = "fits after machining"
DEEPEST = 1_000  # deeper than any access tree


@dataclass(frozen=True, slots=True)
class StepDraft:
    """A line before it has its number. `order` decides between lines that may stand in either order."""

    step: Step
    order: tuple[int, float, int, str]


def steps_of(ground: Ground, route: Route) -> tuple[Step, ...]:
    """The route's lines in working order, numbered from 1.

    The lines' cash and hours sum to the route's exactly.
    """
    drafts = _task_lines(ground, route)
    for choice in _choices(ground, route):
        drafts.update(_choice_lines(ground, choice))
    drafts.update(_due_lines(ground, route))
    import networkx as nx

    graph = work_order(ground, route, _choices(ground, route), due_on(ground, route), drafts)
    order = nx.lexicographical_topological_sort(graph, key=lambda key: (*drafts[key].order, key))
    return tuple(replace(drafts[key].step, number=n) for n, key in enumerate(order, start=1))


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
        look = "" if task_id in needed else " (to look for wear)"
        step = Step(
            number=0, stage=stage, text=task.label + look, source=task_id, source_kind="task",
            cash_hundredths=task.cash_hundredths, hours_hundredths=task.hours_hundredths, days=task.days,
            cautions=caution,
        )  # fmt: skip
        drafts[f"task {task_id}"] = StepDraft(step, _order(stage, task.days, depth, task_id))
        if known and known.refit:
            back = Step(number=0, stage=REFIT, text=known.refit, source=task_id, source_kind="task", cautions=caution)
            drafts[f"refit {task_id}"] = StepDraft(back, _order(REFIT, Fraction(0), depth, task_id, last=True))
    return drafts


def due_on(ground: Ground, route: Route) -> list[Fault]:
    """The doubts of the route that are known to have failed: put right before the job is closed."""
    picked = {*route.picks.values(), *route.links.values()}
    return [one for one in ground.conversion.faults if one.odds == 1 and not picked.isdisjoint(one.on)]


def _due_lines(ground: Ground, route: Route) -> dict[str, StepDraft]:
    drafts = {}
    for fault in due_on(ground, route):
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


def _order(stage: str, days: Fraction, depth: int, name: str, last: bool = False) -> tuple[int, float, int, str]:
    """Strip goes outside in, refit inside out, what is sent out longest lead first."""
    lead = -float(days) if stage == SEND_OUT else 0.0
    level = depth if stage in (STRIP, BENCH) else -2 * depth + (1 if last else 0)
    return STAGES.index(stage), lead, level, name


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
        return {f"order {choice.id}": StepDraft(step, _order(SEND_OUT, choice.days, 0, choice.id))}
    stage = _stage(ground, choice)
    step = _line(ground, choice, stage)
    depth = max((ground.depth(t) for t in choice.tasks), default=0)
    key = f"choice {choice.id}"
    if stage == SEND_OUT or not choice.days or not _bought(choice):
        return {key: StepDraft(step, _order_of_fitting(stage, choice.days, depth, choice.id))}
    order = replace(
        step, stage=SEND_OUT, text=f"Order {ground.thing(choice)}", order=True,
        hours_hundredths=0, operations=(), cautions=(),
    )  # fmt: skip
    fit = replace(step, cash_hundredths=0, days=Fraction(0))
    return {
        f"order {choice.id}": StepDraft(order, _order(SEND_OUT, choice.days, 0, choice.id)),
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
        verb = "Refit" if choice.as_found else "Fit"
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
        number=0, stage=stage, text=_text(ground, choice), source=choice.id,
        source_kind="candidate" if isinstance(choice, Candidate) else "link",
        edges=tuple(edge.id for edge in ground.edges_of(choice.id)), parts=_parts(choice),
        operations=() if isinstance(choice, Candidate) else choice.operations,
        cash_hundredths=choice.cash_hundredths, hours_hundredths=choice.hours_hundredths, days=choice.days,
        conditions=states_of(ground, choice), evidence=level, evidence_words=evidence.level_words(ground, level),
        notes=evidence.notes_of(ground, choice.id), disputed=ground.is_disputed(choice.id),
        irreversible=isinstance(choice, Link) and choice.irreversible,
        cautions=_cautions(ground, choice),
    )  # fmt: skip


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
