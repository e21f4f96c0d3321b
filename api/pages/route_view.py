"""The view of one route: its section, its steps in working order, what it moves, what it rests on, its papers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.pages.asked import address, parameters_of
from api.pages.assumed_view import Asking, AssumedView, all_assumed, assumed_views
from api.pages.bars import Bars, cost_bars
from api.pages.compare_view import Fitted, fitted, told_without_verdict
from api.pages.first_view import NOT_TICKED, FirstView, Ticked, first_view
from api.pages.joined import joined_parts
from api.pages.question_view import QuestionView, as_known, question_view
from api.pages.section_view import SectionView, section_view
from api.pages.trying import TryView, try_view
from api.pages.workings import WorkingView, list_workings
from graph.answer import words
from graph.answer.assumed import told_shortly
from graph.answer.demanded import told
from graph.answer.effects import shares
from graph.answer.model.answer import Answer
from graph.answer.model.fit import DIRECT, JointLine, SettingLine, SideEffect
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.answer.sums import least_cash, least_days, least_hours
from graph.costing.jobs.past import PastJob
from graph.costing.jobs.stops import step_of_stop, stops_of
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question


@dataclass(frozen=True, slots=True)
class EffectView:
    """A dimension after this route: `label`, `words`, and what it is made of, so that it adds up (`moved`)."""

    label: str
    words: str
    moved: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A number of the route: `label` and `words`."""

    label: str
    words: str


@dataclass(frozen=True, slots=True)
class RouteView:
    """One route of an answer.

    `question`: as asked; `trying`: other values to try;
    `rank` of `count`; `others`: addresses of the other routes; `first`: verdict, sum, what to
    confirm, steps and papers; `summary`: what it fits; `assumed`: what it takes for given, `all_assumed`: one by one,
    where some are only counted; `figures`: its numbers; `bars`: where the cost goes. `section`: the assembly cut along
    its axis; `edges`: what is joined, in words. `parts`; `joints`: those that take work;
    `as_they_are`: the rest; `workings`: what was computed; `effects`: dimensions; `faults`, `features`,
    `irreversible`, `evidence`, `cautions`: as answered; `loads`: torque and bearing life; `demands`: what was asked of
    it. `checks`, `to_set`, `core_terms`: as answered. `stops`: where the job can be halted; `last`: earlier jobs of the
    two. `asked`: the question and the rank as the fields of a form.
    """

    question: QuestionView
    trying: TryView
    rank: int
    count: int
    others: tuple[Figure, ...]
    first: FirstView
    summary: str
    assumed: tuple[AssumedView, ...]
    all_assumed: tuple[AssumedView, ...]
    figures: tuple[Figure, ...]
    bars: Bars
    section: SectionView
    edges: tuple[str, ...]
    parts: tuple[Fitted, ...]
    joints: tuple[JointLine, ...]
    as_they_are: str
    workings: tuple[WorkingView, ...]
    effects: tuple[EffectView, ...]
    faults: tuple[str, ...]
    features: tuple[str, ...]
    irreversible: tuple[str, ...]
    evidence: str
    demands: tuple[str, ...]
    loads: tuple[str, ...]
    cautions: tuple[str, ...]
    asked: tuple[tuple[str, str], ...]
    checks: tuple[str, ...] = ()
    to_set: tuple[SettingLine, ...] = ()
    core_terms: tuple[str, ...] = ()
    stops: tuple[RouteStop, ...] = ()
    last: tuple[PastJob, ...] = ()


@dataclass(frozen=True, slots=True)
class RouteStop:
    """A stop by its `label`: `where` among the steps, what is measured there (`measures`), what that `decides`."""

    label: str
    where: str
    measures: tuple[str, ...]
    decides: str


def route_view(
    index: CatalogueIndex, question: Question, answer: Answer, route: AnsweredRoute, has_papers: bool,
    last: Sequence[PastJob] = (), known: Answer | None = None, ticked: Ticked = NOT_TICKED,
) -> RouteView:  # fmt: skip
    """The view of a route of the answer. `has_papers`: the app prints papers; `last`: earlier jobs of the two units;
    `known`: the answer without what the question tries, where it tries something; `ticked`: what is renewed besides."""
    asking = Asking.of(question, address("/route", question, [("rank", str(route.rank))]))
    one = [bar for bar, each in zip(cost_bars(answer).bars, answer.routes, strict=True) if each.rank == route.rank]
    return RouteView(
        question=question_view(index, question),
        trying=try_view(index, question, answer, route, known),
        rank=route.rank,
        count=len(answer.routes),
        others=tuple(_other(question, each) for each in answer.routes if each.rank != route.rank),
        first=first_view(question, answer, route, has_papers, ticked),
        summary=told_without_verdict(route),
        assumed=assumed_views(index, route, asking),
        all_assumed=all_assumed(index, route, asking),
        figures=_figures(answer, route),
        bars=Bars(tuple(one), cost_bars(answer).kinds, cost_bars(answer).width),
        section=section_view(question, route),
        edges=joined_parts(index, route),
        parts=tuple(fitted(index, question, answer.currency, part) for part in route.parts),
        joints=tuple(joint for joint in route.joints if joint.verdict != DIRECT),
        as_they_are=words.listed([joint.label for joint in route.joints if joint.verdict == DIRECT]),
        workings=list_workings(index, question, route),
        effects=tuple(_effect(effect) for effect in route.side_effects),
        faults=tuple(f"{fault.label}: {fault.words}" for fault in route.faults),
        features=tuple(feature.label for feature in route.features_gained),
        irreversible=route.irreversible,
        evidence=route.weakest_evidence_words,
        demands=tuple(map(told, route.demands)),
        loads=(*(one.words for one in route.capacities), *(one.words for one in route.bearing_lives)),
        cautions=answer.cautions,
        asked=(*parameters_of(as_known(question)), ("rank", str(route.rank))),
        checks=tuple(f"{line.label}: {line.words}" for line in route.checks),
        to_set=route.to_set,
        core_terms=route.core_terms,
        stops=_stops(index, route, ticked.steps or route.steps),
        last=tuple(last),
    )


def _stops(index: CatalogueIndex, route: AnsweredRoute, steps: Sequence[Step]) -> tuple[RouteStop, ...]:
    known = index.catalogue.tasks
    found = stops_of(route.tasks, known)
    return tuple(RouteStop(one.label, step_of_stop(one, steps, known), one.measures, one.decides) for one in found)


def _other(question: Question, route: AnsweredRoute) -> Figure:
    return Figure(f"Route {route.rank}", address("/route", question, [("rank", str(route.rank))]))


def _figures(answer: Answer, route: AnsweredRoute) -> tuple[Figure, ...]:
    money = answer.currency
    rate = f"at {words.cash(answer.rate_hundredths, money)} per hour" if answer.rate_stated else "(no rate stated)"
    return (
        *(Figure(line.label, line.words) for line in route.sums),
        *((Figure("Not stated, so in no sum", told_shortly(route.unpriced)),) if route.unpriced else ()),
        Figure("Cash", least_cash(route, money)),
        *_on_the_day(route, money),
        Figure(f"Hours {rate}", least_hours(route)),
        Figure("Days until ready", least_days(route)),
    )


def _on_the_day(route: AnsweredRoute, money: str) -> tuple[Figure, ...]:
    if route.on_the_day_hundredths <= route.cash_hundredths:
        return ()
    return (Figure("Cash on the day, with core deposits", words.cash(route.on_the_day_hundredths, money)),)


def _effect(effect: SideEffect) -> EffectView:
    made_of = shares(effect.value_um, effect.moved_by) if effect.moved_by and effect.value_um is not None else []
    told = effect.words.removesuffix(f"; {words.listed(made_of)}")
    return EffectView(words.sentence(effect.label), told, tuple(made_of))
