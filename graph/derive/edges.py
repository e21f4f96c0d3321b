"""From a check's result to edges: *fits*, *requires machining*, *fits through* a part to be made, *does not fit*.

A result that holds after any one of several remedies gives one edge for each, so that the search may choose. A remedy
that is a part (sleeve, bush, ring) and may stand inside the joint becomes a part with its price, and two edges.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

from graph.catalogue.model import DOES_NOT_FIT, FITS, REQUIRES_MACHINING, Catalogue, Edge, Part
from graph.catalogue.terms import JointKind
from graph.derive.costs import Cost, NotPriced
from graph.derive.made_prices import PriceOf, WorkPrice, cost_of_works, no_rates, price_of_work, price_works
from graph.fits.model import NM_PER_UM, WORST_EVIDENCE, CheckResult, Work
from graph.lookups.findings import COMPUTED, DISPUTED_EVIDENCE, EVIDENCE

MOST_CHOICES = 4
FROM_RATES = "priced from the shop's rates: "
REMEDY_KINDS: Mapping[str, tuple[str, ...]] = {
    "sleeve": ("bearing-sleeve", "pilot-sleeve"),
    "bush": ("bush",),
    "shim ring": ("shim",),
    "adapter plate": ("adapter-plate",),
}


@dataclass(frozen=True, slots=True)
class Made:
    """Edges of one pair with the parts to be made for them, and which result stands behind each edge."""

    edges: tuple[Edge, ...] = ()
    parts: tuple[Part, ...] = ()

    def __add__(self, other: Made) -> Made:
        return Made(self.edges + other.edges, self.parts + other.parts)


def pair_name(joint: str, parts: Sequence[str]) -> str:
    """The stem of the ids of all that is computed of a pair."""
    return f"{COMPUTED}{joint}--{'--'.join(parts)}"


def choices_of(result: CheckResult) -> tuple[tuple[Work, ...], ...]:
    """Lists of work, any one of which closes the joint; of a combined result one choice of each part."""
    if result.choices:
        return result.choices[:MOST_CHOICES]
    parts = [choices_of(part) for part in result.parts if part.work]
    if parts:
        mixed = (tuple(work for choice in picked for work in choice) for picked in product(*parts))
        return tuple(islice(mixed, MOST_CHOICES))
    return (result.work,) if result.work else ()


def edges_of(
    catalogue: Catalogue, joint: JointKind, parts: tuple[str, str], result: CheckResult, to_confirm: tuple[str, ...],
    price_of: PriceOf = no_rates,
) -> Made:  # fmt: skip
    """The edges for a result that holds, with or without work. Raises NotPriced where no choice can be priced.

    `price_of`: what of the work goes by the shop's rates.
    """
    name = pair_name(joint.id, parts)
    choices = choices_of(result)
    if not choices:
        return Made((_edge(name, FITS, parts, joint, result, Cost(), (), to_confirm),))
    made = Made()
    refused: NotPriced | None = None
    for number, works in enumerate(choices, start=1):
        try:
            made += _after_work(catalogue, joint, parts, result, works, f"{name}--{number}", to_confirm, price_of)
        except NotPriced as error:  # another choice may still be priced
            refused = refused or error
    if refused is not None and not made.edges:
        raise refused
    return made


def against(joint: JointKind, parts: tuple[str, str], result: CheckResult) -> Edge:
    """The *does not fit* edge of a result that fails, with the miss where it is a length."""
    miss = None
    if result.margin is not None and result.margin.unit == "mm" and result.margin.value < 0:
        miss = round(-result.margin.value * 1000)
    name = pair_name(joint.id, parts)
    return Edge(
        id=f"{name}--not", kind=DOES_NOT_FIT, source=parts[0], target=parts[1], joint=joint.id,
        reason=f"computed: {result.summary}", miss_um=miss, evidence=level_of(result),
    )  # fmt: skip


def level_of(result: CheckResult) -> str:
    """Calculated: never better than the weakest input, so a disputed input makes a disputed edge."""
    return DISPUTED_EVIDENCE if result.evidence_rank > WORST_EVIDENCE else EVIDENCE


def _after_work(
    catalogue: Catalogue,
    joint: JointKind,
    parts: tuple[str, str],
    result: CheckResult,
    works: tuple[Work, ...],
    name: str,
    to_confirm: tuple[str, ...],
    price_of: PriceOf,
) -> Made:
    inside = next(((work, kind) for work in works if (kind := _kind_inside(joint, work))), None)
    if inside is None:
        cost = cost_of_works(catalogue, works, price_of)
        edge = _edge(name, REQUIRES_MACHINING, parts, joint, result, cost, works, to_confirm)
        return Made((_with_told(edge, catalogue, works, price_of),))
    work, kind = inside
    part = made_part(catalogue, f"{name}--{kind}", kind, work, price_of=price_of)
    rest = tuple(other for other in works if other is not work)
    kind_in = REQUIRES_MACHINING if rest else FITS
    cost = cost_of_works(catalogue, rest, price_of)
    into = _edge(f"{name}--in", kind_in, (parts[0], part.id), joint, result, cost, rest, to_confirm)
    into = _with_told(into, catalogue, rest, price_of)
    out = _edge(f"{name}--out", FITS, (part.id, parts[1]), joint, result, Cost(), (), ())
    return Made((into, out), (part,))


def _kind_inside(joint: JointKind, work: Work) -> str:
    return next((kind for kind in REMEDY_KINDS.get(work.remedy, ()) if kind in joint.via_kinds), "")


def made_part(
    catalogue: Catalogue, id: str, kind: str, work: Work, label: str = "", price_of: PriceOf = no_rates
) -> Part:
    """A part to be made, priced by the rates or its operation. Raises NotPriced, also where some is unknown."""
    priced = price_of_work(catalogue, work, price_of)
    if priced.lacks:
        raise NotPriced(work.operation)
    return part_by(catalogue, id, kind, work, priced, label)


def part_by(catalogue: Catalogue, id: str, kind: str, work: Work, priced: WorkPrice, label: str = "") -> Part:
    """The part at a price that is known, with what it is made to and which size was taken."""
    cost, design = priced.cost, priced.design
    sizes = ", ".join(one.text() for one in design.sizes) if design else ""
    made = ("" if sizes in work.text else sizes, design.chosen_text()) if design else ()
    known = catalogue.part_kinds.get(kind)
    amount = f", {work.amount}" if work.amount is not None else ""
    return Part(
        id=id, label=label or f"{(known.label if known else kind).capitalize()}{amount}, made", kind=kind,
        condition="new", cash_hundredths=cost.cash_hundredths, days=cost.days, hours_hundredths=cost.hours_hundredths,
        tasks=cost.tasks, to_confirm=(work.text, *filter(None, made)), price_source=told_prices(priced.lines),
    )  # fmt: skip


def told_prices(lines: Sequence[str]) -> str:
    """How a price by the rates is told: every line of it. The shop wrote them itself: there is nothing to confirm."""
    return f"{FROM_RATES}{'; '.join(lines)}" if lines else ""


def _with_told(edge: Edge, catalogue: Catalogue, works: Iterable[Work], price_of: PriceOf) -> Edge:
    """The edge with every line of what of its work goes by the rates, and what is made to."""
    told: list[str] = []
    lines: list[str] = []
    for _, priced in price_works(catalogue, works, price_of):
        told += [", ".join(one.text() for one in priced.design.sizes)] if priced.design else []
        lines += priced.lines
    reason = "; ".join(filter(None, (edge.reason, told_prices(lines))))
    return replace(edge, to_confirm=(*edge.to_confirm, *told), reason=reason) if told or lines else edge


def not_whole(edge: Edge, priced: WorkPrice) -> Edge:
    """The edge into a part of which something is still to be measured: what it costs besides nobody can say."""
    work = f"make it once these are known: {'; '.join(priced.lacks)}"
    return replace(edge, kind=REQUIRES_MACHINING, operations=(work,), cash_hundredths=None, hours_hundredths=None)


def _edge(
    name: str,
    kind: str,
    ends: tuple[str, str],
    joint: JointKind,
    result: CheckResult,
    cost: Cost,
    works: Iterable[Work],
    to_confirm: tuple[str, ...],
) -> Edge:
    works = tuple(works)
    return Edge(
        id=name, kind=kind, source=ends[0], target=ends[1], joint=joint.id,
        cash_hundredths=cost.cash_hundredths, hours_hundredths=cost.hours_hundredths, days=cost.days, tasks=cost.tasks,
        operations=tuple(work.text for work in works), irreversible=any(work.irreversible for work in works),
        check_when_fitted=to_confirm, reason=f"computed: {result.summary}", caution=" ".join(result.cautions),
        evidence=level_of(result),
    )  # fmt: skip


def to_um(nm: int) -> int:
    """Whole micrometres, as chains count."""
    return round(nm / NM_PER_UM)
