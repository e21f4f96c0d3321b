"""How much one piece of work may take: of memory, of time, and of room for what comes out.

Processor time is what bounds it; the clock only ends what does nothing, so that a busy machine refuses no honest file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Bounds:
    """`memory_bytes`: private memory of the child; `cpu_s`: whole seconds of processor time; `wall_s`: by the clock.

    `output_bytes`: what it may hand back; `items`: how many things (notes, rows) there may be in it.
    """

    memory_bytes: int
    cpu_s: int
    wall_s: float
    output_bytes: int
    items: int


# A look at a table, and what one note states: its reader waits.
LOOK = Bounds(memory_bytes=256 << 20, cpu_s=10, wall_s=120, output_bytes=4 << 20, items=200_000)
# Files, by the role of who sends them (`graph.ledger.tokens.ROLES`). What comes out of one is held in the memory of the
# service while it is judged, some 10 kB a note: so a file from the network is bounded by notes, not only by bytes.
BOUNDS: Mapping[str, Bounds] = {
    "read": LOOK,
    "note": Bounds(memory_bytes=512 << 20, cpu_s=60, wall_s=300, output_bytes=4 << 20, items=5_000),
    "manage": Bounds(memory_bytes=1 << 30, cpu_s=300, wall_s=600, output_bytes=16 << 20, items=20_000),
}
# Price lists: a row is held in about a tenth of a note's room, and a wholesaler's list has tens of thousands.
PRICE_LISTS: Mapping[str, Bounds] = {
    role: replace(bounds, items=10 * bounds.items, output_bytes=64 << 20) for role, bounds in BOUNDS.items()
}
# At the machine itself, by its owner, in a process of its own.
OWNER = Bounds(memory_bytes=4 << 30, cpu_s=3600, wall_s=7200, output_bytes=2 << 30, items=1_000_000)
