"""A unit's places: where it holds a part, where it has none, where nobody has said anything; each with who says so."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote, urlencode

from api.pages.part_view import Other, other_of
from graph.catalogue.model import UNIT_KINDS, Catalogue, Part
from graph.lookups.index import CatalogueIndex, PlaceState, UnitPlace


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place. `needed`: must it be filled; `state`: holds, has none, not known; `parts`: what it holds.

    `said_of`: the family of which it is stated, where that is not the unit itself. `evidence`: how it is known.
    `holds_href`, `none_href`: where a note can state it, while it is not known.
    """

    label: str
    needed: bool
    state: str
    parts: tuple[Other, ...]
    said_of: str
    evidence: str
    holds_href: str
    none_href: str


@dataclass(frozen=True, slots=True)
class PlacesView:
    """`jobs`: the kinds of finished job that the unit states it was made for, `said_of` like a row's; `known` of `of`
    places are stated. `state_href`: where the unit's sheet can state the job, while none is."""

    jobs: tuple[str, ...]
    said_of: str
    rows: tuple[PlaceRow, ...]
    known: int
    of: int
    state_href: str


def places_of(index: CatalogueIndex, part: Part) -> PlacesView | None:
    """The places of a gearbox, engine or vehicle, or of a family of them; None for any other part."""
    owner = next((what for what in UNIT_KINDS if index.is_unit(part.id, what)), "")
    if not owner:
        return None
    known = index.catalogue
    jobs = tuple(known.assemblies[one] for one in index.made_for(part.id) if one in known.assemblies)
    must = {position for job in jobs for position in job.must_have}
    stated = index.places(part.id)
    wanted = {*must, *(position for job in jobs for position in job.may_have)}
    own = {one for one in wanted if one in known.position_kinds and known.position_kinds[one].owner == owner}
    rows = [_row(index, part, position, position in must, stated.get(position)) for position in own | stated.keys()]
    rows.sort(key=lambda row: (not row.needed, row.label))
    family = next((one for one in index.lineage(part.id) if one in known.parts and known.parts[one].made_for), part.id)
    return PlacesView(
        tuple(job.label for job in jobs), _said_of(known, family, part), tuple(rows),
        sum(row.state != PlaceState.NOT_KNOWN for row in rows), len(rows),
        "" if jobs else f"/unit/{quote(part.id)}#made_for",
    )  # fmt: skip


def _row(index: CatalogueIndex, part: Part, position: str, needed: bool, place: UnitPlace | None) -> PlaceRow:
    known = index.catalogue
    kind = known.position_kinds.get(position)
    label = kind.label if kind else position
    if place is None:
        hrefs = [
            f"/notebook/new?{urlencode({'a': part.id, 'relation': relation, 'place': position})}"
            for relation in ("contains", "has-none")
        ]
        return PlaceRow(label, needed, PlaceState.NOT_KNOWN, (), "", "", *hrefs)
    levels = dict.fromkeys(edge.evidence for edge in place.edges if edge.evidence)
    evidence = ", ".join(known.evidence_levels[one].label if one in known.evidence_levels else one for one in levels)
    held = tuple(other_of(known, edge.target) for edge in place.edges if edge.target)
    return PlaceRow(label, needed, place.state, held, _said_of(known, place.said_of, part), evidence, "", "")


def _said_of(known: Catalogue, owner: str, part: Part) -> str:
    if owner == part.id:
        return ""
    return known.parts[owner].label if owner in known.parts else owner
