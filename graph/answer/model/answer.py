"""The whole answer: its routes, what they were chosen from, and what keeps others from being allowed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.doubt import MeasureFirst
from graph.answer.model.lines import Named, NoteLine
from graph.answer.model.route import AnsweredRoute


@dataclass(frozen=True, slots=True)
class FrontPoint:
    """A route that no other one beats in cash and hours at once. `rank`: its place among `routes`, or None. `at_least`:
    something of it has no price, hours or rate."""

    cash_hundredths: int
    hours_hundredths: int
    total: Fraction
    expected: Fraction
    days: Fraction
    summary: str
    rank: int | None
    at_least: bool = False


@dataclass(frozen=True, slots=True)
class LookFirstLine:
    """The tests worth paying for before anything comes apart. `saves`: against the best route taken blind."""

    inspections: tuple[Named, ...]
    cash_hundredths: int
    hours_hundredths: int
    expected: Fraction
    saves: Fraction
    words: str
    odds_words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class InsteadLine:
    """What not doing the job costs, and how that compares with the first route."""

    cost: Fraction
    words: str


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """The nearest value of one number at which another route becomes the cheapest (`value` None: none does)."""

    kind: str
    what: str
    label: str
    now: Fraction
    value: Fraction | None
    words: str


@dataclass(frozen=True, slots=True)
class OpenLine:
    """What keeps every route from being allowed, its nearest miss, and what would open the way.

    `left_out`: what is known there and of no use here, each with its reason.
    """

    what: str
    kind: str
    label: str
    why: str
    nearest_miss: str
    miss_um: int | None
    opens: str
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NearestWay:
    """Where the question's wishes leave no route: the best one without these `wishes`.

    `question`: the one without them, as plain JSON values.
    """

    wishes: tuple[str, ...]
    question: Mapping[str, object]
    words: str


@dataclass(frozen=True, slots=True)
class LeftOutLine:
    """A part or edge (`what`) that was left out before the search; `where`: its joint or position; `why` in words."""

    what: str
    where: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLine:
    """The asked gearbox or engine (`what`) itself. `state`: in hand, to buy, or price not known.

    `price_hundredths`: what it costs here, None where nobody knows; less `exchanged_hundredths` for the old one.
    """

    what: str
    part: Named
    state: str
    price_hundredths: int | None
    lead_days: Fraction
    in_stock: bool
    exchanged_hundredths: int
    words: str


@dataclass(frozen=True, slots=True)
class UnusedNote:
    """A note that stands but does not hold together with facts and other notes, so that no answer rests on it: its id,
    and why."""

    note: str
    reason: str


@dataclass(frozen=True, slots=True)
class Dispute:
    """Notes that contradict each other about two parts at a joint."""

    joint: str
    words: str
    notes: tuple[NoteLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The whole answer to "what is the cheapest route from this gearbox to that engine?".

    `question`: the question as asked, as plain JSON values. `status`: proven, proven on what is known (what is known
    stands first, the best route with assumptions last), if it holds, no route, stopped early, or assembly not stated
    (`asks` says what to state first). `assembly`: the kind of finished job that it was read for. `measure_first`: what
    to look at before work starts, the most telling first. `instead`: what not doing the job costs.
    `rate_stated`: whether there is a bench rate; without one hours are in no sum.
    `unfinished`: where the search stopped early, what is not complete and by how much it may be off.
    `to_measure`: dimensions that these units should be checked for and of which nothing is known yet.
    `asked_units`: gearbox and engine themselves, in hand or to be bought.
    `nearest`: where wishes leave no route, the ways that break the fewest of them, the cheapest first.
    `notes_left_out`: what the answer does not know, because it contradicts the rest.
    `ranking`: where a route that comes later leaves less without a price, what that means for the first; and which
    parts that nobody has priced would win, and below what price.
    `units`: what the numbers of the JSON are in.
    """

    question: Mapping[str, object]
    gearbox: Named
    engine: Named
    status: str
    objective: str
    verdict: str
    headline: str
    currency: str
    rate_hundredths: int
    day_hours: Fraction
    routes: tuple[AnsweredRoute, ...] = ()
    front: tuple[FrontPoint, ...] = ()
    look_first: LookFirstLine | None = None
    changes: tuple[ChangeLine, ...] = ()
    open: tuple[OpenLine, ...] = ()
    left_out: tuple[LeftOutLine, ...] = ()
    unfinished: tuple[str, ...] = ()
    to_measure: tuple[str, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    asked_units: tuple[UnitLine, ...] = ()
    notes_left_out: tuple[UnusedNote, ...] = ()
    assembly: str = ""
    asks: tuple[str, ...] = ()
    measure_first: tuple[MeasureFirst, ...] = ()
    instead: InsteadLine | None = None
    rate_stated: bool = True
    nearest: tuple[NearestWay, ...] = ()
    ranking: tuple[str, ...] = ()
    units: Mapping[str, str] | None = None
