"""What may not be as a route takes it: likely faults, what is assumed, and what would settle it before work starts."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.lines import Named

SEEN, UNSEEN, DUE = "seen", "unseen", "due"  # whether a route lays open what may not hold, or knows it already


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLine:
    """What may be worn, and what this route does about it. `state`: gone, seen or unseen."""

    fault: str
    label: str
    odds: Fraction
    state: str
    repair: Fraction
    expected: Fraction
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingLine:
    """What would settle something assumed: a reading or a look, with its tool and minutes (None: nobody has said).

    `inspection`: its id, "" where nothing can be looked at before the work. `quantity`, `of`: what to measure, of which
    part. `tasks`: what must be open for it. `cash_hundredths`, `hours_hundredths`: of the whole look.
    """

    inspection: str
    words: str
    quantity: str = ""
    of: Named | None = None
    tool: str = ""
    minutes: Fraction | None = None
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    tasks: tuple[Named, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceNamed:
    """A place of a unit: the unit, and the kind of position as `at`."""

    unit: Named
    at: Named


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumptionLine:
    """One thing that a route takes for given though nobody has stated it. Money in currency units.

    `fault`: the doubt's id, "" where nothing says what comes of it; `picks`: what hangs on it. `odds`: that it does
    not hold, None where nobody has said; `state`: seen (the route lays it open), unseen, or due (known not to hold).
    `cost`: of putting it right, `comeback`: at most besides, where it shows only later; `at_least`: something of it has
    no price, hours or rate, named in `unpriced`. `takes_result`: where to write down what was found; `places`: those
    of the units asked about of which nobody has stated what is there; `counts_as`: whose odds a job's finding of it
    teaches, "" for none. `is_figure`: no more is missing than hours or a
    price of work that comes whatever is found.
    """

    fault: str
    picks: tuple[Named, ...]
    text: str
    odds: Fraction | None
    odds_source: str
    state: str
    cost: Fraction
    comeback: Fraction
    at_least: bool
    words: str
    joint: str = ""
    position: str = ""
    parts: tuple[Named, ...] = ()
    remedy: str = ""
    cost_source: str = ""
    unpriced: tuple[str, ...] = ()
    settles: tuple[SettlingLine, ...] = ()
    takes_result: str = ""
    counts_as: str = ""
    places: tuple[PlaceNamed, ...] = ()
    is_figure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureFirst:
    """One look worth taking before work starts. Money in currency units.

    `changes`: the route (it is among the set of looks that pays), or only the sum. `saves`: what that whole set saves
    on average, None for the others. `spread`: how far the sum is off on average because of what it settles;
    `per_money`: that, for each unit of money of looking, None where looking costs nothing.
    """

    inspection: str
    label: str
    settles: tuple[str, ...]
    readings: tuple[SettlingLine, ...]
    cost: Fraction
    hours_hundredths: int
    changes: str
    saves: Fraction | None
    spread: Fraction
    per_money: Fraction | None
    words: str
    takes_result: str = ""
