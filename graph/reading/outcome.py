"""What a reading of the graph hands out: the conversion document, and where everything in it came from. No I/O."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from graph.catalogue.model import Catalogue, Edge
from graph.conversion.document import Conversion
from graph.lookups.findings import Derived
from graph.reading.conditions import Settled
from graph.reading.demanded import Demand
from graph.reading.model import CandidateOrigin, Doubt, EdgeDispute, LeftOut, LinkOrigin, OpenJoint
from graph.reading.question import Question
from graph.reading.tried import TriedValue
from graph.reading.units import AskedUnit


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
    `tried`: values that the question tries in place of what is known.
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
    disputes: tuple[EdgeDispute, ...] = ()
    offered: tuple[str, ...] = ()
    standing_shifts: tuple[Edge, ...] = ()
    units: tuple[AskedUnit, ...] = ()
    assembly: str = ""
    asks: tuple[str, ...] = ()
    doubts: Mapping[str, Doubt] = field(default_factory=dict)
    book_hours: Mapping[str, int] = field(default_factory=dict)
    demands: tuple[Demand, ...] = ()
    tried: tuple[TriedValue, ...] = ()

    def edges_by_choice(self) -> dict[str, tuple[str, ...]]:
        """Per candidate or link id, the ids of the edges it was read from."""
        origins: Mapping[str, CandidateOrigin | LinkOrigin] = {**self.candidates, **self.links}
        return {choice: tuple(edge.id for edge in origin.edges) for choice, origin in origins.items()}
