"""The parts of an assembly for its section: what a route picks, and what a gearbox holds as it was found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import islice

from graph.answer.ground import Ground
from graph.answer.section_faces import OTHER, PLATE, ROLE_OF_KIND, ROLE_OF_PLACE, HeldPart
from graph.catalogue.model import CONTAINS, FITS, SHIFTS, Edge
from graph.derive.around import deriver_of
from graph.derive.made_places import made_length_nm
from graph.fits.model import NM_PER_UM
from graph.lookups.index import CatalogueIndex
from graph.search.result import Route

ENGINE_FACE, BELL_PLACE, BLOCK_PLACE = "engine-face", "at-bell-housing", "at-block"
WIDE_AT = ("at-pilot", "at-input-bearing")  # bearings whose width is measured, or published for their size
TAIL_PLACE, TAIL_LENGTH, WIDTH = "at-tail-housing", "tail-length", "bearing-width"
MOST_LOOKED_AT = 200  # of what a housing is said to mate with: more than any shop notes of one


@dataclass(frozen=True, slots=True)
class Gathered:
    """The parts in the order of the assembly, and the *shifts* edges behind them, each once."""

    held: tuple[HeldPart, ...]
    edges: tuple[Edge, ...]


def parts_of_route(ground: Ground, route: Route) -> Gathered:
    """What stands in the assembly after the route. Empty for a document that came without its reading."""
    if ground.reading is None:
        return Gathered((), ())
    found: list[HeldPart] = []
    told: dict[str, Edge] = {}
    for position in ground.conversion.positions:
        choice = ground.candidates[route.picks[position.id]]
        origin = ground.reading.candidates.get(choice.id)
        if origin is None or origin.part is None:
            continue
        part = origin.part
        role = ROLE_OF_PLACE.get(position.kind) or _role_of_kind(ground, part.kind)
        fitted = not choice.as_found
        found += _held(role, part.id, part.label, position.kind, fitted, origin.shifts, told)
    for joint in ground.conversion.joints:
        origin_of_link = ground.reading.links.get(route.links[joint.id])
        if origin_of_link is None:
            continue
        for between in origin_of_link.via:
            role = PLATE if joint.kind == ENGINE_FACE else _role_of_kind(ground, between.kind)
            own = [edge for edge in origin_of_link.shifts if edge.source == between.id]
            found += _held(role, between.id, between.label, "", True, own, told)
        inside = {between.id for between in origin_of_link.via}
        rest = [edge for edge in origin_of_link.shifts if edge.source not in inside]
        found += _held(OTHER, joint.id, joint.label, "", True, rest, told)
    found += _held(OTHER, "", "the units themselves", "", False, ground.reading.standing_shifts, told)
    return Gathered(tuple(found), tuple(told.values()))


def _held(
    role: str, part: str, label: str, place: str, fitted: bool, shifts: Iterable[Edge], told: dict[str, Edge]
) -> list[HeldPart]:
    """The part with what it alone adds; an edge that was counted for another one is not counted again."""
    new = {edge.id: edge for edge in shifts if edge.kind == SHIFTS and edge.id not in told}
    told |= new
    moved: dict[str, int] = {}
    for edge in new.values():
        moved[edge.target] = moved.get(edge.target, 0) + edge.shift_um
    if role == PLATE and not moved:
        role = OTHER  # something in the joint that has no thickness, such as offset dowels
    return [HeldPart(role, part, label, place, fitted, moved)] if moved or role != OTHER or place else []


def _role_of_kind(ground: Ground, kind: str) -> str:
    kinds = ground.index.kinds_of(kind) if ground.index is not None else frozenset({kind})
    return next((role for one, role in ROLE_OF_KIND.items() if one in kinds), OTHER)


def parts_as_found(index: CatalogueIndex, *units: str) -> Gathered:
    """What the units hold by themselves; a place of which two parts are said is left out, for it is not known which."""
    found: list[HeldPart] = []
    told: dict[str, Edge] = {}
    for unit in units:
        for place, edges in sorted(index.contains(unit).items()):
            parts = {edge.target for edge in edges}
            known = index.catalogue.parts.get(next(iter(parts))) if len(parts) == 1 else None
            if known is not None:
                role = ROLE_OF_PLACE.get(place, OTHER)
                found += _held(role, known.id, known.label, place, False, index.side_effects(known.id), told)
    return Gathered(tuple(found), tuple(told.values()))


def with_own_lengths(index: CatalogueIndex, gathered: Gathered, gearbox: str) -> Gathered:
    """The parts with what is measured of them alone; a tail's length is its gearbox's, while that still has its own."""
    measured = deriver_of(index).measured

    def length(of: str, quantity: str) -> int | None:
        known = measured.length(of, quantity) if of in index.catalogue.parts else None
        return None if known is None else round(known.nominal_nm / NM_PER_UM)

    def own(one: HeldPart) -> HeldPart:
        if one.place in WIDE_AT:
            made = made_length_nm(measured, one.part)
            return replace(one, own_um=length(one.part, WIDTH) if made is None else round(made / NM_PER_UM))
        if one.place == TAIL_PLACE and not one.fitted:
            return replace(one, own_um=length(gearbox, TAIL_LENGTH))
        return one

    return Gathered(tuple(map(own, gathered.held)), gathered.edges)


def own_engine(index: CatalogueIndex, gearbox: str) -> tuple[str, str]:
    """The engine behind which the gearbox stood, as far as facts tell, and how that is known or why it is not.

    The only engine whose block the gearbox's own housing is stated to fit as it is; where there are several or none,
    nobody has said which, and nothing is guessed.
    """
    housing = index.contains(gearbox).get(BELL_PLACE, ())
    if len({edge.target for edge in housing}) != 1:
        return "", "its own engine is not known: nobody has stated which housing it has"
    bell = housing[0].target
    engines = sorted(_engines_of(index, _blocks_at(index, bell)))
    label = index.catalogue.parts[bell].label if bell in index.catalogue.parts else bell
    if len(engines) == 1:
        return engines[0], f"taken as its own engine: the only one that {label} is stated to fit as it is"
    if not engines:
        return "", f"its own engine is not known: no engine is stated that {label} fits as it is"
    return "", f"its own engine is not known: {label} is stated to fit {len(engines)} engines"


def _blocks_at(index: CatalogueIndex, bell: str) -> set[str]:
    said = islice(index.mating_at(bell, ENGINE_FACE), MOST_LOOKED_AT)
    ends = {end for edge in said if edge.kind == FITS for end in (edge.source, edge.target)} - {bell}
    parts = index.catalogue.parts
    return {one for one in ends if one in parts and "engine-block" in index.kinds_of(parts[one].kind)}


def _engines_of(index: CatalogueIndex, blocks: Iterable[str]) -> set[str]:
    found = set()
    for block in blocks:
        for edge in islice(index.edges_at(block, CONTAINS, outward=False), MOST_LOOKED_AT):
            known = index.catalogue.parts.get(edge.source)
            if edge.position == BLOCK_PLACE and known is not None and not known.abstract:
                found.add(edge.source)
    return found
