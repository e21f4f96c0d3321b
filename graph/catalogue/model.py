"""The catalogue: the typed things that facts say, as frozen objects. No I/O, no RDF, no search.

Ids are the local part of an IRI under the shop's base (`case-marl-5`), or under the vocabulary's base for
kinds. Money and hours are whole hundredths, lengths whole micrometres, days and odds exact fractions.
An edge stated of a family (`variant_of` of a part) holds for its variants, unless an edge of the variant
itself, at the same joint, says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

# Edge kinds, as in the vocabulary. Their labels ("requires machining") are data.
CONTAINS = "contains"
FITS = "fits"
REQUIRES_MACHINING = "requires-machining"
DOES_NOT_FIT = "does-not-fit"
REPLACES = "replaces"
ADDS_FEATURE = "adds-feature"
NEEDS = "needs"
EXCLUDES = "excludes"
SHIFTS = "shifts"
LAYS_OPEN = "lays-open"
HAS_NONE = "has-none"
EDGE_KINDS = (
    CONTAINS, FITS, REQUIRES_MACHINING, DOES_NOT_FIT, REPLACES,
    ADDS_FEATURE, NEEDS, EXCLUDES, SHIFTS, LAYS_OPEN, HAS_NONE,
)  # fmt: skip
MATING_KINDS = (FITS, REQUIRES_MACHINING)
UNDIRECTED = (*MATING_KINDS, DOES_NOT_FIT, EXCLUDES)
ONE_ENDED = (HAS_NONE,)  # says something of its source alone; its target is empty
# The sorts of edges at one of their ends: the kind, and whether it starts there (of an undirected one, always).
END_SORTS = tuple(
    (kind, out) for kind in EDGE_KINDS for out in (True, False) if out or kind not in (*UNDIRECTED, *ONE_ENDED)
)
UNIT_KINDS = ("gearbox", "engine", "vehicle")


@dataclass(frozen=True, slots=True)
class Term:
    """A named kind, feature or level: id, label, definition."""

    id: str
    label: str = field(metadata={"text": ("skos:prefLabel", "rdfs:label"), "say": "rdfs:label"})
    definition: str = field(default="", metadata={"text": "skos:definition"})


@dataclass(frozen=True, slots=True)
class EvidenceLevel(Term):
    """How a thing is known. `rank` 1 is the best; `contradicted` ranks last."""

    rank: int = field(default=9, metadata={"whole": "rank"})


@dataclass(frozen=True, slots=True)
class PartCondition(Term):
    """In what state a part is. `usable`: may a part in this state go into a job as it is?"""

    usable: bool = field(default=True, metadata={"flag": "usable"})


@dataclass(frozen=True, slots=True)
class Condition:
    """A test on the question's context, settled on three values.

    `key`: a context key (`torque_nm`, `duty`, `year`, `ecu`, `tools`); `op`: one of
    `= != <= >= < > has`; `value` as text; `text`: the condition in a mechanic's words.
    """

    key: str = field(metadata={"text": "key"})
    op: str = field(metadata={"text": "operator"})
    value: str = field(metadata={"text": "value"})
    text: str = field(metadata={"text": "text"})


@dataclass(frozen=True, slots=True)
class Note:
    """Who says so, when and how it is known. `author` is a role or initials; `job` the shop's own number."""

    id: str
    text: str = field(metadata={"text": "text"})
    evidence: str = field(metadata={"ref": "evidence"})
    author: str = field(default="", metadata={"person": "prov:wasAttributedTo"})
    made_on: str = field(default="", metadata={"date": "prov:generatedAtTime"})
    method: str = field(default="", metadata={"text": "method"})
    job: str = field(default="", metadata={"text": "job"})


@dataclass(frozen=True, slots=True)
class PartKind(Term):
    """What a part is. `intermediate`: plates, sleeves, spacers, bushes, rings that can stand inside a joint.

    `usual_cash_hundredths`: what one of the kind usually costs this shop; None: not stated, which is not free.
    `usual_hours_hundredths`: what fitting one usually takes over and above its tasks; None: not stated.
    """

    intermediate: bool = field(default=False, metadata={"flag": "intermediate"})
    broader: str = field(default="", metadata={"ref": "skos:broader"})
    caution: str = field(default="", metadata={"text": "caution"})
    usual_cash_hundredths: int | None = field(default=None, metadata={"hundredths": "usualCash"})
    usual_hours_hundredths: int | None = field(default=None, metadata={"hundredths": "usualHours"})


@dataclass(frozen=True, slots=True)
class PositionKind(Term):
    """A place in the finished assembly. `owner`: whose part is found there (gearbox, engine, vehicle).

    `fit_tasks`: what must be open to change the part held here. `waits_for`: position kinds whose parts go on first.
    `works_on`: those without whose parts this one has nothing to do.
    """

    part_kinds: tuple[str, ...] = field(default=(), metadata={"refs": "holds"})
    owner: str = field(default="gearbox", metadata={"text": "owner"})
    fit_tasks: tuple[str, ...] = field(default=(), metadata={"refs": "fitTask"})
    waits_for: tuple[str, ...] = field(default=(), metadata={"refs": "waitsFor"})
    works_on: tuple[str, ...] = field(default=(), metadata={"refs": "worksOn"})


@dataclass(frozen=True, slots=True)
class JointKind(Term):
    """Two position kinds whose parts must mate, and which intermediate part kinds may stand between.

    `tasks`: needed wherever parts of two units are joined here; `via_tasks`: to lay a part in between.

    What is to be feared where nobody has stated whether two parts mate here: `odds_across`, `odds_within` that they do
    not as they are, for parts of different families and for another variant of the same family; `odds_source`: where
    these come from; `counted_across`, `counted_within`: in their place, what the shop's own jobs have counted, in
    words; `found_out`: when it comes to light; `remedy`: what usually puts it right, with its money, hours,
    the kind of part bought for it and the operations done. None everywhere means not known, never 0.
    """

    between: tuple[str, str] = field(default=("", ""), metadata={"pair": ("firstPosition", "secondPosition")})
    via_kinds: tuple[str, ...] = field(default=(), metadata={"refs": "viaKind"})
    tasks: tuple[str, ...] = field(default=(), metadata={"refs": "task"})
    via_tasks: tuple[str, ...] = field(default=(), metadata={"refs": "viaTask"})
    caution: str = field(default="", metadata={"text": "caution"})
    odds_across: Fraction | None = field(default=None, metadata={"exact": ("oddsAcross", "usualOddsAcross")})
    odds_within: Fraction | None = field(default=None, metadata={"exact": ("oddsWithin", "usualOddsWithin")})
    odds_source: str = ""
    found_out: str = field(default="", metadata={"text": "foundOut"})
    remedy: str = field(default="", metadata={"text": "remedy"})
    remedy_cash_hundredths: int | None = field(default=None, metadata={"hundredths": "remedyCash"})
    remedy_hours_hundredths: int | None = field(
        default=None, metadata={"hundredths": ("remedyHours", "usualRemedyHours")}
    )
    remedy_kind: str = field(default="", metadata={"ref": "remedyKind"})
    remedy_operations: tuple[str, ...] = field(default=(), metadata={"texts": "remedyOperation"})
    counted_across: str = ""
    counted_within: str = ""

    def odds(self, within: bool) -> Fraction | None:
        """That two parts nobody has stated to mate do not; `within`: of one family."""
        return self.odds_within if within else self.odds_across

    def source_of_odds(self, within: bool) -> str:
        """Where those odds come from: the shop's count, else what the facts name; "" where there are none."""
        counted = self.counted_within if within else self.counted_across
        return counted or self.odds_source or ("estimate" if self.odds_across is not None else "")

    def odds_key(self, within: bool) -> str:
        """The name under which findings of such pairs are counted."""
        return f"joint/{self.id}/{'within' if within else 'across'}"


@dataclass(frozen=True, slots=True)
class ChainKind(Term):
    """A dimension that adds up over parts and joints. Limits in micrometres; None does not bind."""

    start_um: int = field(default=0, metadata={"um": "startMm"})
    low_um: int | None = field(default=None, metadata={"um": ("lowMm", "usualLowMm")})
    high_um: int | None = field(default=None, metadata={"um": ("highMm", "usualHighMm")})
    # asked only where all of these positions exist
    positions: tuple[str, ...] = field(default=(), metadata={"refs": "position"})
    remedy: str = field(default="", metadata={"text": "remedy"})
    # where the limits come from, as long as the shop has not stated its own
    source: str = field(default="", metadata={"text": "dcterms:source"})


@dataclass(frozen=True, slots=True)
class TaskKind(Term):
    """A state of opening, or a visit. `stage`: strip, send-out, bench, refit (where its line is printed).

    `refit`: the words for putting it back, if that is a step of its own (its hours are in the task's).
    `hours_hundredths`: None where nobody has stated them; so for faults, inspections and prices of work.
    `low_hours_hundredths`, `high_hours_hundredths`: the range of its hours; None where none is stated.
    `work`: the kind of work whose rate its hours are charged at; empty for the bench's.
    `waits_for`: position kinds whose parts must have been put in place first, for one with `refit` before it is
    put back. `closes_the_job`: all else comes first. `step_words`: what its step says, where the label covers the way
    back too. `measures_lengths`: what moves a dimension is bought after it. `check_when_fitted`: what to look at as it
    is put back, or done where nothing is put back.
    """

    stage: str = field(default="strip", metadata={"text": "stage"})
    after: tuple[str, ...] = field(default=(), metadata={"refs": "after"})
    cash_hundredths: int = field(default=0, metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": ("hours", "usualHours")})
    days: Fraction = field(default=Fraction(0), metadata={"exact": "days"})
    caution: str = field(default="", metadata={"text": "caution"})
    refit: str = field(default="", metadata={"text": "refit"})
    # units, families or assemblies that this task replaces another task for
    only_for: tuple[str, ...] = field(default=(), metadata={"refs": "onlyFor"})
    # the task id that it stands in for, where `only_for` applies
    instead_of: str = field(default="", metadata={"ref": "insteadOf"})
    # where the hours come from; empty where they are the shop's own figure
    source: str = field(default="", metadata={"text": "dcterms:source"})
    low_hours_hundredths: int | None = field(default=None, metadata={"hundredths": ("lowHours", "usualLowHours")})
    high_hours_hundredths: int | None = field(default=None, metadata={"hundredths": ("highHours", "usualHighHours")})
    work: str = field(default="", metadata={"text": "work"})
    waits_for: tuple[str, ...] = field(default=(), metadata={"refs": "waitsFor"})
    closes_the_job: bool = field(default=False, metadata={"flag": "closesTheJob"})
    step_words: str = field(default="", metadata={"text": "stepWords"})
    measures_lengths: bool = field(default=False, metadata={"flag": "measuresLengths"})
    check_when_fitted: tuple[str, ...] = field(default=(), metadata={"texts": "checkWhenFitted"})


@dataclass(frozen=True, slots=True)
class Assembly(Term):
    """A kind of finished job. `must_have`, `may_have`: its position kinds; every one else is no part of the job.

    `every_job`: tasks done however the parts fit. `comes_apart_by`: tasks by which the units are parted.
    `turns_into`: assemblies that it can be made into; what goes and what comes follows from both lists of must-haves.
    `no_joints`: joint kinds between two of its positions that it does not have; it has all others. `no_use_for`: part
    kinds that cannot stay in it, though a place of it may hold them. `parting`: what comes away first where a unit that
    was made for it goes into another.
    """

    must_have: tuple[str, ...] = field(default=(), metadata={"refs": "mustHave"})
    may_have: tuple[str, ...] = field(default=(), metadata={"refs": "mayHave"})
    every_job: tuple[str, ...] = field(default=(), metadata={"refs": "everyJob"})
    comes_apart_by: tuple[str, ...] = field(default=(), metadata={"refs": "comesApartBy"})
    turns_into: tuple[str, ...] = field(default=(), metadata={"refs": "turnsInto"})
    no_joints: tuple[str, ...] = field(default=(), metadata={"refs": "noJoint"})
    no_use_for: tuple[str, ...] = field(default=(), metadata={"refs": "noUseFor"})
    parting: str = field(default="", metadata={"text": "parting"})

    @property
    def positions(self) -> tuple[str, ...]:
        """All position kinds that such a job can have, in order of ids."""
        return tuple(sorted({*self.must_have, *self.may_have}))

    def has_joint(self, joint: JointKind) -> bool:
        """Is the joint kind one of the assembly's?"""
        return joint.id not in self.no_joints and set(joint.between) <= {*self.must_have, *self.may_have}


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part or a unit (a unit is an assembly that contains parts at positions).

    `days`: lead time. `in_stock`: on the shelf, then `cash_hundredths` is its book value.
    `hours_hundredths`: fitting it once its position is open; None: nobody has stated it, which is not "none".
    `tasks`: needed besides its position's.
    `made_for`: of a unit or a family of units, the assemblies that it was made for, as somebody has stated.
    `deposit_hundredths`: core deposit paid with the price; what of it is expected to be lost is in the price
    (`deposit_counted_hundredths`). `part_exchange_hundredths`: off a unit's price for the old one handed in.
    """

    id: str
    label: str = field(metadata={"text": "rdfs:label"})
    kind: str = field(metadata={"ref": "kind"})
    variant_of: str = field(default="", metadata={"ref": "variantOf"})
    number: str = field(default="", metadata={"text": "number"})
    condition: str = field(default="unknown", metadata={"ref": "partCondition"})
    deposit_hundredths: int = 0
    deposit_counted_hundredths: int = 0
    part_exchange_hundredths: int | None = field(default=None, metadata={"hundredths": "partExchange"})
    found_condition: str = ""  # that of the one in its unit, where the shop's record offers one in another condition
    cash_hundredths: int | None = field(default=None, metadata={"hundredths": "cash"})
    currency: str = field(default="", metadata={"text": "currency"})
    days: Fraction = field(default=Fraction(0), metadata={"exact": "days"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    tasks: tuple[str, ...] = field(default=(), metadata={"refs": "task"})
    in_stock: bool = field(default=False, metadata={"flag": "inStock"})
    conditions: tuple[Condition, ...] = field(default=(), metadata={"each": "condition"})
    to_confirm: tuple[str, ...] = field(default=(), metadata={"texts": "toConfirm"})
    check_when_fitted: tuple[str, ...] = field(default=(), metadata={"texts": "checkWhenFitted"})
    note: str = field(default="", metadata={"ref": "note"})
    abstract: bool = field(default=False, metadata={"flag": "abstract"})  # a family: never picked itself
    price_source: str = ""  # in words, where the price is from, as far as the shop's own record says
    made_for: tuple[str, ...] = field(default=(), metadata={"refs": "madeFor"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A typed edge, itself a resource: what joins `source` to `target`, at which joint, at what cost.

    contains: unit -> part at `position`. fits, requires-machining, does-not-fit: part -> part at `joint`.
    replaces: new part -> old part. adds-feature: part or edge -> feature. needs, excludes: part or edge
    -> part or edge (`needs` edges of one source with one `group` are alternatives: any one will do).
    shifts: part or edge -> chain kind, by `shift_um`. lays-open: task -> fault. has-none: the unit has no part at
    `position`; no target.
    `overrules`: does-not-fit edges that a fits or requires-machining edge answers, so that they rule nothing out.
    `cash_hundredths`, `hours_hundredths`: None where nobody has stated them. A plain *fits* needs none of its own, its
    work is its joint's; of machining, and of what names an operation or money, they are then not known.
    """

    id: str
    kind: str = field(metadata={"edge_class": "rdf:type"})
    source: str = field(metadata={"ref": "source"})
    target: str = field(metadata={"ref": "target"})
    joint: str = field(default="", metadata={"ref": "joint"})
    position: str = field(default="", metadata={"ref": "position"})
    group: str = field(default="", metadata={"text": "group"})
    shift_um: int = field(default=0, metadata={"um": "shiftMm", "only_of": SHIFTS})
    # shifts: how far the true value may lie from it, either way; None: not stated
    uncertainty_um: int | None = field(default=None, metadata={"um": "uncertaintyMm"})
    cash_hundredths: int | None = field(default=None, metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    days: Fraction = field(default=Fraction(0), metadata={"exact": "days"})
    tasks: tuple[str, ...] = field(default=(), metadata={"refs": "task"})
    operations: tuple[str, ...] = field(default=(), metadata={"listed": "operations"})
    irreversible: bool = field(default=False, metadata={"flag": "irreversible"})
    conditions: tuple[Condition, ...] = field(default=(), metadata={"each": "condition"})
    to_confirm: tuple[str, ...] = field(default=(), metadata={"texts": "toConfirm"})
    check_when_fitted: tuple[str, ...] = field(default=(), metadata={"texts": "checkWhenFitted"})
    reason: str = field(default="", metadata={"text": "reason"})
    # does-not-fit: by how much it misses, where that is known
    miss_um: int | None = field(default=None, metadata={"um": "missMm"})
    overrules: tuple[str, ...] = field(default=(), metadata={"refs": "overrules"})
    caution: str = field(default="", metadata={"text": "caution"})
    note: str = field(default="", metadata={"ref": "note"})
    evidence: str = field(default="", metadata={"evidence": "evidence"})
    low_hours_hundredths: int | None = field(default=None, metadata={"hundredths": "lowHours"})  # as for a task
    high_hours_hundredths: int | None = field(default=None, metadata={"hundredths": "highHours"})


@dataclass(frozen=True, slots=True)
class StatedFault(Term):
    """What may be worn in the part as found at `position`; `of`: the part, unit or family it is known of ("" = any)."""

    position: str = field(default="", metadata={"ref": "position"})
    of: str = field(default="", metadata={"ref": "of"})
    odds: Fraction = field(default=Fraction(0), metadata={"exact": "odds", "always": True})
    cash_hundredths: int | None = field(default=None, metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    shows: bool = field(default=True, metadata={"flag": "shows"})
    source: str = field(default="", metadata={"text": "dcterms:source"})


@dataclass(frozen=True, slots=True)
class OpenFault:
    """A fault that a question is about: its id, the kind of its position, its odds (0 to 1)."""

    id: str
    position: str
    odds: Fraction


@dataclass(frozen=True, slots=True)
class SharedWear:
    """What ties faults: `odds` (0 to 1) of its being there, and by fault id the odds of each where it is."""

    id: str
    label: str
    odds: Fraction
    if_there: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True)
class StatedInspection(Term):
    """A test before anything comes apart."""

    cash_hundredths: int = field(default=0, metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    settles: tuple[str, ...] = field(default=(), metadata={"refs": "settles"})
    caution: str = field(default="", metadata={"text": "caution"})


@dataclass(frozen=True, slots=True)
class Quantity(Term):
    """What can be measured, counted or seen of a part. `dimension`: length, angle, torque, count or word.

    `form`: size, or position (which needs a datum). `adds_to`, `takes_from`: chain kinds that a part with this length
    moves by all of it. `minutes`: how long finding it out usually takes once the part can be reached.
    """

    dimension: str = field(default="length", metadata={"text": "dimension"})
    form: str = field(default="size", metadata={"text": "form"})
    part_kinds: tuple[str, ...] = field(default=(), metadata={"refs": "partKind"})
    words: tuple[str, ...] = field(default=(), metadata={"texts": "word"})
    usual_tool: str = field(default="", metadata={"text": "usualTool"})
    minutes: Fraction = field(default=Fraction(5), metadata={"exact": "minutes"})
    adds_to: tuple[str, ...] = field(default=(), metadata={"refs": "addsTo"})
    takes_from: tuple[str, ...] = field(default=(), metadata={"refs": "takesFrom"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One reading as it was written down: texts with units, not yet numbers (see graph/catalogue/measurements.py).

    `subject`: variant (true of every one built so) or unit (read on this piece).
    """

    id: str
    quantity: str = field(metadata={"ref": "quantity"})
    of: str = field(metadata={"ref": "measuredOn"})
    reading: str = field(metadata={"text": "reading"})
    uncertainty: str = field(default="", metadata={"text": "uncertainty"})
    datum: str = field(default="", metadata={"text": "datum"})
    tool: str = field(default="", metadata={"text": "tool"})
    temperature: str = field(default="", metadata={"text": "temperature"})
    subject: str = field(default="variant", metadata={"text": "subject"})
    evidence: str = field(default="", metadata={"evidence": "evidence"})
    note: str = field(default="", metadata={"ref": "note"})


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredHole:
    """One hole of a bolt face as written down. `use`: thread, clearance, dowel or other."""

    id: str = field(metadata={"text": "holeName"})
    x: str = field(metadata={"text": "x"})
    y: str = field(metadata={"text": "y"})
    diameter: str = field(metadata={"text": "diameter"})
    use: str = field(metadata={"text": "use"})
    thread: str = field(default="", metadata={"text": "thread"})
    edge_distance: str = field(default="", metadata={"text": "edgeDistance"})


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltFace:
    """The holes of a part's face at a joint kind, about the axis named by `datum`, as `seen_from` rear or front."""

    id: str
    of: str = field(metadata={"ref": "measuredOn"})
    joint: str = field(metadata={"ref": "joint"})
    datum: str = field(metadata={"text": "datum"})
    seen_from: str = field(metadata={"text": "seenFrom"})
    uncertainty: str = field(metadata={"text": "uncertainty"})
    holes: tuple[MeasuredHole, ...] = field(default=(), metadata={"each": "hole"})
    evidence: str = field(default="", metadata={"evidence": "evidence"})
    note: str = field(default="", metadata={"ref": "note"})


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationPrice:
    """What one piece of work costs besides the tasks it needs (a visit to the machine shop is paid once).

    `work`: the kind of work whose rate its hours are charged at; empty for the bench's.
    """

    id: str
    operation: str = field(metadata={"text": "operation"})
    label: str = field(metadata={"text": "rdfs:label"})
    cash_hundredths: int = field(metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    days: Fraction = field(default=Fraction(0), metadata={"exact": "days"})
    tasks: tuple[str, ...] = field(default=(), metadata={"refs": "task"})
    work: str = field(default="", metadata={"text": "work"})


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardPartPrice:
    """What a part of a published table costs, by its designation, and what fitting it takes."""

    id: str
    designation: str = field(metadata={"text": "designation"})
    cash_hundredths: int = field(metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    days: Fraction = field(default=Fraction(0), metadata={"exact": "days"})


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything known, by id. Built by the facts loader; read by the conversion reading.

    `workshop`: the name of the shop whose facts these are; "": not stated.

    `fitting_hours`: what a shop's record makes of the hours (hundredths) of fitting a candidate or closing a link, by
    its id and the hours that facts give it; None: as the facts have it. `common_causes`: what ties the faults of a
    document to each other; None: nothing is known of that.
    """

    workshop: str = ""
    currency: str = ""
    rate_hundredths: int = 0
    day_hours: Fraction = Fraction(8)
    part_kinds: Mapping[str, PartKind] = field(default_factory=dict)
    position_kinds: Mapping[str, PositionKind] = field(default_factory=dict)
    joint_kinds: Mapping[str, JointKind] = field(default_factory=dict)
    chain_kinds: Mapping[str, ChainKind] = field(default_factory=dict)
    tasks: Mapping[str, TaskKind] = field(default_factory=dict)
    assemblies: Mapping[str, Assembly] = field(default_factory=dict)
    features: Mapping[str, Term] = field(default_factory=dict)
    evidence_levels: Mapping[str, EvidenceLevel] = field(default_factory=dict)
    part_conditions: Mapping[str, PartCondition] = field(default_factory=dict)
    notes: Mapping[str, Note] = field(default_factory=dict)
    parts: Mapping[str, Part] = field(default_factory=dict)
    edges: Mapping[str, Edge] = field(default_factory=dict)
    faults: Mapping[str, StatedFault] = field(default_factory=dict)
    inspections: Mapping[str, StatedInspection] = field(default_factory=dict)
    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    measurements: Mapping[str, Measurement] = field(default_factory=dict)
    bolt_faces: Mapping[str, BoltFace] = field(default_factory=dict)
    operation_prices: Mapping[str, OperationPrice] = field(default_factory=dict)  # by operation
    standard_prices: Mapping[str, StandardPartPrice] = field(default_factory=dict)  # by designation
    fitting_hours: Callable[[str, int], int] | None = None
    common_causes: Callable[[Sequence[OpenFault]], tuple[SharedWear, ...]] | None = None
