"""What measured lengths add to the length chains, and where a note says otherwise."""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.model import SHIFTS, Catalogue, Edge
from graph.derive.edges import to_um
from graph.derive.measured import Measured
from graph.fits.model import NM_PER_UM, show_nm
from graph.lookups.findings import COMPUTED, EVIDENCE, Disagreement


def list_moves(
    catalogue: Catalogue, part: str, quantity: str, nm: int, evidence: str, note: str = "", *,
    uncertainty_nm: int = 0, reason: str = "",
) -> tuple[Edge, ...]:  # fmt: skip
    """The shifts that a part with this length causes: all of it on each chain that the quantity names.

    `reason`: what was measured, in words; an answer names it where the margin asks for a second reading.
    """
    known = catalogue.quantities.get(quantity)
    signed = [(chain, 1) for chain in known.adds_to] + [(chain, -1) for chain in known.takes_from] if known else []
    stem = part if part.startswith(COMPUTED) else f"{COMPUTED}{part}"
    return tuple(
        Edge(
            id=f"{stem}--{chain}", kind=SHIFTS, source=part, target=chain, shift_um=sign * to_um(nm), evidence=evidence,
            note=note, uncertainty_um=-(-uncertainty_nm // NM_PER_UM), reason=reason,
        )
        for chain, sign in signed if chain in catalogue.chain_kinds
    )  # fmt: skip


def read_shifts(measured: Measured, parts: Iterable[str]) -> tuple[tuple[Edge, ...], tuple[Disagreement, ...]]:
    """What measured lengths move that no note says, and where note and measurement differ by more than is uncertain."""
    catalogue, index = measured.catalogue, measured.index
    moving = [one.id for one in catalogue.quantities.values() if one.adds_to or one.takes_from]
    edges, disputes = [], []
    for part in sorted(parts):
        noted = {edge.target: edge for edge in index.side_effects(part) if edge.kind == SHIFTS}
        for quantity in moving:
            length = measured.length(part, quantity) if measured.facts(part, quantity) else None
            if length is None:
                continue
            note = measured.note_of(part, quantity)
            moves = list_moves(
                catalogue, part, quantity, length.nominal_nm, EVIDENCE, note, uncertainty_nm=length.uncertainty_nm,
                reason=f"{catalogue.quantities[quantity].label} of {measured.part(part).label}",
            )  # fmt: skip
            for edge in moves:
                said = noted.get(edge.target)
                if said is None:
                    edges.append(edge)
                elif abs(said.shift_um - edge.shift_um) * NM_PER_UM > length.uncertainty_nm:
                    disputes.append(_dispute(measured, said, edge))
    return tuple(edges), tuple(disputes)


def _dispute(measured: Measured, said: Edge, computed: Edge) -> Disagreement:
    chain = measured.catalogue.chain_kinds[said.target].label
    noted, found = (show_nm(edge.shift_um * NM_PER_UM) for edge in (said, computed))
    part = computed.source
    text = f"{measured.part(part).label}, {chain}: noted {noted}, measured {found}; measure again"
    return Disagreement("", (part,), text, (said.id,))
