"""Where the expected cost of each route goes, as stacked bars: told apart by pattern and by words, not by colour alone.

The bars are SVG without script; the same amounts stand as text beside them, so nobody needs to see the picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.answer import words
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.sums import BOTH, FAULTS, added_label, amount_of, hope_of, left_out, no_average

WIDTH = 1000  # units of the drawing
LEAST_SHOWN = 2  # a share that is not nothing can always be seen


@dataclass(frozen=True, slots=True)
class Share:
    """One part of a bar: its `kind` (the name of its pattern), its `label`, its `amount` in words, `x` and `width`."""

    kind: str
    label: str
    amount: str
    x: int
    width: int


@dataclass(frozen=True, slots=True)
class Bar:
    """One route's bar: its `label`, its `total` in words, its `shares`; `nine`: what nine in ten such jobs stay below,
    at `nine_x`, or why that is not told; `has_nine`: it is told.

    `words`: the whole bar as a sentence.
    """

    label: str
    total: str
    shares: tuple[Share, ...]
    nine_x: int
    nine: str
    words: str
    has_nine: bool = True


@dataclass(frozen=True, slots=True)
class Bars:
    """All `bars` on one scale of `width` units; `kinds`: what the patterns mean."""

    bars: tuple[Bar, ...]
    kinds: tuple[tuple[str, str], ...]
    width: int


KINDS = (("parts", "parts"), ("sublet", "work sent out"), ("bench", "own hours"), ("faults", FAULTS))


def cost_bars(answer: Answer) -> Bars:
    """The bars of all routes, on the scale of the longest."""
    longest = max((max(route.expected, route.p90) for route in answer.routes), default=Fraction(0)) or Fraction(1)
    added = {added_label(route) for route in answer.routes if route.split.likely_faults}
    kinds = (*KINDS[:-1], (KINDS[-1][0], BOTH if len(added) > 1 else next(iter(added), FAULTS)))
    return Bars(tuple(_bar(answer, route, longest) for route in answer.routes), kinds, WIDTH)


def _bar(answer: Answer, route: AnsweredRoute, longest: Fraction) -> Bar:
    split = route.split
    amounts = (split.parts, split.sublet, split.bench, split.likely_faults)
    shares, reached = [], Fraction(0)
    kinds = (*KINDS[:-1], (KINDS[-1][0], added_label(route)))
    for (kind, label), amount in zip(kinds, amounts, strict=True):
        x, end = _place(reached, longest), _place(reached + amount, longest)
        reached += amount
        if amount:
            width = max(end - x, LEAST_SHOWN)
            shares.append(Share(kind, label, words.money(amount, answer.currency), x, width))
    told = words.listed([f"{share.label} {share.amount}" for share in shares]) or "nothing"
    why, without = no_average(route), left_out(route)
    expected = amount_of(route, route.expected, answer.currency, answer.rate_stated)
    most = words.priced(route.p90, route.hours_hundredths, answer.currency, answer.rate_stated)
    total, nine = f"{expected}{'' if why else without}", f"{hope_of(route)}{most}{without}"
    sentence = f"Route {route.rank}: {total} expected: {told}. Nine in ten such jobs cost at most {nine}."
    if why:
        nine, sentence = why, f"Route {route.rank}: {total}: {told}; {why}."
    return Bar(f"Route {route.rank}", total, tuple(shares), _place(route.p90, longest), nine, sentence, not why)


def _place(amount: Fraction, longest: Fraction) -> int:
    return int(amount * WIDTH / longest)
