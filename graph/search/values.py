"""Best expected costs in many outlooks, searched together and remembered.

Routes met in one outlook are tried first for the next, and often are the best there too. `guess` says what the
best of them costs without a search: never less than the true best, and a search then proves it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.search.asks import Ask, best_answers
from graph.search.best import Best, FoundRoute
from graph.search.lines import CostLine, line_in_odds
from graph.search.outlook import Outlook
from graph.search.price import PickedOptions, Pricer
from graph.search.routes import RouteSearch


@dataclass(slots=True)
class Values:
    """What is known of the best routes by outlook. `complete`: was every search so far run to its end?"""

    search: RouteSearch
    known: list[PickedOptions]
    complete: bool = True
    _best: dict[Outlook, Best] = field(default_factory=dict)
    _guess: dict[Outlook, tuple[int, Best]] = field(default_factory=dict)

    def learn(self, scenarios: Sequence[Outlook]) -> None:
        """Search for the best routes in all these outlooks at once, where that has not been done."""
        new = [one for one in dict.fromkeys(scenarios) if one not in self._best]
        if not new:
            return
        proven = self.search.proven
        asked = [one for one in new if one not in proven]
        if asked:
            known = {one.options: one for one in self.known} | self.search.pool
            bests, complete = best_answers(self.search, [Ask(one) for one in asked], known.values())
            self.complete &= complete
            self._best.update(zip(asked, bests, strict=True))
            if complete:
                proven.update(zip(asked, bests, strict=True))
        for one in new:
            best = self._best[one] = self._best[one] if one in self._best else proven[one]
            if best.found and all(best.found[0].assembly.options != other.options for other in self.known):
                self.known.append(best.found[0].assembly)

    def best(self, outlook: Outlook) -> Best:
        """The best route in this outlook, proven."""
        self.learn([outlook])
        return self._best[outlook]

    def of(self, outlook: Outlook) -> Fraction | None:
        """Its expected cost, in money; None where there is no route."""
        best = self.best(outlook)
        if not best.found:
            return None
        return Fraction(best.found[0].numbers[0], best.pricer.scale * self.search.compiled.money_scale)

    def guessed(self, outlook: Outlook) -> Best:
        """The best of the known routes in this outlook; empty where none of them is allowed there."""
        kept = self._guess.get(outlook)
        if kept is None or kept[0] < len(self.known):
            best = Best(self.search.compiled, "expected", Pricer(self.search.compiled, outlook), 1)
            for assembly in self.known:
                best.offer(assembly)
            self._guess[outlook] = kept = (len(self.known), best)
        return kept[1]

    def guess(self, outlook: Outlook) -> FoundRoute:
        """The same in an outlook in which no more is due than as things stand: one is always allowed there."""
        return self.guessed(outlook).found[0]

    def guessed_line(self, outlook: Outlook, fault: int, odds: Fraction) -> CostLine:
        """The guess at these odds of one fault, as a line in them."""
        return line_in_odds(self.search.compiled, outlook, fault, self.guess(outlook.with_odds(fault, odds)))

    def settle(self, ask: Callable[[], list[Outlook]]) -> None:
        """Call `ask`, which works with guesses and returns the outlooks it relied on, until searches prove all."""
        while True:
            before = len(self.known)
            self.learn(ask())
            if len(self.known) == before:
                return
