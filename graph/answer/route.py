"""One route of the search, ready to read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from graph.answer import (
    assumed,
    bearing_life,
    capacity,
    demanded,
    effects,
    evidence,
    sums,
    trade_checks,
    verdict,
    words,
)
from graph.answer.conditions import is_settled
from graph.answer.core_terms import core_terms
from graph.answer.goes_with import not_on_the_list
from graph.answer.ground import Ground
from graph.answer.model.doubt import AssumptionLine
from graph.answer.model.fit import DIRECT, IMPOSSIBLE, NOT_ADVISABLE, UNKNOWN, CapacityLine, JointLine, SideEffect
from graph.answer.model.lines import Named
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import PartLine, Step
from graph.answer.refuted import refuted
from graph.answer.section import section_of
from graph.answer.steps import steps_of
from graph.answer.to_set import to_set
from graph.conversion.document import Candidate, CandidateOrLink, Link
from graph.search.result import Route


def picked_by(ground: Ground, route: Route) -> tuple[Candidate | Link, ...]:
    """The picked candidates in the order of positions, then the picked links in the order of joints."""
    candidates = tuple(ground.candidates[route.picks[p.id]] for p in ground.conversion.positions)
    return (*candidates, *(ground.links[route.links[j.id]] for j in ground.conversion.joints))


def answered_route(ground: Ground, route: Route, rank: int) -> AnsweredRoute:
    """The route with its steps, parts, joints, side effects and sums. `rank` 1 is the best."""
    picked = picked_by(ground, route)
    steps, parts = steps_of(ground, route), part_lines(ground, route)
    deposits = sum(part.deposit_hundredths - part.deposit_counted_hundredths for part in parts)
    provisional = not all(is_settled(ground, choice) for choice in picked)
    moved = effects.side_effects(ground, route, picked)
    torques, lives = capacity.capacity_lines(ground, route), bearing_life.bearing_lives(ground, route)
    asked, checks = demanded.demand_lines(ground, route), trade_checks.check_lines(ground, route)
    against = (*refuted(ground, route), *(f"{line.label}: {line.words}" for line in trade_checks.failing(checks)))
    work = verdict.with_doubts(verdict.of_route(ground, picked), moved, torques, against)
    weakest = evidence.weakest_of(ground, picked)
    assumptions = assumed.assumption_lines(ground, route)
    in_doubt = bool(assumptions) and (work == DIRECT or not assumed.only_figures(assumptions))
    work = of_what_is_known(ground, work, in_doubt or bool(demanded.to_confirm(asked)))
    made = AnsweredRoute(
        rank=rank, verdict=work, provisional=provisional,
        summary=verdict.summary(work, parts, picked, provisional, in_doubt) + _over(torques) + _against(against),
        steps=steps,
        parts=parts,
        joints=tuple(joint_line(ground, joint, route.links[joint]) for joint in ground.joints),
        side_effects=moved, faults=effects.fault_lines(ground, route),
        features_gained=_features_gained(ground, picked), irreversible=_irreversible(steps),
        to_confirm=(
            *_deadline(ground, assumptions),
            *demanded.to_confirm(asked),
            *against,
            *_to_confirm(
                picked, moved,
                (
                    *not_on_the_list(ground, route), *capacity.to_confirm(torques), *bearing_life.to_confirm(lives),
                    *trade_checks.to_confirm(checks),
                ),
            ),
        ),
        capacities=torques, bearing_lives=lives, demands=asked, checks=checks, to_set=to_set(ground, route),
        core_terms=core_terms(parts), against=against,
        weakest_evidence=weakest, weakest_evidence_words=evidence.level_words(ground, weakest),
        cash_hundredths=route.cash_hundredths, hours_hundredths=route.hours_hundredths, total=route.total,
        expected=route.expected, days=route.days, p50=route.p50, p90=route.p90,
        p50_least=None if route.spread_is_exact else route.p50_least,
        p90_least=None if route.spread_is_exact else route.p90_least,
        split=effects.cost_split(ground, route, steps), picks=route.picks, links=route.links, tasks=route.tasks,
        assumptions=assumptions, if_all_holds=assumed.if_all_holds(ground, route) if assumptions else None,
        at_least=sums.is_at_least(ground, route, assumptions),
        on_the_day_hundredths=route.cash_hundredths + deposits, unpriced=sums.not_priced(assumptions),
        section=section_of(ground, route, moved),
    )  # fmt: skip
    return replace(made, sums=sums.sum_lines(made, ground.catalogue.currency, ground.rate_stated))


def of_what_is_known(ground: Ground, work: str, assumes: bool) -> str:
    """The verdict where something is assumed, or where it is not settled which kind of job it is: unknown, unless what
    is known rules the job out already."""
    if work in (NOT_ADVISABLE, IMPOSSIBLE):
        return work
    unsettled = ground.reading is not None and bool(ground.reading.asks) and work == DIRECT
    return UNKNOWN if assumes or unsettled else work


def _deadline(ground: Ground, assumptions: tuple[AssumptionLine, ...]) -> tuple[str, ...]:
    given = ground.conversion.deadline
    return (assumed.DEADLINE.format(days=words.days(given)),) if assumptions and given is not None else ()


def _features_gained(ground: Ground, picked: tuple[CandidateOrLink, ...]) -> tuple[Named, ...]:
    """The features that what is fitted or done offers, beyond those of the assembly as found."""
    as_found = {f for c in ground.candidates.values() if c.as_found for f in c.features}
    gained = sorted({feature for choice in picked for feature in choice.features} - as_found)
    return tuple(Named(feature, ground.feature_label(feature)) for feature in gained)


def _over(torques: tuple[CapacityLine, ...]) -> str:
    """What is over its capacity, by how much."""
    return "".join(f"; {line.what} exceeded, {line.words}" for line in capacity.exceeded(torques))


def _against(reasons: Iterable[str]) -> str:
    """What the checks and the readings say against it."""
    return "".join(f"; {reason}" for reason in reasons)


def _to_confirm(
    picked: tuple[CandidateOrLink, ...], moved: tuple[SideEffect, ...], more: tuple[str, ...]
) -> tuple[str, ...]:
    """What the choices ask for, then the lengths whose uncertainty eats up the margin, then torques and lives."""
    asked = [text for choice in picked for text in choice.to_confirm]
    asked += [effect.to_confirm for effect in moved if effect.to_confirm]
    return tuple(dict.fromkeys([*asked, *more]))


def _irreversible(steps: tuple[Step, ...]) -> tuple[str, ...]:
    return tuple(step.text for step in steps if step.irreversible and step.source_kind != "task" and not step.order)


def summary_of(ground: Ground, route: Route) -> str:
    """The route in one line, without working out its steps."""
    picked = picked_by(ground, route)
    provisional = not all(is_settled(ground, choice) for choice in picked)
    work, lines = verdict.of_route(ground, picked), assumed.assumption_lines(ground, route)
    assumes = bool(lines) and (work == DIRECT or not assumed.only_figures(lines))
    work = of_what_is_known(ground, work, assumes)
    return verdict.summary(work, part_lines(ground, route), picked, provisional, assumes)


def part_lines(ground: Ground, route: Route) -> tuple[PartLine, ...]:
    """What to get, each part once: fitted parts that are not as found, then what stands inside joints."""
    lines: dict[str, PartLine] = {}
    for position, candidate_id in route.picks.items():
        candidate = ground.candidates[candidate_id]
        if not candidate.as_found and not ground.is_empty(candidate_id):
            label = ground.positions[position].label or position
            lines[candidate.part] = _part_line(ground, candidate.part, candidate, label)
    for joint, link_id in route.links.items():
        link = ground.links[link_id]
        for part in link.via:
            if part not in lines:
                lines[part] = _part_line(ground, part, link, ground.joints[joint].label or joint)
    return tuple(lines.values())


def _part_line(ground: Ground, part: str, choice: Candidate | Link, position: str) -> PartLine:
    """The catalogue's price where it knows one: a choice's own cash may hold other things as well."""
    known, in_hand = ground.catalogue.parts.get(part), ground.is_in_hand(part, choice.id)
    is_unit = choice.id in ground.bought_units
    price = known.cash_hundredths if known and not is_unit else choice.cash_hundredths
    bought = known if known and not in_hand and not known.in_stock else None
    lead = known.days if known else choice.days
    return PartLine(
        part=part, label=ground.part_label(part), kind=known.kind if known else "",
        number=known.number if known else "", condition=known.condition if known else "unknown",
        price_hundredths=0 if in_hand else price, lead_days=Fraction(0) if in_hand else lead,
        in_stock=known.in_stock if known else False, in_hand=in_hand, position=position,
        via=isinstance(choice, Link), price_source="" if in_hand or known is None else known.price_source,
        deposit_hundredths=bought.deposit_hundredths if bought else 0,
        deposit_counted_hundredths=bought.deposit_counted_hundredths if bought else 0, is_unit=is_unit,
    )  # fmt: skip


def joint_line(ground: Ground, joint_id: str, link_id: str) -> JointLine:
    """How the link closes the joint; made once per link."""
    key = ("joint line", link_id)
    if key not in ground.kept:
        ground.kept[key] = _joint_line(ground, joint_id, link_id)
    found: JointLine = ground.kept[key]
    return found


def _joint_line(ground: Ground, joint_id: str, link_id: str) -> JointLine:
    joint, link = ground.joints[joint_id], ground.links[link_id]
    first, second = (ground.candidates[part] for part in link.parts)
    level = evidence.level_of(ground, link_id)
    return JointLine(
        joint=joint_id, label=joint.label or joint_id, kind=joint.kind, link=link_id, way=link.label or link.kind,
        verdict=verdict.of_link(ground, link),
        parts=(Named(first.part, first.label or first.part), Named(second.part, second.label or second.part)),
        via=tuple(ground.named(part) for part in link.via),
        edges=tuple(edge.id for edge in ground.edges_of(link_id)),
        evidence=level, evidence_words=evidence.level_words(ground, level), notes=evidence.notes_of(ground, link_id),
        to_confirm=link.to_confirm, misfit=ground.misfits.get((joint.kind, frozenset((first.part, second.part))), ""),
        assumed=link.assumed,
    )  # fmt: skip
