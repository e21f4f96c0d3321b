"""Best expected costs for many lists of odds, searched together and remembered.

Routes met for one list of odds are tried first for the next, and often are the best there too. `guess` says what the
best of them costs without a search: never less than the true best, and a search then proves it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.search.asks import Ask, best_answers
from graph.search.best import Best, Found
from graph.search.lines import Line, line_in_odds
from graph.search.price import Assembly, Pricer
from graph.search.routes import Odds, RouteSearch


@dataclass(slots=True)
class Values:
    """What is known of the best routes by odds. `complete`: was every search so far run to its end?"""

    search: RouteSearch
    known: list[Assembly]
    complete: bool = True
    _best: dict[Odds, Best] = field(default_factory=dict)
    _guess: dict[Odds, tuple[int, Found]] = field(default_factory=dict)

    def learn(self, scenarios: Sequence[Odds]) -> None:
        """Search for the best routes at all these odds at once, where that has not been done."""
        new = [odds for odds in dict.fromkeys(scenarios) if odds not in self._best]
        if not new:
            return
        bests, complete = best_answers(self.search, [Ask(odds) for odds in new], self.known)
        self.complete &= complete
        for odds, best in zip(new, bests, strict=True):
            self._best[odds] = best
            if all(best.found[0].assembly.options != one.options for one in self.known):
                self.known.append(best.found[0].assembly)

    def best(self, odds: Odds) -> Best:
        """The best route at these odds, proven."""
        self.learn([odds])
        return self._best[odds]

    def of(self, odds: Odds) -> Fraction:
        """Its expected cost, in money."""
        best = self.best(odds)
        return Fraction(best.found[0].numbers[0], best.pricer.scale * self.search.compiled.money_scale)

    def guess(self, odds: Odds) -> Found:
        """The best of the known routes at these odds."""
        kept = self._guess.get(odds)
        if kept is None or kept[0] < len(self.known):
            best = Best(self.search.compiled, "expected", Pricer(self.search.compiled, odds), 1)
            for assembly in self.known:
                best.offer(assembly)
            self._guess[odds] = kept = (len(self.known), best.found[0])
        return kept[1]

    def guessed_line(self, odds: Odds, fault: int) -> Line:
        """The guess as a line in one fault's odds."""
        return line_in_odds(self.search.compiled, odds, fault, self.guess(odds))

    def settle(self, ask: Callable[[], list[Odds]]) -> None:
        """Call `ask`, which works with guesses and returns the odds it relied on, until a search proves them all."""
        while True:
            before = len(self.known)
            self.learn(ask())
            if len(self.known) == before:
                return
