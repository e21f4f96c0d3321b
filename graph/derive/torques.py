"""What engines give and what gearboxes and clutches carry, as far as somebody has noted it of the parts around."""

from __future__ import annotations

from collections.abc import Iterable

from graph.derive.measured import Measured
from graph.lookups.findings import Torque

ENGINE_TORQUE, GEARBOX_RATING, CLUTCH_CAPACITY = "engine-torque", "input-torque-rating", "clutch-torque-capacity"
TORQUES = (ENGINE_TORQUE, GEARBOX_RATING, CLUTCH_CAPACITY)


def read_torques(measured: Measured, parts: Iterable[str]) -> dict[tuple[str, str], Torque]:
    """The settled torques of the parts, by part and quantity; what is disputed counts as not known."""
    found = {}
    for part in sorted(set(parts)):
        for quantity in TORQUES:
            known = measured.number(part, quantity) if measured.facts(part, quantity) else None
            if known is not None:
                found[part, quantity] = Torque(part, quantity, *known)
    return found
