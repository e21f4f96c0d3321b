"""What the picture of a route shows: the parts that change and what they join, in the state that lays each open.

Pure: a route and its facts in, a small networkx graph out. `pictures` lays it out and draws it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from graph.answer.model import DIRECT, MACHINING, AnsweredRoute, JointLine
from graph.catalogue.model import NEEDS, Catalogue
from graph.lookups.index import CatalogueIndex

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where it is used, since it takes a third of a second

AS_FOUND, NEW, BETWEEN = "as found", "fitted", "stands between"
STATES = (AS_FOUND, NEW, BETWEEN)
UNTOUCHED = ""  # the band of what nothing has to be opened for
MOST_NODES = 40  # more would not be a picture; the joints stand in words on the same page
OWNERS = ("engine", "gearbox", "vehicle")


@dataclass(frozen=True, slots=True)
class Node:
    """A part in the picture: `id`, `label`, `state` (one of STATES), `band` (a task, or UNTOUCHED), `owner`."""

    id: str
    label: str
    state: str
    band: str
    owner: str


@dataclass(frozen=True, slots=True)
class Join:
    """An edge of the picture, from part to part, in `words`; `strong`: something is machined or made for it."""

    source: str
    target: str
    words: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class RouteGraph:
    """`bands`: tasks in the order in which they open, with their labels; `nodes`, `joins`; `hidden`: how many not."""

    bands: tuple[tuple[str, str], ...]
    nodes: tuple[Node, ...]
    joins: tuple[Join, ...]
    hidden: int

    def as_networkx(self) -> nx.Graph[str]:
        """The parts and what joins them."""
        import networkx as nx

        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(node.id for node in self.nodes)
        graph.add_edges_from((join.source, join.target) for join in self.joins)
        return graph


def route_graph(index: CatalogueIndex, route: AnsweredRoute) -> RouteGraph:
    """The parts at the joints that take work, what stands between them, and what a fitted part needs."""
    told = [joint for joint in route.joints if joint.verdict != DIRECT]
    bought = {part.part for part in route.parts}
    nodes: dict[str, Node] = {}
    joins: list[Join] = []
    for joint in told:
        _add_joint(index, route, joint, bought, nodes, joins)
    for part in route.parts:
        if part.part not in nodes:
            band = _band_of(index.catalogue, route, part.position)
            nodes[part.part] = Node(part.part, part.label, NEW, band, _owner(index.catalogue, part.position))
    joins += _needs(index, nodes)
    _put_beside_what_needs_them(nodes, joins)
    shown = dict(list(nodes.items())[:MOST_NODES])
    kept = tuple(dict.fromkeys(join for join in joins if join.source in shown and join.target in shown))
    bands = _bands(index.catalogue, route, {node.band for node in shown.values()})
    return RouteGraph(bands, tuple(shown.values()), kept, len(nodes) - len(shown))


def _add_joint(
    index: CatalogueIndex, route: AnsweredRoute, joint: JointLine, bought: set[str], nodes: dict[str, Node],
    joins: list[Join],
) -> None:  # fmt: skip
    kind = index.catalogue.joint_kinds.get(joint.kind)
    places = kind.between if kind else ("", "")
    for part, place in zip(joint.parts, places, strict=True):
        state = NEW if part.id in bought else AS_FOUND
        band = _band_of(index.catalogue, route, place)
        nodes.setdefault(part.id, Node(part.id, part.label, state, band, _owner(index.catalogue, place)))
    for part in joint.via:
        band = _deepest(index.catalogue, route, _tasks_at(index.catalogue, joint.kind))
        nodes.setdefault(part.id, Node(part.id, part.label, BETWEEN, band, _owner(index.catalogue, places[0])))
    ends = [joint.parts[0].id, *(part.id for part in joint.via), joint.parts[1].id]
    strong = joint.verdict != "bolt-on with parts"
    verb = "fits through" if joint.via else "requires machining" if joint.verdict == MACHINING else "fits"
    for source, target in pairwise(ends):
        joins.append(Join(source, target, f"{verb}: {joint.label}", strong))


def _needs(index: CatalogueIndex, nodes: Mapping[str, Node]) -> list[Join]:
    """What a shown part needs of the other shown parts."""
    return [
        Join(node, edge.target, "needs")
        for node in nodes
        for source in index.lineage(node)
        for edge in index.rules(source)
        if edge.kind == NEEDS and edge.target in nodes and edge.target != node
    ]


def _put_beside_what_needs_them(nodes: dict[str, Node], joins: list[Join]) -> None:
    """A fitted part without a place of its own (bolts, shims) stands in the state of what it is needed for."""
    for join in joins:
        needed = nodes[join.target]
        if join.words == "needs" and needed.state == NEW and needed.band == UNTOUCHED:
            nodes[join.target] = replace(needed, band=nodes[join.source].band)


def _owner(catalogue: Catalogue, place: str) -> str:
    kind = catalogue.position_kinds.get(place)
    return kind.owner if kind else "gearbox"


def _band_of(catalogue: Catalogue, route: AnsweredRoute, place: str) -> str:
    kind = catalogue.position_kinds.get(place)
    return _deepest(catalogue, route, kind.fit_tasks if kind else ())


def _tasks_at(catalogue: Catalogue, joint: str) -> tuple[str, ...]:
    """What must be open to put something between the two parts of a joint: what the joint and its two places say."""
    kind = catalogue.joint_kinds.get(joint)
    if kind is None:
        return ()
    places = (catalogue.position_kinds.get(place) for place in kind.between)
    return (*kind.tasks, *(task for place in places if place for task in place.fit_tasks))


def _deepest(catalogue: Catalogue, route: AnsweredRoute, tasks: tuple[str, ...]) -> str:
    """The task done on this route that lies deepest among those named; UNTOUCHED where none of them is done."""
    done = {catalogue.tasks[task].instead_of or task: task for task in route.tasks if task in catalogue.tasks}
    done |= {task: task for task in route.tasks}
    found = [done[task] for task in tasks if task in done]
    return max(found, key=lambda task: (depth(catalogue, task), task), default=UNTOUCHED)


def depth(catalogue: Catalogue, task: str) -> int:
    """How many tasks must be done before this one."""
    seen: set[str] = set()
    todo = [task]
    while todo:
        known = catalogue.tasks.get(todo.pop())
        for earlier in known.after if known else ():
            if earlier not in seen:
                seen.add(earlier)
                todo.append(earlier)
    return len(seen)


def _bands(catalogue: Catalogue, route: AnsweredRoute, used: set[str]) -> tuple[tuple[str, str], ...]:
    tasks = sorted((task for task in used if task != UNTOUCHED), key=lambda task: (depth(catalogue, task), task))
    labels = [(task, catalogue.tasks[task].label if task in catalogue.tasks else task) for task in tasks]
    return ((UNTOUCHED, "Stays in its place"), *labels) if UNTOUCHED in used else tuple(labels)
