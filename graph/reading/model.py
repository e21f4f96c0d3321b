"""What a reading of the graph hands out besides the conversion document: where everything came from, and what
was left out and why. Frozen objects, no I/O."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from graph.catalogue.model import Catalogue, Edge, Part
from graph.conversion.document import Conversion
from graph.derive.findings import Derived
from graph.reading.conditions import Settled
from graph.reading.question import Question
from graph.reading.units import AskedUnit

if TYPE_CHECKING:
    from graph.reading.demanded import Demand  # it reads this module, for how a part came to its place

# How a candidate came to be one.
AS_FOUND = "as found"
COMES_WITH = "comes with the other unit"
FROM_DONOR = "out of a donor in hand"
REPLACEMENT = "replaces"
CLOSES_A_JOINT = "closes a joint"
NEEDED = "needed"
ASSUMED_THERE = "assumed to be there"
ASSUMED_EMPTY = "assumed to be empty"
PART_NEEDED = "a part is needed"

# Why something was left out.
AVOIDED = "avoided"
CONDITION_FALSE = "condition false"
BELOW_FLOOR = "below evidence floor"
DISPUTED = "disputed and refused"
DOES_NOT_FIT_HERE = "does not fit"
OVERRULED = "overruled by the variant's own"
CANNOT_CLOSE = "cannot close a joint"
NEED_UNMET = "need unmet"
NOT_KNOWN = "not known"
NO_PRICE = "no price"
UNUSABLE = "cannot be used"  # damaged, worn out: see lay:usable
RULED_OUT_BY_NOTE = "ruled out by a note"
NOT_ASKED = "not asked about"


@dataclass(frozen=True, slots=True)
class CandidateOrigin:
    """Where a candidate came from. `part` is None for the place that stays empty ("not needed").

    `shifts`: the *shifts* edges behind what it moves.
    """

    part: Part | None
    edges: tuple[Edge, ...]
    how: str
    shifts: tuple[Edge, ...] = ()


@dataclass(frozen=True, slots=True)
class LinkOrigin:
    """The edges that a link was read from, in order along it, the parts between, and the *shifts* edges behind it."""

    edges: tuple[Edge, ...]
    via: tuple[Part, ...] = ()
    disputed: bool = False
    shifts: tuple[Edge, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something that no route can use. `what`: a part or edge id; `where`: its position or joint.

    `reason` is one of the codes above, `text` the same for a mechanic; `miss_um` where it is known.
    """

    what: str
    kind: str
    where: str
    reason: str
    text: str
    edges: tuple[str, ...] = ()
    miss_um: int | None = None


@dataclass(frozen=True, slots=True)
class NearMiss:
    """Two parts that are known not to fit at a joint, and by how much."""

    parts: tuple[str, str]
    edge: str
    reason: str
    miss_um: int | None = None


@dataclass(frozen=True, slots=True)
class OpenJoint:
    """A joint that no allowed pair of candidates closes. Nearest misses first."""

    joint: str
    why: str
    misses: tuple[NearMiss, ...] = ()


@dataclass(frozen=True, slots=True)
class Dispute:
    """Edges of equal standing that contradict each other about one joint of two parts."""

    joint: str
    parts: tuple[str, str]
    edges_for: tuple[str, ...]
    edges_against: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Settling:
    """What would settle a doubt: the inspection's id, the quantity to take, of which part, with what tool.

    `minutes`: how long that usually takes; None where nobody has said.
    """

    inspection: str
    quantity: str
    of: str
    tool: str
    minutes: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What stands behind a fault that sits on assumed picks, in words for a mechanic.

    `fault`: its id in the document; `text`: what may not hold; `joint`, `position`: kinds, "" where it is about none;
    `parts`: ids of those it is about; `odds_source`, `cost_source`: where odds and cost come from; `remedy`: what puts
    it right; `unpriced`: what of the remedy has no price, hours or rate, so that its cost is "at least"; `settles`:
    what would tell, the shortest first; `counts_as`: whose odds a finding of it teaches, "" for none.
    """

    fault: str
    text: str
    joint: str = ""
    position: str = ""
    parts: tuple[str, ...] = ()
    odds_source: str = ""
    remedy: str = ""
    cost_source: str = ""
    unpriced: tuple[str, ...] = ()
    settles: tuple[Settling, ...] = ()
    counts_as: str = ""


def length_doubt(chain: str) -> str:
    """The id of the doubt that a dimension, not every length of which is known, keeps within its limits."""
    return f"doubt/length/{chain}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The conversion document of a question, and all that stands behind it.

    `settled`: per candidate or link id, its conditions and how they stand. `evidence`: per candidate or link id,
    the weakest level it rests on ("" where nothing is noted). `offered`: required features that the units
    themselves have, and so are not asked of the search. `catalogue`: what was read, computed edges and parts
    included; `standing_shifts`: the *shifts* edges of the units as such; `derived`: what was computed by itself, with
    its workings, and what waits for a measurement. `units`: the asked units, in hand or to be bought. `assembly`: the
    kind of finished job it was read for, "" where none is settled; `asks`: then, what has to be said first, in words
    with the choices. `doubts`: by the fault's id, what stands behind the faults of assumed picks.
    `demands`: those of the question that are computed for each route, with what they are computed from.
    `book_hours`: by candidate or link, the hours (hundredths) that facts give it, before anything was learnt.
    """

    question: Question
    conversion: Conversion
    catalogue: Catalogue
    derived: Derived
    candidates: Mapping[str, CandidateOrigin]
    links: Mapping[str, LinkOrigin]
    settled: Mapping[str, tuple[Settled, ...]]
    evidence: Mapping[str, str]
    left_out: tuple[LeftOut, ...] = ()
    open_joints: tuple[OpenJoint, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    offered: tuple[str, ...] = ()
    standing_shifts: tuple[Edge, ...] = ()
    units: tuple[AskedUnit, ...] = ()
    assembly: str = ""
    asks: tuple[str, ...] = ()
    doubts: Mapping[str, Doubt] = field(default_factory=dict)
    book_hours: Mapping[str, int] = field(default_factory=dict)
    demands: tuple[Demand, ...] = ()

    def edges_by_choice(self) -> dict[str, tuple[str, ...]]:
        """Per candidate or link id, the ids of the edges it was read from."""
        origins: Mapping[str, CandidateOrigin | LinkOrigin] = {**self.candidates, **self.links}
        return {choice: tuple(edge.id for edge in origin.edges) for choice, origin in origins.items()}
