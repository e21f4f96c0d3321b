"""What a question reaches: positions, the parts that can hold them, the joints between them. No I/O."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from graph.catalogue.model import Edge
from graph.catalogue.terms import JointKind
from graph.lookups.index import CatalogueIndex
from graph.reading.model import AS_FOUND
from graph.reading.places import NOT_STATED, Gap

# A part that mates with more than this many at one joint, or that more than this many replace (a bearing of a standard
# size), says nothing about which of them belong here; those that do are found through their other joints.
COMMON = 60


@dataclass(slots=True)
class Found:
    """A part that can hold a position, before costs are put to it. `unit`: the asked unit that contains it.

    `donor`: the unit in hand that it is taken out of. `gap`: where nobody has stated the part, what is not known of the
    place; `part` is a name made for it then.
    """

    part: str
    how: str
    edges: tuple[Edge, ...] = ()
    unit: str = ""
    donor: str = ""
    gap: Gap | None = None

    @property
    def as_found(self) -> bool:
        """Is it there now, as far as is known?"""
        return self.how == AS_FOUND or self.how in NOT_STATED

    @property
    def is_bought(self) -> bool:
        """Was it brought to the question from outside, neither found in an asked unit nor supposed in one?"""
        return not self.unit


@dataclass(slots=True)
class Neighbourhood:
    """What the question reaches: per position its parts, and the joints between the positions.

    `gaps`: per position of the assembly, what is not known of it; none where no assembly is settled.
    """

    positions: dict[str, dict[str, Found]] = field(default_factory=dict)
    refused: dict[str, dict[str, None]] = field(default_factory=dict)  # found there, and may not stay
    joints: list[JointKind] = field(default_factory=list)
    gaps: dict[str, Gap] = field(default_factory=dict)

    def copied(self) -> Neighbourhood:
        """One that can be pruned without touching this."""
        return replace(self, positions={place: dict(held) for place, held in self.positions.items()})

    def kinds_served(self, index: CatalogueIndex) -> frozenset[str]:
        """The part kinds that a position holds or a joint takes between its parts."""
        known = index.catalogue.position_kinds
        held = {kind for position in self.positions for kind in known[position].part_kinds}
        return frozenset(held.union(*(joint.via_kinds for joint in self.joints)))
