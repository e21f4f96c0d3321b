"""How surely a dimension stays within its limits: the uncertainty of the lengths that a route adds up.

Each *shifts* edge may say how far its true value can lie from the stated one, either way. Worst case: these add;
root-sum-square (RSS): they add as squares, for independent readings (the one-dimensional tolerance chain, as in
graph/fits/stack.py). The search keeps to the stated values; what the worst case breaks is said to be unknown, not
passed. A length without a stated uncertainty counts as exact, and is counted aloud.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isqrt

from graph.answer import words
from graph.answer.ground import Ground
from graph.catalogue.model import SHIFTS, Edge
from graph.search.result import Route

THIN_MARGIN_UM = 1000  # common practice: under 1 mm, measure again before cutting
MOST_NAMED = 3
HOLDS, UNSURE, NOT_KNOWN = "holds", "unknown", "not known"


@dataclass(frozen=True, slots=True)
class LengthsInDoubt:
    """What is uncertain of one dimension. `stated`, `silent`: lengths with a stated uncertainty and without.

    `again`: the least certain lengths, in words: what to read again first.
    """

    worst_um: int = 0
    rss_um: int = 0
    stated: int = 0
    silent: int = 0
    again: tuple[str, ...] = ()


EXACT = LengthsInDoubt()


def doubts_of(ground: Ground, route: Route) -> dict[str, LengthsInDoubt]:
    """Per chain, the doubt in the sum of the route's lengths; empty for a document that came without its reading."""
    if ground.reading is None:
        return {}
    edges: dict[str, dict[str, Edge]] = {}
    for edge in _shifts(ground, route):
        if edge.kind == SHIFTS and (edge.shift_um or edge.uncertainty_um):
            edges.setdefault(edge.target, {})[edge.id] = edge
    return {chain: doubt_of(ground, tuple(found.values())) for chain, found in edges.items()}


def _shifts(ground: Ground, route: Route) -> Iterable[Edge]:
    assert ground.reading is not None
    yield from ground.reading.standing_shifts
    for choice in route.picks.values():
        origin = ground.reading.candidates.get(choice)
        yield from origin.shifts if origin else ()
    for choice in route.links.values():
        link = ground.reading.links.get(choice)
        yield from link.shifts if link else ()


def doubt_of(ground: Ground, edges: tuple[Edge, ...]) -> LengthsInDoubt:
    """What is uncertain of the sum of these lengths."""
    stated = [edge for edge in edges if edge.uncertainty_um is not None]
    spreads = [edge.uncertainty_um or 0 for edge in stated]
    widest = max(spreads, default=0)
    again = [_name(ground, edge) for edge in stated if widest and edge.uncertainty_um == widest]
    return LengthsInDoubt(
        worst_um=sum(spreads), rss_um=_root(sum(spread * spread for spread in spreads)), stated=len(stated),
        silent=len(edges) - len(stated), again=tuple(sorted(dict.fromkeys(again))[:MOST_NAMED]),
    )  # fmt: skip


def _name(ground: Ground, edge: Edge) -> str:
    if edge.reason:
        return edge.reason
    chain = ground.catalogue.chain_kinds.get(edge.target)
    source = ground.catalogue.parts.get(edge.source)
    return f"{source.label if source else edge.source} ({chain.label if chain else edge.target})"


def _root(square: int) -> int:
    """The square root, rounded up: doubt is never understated."""
    root = isqrt(square)
    return root + (root * root < square)


def verdict_of(margin_um: int | None, doubt: LengthsInDoubt) -> str:
    """Whether the limits hold even in the worst case."""
    return UNSURE if margin_um is not None and doubt.worst_um > margin_um else HOLDS


def margin_words(margin_um: int | None, doubt: LengthsInDoubt) -> str:
    """The margin with what the uncertainty leaves of it; empty where nothing limits the dimension.

    >>> margin_words(1000, LengthsInDoubt(600, 300, 4, 0, ("bearing depth",)))
    '; margin 1.0 mm; worst case 0.6 mm either way leaves 0.4 mm, RSS 0.3 mm leaves 0.7 mm \
(thin margin: re-measure bearing depth)'
    """
    if margin_um is None:
        return ""
    text = f"; margin {words.millimetres(margin_um)}"
    if not doubt.stated:
        text += "; worst case and RSS not known, no length states its uncertainty"
        return text + (" (thin: measure again before cutting)" if margin_um < THIN_MARGIN_UM else "")
    text += (
        f"; worst case {words.millimetres(doubt.worst_um)} either way leaves"
        f" {words.millimetres(margin_um - doubt.worst_um)}, RSS {words.millimetres(doubt.rss_um)} leaves"
        f" {words.millimetres(margin_um - doubt.rss_um)}"
    )
    if doubt.silent:
        text += f" ({doubt.silent} of {doubt.stated + doubt.silent} lengths without a stated uncertainty)"
    return text + _advice(margin_um, doubt)


def _advice(margin_um: int, doubt: LengthsInDoubt) -> str:
    again = words.listed(doubt.again)
    if verdict_of(margin_um, doubt) == UNSURE:
        return f" (unknown: measure {again} again)"
    return f" (thin margin: re-measure {again or 'before cutting'})" if is_thin(margin_um, doubt) else ""


def is_thin(margin_um: int, doubt: LengthsInDoubt) -> bool:
    """Whether the worst case leaves less than a millimetre, or less than the uncertainty that it has already taken."""
    left = margin_um - doubt.worst_um
    return left < THIN_MARGIN_UM or left < doubt.worst_um


def how_surely(margin_um: int | None, doubt: LengthsInDoubt) -> str:
    """How surely the limits are kept: no limit, holds, thin, or not known. As stated where any length of the sum is
    silent about how far off it may be: those that speak vouch for themselves only.

    >>> how_surely(None, EXACT), how_surely(0, EXACT), how_surely(5000, EXACT)
    ('no limit', 'thin: measure again', 'holds as stated')
    >>> how_surely(9000, LengthsInDoubt(100, 100, 1))
    'holds'
    >>> how_surely(9000, LengthsInDoubt(100, 100, 1, silent=3))
    'holds as stated'
    """
    if margin_um is None:
        return "no limit"
    if verdict_of(margin_um, doubt) == UNSURE:
        return "not sure: measure again"
    if is_thin(margin_um, doubt):
        return "thin: measure again"
    return "holds" if doubt.stated and not doubt.silent else "holds as stated"


def to_confirm(label: str, margin_um: int | None, doubt: LengthsInDoubt) -> str:
    """What to make sure of before money is spent; empty where the margin is wide, unlimited or without doubt."""
    if margin_um is None or not doubt.worst_um:
        return ""
    left = margin_um - doubt.worst_um
    again = words.listed(doubt.again)
    if left < 0:
        return f"{label}: the worst case is {words.millimetres(-left)} outside its limit; measure {again} again"
    if is_thin(margin_um, doubt):
        return f"{label}: thin margin, {words.millimetres(left)} left in the worst case; re-measure {again}"
    return ""
