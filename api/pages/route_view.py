"""The view of one route: its picture, its steps in working order, what it moves, what it rests on, its papers."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from api.pages.asked import address, parameters_of
from api.pages.assumed_view import AssumedView, all_assumed, assumed_views
from api.pages.bars import Bars, cost_bars
from api.pages.compare_view import Fitted, fitted, told_without_verdict
from api.pages.pictures import picture_of_route
from api.pages.question_view import QuestionView, question_view
from api.pages.route_graph import RouteGraph, route_graph
from api.pages.workings import WorkingView, list_workings
from graph.answer import words
from graph.answer.assumed import told_shortly
from graph.answer.demanded import told
from graph.answer.model import (
    DIRECT,
    Answer,
    AnsweredRoute,
    ConditionState,
    JointLine,
    NoteLine,
    SideEffect,
    Step,
)
from graph.answer.text import STAGE_WORDS
from graph.lookups.index import CatalogueIndex
from graph.reading.conditions import TO_CONFIRM
from graph.reading.question import Question


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. `number`, `text`; `amounts`: cash, hours and days in words; `conditions`, `notes`, `cautions`.

    `open`: a condition of it is still to be confirmed; `disputed`; `irreversible`; `order`: it is bought ahead.
    """

    number: int
    text: str
    amounts: str
    conditions: tuple[ConditionState, ...]
    notes: tuple[NoteLine, ...]
    cautions: tuple[str, ...]
    open: bool
    disputed: bool
    irreversible: bool
    order: bool


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage of the work: its `words` and its `steps`."""

    words: str
    steps: tuple[StepView, ...]


@dataclass(frozen=True, slots=True)
class EffectView:
    """A dimension after this route: `label`, `words`, and what moved it (`moved`)."""

    label: str
    words: str
    moved: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PaperLink:
    """A paper of this route: its `words`, the `address` of the page, and of the file to print (`pdf`)."""

    words: str
    address: str
    pdf: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A number of the route: `label` and `words`."""

    label: str
    words: str


@dataclass(frozen=True, slots=True)
class RouteView:
    """One route of an answer.

    `question`: as asked; `rank` of `count`; `others`: addresses of the other routes; `verdict`, `provisional`,
    `summary`; `assumed`: what it takes for given, `all_assumed`: one by one, where some are only counted; `figures`:
    its numbers; `bars`: where the cost goes. `picture`: an SVG of ours; `edges`: the same in words; `hidden`: parts
    that the picture leaves out. `stages`: the steps;
    `parts`; `joints`: those that take work; `as_they_are`: the rest; `workings`: what was computed; `effects`:
    dimensions; `faults`, `features`, `irreversible`, `to_confirm`, `evidence`, `cautions`: as answered; `loads`:
    torque and bearing life; `demands`: what was asked of it. `papers`: estimate, job sheet and build record.
    `new_job`: the page that makes it a job; `asked`: the question and the rank as the fields of a form.
    """

    question: QuestionView
    rank: int
    count: int
    others: tuple[Figure, ...]
    verdict: str
    provisional: bool
    summary: str
    assumed: tuple[AssumedView, ...]
    all_assumed: tuple[str, ...]
    figures: tuple[Figure, ...]
    bars: Bars
    picture: Markup
    edges: tuple[str, ...]
    hidden: int
    stages: tuple[Stage, ...]
    parts: tuple[Fitted, ...]
    joints: tuple[JointLine, ...]
    as_they_are: str
    workings: tuple[WorkingView, ...]
    effects: tuple[EffectView, ...]
    faults: tuple[str, ...]
    features: tuple[str, ...]
    irreversible: tuple[str, ...]
    to_confirm: tuple[str, ...]
    evidence: str
    demands: tuple[str, ...]
    loads: tuple[str, ...]
    cautions: tuple[str, ...]
    papers: tuple[PaperLink, ...]
    new_job: str
    asked: tuple[tuple[str, str], ...]


def route_view(
    index: CatalogueIndex, question: Question, answer: Answer, route: AnsweredRoute, has_papers: bool
) -> RouteView:
    """The view of a route of the answer. `has_papers`: the app prints papers."""
    graph = route_graph(index, route)
    one = [bar for bar, each in zip(cost_bars(answer).bars, answer.routes, strict=True) if each.rank == route.rank]
    return RouteView(
        question=question_view(index, question),
        rank=route.rank,
        count=len(answer.routes),
        others=tuple(_other(question, each) for each in answer.routes if each.rank != route.rank),
        verdict=words.sentence(route.verdict),
        provisional=route.provisional,
        summary=told_without_verdict(route),
        assumed=assumed_views(index, route),
        all_assumed=all_assumed(route),
        figures=_figures(answer, route),
        bars=Bars(tuple(one), cost_bars(answer).kinds, cost_bars(answer).width),
        picture=Markup(picture_of_route(graph, f"Route {route.rank}: the parts and what joins them")),
        edges=_edges(graph),
        hidden=graph.hidden,
        stages=tuple(_stages(route, answer.currency)),
        parts=tuple(fitted(index, question, answer.currency, part) for part in route.parts),
        joints=tuple(joint for joint in route.joints if joint.verdict != DIRECT),
        as_they_are=words.listed([joint.label for joint in route.joints if joint.verdict == DIRECT]),
        workings=list_workings(index, question, route),
        effects=tuple(_effect(effect) for effect in route.side_effects),
        faults=tuple(f"{fault.label}: {fault.words}" for fault in route.faults),
        features=tuple(feature.label for feature in route.features_gained),
        irreversible=route.irreversible,
        to_confirm=route.to_confirm,
        evidence=route.weakest_evidence_words,
        demands=tuple(map(told, route.demands)),
        loads=(*(one.words for one in route.capacities), *(one.words for one in route.bearing_lives)),
        cautions=answer.cautions,
        papers=_papers(question, route) if has_papers else (),
        new_job=address("/new-job", question, [("rank", str(route.rank))]),
        asked=(*parameters_of(question), ("rank", str(route.rank))),
    )


def _other(question: Question, route: AnsweredRoute) -> Figure:
    return Figure(f"Route {route.rank}", address("/route", question, [("rank", str(route.rank))]))


def _figures(answer: Answer, route: AnsweredRoute) -> tuple[Figure, ...]:
    money = answer.currency
    rate = f"at {words.cash(answer.rate_hundredths, money)} per hour" if answer.rate_stated else "(no rate stated)"
    return (
        *(Figure(line.label, line.words) for line in route.sums),
        *((Figure("Not stated, so in no sum", told_shortly(route.unpriced)),) if route.unpriced else ()),
        Figure("Cash", words.cash(route.cash_hundredths, money)),
        *_on_the_day(route, money),
        Figure(f"Hours {rate}", words.hours(route.hours_hundredths)),
        Figure("Days until ready", words.days(route.days)),
    )


def _on_the_day(route: AnsweredRoute, money: str) -> tuple[Figure, ...]:
    if route.on_the_day_hundredths <= route.cash_hundredths:
        return ()
    return (Figure("Cash on the day, with core deposits", words.cash(route.on_the_day_hundredths, money)),)


def _stages(route: AnsweredRoute, currency: str) -> list[Stage]:
    """The steps in their order, under a heading wherever another stage begins; work is sent out more than once."""
    runs = groupby(route.steps, key=lambda step: step.stage)
    return [Stage(STAGE_WORDS[stage], tuple(_step(step, currency) for step in steps)) for stage, steps in runs]


def _step(step: Step, currency: str) -> StepView:
    amounts = [
        words.cash(step.cash_hundredths, currency) if step.cash_hundredths else "",
        words.hours(step.hours_hundredths) if step.hours_hundredths else "",
        words.days(step.days) if step.days else "",
    ]
    to_confirm = any(one.state == TO_CONFIRM for one in step.conditions)
    return StepView(
        number=step.number, text=step.text, amounts=", ".join(filter(None, amounts)), conditions=step.conditions,
        notes=() if step.order else step.notes, cautions=step.cautions, open=to_confirm,
        disputed=step.disputed, irreversible=step.irreversible, order=step.order,
    )  # fmt: skip


def _effect(effect: SideEffect) -> EffectView:
    moved = tuple(f"{words.millimetres(one.shift_um, signed=True)} by {one.label}" for one in effect.moved_by)
    told = effect.words.partition("; of it")[0]
    return EffectView(words.sentence(effect.label), told, moved)


def _edges(graph: RouteGraph) -> tuple[str, ...]:
    label = {node.id: node.label for node in graph.nodes}
    return tuple(f"{label[join.source]} - {join.words} - {label[join.target]}" for join in graph.joins)


def _papers(question: Question, route: AnsweredRoute) -> tuple[PaperLink, ...]:
    rank = [("rank", str(route.rank))]
    kinds = (("Estimate", "estimate"), ("Job sheet", "job-sheet"), ("Build record", "build-record"))
    return tuple(
        PaperLink(said, address(f"/paper/{kind}", question, rank), address(f"/paper/{kind}.pdf", question, rank))
        for said, kind in kinds
    )
