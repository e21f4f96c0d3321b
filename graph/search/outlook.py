"""What is supposed of the faults while routes are compared: their odds, which are due, which tasks stand open.

The best route as things stand is one outlook; what a look may find is another.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from graph.search.compiled import Compiled

Odds = tuple[Fraction, ...]


class Outlook(NamedTuple):
    """`odds` by fault, in order of their ids. As bits of faults: `due`, those known to have failed, which are put
    right before the job is closed; `shown`, those that laying open tells. `opened`: bits of tasks done already, closed.
    """

    odds: Odds
    due: int
    shown: int
    opened: int = 0

    def with_odds(self, fault: int, chance: Fraction) -> Outlook:
        """The same with other odds of one fault, and nothing more or less due: of a doubt, the limit towards 1."""
        return self._replace(odds=(*self.odds[:fault], chance, *self.odds[fault + 1 :]))

    def not_due(self, fault: int) -> Outlook:
        """The same with this fault left to chance."""
        return self._replace(due=self.due & ~(1 << fault))


def suppose(compiled: Compiled, odds: Odds, opened: int = 0) -> Outlook:
    """The outlook for these odds: doubts of odds 1 are due."""
    due = shown = 0
    for place, (worn, chance) in enumerate(zip(compiled.worn, odds, strict=True)):
        due |= (bool(worn.fault.on) and chance == 1) << place
        shown |= worn.fault.shows << place
    return Outlook(odds, due, shown, opened)


def suppose_leniently(compiled: Compiled, odds: Odds) -> Outlook:
    """An outlook in which no route costs more than in `suppose`, whether or not what has failed is known by then.

    A doubt of odds 1 may be laid open and put right, or be left to come back, whichever is cheaper; those that the
    document states as due stay due.
    """
    known, surely = suppose(compiled, odds), stated(compiled).due
    return known._replace(due=known.due & surely, shown=known.shown | known.due & ~surely)


def stated(compiled: Compiled) -> Outlook:
    """The outlook that the document states."""
    return suppose(compiled, tuple(worn.odds for worn in compiled.worn))


def nothing(compiled: Compiled, opened: int) -> Outlook:
    """The outlook in which no fault can be there."""
    return suppose(compiled, (Fraction(0),) * len(compiled.worn), opened)


def anything(compiled: Compiled, opened: int) -> Outlook:
    """One for the task sets of all outlooks: whatever shows, or may turn out to be due, may be laid open."""
    certain = suppose(compiled, (Fraction(1),) * len(compiled.worn), opened)
    return certain._replace(shown=certain.shown | certain.due)
