"""The catalogue's terms: what sorts of parts, places, joints, tasks, readings and jobs there are. No I/O.

What is said of single parts by them: graph/catalogue/model.py, which also says how ids, money, hours and lengths stand.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


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
    `cash_hundredths`: what it uses up (oil, seals, sealant), or the carriage of what is sent out; None where nobody has
    stated it, which is not nothing.
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
    cash_hundredths: int | None = field(default=None, metadata={"hundredths": ("cash", "usualCash")})
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
    # its cash is only what its rate adds to the bench's: nobody has stated what it uses up
    cash_is_rate: bool = False

    @property
    def cash_stated(self) -> bool:
        """Has somebody stated what it uses up or, sent out, its carriage? 0 is a statement."""
        return self.cash_hundredths is not None and not self.cash_is_rate


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
