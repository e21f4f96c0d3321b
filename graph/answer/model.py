"""What the reader of an answer sees: routes as ordered steps, or what keeps every route from being allowed.

Frozen objects without I/O, made by `graph.answer.build`, printed by `graph.answer.text`, turned into JSON by
`graph.answer.serial`. Pages and papers read these fields and nothing else.
Money and hours are whole hundredths, lengths whole micrometres, days and averages exact fractions (money in
currency units). The lines of a route (its `steps`) add up to its `cash_hundredths` and `hours_hundredths` exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from graph.section.model import LongSection

# Stages in working order. A step belongs to exactly one.
STRIP = "strip"
SEND_OUT = "send out"
BENCH = "bench"
REFIT = "refit"
RENEWAL = "renewal"  # what a step comes from that the customer ticked
STAGES = (STRIP, SEND_OUT, BENCH, REFIT)

# Verdicts in trade words, mildest first; a route's verdict is the heaviest of its steps'.
DIRECT = "direct"
WITH_PARTS = "bolt-on with parts"
MACHINING = "machining"
MADE_SPECIALLY = "made specially"
NOT_ADVISABLE = "not advisable"
IMPOSSIBLE = "impossible"
UNKNOWN = "unknown: measure this"
VERDICTS = (DIRECT, WITH_PARTS, MACHINING, MADE_SPECIALLY, NOT_ADVISABLE, IMPOSSIBLE, UNKNOWN)


@dataclass(frozen=True, slots=True)
class Named:
    """An id of the graph with its label."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class ConditionState:
    """A condition in a mechanic's words and whether it holds, fails, or is still to be confirmed."""

    text: str
    state: str


@dataclass(frozen=True, slots=True)
class NoteLine:
    """A note that a step rests on: who says so, and how it is known (`evidence`: level id; `level`: its label)."""

    id: str
    text: str
    evidence: str
    level: str
    author: str = ""
    made_on: str = ""
    method: str = ""
    job: str = ""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLine:
    """How one joint closes. `verdict` is one of VERDICTS; `way` says it in words.

    `misfit`: why the two parts do not fit as they are, where that is noted or computed and something is done about it.
    `assumed`: nobody has stated it; what it may cost stands among the route's assumptions.
    """

    joint: str
    label: str
    kind: str
    link: str
    way: str
    verdict: str
    parts: tuple[Named, Named]
    via: tuple[Named, ...] = ()
    edges: tuple[str, ...] = ()
    evidence: str = ""
    evidence_words: str = ""
    notes: tuple[NoteLine, ...] = ()
    to_confirm: tuple[str, ...] = ()
    misfit: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Shift:
    """A candidate or link (`what`) that moves a dimension, and how far."""

    what: str
    label: str
    shift_um: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SideEffect:
    """A dimension that adds up, after this route. `value_um`: None where a length that it takes is not known, and then
    `missing` names it. `margin_um`: distance to the nearer limit (None: no limit, or not known).

    `moved_by`: what the route fits or machines that moves it, each with its share. `worst_case_um`, `rss_um`: how far
    the true value may lie from it, either way, None where no length states its uncertainty; `measure_again`: the
    least certain of them. `verdict`: holds, unknown where the worst case breaks a limit, or not known. `how_surely`:
    the margin in one word or two, the same on every page and paper.
    """

    chain: str
    label: str
    value_um: int | None
    low_um: int | None
    high_um: int | None
    margin_um: int | None
    words: str
    moved_by: tuple[Shift, ...] = ()
    worst_case_um: int | None = None
    rss_um: int | None = None
    measure_again: tuple[str, ...] = ()
    verdict: str = "holds"
    to_confirm: str = ""
    missing: tuple[str, ...] = ()
    how_surely: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacityLine:
    """Whether a part carries the engine's torque, in newton metres. `verdict`: holds, fails or unknown.

    `load_torque_nm`: the engine's, with the reserve that the part wants. None: not known.
    """

    what: str
    part: Named
    verdict: str
    capacity_torque_nm: Fraction | None
    load_torque_nm: Fraction | None
    margin_torque_nm: Fraction | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyCheck:
    """A check of what this route puts together, from what is stated of its parts. `verdict`: holds, fails or unknown.

    `check`: which (hand, starter-hand, starter-side, starter-pitch, hub, flywheel-bolts, housing-bolts, dowels, sensor,
    oil, oil-level); `stop`: where the job can be halted for it; `working`: the sum, symbol = formula = numbers = value;
    `measure`: what to measure where it is unknown.
    """

    check: str
    label: str
    verdict: str
    words: str
    stop: str
    working: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingLine:
    """A value that this route has to set anew, with its arithmetic ready. `value`: the result, "" while something is
    missing, which `measure` names; `what_if`: the check of the bench that works it out."""

    label: str
    why: str
    formula: str
    words: str
    what_if: str
    value: str = ""
    measure: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandLine:
    """A demand of the question against this route. `verdict`: holds or unknown; a route on which it fails is none.

    `working`: the sum, symbol = formula = numbers = value; `margin`: how far it is met, in `unit`, None: not a figure.
    """

    demand: str
    verdict: str
    words: str
    working: tuple[str, ...] = ()
    margin: Fraction | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class BearingLife:
    """A bearing put in another's place: the part of the old life that remains at the same load (ISO 281)."""

    place: str
    old: str
    new: str
    life_part: Fraction
    shorter: bool
    words: str


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


@dataclass(frozen=True, slots=True)
class InsteadLine:
    """What not doing the job costs, and how that compares with the first route."""

    cost: Fraction
    words: str


@dataclass(frozen=True, slots=True)
class CostSplit:
    """Where the expected cost goes, in currency units; the four sum to the route's `expected`.

    `parts`: cash of parts and consumables; `sublet`: cash of work sent out; `bench`: own hours at the rate;
    `likely_faults`: what worn parts are expected to add.
    """

    parts: Fraction
    sublet: Fraction
    bench: Fraction
    likely_faults: Fraction


SEEN, UNSEEN, DUE = "seen", "unseen", "due"  # whether a route lays open what may not hold, or knows it already


@dataclass(frozen=True, slots=True)
class SumLine:
    """One of a route's sums, in currency units. `what`: total, if_all_holds, expected, half or nine_in_ten; `label`:
    which it is, in words; `least`: the lower end where the share is not counted exactly, else None."""

    what: str
    label: str
    value: Fraction
    least: Fraction | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredRoute:
    """One allowed route, ready to read.

    `assumptions`: what it takes for given; `if_all_holds`: what it is expected to cost if all of that holds, None where
    nothing is assumed; `at_least`: something that it may come to has no price, hours or rate; `unpriced` names it.
    `sums`: what the route comes to, each sum with what it is. `section`: the finished assembly and the one as found,
    cut along the axis, as `graph.section` draws them; None for a document that came by itself. `checks`: what is put
    together, checked; `to_set`: what has to be set anew; `against`: checks and readings that speak against it, the
    first cause first; `core_terms`: what keeps a core worth its deposit, where one is in the sum.
    """

    rank: int
    verdict: str
    provisional: bool  # a condition on the way is not settled yet; it stands among `to_confirm`
    summary: str
    steps: tuple[Step, ...]
    parts: tuple[PartLine, ...]
    joints: tuple[JointLine, ...]
    side_effects: tuple[SideEffect, ...]
    faults: tuple[FaultLine, ...]
    features_gained: tuple[Named, ...]
    irreversible: tuple[str, ...]
    to_confirm: tuple[str, ...]
    weakest_evidence: str
    weakest_evidence_words: str
    cash_hundredths: int
    hours_hundredths: int
    total: Fraction
    expected: Fraction
    days: Fraction
    p50: Fraction
    p90: Fraction
    split: CostSplit
    picks: Mapping[str, str]
    links: Mapping[str, str]
    tasks: tuple[str, ...]
    capacities: tuple[CapacityLine, ...] = ()
    bearing_lives: tuple[BearingLife, ...] = ()
    demands: tuple[DemandLine, ...] = ()
    checks: tuple[AssemblyCheck, ...] = ()
    to_set: tuple[SettingLine, ...] = ()
    core_terms: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    assumptions: tuple[AssumptionLine, ...] = ()
    if_all_holds: Fraction | None = None
    at_least: bool = False
    on_the_day_hundredths: int = 0  # the cash with all core deposits, most of which come back
    p50_least: Fraction | None = None  # where the spread is not counted exactly: the lower ends
    p90_least: Fraction | None = None
    unpriced: tuple[str, ...] = ()
    sums: tuple[SumLine, ...] = ()
    section: LongSection | None = None


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
