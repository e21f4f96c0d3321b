"""Where everything that a reading takes came from, what it leaves out and why, and what it doubts. Frozen, no I/O."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.catalogue.model import Edge, Part

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
RULED_OUT_BY_READING = "ruled out by a reading"  # taken of these parts, against a note about others
NOT_ASKED = "not asked about"
NOTHING_TO_DO = "nothing to do here"


@dataclass(frozen=True, slots=True)
class CandidateOrigin:
    """Where a candidate came from. `part` is None for the place that stays empty ("not needed").

    `shifts`: the *shifts* edges behind what it moves. `untold`: its hours and prices that nobody has stated, in words.
    `general`: whose hours stand for its own, in words.
    """

    part: Part | None
    edges: tuple[Edge, ...]
    how: str
    shifts: tuple[Edge, ...] = ()
    untold: tuple[str, ...] = ()
    general: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LinkOrigin:
    """The edges that a link was read from, in order along it, the parts between, and the *shifts* edges behind it.

    `untold`, `general`: as for a candidate.
    """

    edges: tuple[Edge, ...]
    via: tuple[Part, ...] = ()
    disputed: bool = False
    shifts: tuple[Edge, ...] = ()
    untold: tuple[str, ...] = ()
    general: tuple[str, ...] = ()


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
class EdgeDispute:
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
