"""The working behind an edge: numbers, units, formula, source and margins, so that it can be checked with a pencil.

A computed edge carries its own working. For an edge that a note states, the arithmetic about the same pair is shown
beside it: it agrees, disagrees, or says what to measure.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.catalogue.kinds import can_hold
from graph.catalogue.model import SHIFTS, Edge, Note
from graph.catalogue.near import near_matches
from graph.derive.around import deriver_of
from graph.derive.bearings import STANDARD
from graph.derive.deriver import Deriver
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.made_places import find_made
from graph.derive.sized import find_sized
from graph.derive.sketches import list_sketches
from graph.errors import NotFound
from graph.fits.model import NM_PER_MM, NM_PER_UM, CheckResult, Verdict
from graph.fits.sketch import Sketch
from graph.lookups.findings import COMPUTED, PairFinding
from graph.lookups.index import CatalogueIndex

COMPUTED_ONLY, AGREES, DISAGREES, UNDECIDED, NOT_COMPUTED = (
    "computed", "agrees with the note", "disagrees with the note", "undecided", "not computed"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Explained:
    """An edge and what the arithmetic says of its pair. `standing`: computed, agrees, disagrees, undecided, ..."""

    edge: Edge
    standing: str
    finding: PairFinding | None
    note: Note | None
    sketches: tuple[Sketch, ...] = ()


def explain_edge(index: CatalogueIndex, edge_id: str) -> Explained:
    """The working of an edge. Raises NotFound with near matches for an id that is neither noted nor computed."""
    deriver = deriver_of(index)
    noted = index.catalogue.edges.get(edge_id)
    if noted is not None:
        return _of_note(index, deriver, noted)
    made = find_made(deriver.measured, edge_id)
    if made is not None:
        edge, result, between = made
        finding = PairFinding(joint=edge.joint, parts=between.ends, result=result, edges=(edge,))
        return Explained(edge, COMPUTED_ONLY, finding, None)
    if edge_id.startswith(COMPUTED):
        for finding in _candidates(deriver, edge_id):
            for edge in finding.edges:
                if edge.id == edge_id:
                    sketches = list_sketches(deriver, finding, _plate_nm(finding, edge))
                    return Explained(edge, COMPUTED_ONLY, finding, None, sketches)
            found = find_sized(deriver.measured, finding, edge_id)
            if found is not None:
                return _of_sized(deriver, finding, *found)
    raise NotFound("edge", edge_id, near_matches(edge_id, index.catalogue.edges))


def _of_sized(deriver: Deriver, finding: PairFinding, edge: Edge, result: CheckResult) -> Explained:
    """A made-to-measure edge has its own working; a milled plate also the sketch of the plate."""
    shown = replace(finding, result=result, unknown=None, disagreement=None)
    size = re.search(r"--(\d+(?:\.\d+)?)--(?:in|out)$", edge.id)
    plate_nm = int(Fraction(size[1]) * NM_PER_MM) if size and JOINT_CHECKS[finding.joint].plates else 0
    return Explained(edge, COMPUTED_ONLY, shown, None, list_sketches(deriver, shown, plate_nm))


def _plate_nm(finding: PairFinding, edge: Edge) -> int:
    """The thickness of the made plate that the edge leads into or out of; 0 where it does neither."""
    moved = (one.shift_um for one in finding.edges if one.kind == SHIFTS and one.source in (edge.source, edge.target))
    return max(moved, default=0) * NM_PER_UM


def _of_note(index: CatalogueIndex, deriver: Deriver, edge: Edge) -> Explained:
    note = index.catalogue.notes.get(edge.note)
    finding = _finding_of(index, deriver, edge)
    if finding is None or finding.result is None:
        return Explained(edge, NOT_COMPUTED, None, note)
    if finding.result.verdict is Verdict.UNKNOWN:
        standing = UNDECIDED
    elif finding.disagreement is not None:
        standing = DISAGREES
    else:
        standing = AGREES
    return Explained(edge, standing, finding, note, list_sketches(deriver, finding))


def _finding_of(index: CatalogueIndex, deriver: Deriver, edge: Edge) -> PairFinding | None:
    joint = index.catalogue.joint_kinds.get(edge.joint)
    parts = index.catalogue.parts
    if edge.joint not in JOINT_CHECKS or joint is None or edge.source not in parts or edge.target not in parts:
        return None
    first = can_hold(index.catalogue, parts[edge.source].kind, joint.between[0])
    ends = (edge.source, edge.target) if first else (edge.target, edge.source)
    if not can_hold(index.catalogue, parts[ends[1]].kind, joint.between[1]):
        return None  # one end is a plate or sleeve inside the joint
    return deriver.pair(edge.joint, *ends)


def _candidates(deriver: Deriver, edge_id: str) -> list[PairFinding]:
    """The finding that the id names: `computed-<joint>--<first>--<second>...`; ids may be longer than they look."""
    found = []
    for joint in JOINT_CHECKS:
        stem = f"{COMPUTED}{joint}--"
        if joint in deriver.catalogue.joint_kinds and edge_id.startswith(stem):
            pieces = edge_id[len(stem) :].split("--")
            for cut in range(1, len(pieces)):
                first = "--".join(pieces[:cut])
                for end in range(cut + 1, len(pieces) + 1):
                    second = "--".join(pieces[cut:end])
                    if _is_part(deriver, first) and _is_part(deriver, second):
                        found.append(deriver.pair(joint, first, second))
    return found


def _is_part(deriver: Deriver, part: str) -> bool:
    if part in deriver.catalogue.parts:
        return True
    bearing = deriver.measured.bearings.get(part.removeprefix(STANDARD)) if part.startswith(STANDARD) else None
    if bearing is not None:
        deriver.bearings.part(bearing)
    return bearing is not None
