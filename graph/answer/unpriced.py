"""Parts that were left out because nobody has priced them, and below which price each would win.

What has no price is in no route, so "proven" is said of the rest. Each such part is tried at no price at all: where the
cheapest route then costs less than the one proven, the difference is what its price would have to stay below.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.answer.assumed import told_shortly
from graph.answer.status import ON_WHAT_IS_KNOWN, PROVEN, WeighedDocument, worth_of
from graph.answer.words import money
from graph.conversion.known import hoped_for
from graph.lookups.index import CatalogueIndex
from graph.reading import Reading, read_conversion
from graph.reading.model import NO_PRICE, PART_NEEDED
from graph.search.order import JUST_THE_BEST, OutOfTime, Search, SearchOrder

MOST_TRIED = 6  # one by one; of more it is said that they might win, not which
OF_HOURS = "hours"  # the objective that sees no price


@dataclass(frozen=True, slots=True)
class LeftUnpriced:
    """Parts without a price that would win below one. `below`: in currency units, of all of them together; None: not
    found out in time."""

    parts: tuple[str, ...]
    below: Fraction | None


def list_left_unpriced(
    index: CatalogueIndex, reading: Reading, weighed: WeighedDocument, order: SearchOrder, search: Search
) -> tuple[LeftUnpriced, ...]:
    """The parts left out for want of a price with which a cheaper route would be there than without, each by itself;
    those that would win only together stand together. Doubts hold in either. `order`: its seconds are those left.
    """
    named = tuple(dict.fromkeys(out.what for out in reading.left_out if out.reason == NO_PRICE))
    if not named or weighed.status not in (PROVEN, ON_WHAT_IS_KNOWN) or order.objective == OF_HOURS:
        return ()
    trial = _Trial(index, reading, weighed, order, search)
    together = trial.saved(named)
    if together is None:
        return (LeftUnpriced(named, None),)
    if together <= 0:
        return ()
    alone = [(part, trial.saved((part,))) for part in named[:MOST_TRIED]] if len(named) > 1 else [(named[0], together)]
    found = tuple(LeftUnpriced((part,), saved) for part, saved in alone if saved is None or saved > 0)
    return found or (LeftUnpriced(named, together),)


def with_left_unpriced(weighed: WeighedDocument, found: Iterable[LeftUnpriced]) -> WeighedDocument:
    """What the answer is worth where such parts are there: proven on what is known only."""
    if weighed.status == PROVEN and any(found):
        return replace(weighed, status=ON_WHAT_IS_KNOWN)
    return weighed


def words_of(reading: Reading, weighed: WeighedDocument, found: Iterable[LeftUnpriced]) -> tuple[str, ...]:
    """One sentence for each, which says that the part is in no route and what its price would have to be."""
    rest = "any other, if what is assumed holds" if weighed.beside else "route 1"
    return tuple(_words(reading, one, rest) for one in found)


def _words(reading: Reading, one: LeftUnpriced, rest: str) -> str:
    known, places = reading.catalogue.parts, reading.catalogue.position_kinds
    labels = [known[name].label if name in known else f"{places[name].label} to suit" for name in one.parts]
    it = "it" if len(labels) == 1 else "them"
    told = f"{told_shortly(labels)}: in no route, for nobody has priced {it}"
    if one.below is None:
        return f"{told}; whether one with {it} would be cheaper was not found out in time."
    together = "" if len(labels) == 1 else " together"
    below = money(one.below, reading.catalogue.currency)
    return f"{told}; below {below}{together} a route with {it} is cheaper than {rest}."


class _Trial:
    """The question asked again with some of the parts at no price."""

    def __init__(
        self, index: CatalogueIndex, reading: Reading, weighed: WeighedDocument, order: SearchOrder, search: Search
    ):  # fmt: skip
        self._index, self._reading, self._search = index, reading, search
        self._order = replace(JUST_THE_BEST, objective=order.objective, memory_mb=order.memory_mb)
        self._stop_at = None if order.seconds is None else time.monotonic() + order.seconds
        self._without = worth_of(weighed.shown.routes[0], order.objective)
        self._is_proven = weighed.beside is None

    def saved(self, names: Iterable[str]) -> Fraction | None:
        """How much cheaper the best route is with these at no price; None: not found out in time."""
        wanted = frozenset(names)
        tried = read_conversion(self._index, self._reading.question, unpriced=wanted)
        if tried.open_joints or wanted.isdisjoint(_parts_in(tried)):
            return Fraction(0)
        if not self._is_proven:
            least = self._least(self._reading)
            if least is None:
                return None
            self._without, self._is_proven = least, True
        least = self._least(tried)
        return None if least is None else self._without - least

    def _least(self, reading: Reading) -> Fraction | None:
        left = None if self._stop_at is None else self._stop_at - time.monotonic()
        if left is not None and left <= 0:
            return None
        try:
            found = self._search(hoped_for(reading.conversion), replace(self._order, seconds=left))
        except OutOfTime:
            return None
        done = bool(found.routes) and not found.gap
        return worth_of(found.routes[0], self._order.objective) if done else None


def _parts_in(reading: Reading) -> set[str]:
    """The parts, and places with a part to suit, that a route may have."""
    found = {link for joint in reading.conversion.joints for one in joint.links for link in one.via}
    for position in reading.conversion.positions:
        found.update(one.part for one in position.candidates)
        supposed = (reading.candidates[one.id].how == PART_NEEDED for one in position.candidates)
        found.update((position.id,) if any(supposed) else ())
    return found
