"""The work of a route as its reader sees it: steps in the order in which they are done, and the parts that they fit.

The steps of a route add up to its `cash_hundredths` and `hours_hundredths` exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.lines import ConditionState, Named, NoteLine

# Stages in working order. A step belongs to exactly one.
STRIP = "strip"
SEND_OUT = "send out"
BENCH = "bench"
REFIT = "refit"
RENEWAL = "renewal"  # what a step comes from that the customer ticked
STAGES = (STRIP, SEND_OUT, BENCH, REFIT)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """A part that the route fits: what to ask for at the counter. `as_found` parts are not listed.

    `price_hundredths`: None where nobody noted one, 0 where it is `in_hand` (the asker's own, or it comes with a
    unit). `deposit_hundredths`: the core deposit due with it on the day, of which `deposit_counted_hundredths` are in
    the price, as expected to be lost. `is_unit`: it is a gearbox or engine that was asked about. `via`: it stands
    inside a joint (plate, sleeve, spacer, bush, ring); that joint's step holds its price. `price_source`: where the
    shop's record has the price from, how old it is; empty: the facts state it.
    """

    part: str
    label: str
    kind: str = ""
    number: str = ""
    condition: str = "unknown"
    price_hundredths: int | None = None
    lead_days: Fraction = Fraction(0)
    in_stock: bool = False
    in_hand: bool = False
    position: str = ""
    via: bool = False
    price_source: str = ""
    deposit_hundredths: int = 0
    deposit_counted_hundredths: int = 0
    is_unit: bool = False


@dataclass(frozen=True, slots=True)
class NeededStep:
    """A step that another one needs: its `number`, its `text`, the same in `short`, and `why`."""

    number: int
    text: str
    why: str
    short: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Besides:
    """Work that is done while a route has a place open, though no choice of the route asks for it: a part renewed.

    `place`: the position kind; `tasks`: what lays it open; `sent`: it is sent out; `not_stated`: as of a step.
    `buys`: what is ordered for it, in words, "" where nothing is bought for it or it is on the shelf; `lead_days`: 0
    where nobody states any. `leaves`: what comes off for it, None where nothing does; `sure`: somebody states what is
    there, so that it can be ordered before it is seen.
    """

    id: str
    text: str
    place: str
    tasks: tuple[str, ...]
    sent: bool = False
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    cautions: tuple[str, ...] = ()
    not_stated: tuple[str, ...] = ()
    buys: str = ""
    lead_days: Fraction = Fraction(0)
    leaves: Named | None = None
    sure: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of the work, in its place. `number` counts from 1 over the whole route.

    `not_stated`: hours and prices of it that nobody has stated, in words: they are in no sum.
    `source`: the id in the conversion document that it comes from; `source_kind`: task, candidate, link, doubt (one
    that is due), or renewal (ticked by the customer, in no sum of the route). A refit step carries no hours: they are
    in its strip step, if there is anything to take off.
    `checks`: of an order, what to find out before it; of what is fitted, what can be looked at only once it is in.
    `needs_open`: what must be open for it; `needs_done`: what must be done before it, and why. `comes_off`: the parts
    that come off here and do not go back; without an id where nobody has stated which part is there. `altered`: ids of
    those of them that are kept, since they go back as what is made of them.
    """

    number: int
    stage: str
    text: str
    source: str
    source_kind: str
    edges: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    operations: tuple[str, ...] = ()
    order: bool = False  # buying ahead, because it has a lead time; fitting it is a later step
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    days: Fraction = Fraction(0)
    conditions: tuple[ConditionState, ...] = ()
    evidence: str = ""
    evidence_words: str = ""
    notes: tuple[NoteLine, ...] = ()
    disputed: bool = False
    irreversible: bool = False
    cautions: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    not_stated: tuple[str, ...] = ()
    needs_open: tuple[NeededStep, ...] = ()
    needs_done: tuple[NeededStep, ...] = ()
    comes_off: tuple[Named, ...] = ()
    altered: tuple[str, ...] = ()
