"""Remedies that are made to measure: how thick, the length chains say; what it costs, the price list.

A plate milled down from stock in half-millimetre steps; a spacer behind the release bearing, a spacer under the
flywheel, metal off the starter's pad, each of the size that brings a gap to the middle of its limits. Each size is a
link of its own, so that the search may weigh one against the other. What each moves is
geometry, stated with the quantities (facts/kinds/quantities.ttl). Pads are milled at most 6 mm (common practice: then
the pad's bolts and walls are gone). An operation without a price proposes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from graph.catalogue.model import FITS, REQUIRES_MACHINING, SHIFTS, Catalogue, Edge
from graph.catalogue.terms import JointKind
from graph.derive.chains import list_moves
from graph.derive.costs import NotPriced
from graph.derive.edges import Made, not_whole, pair_name, part_by, told_prices
from graph.derive.joints.record import COMMON_PRACTICE, JointCheck, SizedRemedy
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.made import NO_WINDOW, design_for_work, price_at
from graph.derive.made_places import list_made_places
from graph.derive.made_prices import price_of_work
from graph.derive.measured import Measured
from graph.derive.plates import MILLING, THICKNESS, milled_plate
from graph.derive.room import MOST_SIZES, STEP_UM, Room, room_around, sizes_um, window_of
from graph.derive.signs import signs_of
from graph.fits.model import NM_PER_UM, Amount, CheckResult, Line, Verdict, Work, Working
from graph.lookups.findings import EVIDENCE, PairFinding
from graph.lookups.index import CatalogueIndex
from graph.made.kinds import kind_for_work
from graph.made.model import MadeRefused
from graph.plates.bill import count_own_work
from graph.plates.model import ThicknessWindow

SPARE_UM = 1_000
MOST_SHORT = 4
SIZED_NM = 50_000  # how near such a part comes out, common practice
SIZED_ID = re.compile(r"--sized-(?P<um>\d+)--(?:in|out|cut)$")
MILLED_ID = re.compile(r"--(?P<mm>\d+(?:\.\d+)?)--(?:in|out)$")


def list_sized(
    index: CatalogueIndex,
    measured: Measured,
    findings: Iterable[PairFinding],
    places: Mapping[str, Iterable[str]],
    homes: Mapping[str, str],
    shifts: Iterable[Edge],
    own: frozenset[str] = frozenset(),
) -> Made:
    """Everything made to measure around: milled plates, then spacers and milled pads that may stand beside them."""
    found, plates = list(findings), Made()
    shifts, units = tuple(shifts), sorted(set(homes.values()))
    made: dict[str, set[str]] = {}
    moving = [edge for finding in found for edge in finding.edges if edge.kind == SHIFTS]
    for finding in found:
        if JOINT_CHECKS[finding.joint].plates and finding.made:
            beside = made.setdefault(finding.joint, set())
            beside.update(part.id for part in finding.made)
            if MILLING not in index.catalogue.operation_prices:
                continue
            joint = index.catalogue.joint_kinds[finding.joint]
            room = room_around(
                index, places, units, shifts, dict(zip(joint.between, finding.parts, strict=True)), joint.id, {}
            )
            for um in sizes_um(room.window_um(signs_of(index.catalogue, THICKNESS))):
                milled = milled_plate(index.catalogue, finding, um * NM_PER_UM)
                beside.update(part.id for part in milled.parts)
                plates += milled
    total = plates
    moved = (*shifts, *moving, *plates.edges)
    for check in JOINT_CHECKS.values():
        total += _at_joint(measured, check, places, homes, units, moved, made)

    def room_for(fixed: Mapping[str, str]) -> Room:
        return room_around(index, places, units, moved, fixed, "", made)

    return total + list_made_places(measured, places, homes, own, room_for)


def _at_joint(
    measured: Measured,
    check: JointCheck,
    places: Mapping[str, Iterable[str]],
    homes: Mapping[str, str],
    units: list[str],
    moved: tuple[Edge, ...],
    made: Mapping[str, Iterable[str]],
) -> Made:
    index = measured.index
    joint, remedy = index.catalogue.joint_kinds.get(check.joint), check.remedy
    if joint is None or remedy is None or any(place not in places for place in joint.between):
        return Made()
    if not _may_be_priced(index.catalogue, joint, remedy):
        return Made()
    total = Made()
    for pair in sorted(_pairs(index, joint, remedy, places, homes)):
        fixed = dict(zip(joint.between, pair, strict=True))
        room = room_around(index, places, units, moved, fixed, joint.id, made)
        signs = signs_of(index.catalogue, remedy.quantity)
        for um in _spacer_sizes(index.catalogue, room, remedy):
            window = room.window_with(signs, um) or window_of(room, signs)
            total += sized_remedy(measured, joint, pair, remedy, um, window)[0]
    return total


def _shortest(room: Room, signs: Mapping[str, int], most_um: int) -> tuple[int, ...]:
    """Per combination of parts that wants one, the smallest size with a millimetre to spare where there is room."""
    found = set()
    for window in room.windows(signs):
        if window.low_um is None or window.low_um <= 0:
            continue
        least = -(-window.low_um // STEP_UM) * STEP_UM
        fits = [um for um in (least + SPARE_UM, least) if window.high_um is None or um <= window.high_um]
        found.update(fits[:1])
    return tuple(sorted(um for um in found if um <= most_um))[:MOST_SHORT]


def _pairs(
    index: CatalogueIndex, joint: JointKind, remedy: SizedRemedy, places: Mapping[str, Iterable[str]],
    homes: Mapping[str, str],
) -> set[tuple[str, str]]:  # fmt: skip
    """The pairs that go together as they are. Two that one unit has need no cut, but a spacer may stand between them:
    what moves behind them is another box."""
    first, second = (tuple(places[place]) for place in joint.between)
    pairs = {pair for pair in index.pairs_said(joint.id, first, second) if _joined(index, joint, pair)}
    assembled = {
        (one, other) for one in first for other in second if homes.get(one) and homes.get(one) == homes.get(other)
    }
    return pairs | assembled if remedy.part_kind else pairs - assembled


def _may_be_priced(catalogue: Catalogue, joint: JointKind, remedy: SizedRemedy) -> bool:
    """Has the shop a price for it, or rates that it may go by?"""
    if remedy.operation in catalogue.operation_prices:
        return True
    kind = kind_for_work(joint.id, remedy.operation)
    rates = (kind.blank,) if kind else tuple(one.operation for one in count_own_work(remedy.operation))
    return bool(rates) and all(one in catalogue.operation_prices for one in rates)


def _spacer_sizes(catalogue: Catalogue, room: Room, remedy: SizedRemedy) -> tuple[int, ...]:
    """One for each sum that is outside its limits, so that it comes to their middle; within what all chains allow."""
    signs = signs_of(catalogue, remedy.quantity)
    if remedy.shortest:
        return _shortest(room, signs, remedy.most_um)
    window = room.window_um(signs)
    found = room.centring_um(signs) if window else ()
    within = (um for um in found if window and window[0] <= um <= min(window[1], remedy.most_um))
    return tuple(within)[:MOST_SIZES]


def _joined(index: CatalogueIndex, joint: JointKind, pair: tuple[str, str]) -> bool:
    """Does a note join the two as they are? Then they also go together with something between."""
    return any(one.edge.kind == FITS for one in index.said_of(*pair, joint.id))


def sized_remedy(
    measured: Measured, joint: JointKind, pair: tuple[str, str], remedy: SizedRemedy, um: int,
    window: ThicknessWindow = NO_WINDOW,
) -> tuple[Made, CheckResult]:  # fmt: skip
    """The remedy of one size between two parts, with its working; nothing where it has no price, or a limit forbids it.

    `window`: what the chains leave for its size.
    """
    catalogue = measured.catalogue
    amount = Amount(Fraction(um, 1000), "mm")
    text = remedy.text.format(size=amount)
    work = Work(remedy.operation, joint.label, text, amount, remedy=remedy.part_kind, irreversible=not remedy.part_kind)
    result = _working(catalogue, joint, remedy, work, amount)
    name = f"{pair_name(joint.id, pair)}--sized-{um}"
    made = design_for_work(measured, joint, pair, work, size_nm=um * NM_PER_UM)
    if isinstance(made, MadeRefused):
        return Made(), replace(result, verdict=Verdict.FAILS, summary=f"{result.summary}; {made.text()}")
    try:
        priced = price_of_work(catalogue, work, price_at(measured, joint, pair, um * NM_PER_UM, window))
    except NotPriced:
        return Made(), result

    def edge(place: str, ends: tuple[str, str], kind: str, confirm: tuple[str, ...]) -> Edge:
        return Edge(
            id=f"{name}--{place}", kind=kind, source=ends[0], target=ends[1], joint=joint.id, evidence=EVIDENCE,
            reason=f"computed: {result.summary}", to_confirm=confirm, caution=" ".join(result.cautions),
        )  # fmt: skip

    if remedy.part_kind:
        part = part_by(catalogue, f"{name}--part", remedy.part_kind, work, priced)
        into = edge("in", (pair[0], part.id), FITS, remedy.to_confirm)
        if priced.lacks:
            into = not_whole(into, priced)
        edges = [into, _onto_own(remedy, edge("out", (part.id, pair[1]), FITS, ()))]
        return Made((*edges, *_moves(catalogue, part.id, remedy, um)), (part,)), result
    cost = priced.cost
    cut = replace(
        edge("cut", pair, REQUIRES_MACHINING, remedy.to_confirm),
        reason="; ".join(filter(None, (f"computed: {result.summary}", told_prices(priced.lines)))),
        operations=(text,), irreversible=True,
        cash_hundredths=cost.cash_hundredths, hours_hundredths=cost.hours_hundredths, days=cost.days, tasks=cost.tasks,
    )  # fmt: skip
    return Made((cut, *_moves(catalogue, cut.id, remedy, um))), result


def _onto_own(remedy: SizedRemedy, edge: Edge) -> Edge:
    """The edge to the second part, with what is done to it; its price is the made part's."""
    if not remedy.own_work:
        return edge
    return replace(
        edge, kind=REQUIRES_MACHINING, operations=(remedy.own_work,), irreversible=True, cash_hundredths=0,
        hours_hundredths=0,
    )  # fmt: skip


def _moves(catalogue: Catalogue, source: str, remedy: SizedRemedy, um: int) -> tuple[Edge, ...]:
    label = catalogue.quantities[remedy.quantity].label
    return list_moves(
        catalogue, source, remedy.quantity, um * NM_PER_UM, EVIDENCE, uncertainty_nm=SIZED_NM, reason=label
    )


def _working(catalogue: Catalogue, joint: JointKind, remedy: SizedRemedy, work: Work, amount: Amount) -> CheckResult:
    lines = tuple(
        Line(catalogue.chain_kinds[chain].label, "+ size" if sign > 0 else "- size", str(amount),
             f"{'+' if sign > 0 else '-'}{amount}", f"geometry; sized from the length chains, {COMMON_PRACTICE}")
        for chain, sign in signs_of(catalogue, remedy.quantity).items() if chain in catalogue.chain_kinds
    )  # fmt: skip
    return CheckResult(
        joint=joint.label, verdict=Verdict.HOLDS_WITH_WORK, summary=work.text, binding="length chains", work=(work,),
        choices=((work,),), working=Working(lines), evidence_rank=9,
        cautions=("Prove the length chains with depth readings before anything is cut or ordered.",),
    )  # fmt: skip


def find_sized(measured: Measured, finding: PairFinding, edge_id: str) -> tuple[Edge, CheckResult] | None:
    """The made-to-measure edge that an id names between the finding's parts, with its working."""
    sized, milled = SIZED_ID.search(edge_id), MILLED_ID.search(edge_id)
    made, result, catalogue = Made(), finding.result, measured.catalogue
    if sized:
        remedy = JOINT_CHECKS[finding.joint].remedy
        if remedy is None:
            return None
        joint = catalogue.joint_kinds[finding.joint]
        made, result = sized_remedy(measured, joint, finding.parts, remedy, int(sized["um"]))
    elif milled and JOINT_CHECKS[finding.joint].plates and finding.made:
        made = milled_plate(catalogue, finding, int(Fraction(milled["mm"]) * 1_000_000))
    found = next((edge for edge in made.edges if edge.id == edge_id), None)
    return None if found is None or result is None else (found, result)
