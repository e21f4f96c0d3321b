"""What centres an adaptor between two faces that turn: the first part's spigot in it, its own in the second part.

A flywheel is centred by the spigot of the crankshaft's flange and its own bore (graph/made/kinds.py makes a spacer by
the same two readings). What nobody has measured is not drawn, and is named. No quantity describes a propshaft's flange
so far: there what is typed counts, or nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.derive.measured import Measured
from graph.fits.model import NM_PER_UM

TURNED = ("flywheel-to-crank", "prop-flange")  # joints between which an adaptor is made, not a plate
READ_OF = {"flywheel-to-crank": ("crank-register", "flywheel-bore")}
UNREAD = "not measured, so not drawn"


@dataclass(frozen=True, slots=True)
class AdaptorCentring:
    """Sizes in micrometres, None where nobody has measured them; `unread` says which, one line each."""

    register_um: int | None = None
    spigot_um: int | None = None
    unread: tuple[str, ...] = ()


def adaptor_centring(
    measured: Measured, joint: str, first: str, second: str, labels: tuple[str, str]
) -> AdaptorCentring:  # fmt: skip
    """The register over the first part's spigot, as large as it may be, and the spigot in the second part's bore, as
    small as that may be. `first`, `second`: ids, empty for a face of no part; `labels` as they are called."""
    sizes: dict[str, int] = {}
    unread = []
    for side, part in enumerate((first, second)):
        what = "register" if side == 0 else "spigot"
        quantity = READ_OF[joint][side] if joint in READ_OF and part else ""
        read = measured.length(part, quantity) if quantity else None
        if read is not None:
            sizes[what] = -(-read.high_nm // NM_PER_UM) if side == 0 else read.low_nm // NM_PER_UM
            continue
        other = "diameter of the spigot" if side == 0 else "diameter of the bore"
        asked = measured.gap(part, quantity).text if quantity else f"{other} that centres {labels[side]}"
        unread.append(f"{what} of the adaptor: {UNREAD}; measure {asked}")
    return AdaptorCentring(sizes.get("register"), sizes.get("spigot"), tuple(unread))
