"""The catalogue: what facts say of parts, as frozen objects; its terms: graph/catalogue/terms.py. No I/O, no search.

Ids are the local part of an IRI under the shop's base (`case-marl-5`), or under the vocabulary's base for
kinds. Money and hours are whole hundredths, lengths whole micrometres, days and odds exact fractions.
An edge stated of a family (`variant_of` of a part) holds for its variants, unless an edge of the variant
itself, at the same joint, says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.catalogue.terms import (
    Assembly,
    ChainKind,
    EvidenceLevel,
    JointKind,
    PartCondition,
    PartKind,
    PositionKind,
    Quantity,
    TaskKind,
    Term,
)
from graph.common_cause import CommonCause

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

    def far_end(self, end: str) -> str:
        """The end that is not this one."""
        return self.target if self.source == end else self.source


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
class StatedInspection(Term):
    """A test before anything comes apart."""

    cash_hundredths: int = field(default=0, metadata={"hundredths": "cash"})
    hours_hundredths: int | None = field(default=None, metadata={"hundredths": "hours"})
    settles: tuple[str, ...] = field(default=(), metadata={"refs": "settles"})
    caution: str = field(default="", metadata={"text": "caution"})


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
    common_causes: Callable[[Sequence[OpenFault]], tuple[CommonCause, ...]] | None = None
