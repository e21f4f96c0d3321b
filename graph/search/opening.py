"""Which tasks are worth doing on purpose, to lay faults open before they come back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import reduce
from operator import or_
from typing import NamedTuple

FEW = 4  # reaches of which all sets are tried


class Hidden(NamedTuple):
    """What a closed set of tasks lays open, and the odds that it is there."""

    reach: int
    odds: Fraction | float


def worth_opening(
    required: int, hidden: Sequence[Hidden], money: Callable[[int], int], check: Callable[[], None]
) -> set[int]:
    """What is required, and with it every union of reaches that may be better, whatever the ties.

    `money`: of tasks, given as bits; `check` is called now and then.
    """
    hidden = [one for one in hidden if one.reach & ~required]  # each an object of its own
    if len(hidden) <= FEW:
        return _unions(required, hidden)
    made: set[int] = set()
    waiting = [(required, hidden)]
    while waiting:
        check()
        done, left = waiting.pop()
        left = _paying(done, left, hidden, money)
        if len(left) <= FEW:
            made |= _unions(done, left)
            continue
        first, rest = left[0], left[1:]
        waiting.append((done, rest))
        opened = done | first.reach
        waiting.append((opened, [one for one in rest if one.reach & ~opened]))
    return made


def _unions(required: int, hidden: Sequence[Hidden]) -> set[int]:
    sets = {required}
    for one in hidden:
        if one.reach & ~required:
            sets |= {done | one.reach for done in sets}
    return sets


def _paying(done: int, left: list[Hidden], hidden: Sequence[Hidden], money: Callable[[int], int]) -> list[Hidden]:
    """Without those that never pay for being laid open, even where all others are.

    That is so where it costs no less, besides what others open, than all that can come to light only with it could
    bring back: itself, and of those already left out each that it helps to open. Without it the total is no higher
    and less is done, so ties go against it as well.
    """
    left, out = list(left), [one for one in hidden if not any(one is other for other in left)]
    before = None
    while before != len(left):
        before = len(left)
        for one in tuple(left):
            others = reduce(or_, (other.reach for other in left if other is not one), done)
            opened, mine = others | one.reach, one.reach & ~done
            shown = [one, *(each for each in out if each.reach & mine and not each.reach & ~opened)]
            if sum(money(each.reach) * each.odds for each in shown) <= money(one.reach & ~others):
                left = [other for other in left if other is not one]
                out.append(one)
    return left
