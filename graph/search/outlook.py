"""What is supposed of the faults while routes are compared: their odds, which are due, which tasks stand open.

The best route as things stand is one outlook; what a look may find is another. Faults with a common cause are
independent in each of its `worlds` (the cause is there, or it is not), and what is found of one tells of the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from graph.conversion.causes import states_of
from graph.search.compiled import Compiled

Odds = tuple[Fraction, ...]


class World(NamedTuple):
    """One state of all common causes: how likely it is, and the odds of every fault in it, in order of their ids."""

    chance: Fraction
    odds: Odds


class Outlook(NamedTuple):
    """`odds` by fault, in order of their ids. As bits of faults: `due`, those known to have failed, which are put
    right before the job is closed; `shown`, those that laying open tells. `opened`: bits of tasks done already, closed.
    `worlds`: the states of common causes, none where no two faults are tied; `odds` are then the averages over them.
    """

    odds: Odds
    due: int
    shown: int
    opened: int = 0
    worlds: tuple[World, ...] = ()

    def with_odds(self, fault: int, chance: Fraction) -> Outlook:
        """The same with other odds of one fault, and nothing more or less due: of a doubt, the limit towards 1.

        Where the fault is tied to others, what is known of these given its state stays (Jeffrey's rule; at 0 and 1,
        Bayes'). So what a route costs stays a straight line in the odds.
        """
        worlds = _told_apart([_moved(world, fault, self.odds[fault], chance) for world in self.each_world()])
        return self._replace(odds=_averages(worlds), worlds=worlds if len(worlds) > 1 else ())

    def without(self, faults: Sequence[int]) -> Outlook:
        """The same with these faults never there; nothing is learnt from that of the others."""
        gone = frozenset(faults)

        def rest(odds: Odds) -> Odds:
            return tuple(Fraction(0) if place in gone else one for place, one in enumerate(odds))

        worlds = tuple(world._replace(odds=rest(world.odds)) for world in self.worlds)
        return self._replace(odds=rest(self.odds), worlds=worlds)

    def each_world(self) -> tuple[World, ...]:
        """The worlds; one where no faults are tied."""
        return self.worlds or (World(Fraction(1), self.odds),)

    def not_due(self, fault: int) -> Outlook:
        """The same with this fault left to chance."""
        return self._replace(due=self.due & ~(1 << fault))


def _moved(world: World, fault: int, before: Fraction, chance: Fraction) -> World:
    """The world once the fault's odds over all worlds are `chance` instead of `before`."""
    own = world.odds[fault]
    if before in (0, 1):  # it is the same in every world
        return world._replace(odds=(*world.odds[:fault], chance, *world.odds[fault + 1 :]))
    failed, sound = world.chance * own / before * chance, world.chance * (1 - own) / (1 - before) * (1 - chance)
    if not failed + sound:
        return World(Fraction(0), world.odds)
    return World(failed + sound, (*world.odds[:fault], failed / (failed + sound), *world.odds[fault + 1 :]))


def _told_apart(worlds: Sequence[World]) -> tuple[World, ...]:
    """Those that can be, alike ones as one."""
    chances: dict[Odds, Fraction] = {}
    for world in worlds:
        if world.chance:
            chances[world.odds] = chances.get(world.odds, Fraction(0)) + world.chance
    return tuple(World(chance, odds) for odds, chance in chances.items())


def _averages(worlds: Sequence[World]) -> Odds:
    count = len(worlds[0].odds)
    return tuple(sum((one.chance * one.odds[place] for one in worlds), Fraction(0)) for place in range(count))


def suppose(compiled: Compiled, odds: Odds, opened: int = 0, worlds: tuple[World, ...] = ()) -> Outlook:
    """The outlook for these odds: doubts of odds 1 are due."""
    due = shown = 0
    for place, (worn, chance) in enumerate(zip(compiled.worn, odds, strict=True)):
        due |= (bool(worn.fault.on) and chance == 1) << place
        shown |= worn.fault.shows << place
    return Outlook(odds, due, shown, opened, worlds)


def suppose_known(compiled: Compiled, outlook: Outlook, known: Mapping[int, Fraction], opened: int = 0) -> Outlook:
    """The outlook once these odds, by place of the fault, are known: what is tied to them moves with them."""
    for fault, chance in known.items():
        outlook = outlook.with_odds(fault, chance)
    return suppose(compiled, outlook.odds, opened, outlook.worlds)


def suppose_leniently(compiled: Compiled, odds: Odds) -> Outlook:
    """An outlook in which no route costs more than in `suppose`, whether or not what has failed is known by then.

    A doubt of odds 1 may be laid open and put right, or be left to come back, whichever is cheaper; those that the
    document states as due stay due.
    """
    known, surely = suppose(compiled, odds), stated(compiled).due
    return known._replace(due=known.due & surely, shown=known.shown | known.due & ~surely)


def stated(compiled: Compiled) -> Outlook:
    """The outlook that the document states."""
    return suppose(compiled, tuple(worn.odds for worn in compiled.worn), 0, _worlds(compiled))


def _worlds(compiled: Compiled) -> tuple[World, ...]:
    """Every state of the document's common causes, in the order of their ids."""
    odds = {worn.fault.id: worn.odds for worn in compiled.worn}
    states = states_of(compiled.conversion.causes, odds)
    worlds = _told_apart([World(one.chance, tuple(one.odds[fault] for fault in odds)) for one in states])
    return worlds if len(worlds) > 1 else ()


def nothing(compiled: Compiled, opened: int) -> Outlook:
    """The outlook in which no fault can be there."""
    return suppose(compiled, (Fraction(0),) * len(compiled.worn), opened)


def anything(compiled: Compiled, opened: int) -> Outlook:
    """One for the task sets of all outlooks: whatever shows, or may turn out to be due, may be laid open."""
    certain = suppose(compiled, (Fraction(1),) * len(compiled.worn), opened)
    return certain._replace(shown=certain.shown | certain.due)
