"""What a remedy of a length chain moves besides the chain."""

from __future__ import annotations

from dataclasses import dataclass

from graph.fits.length_chain import Remedies
from graph.fits.length_sheet import PAD_MILLING, PLATE, REFACE, SPACER
from graph.fits.model import show_nm


@dataclass(frozen=True, slots=True)
class Effect:
    """Something outside the chain that a remedy moves, against the baseline. Plus as the words say."""

    what: str
    amount_nm: int

    def text(self) -> str:
        """`lever back by 5.000 mm`."""
        return f"{self.what} by {show_nm(self.amount_nm)}"


def side_effects(remedies: Remedies, baseline: Remedies) -> tuple[Effect, ...]:
    """What moves besides the chain. A plate moves the lever back by its own thickness (common practice)."""
    effects = []
    plate = remedies.get(PLATE, 0) - baseline.get(PLATE, 0)
    if plate:
        direction, prop = ("back", "shorter") if plate > 0 else ("forward", "longer")
        effects += [
            Effect(f"prop-shaft {prop}", abs(plate)),
            Effect(f"lever {direction}", abs(plate)),
            Effect(f"gearbox mount {direction}", abs(plate)),
        ]
    spacer = remedies.get(SPACER, 0) - baseline.get(SPACER, 0)
    if spacer:
        direction = "back" if spacer > 0 else "forward"
        effects.append(Effect(f"crank sensor ring to re-set, moved {direction}", abs(spacer)))
    if remedies.get(REFACE, 0):
        effects.append(Effect("flywheel thinner: keep the step to the maker's figure; thinner", remedies[REFACE]))
    if remedies.get(PAD_MILLING, 0):
        effects.append(Effect("starter pad thinner", remedies[PAD_MILLING]))
    return tuple(effects)
