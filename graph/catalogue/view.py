"""The catalogue as a typed multigraph, and the questions that pages and the reading ask of it.

Nodes are parts, features, chain kinds, tasks, faults, places that a unit has no part at, and those edges that other
edges speak of; each carries
`type` and `thing`. Every edge of the catalogue is one edge of the graph, keyed by its id, with `kind` and `edge`.
Inheritance along `variant_of`: an edge stated of a family holds for its variants, unless the variant (or a family
nearer to it) has an edge of its own at the same joint with the same counterpart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from graph.catalogue.model import CONTAINS, DOES_NOT_FIT, HAS_NONE, MATING_KINDS, Catalogue, Edge, Part
from graph.catalogue.near import near_matches
from graph.errors import NotFound

if TYPE_CHECKING:
    import networkx as nx

_SYMMETRIC = (*MATING_KINDS, DOES_NOT_FIT, "excludes")


def get_part(catalogue: Catalogue, part_id: str) -> Part:
    """The part with the id. Raises NotFound with near matches."""
    part = catalogue.parts.get(part_id)
    if part is None:
        raise NotFound("part", part_id, near_matches(part_id, catalogue.parts))
    return part


def list_family(catalogue: Catalogue, part_id: str) -> tuple[str, ...]:
    """The part and the families that it belongs to, nearest first. Raises NotFound.

    A part whose family is missing from the catalogue ends the list there.
    """
    chain = [get_part(catalogue, part_id).id]
    while (parent := catalogue.parts[chain[-1]].variant_of) in catalogue.parts and parent not in chain:
        chain.append(parent)
    return tuple(chain)


def list_variants(catalogue: Catalogue, part_id: str) -> tuple[Part, ...]:
    """Every part below the family, by id; the family itself is not among them. Raises NotFound."""
    get_part(catalogue, part_id)
    below = (p for p in catalogue.parts.values() if p.id != part_id and part_id in list_family(catalogue, p.id))
    return tuple(sorted(below, key=lambda part: part.id))


def list_edges(
    catalogue: Catalogue, part_id: str, kinds: Sequence[str] = (), *, inherited: bool = True
) -> tuple[Edge, ...]:
    """The edges at a part, by id, in either direction; with those of its families that it does not override.

    `kinds`: edge kinds wanted (all if empty). Raises NotFound.
    """
    family = list_family(catalogue, part_id)
    levels = family if inherited else family[:1]
    taken: set[tuple[str, ...]] = set()
    found: list[Edge] = []
    for name in levels:
        here = [edge for edge in catalogue.edges.values() if name in (edge.source, edge.target)]
        found += [edge for edge in here if _place_of(edge, name) not in taken]
        taken.update(_place_of(edge, name) for edge in here)
    wanted = frozenset(kinds)
    return tuple(sorted((e for e in found if not wanted or e.kind in wanted), key=lambda edge: edge.id))


def _place_of(edge: Edge, name: str) -> tuple[str, ...]:
    """What an edge speaks about, seen from one of its ends: an edge nearer to the variant about the same wins."""
    outward = edge.source == name
    other = edge.target if outward else edge.source
    if edge.kind in (*MATING_KINDS, DOES_NOT_FIT):
        return ("mating", edge.joint, other)
    if edge.kind in (CONTAINS, HAS_NONE) and outward:
        return (CONTAINS, edge.position)
    return (edge.kind, "out" if outward or edge.kind in _SYMMETRIC else "in", edge.group, other)


def list_mating_edges(catalogue: Catalogue, first: str, second: str, joint: str = "") -> tuple[Edge, ...]:
    """What is known of two parts meeting (fits, requires machining, does not fit), by id. Raises NotFound.

    At each joint only the edges nearest to the two parts count: what is stated of the variants wins over what is
    stated of their families. Several at the same distance all stay; if they disagree it is a dispute.
    `joint`: only that joint kind.
    """
    steps = {name: step for step, name in enumerate(list_family(catalogue, first))}
    others = {name: step for step, name in enumerate(list_family(catalogue, second))}
    nearest: dict[str, tuple[int, list[Edge]]] = {}
    for edge in catalogue.edges.values():
        if edge.kind not in (*MATING_KINDS, DOES_NOT_FIT) or (joint and edge.joint != joint):
            continue
        for one, other in ((edge.source, edge.target), (edge.target, edge.source)):
            if one not in steps or other not in others:
                continue
            distance = steps[one] + others[other]
            best, edges = nearest.get(edge.joint, (distance, []))
            if distance <= best:
                nearest[edge.joint] = (distance, [edge] if distance < best else [*edges, edge])
            break
    return tuple(sorted((edge for _, edges in nearest.values() for edge in edges), key=lambda edge: edge.id))


def list_contents(catalogue: Catalogue, unit_id: str) -> tuple[Edge, ...]:
    """What the unit contains as found, one edge for each position, by position. Raises NotFound."""
    edges = (edge for edge in list_edges(catalogue, unit_id, (CONTAINS,)) if edge.target != unit_id)
    return tuple(sorted(edges, key=lambda edge: (edge.position, edge.id)))


def multigraph_of(catalogue: Catalogue) -> nx.MultiDiGraph[str]:
    """The whole catalogue as a networkx MultiDiGraph: every node with `type`, every edge with `kind` and `edge`."""
    import networkx as nx

    graph: nx.MultiDiGraph[str] = nx.MultiDiGraph(currency=catalogue.currency)
    for type_name, things in _node_tables(catalogue):
        for name, thing in things.items():
            graph.add_node(name, type=type_name, thing=thing)
    for edge in catalogue.edges.values():
        target = edge.target or edge.position  # what a unit has none of is a place
        if edge.kind == HAS_NONE:
            graph.add_node(target, type="position", thing=catalogue.position_kinds.get(target))
        for end in (edge.source, target):
            if end in catalogue.edges and end not in graph:
                graph.add_node(end, type="edge", thing=catalogue.edges[end])
        graph.add_edge(edge.source, target, key=edge.id, kind=edge.kind, edge=edge)
    return graph


def _node_tables(catalogue: Catalogue) -> Iterator[tuple[str, dict[str, object]]]:
    yield "part", dict(catalogue.parts)
    yield "feature", dict(catalogue.features)
    yield "chain", dict(catalogue.chain_kinds)
    yield "task", dict(catalogue.tasks)
    yield "fault", dict(catalogue.faults)
