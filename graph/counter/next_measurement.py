"""Measure next: which missing measurement could change the expected cost of the best route that assumes nothing most.

For each missing measurement the question is solved again: with the joints that wait for it assumed to hold as they
are, to hold after the usual work at the price list's figure, and to fail. A joint that only waits fails already today,
so failing changes nothing there; a joint that only a doubtful note closes would be lost. The change is the largest of
the differences; of equal ones that comes first which is worth more even if work is needed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.catalogue.measurements import evidence_rank
from graph.catalogue.model import FITS, REQUIRES_MACHINING, Edge
from graph.conversion.known import on_what_is_known
from graph.derive.around import with_derived
from graph.derive.costs import Cost
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.overlay import OverlayIndex
from graph.lookups.findings import COMPUTED, MissingReading, Unknown
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.reading.reading import read_conversion
from graph.search import JUST_THE_BEST, OutOfTime, Search, search_here
from graph.search.result import STOPPED_EARLY

MOST_TRIED = 24
DOUBTFUL_RANK = 7  # word of the trade and weaker; what was done, measured, drawn or published is taken as it stands


@dataclass(frozen=True, slots=True)
class NextMeasurement:
    """One missing measurement. Costs are expected ones in currency units; None where there is no route.

    `if_work`: where it asks for the usual work; None where the joint has none, or none has a price.
    `change`: how far the answer's cost could move; None where a first route would open or the only one be lost, which
    ranks before any sum. `minutes`: how long measuring usually takes. `joints`: what hangs on it.
    `tried`: False where the time did not suffice to find out what would change; such ones come last.
    """

    part: str
    quantity: str
    text: str
    why: str
    tool: str
    minutes: Fraction
    joints: tuple[str, ...]
    now: Fraction | None
    if_holds: Fraction | None
    if_fails: Fraction | None
    change: Fraction | None
    if_work: Fraction | None = None
    tried: bool = True

    @property
    def decides(self) -> bool:
        """Does whether there is a route at all hang on it?"""
        return self.tried and self.change is None


def measure_next(
    index: CatalogueIndex, question: Question, *, search: Search = search_here
) -> tuple[NextMeasurement, ...]:
    """The missing measurements that could change the answer, the most telling first; those that could not are left out.

    Raises NotFound and InvalidQuestion as a reading does.
    """
    reading = read_conversion(index, question)
    overlay = with_derived(index, question)
    if not isinstance(overlay, OverlayIndex):
        return ()
    now = _expected(overlay, question, search)
    used = {edge for edges in reading.edges_by_choice().values() for edge in edges}
    found = []
    for (part, quantity), waiting in list(_waiting(overlay, used).items())[:MOST_TRIED]:
        gap = next(gap for unknown in waiting for gap in unknown.gaps if (gap.part, gap.quantity) == (part, quantity))
        found.append(_judged(overlay, question, now, gap, waiting, search))
    telling = [one for one in found if one.change is None or one.change > 0]
    return tuple(
        sorted(
            telling,
            key=lambda one: (
                not one.tried, not one.decides, -(one.change or 0), -_gap(one.now, one.if_work), one.minutes,
                one.part, one.quantity,
            ),
        )
    )  # fmt: skip


def _waiting(overlay: OverlayIndex, used: set[str]) -> dict[tuple[str, str], list[Unknown]]:
    """Per missing measurement, the joints that wait for it: of no note, or closed by a doubtful one."""
    waiting: dict[tuple[str, str], list[Unknown]] = {}
    closing = {finding.unknown: finding for finding in overlay.derived.findings if finding.unknown is not None}
    for unknown in overlay.derived.unknowns:
        finding = closing.get(unknown)
        if unknown.noted and (finding is None or not _is_doubtful(overlay, finding.noted, used)):
            continue
        for gap in unknown.gaps:
            waiting.setdefault((gap.part, gap.quantity), []).append(unknown)
    return dict(sorted(waiting.items()))


def _is_doubtful(overlay: OverlayIndex, noted: tuple[str, ...], used: set[str]) -> bool:
    """Does the answer rest on the notes, and are they weaker than published figures?"""
    edges = [overlay.catalogue.edges[edge] for edge in noted if edge in used]
    return bool(edges) and all(evidence_rank(overlay.catalogue, edge.evidence) >= DOUBTFUL_RANK for edge in edges)


def _judged(
    overlay: OverlayIndex,
    question: Question,
    now: Fraction | None,
    gap: MissingReading,
    waiting: list[Unknown],
    search: Search,
) -> NextMeasurement:
    known = overlay.catalogue.quantities.get(gap.quantity)
    judged = NextMeasurement(
        part=gap.part, quantity=gap.quantity, text=gap.text, why=gap.why, tool=known.usual_tool if known else "",
        minutes=known.minutes if known else Fraction(30),
        joints=tuple(dict.fromkeys(unknown.joint for unknown in waiting)), now=now, if_holds=None, if_fails=None,
        change=None, tried=False,
    )  # fmt: skip
    try:
        holds, fails, work = _outcomes(overlay, question, now, waiting, search)
    except OutOfTime:
        return judged
    change = _change(now, holds, fails, work)
    return replace(judged, if_holds=holds, if_fails=fails, if_work=work, change=change, tried=True)


def _outcomes(
    overlay: OverlayIndex, question: Question, now: Fraction | None, waiting: list[Unknown], search: Search
) -> tuple[Fraction | None, Fraction | None, Fraction | None]:
    """What the answer would cost if all that waits holds, fails, or holds after the usual work."""
    holds = _expected(_assumed(overlay, (unknown for unknown in waiting if not unknown.noted)), question, search)
    doubted = frozenset(
        edge for finding in overlay.derived.findings if finding.unknown in waiting for edge in finding.noted
    )
    fails, work = now, None
    if doubted:
        fails = _expected(OverlayIndex(overlay.below, overlay.derived, doubted), question, search)
    if _can_be_worked(overlay, waiting):
        work = _expected(_after_work(overlay, waiting, doubted), question, search)
    return holds, fails, work


def _change(
    now: Fraction | None, holds: Fraction | None, fails: Fraction | None, work: Fraction | None
) -> Fraction | None:
    if now is None:
        return Fraction(0) if holds is None and work is None else None
    if fails is None:
        return None
    return max(_gap(now, one) for one in (holds, fails, work))


def _gap(now: Fraction | None, then: Fraction | None) -> Fraction:
    return Fraction(0) if now is None or then is None else abs(then - now)


def _usual_work(overlay: OverlayIndex, joint: str) -> tuple[str, Cost] | None:
    """The cheapest usual operation of the joint that the price list has, with its cost."""
    rate = overlay.catalogue.rate_hundredths
    prices = overlay.catalogue.operation_prices
    known = [prices[one] for one in JOINT_CHECKS[joint].usual_work if one in prices]
    if not known:
        return None
    known = [one for one in known if one.hours_hundredths is not None] or known
    best = min(known, key=lambda one: (one.cash_hundredths * 100 + (one.hours_hundredths or 0) * rate, one.operation))
    return best.label, Cost(best.cash_hundredths, best.hours_hundredths, best.days, best.tasks)


def _can_be_worked(overlay: OverlayIndex, waiting: Iterable[Unknown]) -> bool:
    return all(_usual_work(overlay, unknown.joint) is not None for unknown in waiting if not unknown.price)


def _after_work(overlay: OverlayIndex, waiting: Iterable[Unknown], doubted: frozenset[str]) -> OverlayIndex:
    """The overlay with the joints assumed to hold after the usual work, and doubtful notes about them set aside."""
    assumed = []
    for unknown in waiting:
        usual = _usual_work(overlay, unknown.joint)
        if usual is None or unknown.price:
            continue
        label, cost = usual
        assumed.append(
            Edge(
                id=f"{COMPUTED}assumed--{unknown.joint}--{'--'.join(unknown.parts)}", kind=REQUIRES_MACHINING,
                source=unknown.parts[0], target=unknown.parts[1], joint=unknown.joint, reason="assumed",
                evidence="calculated", operations=(label,), cash_hundredths=cost.cash_hundredths,
                hours_hundredths=cost.hours_hundredths, days=cost.days, tasks=cost.tasks,
            )
        )  # fmt: skip
    derived = replace(overlay.derived, edges=(*overlay.derived.edges, *assumed), unknowns=())
    return OverlayIndex(overlay.below, derived, doubted)


def _assumed(overlay: OverlayIndex, unknowns: Iterable[Unknown]) -> OverlayIndex:
    """The overlay with the joints assumed to hold as they are."""
    assumed = [
        Edge(
            id=f"{COMPUTED}assumed--{unknown.joint}--{'--'.join(unknown.parts)}", kind=FITS, source=unknown.parts[0],
            target=unknown.parts[1], joint=unknown.joint, reason="assumed", evidence="calculated",
        )
        for unknown in unknowns if not unknown.price
    ]  # fmt: skip
    derived = replace(overlay.derived, edges=(*overlay.derived.edges, *assumed), unknowns=())
    return OverlayIndex(overlay.below, derived)


def _expected(index: OverlayIndex, question: Question, search: Search) -> Fraction | None:
    order = replace(JUST_THE_BEST, objective=question.objective)
    known = on_what_is_known(read_conversion(index, question).conversion)
    if known is None:
        return None
    solution = search(known, order)
    if solution.status == STOPPED_EARLY:
        raise OutOfTime("the search was stopped before anything was proven")
    return solution.routes[0].expected if solution.routes else None
