"""What may be worn while a route has a gearbox open: plain values. Money in currency units, odds from 0 to 1."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.errors import InvalidInput, Problem

ALWAYS, RENEW, LOOK, LEAVE, NOT_PRICED = "always", "renew", "look", "leave", "not priced"
LONGEST_WARRANTY = 120  # months


@dataclass(frozen=True, slots=True)
class RenewalWish:
    """What the customer has ticked (ids of items), and the months of warranty that the shop gives; None: not stated."""

    renew: tuple[str, ...] = ()
    warranty_months: int | None = None


def read_wish(renew: Iterable[str], months: str | None, path: str) -> RenewalWish:
    """The wish as typed; `months` None for no warranty stated. Raises InvalidInput at `path` for no whole months."""
    if months is not None and not (months.isascii() and months.isdigit()):
        raise InvalidInput([Problem(path, f"expected whole months, such as 24; found {months!r}")])
    return RenewalWish(tuple(dict.fromkeys(renew)), None if months is None else int(months))


@dataclass(frozen=True, slots=True)
class WearRow:
    """A row of the trade's table of worn parts, at one position kind.

    `renews`: what is renewed, in words; `kind`: of that part, "" for none. `needs`: the task that lays it open, "" for
    those of its position; `hours_hundredths`: the work itself, once it is open, None where nobody says; `seen`: a look
    at it open tells; `yearly`: how often a sound one is worn out within a year of use; `piece`: it is a piece of what
    sits there, so the price of that part is not its own; `always`: renewed whenever it is open (common practice).
    """

    fault: str
    label: str
    position: str
    renews: str
    kind: str
    needs: str
    hours_hundredths: int | None
    seen: bool
    yearly: Fraction
    piece: bool
    always: bool
    cheap_test: str
    limit: str
    source: str


@dataclass(frozen=True, slots=True)
class WearItem:
    """A part that stays as found and lies open: how likely it is worn, what renewing costs now and later.

    `renews`: what is renewed, in words. `odds`: that it is worn now; `within`: that it is worn now or wears out within
    the warranty, None where no warranty is stated. `cash_hundredths`, `hours_hundredths`: renewing it, itself; None
    where nobody says. `now`, `later`: in money, the latter with all that must come off again; `at_least`: something of
    them is not known, `lacks` names it.
    `leaving`: what leaving it is expected to cost beside all else that is left, a shared later opening counted once.
    `break_even`: odds above which renewing it unseen pays, taken alone; None where no price is known. `pays_up_to`:
    where there is no price, the sum up to which renewing pays, taken alone. `decision`: always, renew, look, leave or
    not priced, said in `words`. `counted`: the route's expected sum counts it already.
    """

    id: str
    label: str
    renews: str
    place: str
    part: str
    stated: bool
    odds: Fraction
    within: Fraction | None
    cash_hundredths: int | None
    hours_hundredths: int | None
    price_source: str
    now: Fraction
    later: Fraction
    at_least: bool
    lacks: tuple[str, ...]
    leaving: Fraction
    break_even: Fraction | None
    pays_up_to: Fraction | None
    decision: str
    words: str
    cheap_test: str
    limit: str
    counted: bool
    ticked: bool
    source: str


@dataclass(frozen=True, slots=True)
class WearState:
    """An opened state, by its last task, and what lies open there; `again`: what opening it once more would cost."""

    tasks: tuple[str, ...]
    label: str
    again: Fraction
    items: tuple[WearItem, ...]


@dataclass(frozen=True, slots=True)
class DeeperItem:
    """A part that this route does not reach: what more would have to be opened (labels), and what that costs."""

    id: str
    label: str
    odds: Fraction
    opens: tuple[str, ...]
    hours_hundredths: int
    cost: Fraction


@dataclass(frozen=True, slots=True)
class WishSum:
    """What several items come to: whole hundredths of money and hours, in money `total`; `lacks`: not known of it."""

    cash_hundredths: int
    hours_hundredths: int
    total: Fraction
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenSpread:
    """What the advice comes to on top of the route: renewed now, what looking finds worn, what is left and comes back.

    In money. `tied`: the same in words where a sign that nobody has looked for ties some of it, "" for none.
    """

    expected: Fraction
    p50: Fraction
    p90: Fraction
    tied: str


@dataclass(frozen=True, slots=True)
class WhileOut:
    """The list for one route. `renewed`: what the route itself renews; `not_known`: places where nobody says what is
    there; `advised`: what is always renewed and what pays to renew comes to now, and `expected_later` what leaving the
    rest is expected to cost, a shared later opening counted once and a price that is missing not at all. `spread`: None
    where the outcomes are too many to follow. `all_tried`: every set of parts was weighed; `at_least`: the route's own
    sum, or what is ticked, lacks a figure that nobody has stated. `steps`: the whole order of work with what is ticked
    in it; none where nothing is."""

    rank: int
    summary: str
    currency: str
    rate_stated: bool
    warranty_months: int | None
    states: tuple[WearState, ...]
    deeper: tuple[DeeperItem, ...]
    renewed: tuple[str, ...]
    not_known: tuple[str, ...]
    advised: WishSum
    expected_later: Fraction
    all_tried: bool
    spread: OpenSpread | None
    wish: WishSum
    at_least: bool
    total: Fraction
    with_wish: Fraction
    notes: tuple[str, ...]
    steps: tuple[Step, ...] = ()

    @property
    def items(self) -> tuple[WearItem, ...]:
        """Every item, state by state."""
        return tuple(item for state in self.states for item in state.items)

    def steps_of(self, route: AnsweredRoute) -> tuple[Step, ...]:
        """The work of that route with what is ticked; its own where nothing is."""
        return self.steps or route.steps
