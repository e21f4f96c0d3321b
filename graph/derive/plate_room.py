"""How thick a plate between two parts may be, as the length chains of a question's units leave it, and what binds."""

from __future__ import annotations

from dataclasses import dataclass

from graph.catalogue.model import SHIFTS, Catalogue
from graph.catalogue.near import near_matches
from graph.derive.around import parts_around, with_derived
from graph.derive.overlay import OverlayIndex
from graph.derive.plates import THICKNESS
from graph.derive.room import room_around, window_of
from graph.derive.signs import signs_of
from graph.errors import NotFound
from graph.lookups.index import CatalogueIndex
from graph.plates.model import ThicknessWindow


@dataclass(frozen=True, slots=True)
class UnitsAround:
    """The units around a plate, and what is in hand."""

    units: tuple[str, ...]
    own: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlateMove:
    """What a plate of that thickness moves, in micrometres; rearwards or longer is above zero."""

    chain: str
    label: str
    um: int


def window_between(
    index: CatalogueIndex, joint: str, parts: tuple[str, str], units: tuple[str, ...], own: tuple[str, ...] = ()
) -> ThicknessWindow:
    """The window that the chains of these units leave for a plate between the two parts at the joint kind.

    Raises NotFound for a unit that is not there.
    """
    for unit in units:
        if unit not in index.catalogue.parts:
            raise NotFound("unit", unit, near_matches(unit, index.catalogue.parts))
    around = UnitsAround(units, own)
    over = with_derived(index, around)
    shifts = [edge for edge in over.derived.edges if edge.kind == SHIFTS] if isinstance(over, OverlayIndex) else []
    known = index.catalogue.joint_kinds[joint]
    fixed = dict(zip(known.between, parts, strict=True))
    room = room_around(index, parts_around(index, around).positions, units, shifts, fixed, joint, {})
    return window_of(room, signs_of(index.catalogue, THICKNESS))


def moves_of(catalogue: Catalogue, thickness_um: int) -> tuple[PlateMove, ...]:
    """Every length that a plate of that thickness moves."""
    return tuple(
        PlateMove(chain, catalogue.chain_kinds[chain].label, sign * thickness_um)
        for chain, sign in signs_of(catalogue, THICKNESS).items() if chain in catalogue.chain_kinds
    )  # fmt: skip
