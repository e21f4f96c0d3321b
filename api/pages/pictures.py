"""The picture of a route as an SVG without script: parts as boxes, edges in words, opened states as bands.

Layout: every band is a column, in the order in which the states are opened; parts that hang together
stand together; their rows go by distance from an engine's part (breadth first), then by barycentre of the row above, so
that edges mostly run down. Words go where they cover nothing. The same edges stand in words below the picture.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from api.pages.route_graph import AS_FOUND, BETWEEN, Join, Node, RouteGraph
from graph.fits.svg import NAMESPACE, clean, number

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where it is used, since it takes a third of a second

BOX_W, BOX_H = 216.0, 78.0
COLUMN, ROW = 256.0, 138.0
HEAD, EDGE = 74.0, 12.0
LETTER, LINE = 7.9, 19.0  # of letters 15 units high; wide enough for any face
LETTERS = 25
STACK = BOX_H + 46.0  # from box to box where several stand in one row and band
BETWEEN_GROUPS = 30.0

Place = tuple[float, float]
Area = tuple[float, float, float, float]


def picture_of_route(graph: RouteGraph, title: str) -> str:
    """The SVG's markup; empty where the units go together as they are."""
    if not graph.nodes:
        return ""
    places, height = _places(graph)
    width = max(len(graph.bands), 1) * COLUMN + 2 * EDGE
    root = ET.Element("svg", {
        "xmlns": NAMESPACE, "viewBox": f"0 0 {number(width)} {number(height)}", "width": number(width),
        "height": number(height), "role": "img", "aria-labelledby": "picture-title picture-words",
        "class": "route-picture", "font-family": "system-ui, sans-serif", "font-size": "15",
    })  # fmt: skip
    ET.SubElement(root, "title", {"id": "picture-title"}).text = clean(title)
    ET.SubElement(root, "desc", {"id": "picture-words"}).text = clean(_words(graph))
    _bands(root, graph, height)
    boxes = [(x - BOX_W / 2, y - BOX_H / 2, x + BOX_W / 2, y + BOX_H / 2) for x, y in places.values()]
    lines = [(join, _ends(places, join)) for join in graph.joins]
    for join, ends in lines:
        _line(root, join, ends)
    taken = list(boxes)
    for node in graph.nodes:
        _box(root, node, places[node.id])
    for join, ends in lines:
        _edge_words(root, join, ends, taken)
    return ET.tostring(root, encoding="unicode")


def _words(graph: RouteGraph) -> str:
    label = {node.id: node.label for node in graph.nodes}
    return "; ".join(f"{label[join.source]} - {join.words} - {label[join.target]}" for join in graph.joins)


def _places(graph: RouteGraph) -> tuple[dict[str, Place], float]:
    """The middle of every box, and the height of the whole."""
    column = {band: i for i, (band, _) in enumerate(graph.bands)}
    places: dict[str, Place] = {}
    y = HEAD + BOX_H / 2 + 10
    for group in _groups(graph):
        for row in group:
            cells: dict[int, list[Node]] = defaultdict(list)
            for node in row:
                cells[column[node.band]].append(node)
            for at, nodes in cells.items():
                for i, node in enumerate(nodes):
                    places[node.id] = (EDGE + at * COLUMN + COLUMN / 2, y + i * STACK)
            y += (max(map(len, cells.values())) - 1) * STACK + ROW
        y += BETWEEN_GROUPS - ROW + BOX_H
    return places, y - BETWEEN_GROUPS - BOX_H / 2 + 16


def _groups(graph: RouteGraph) -> list[list[list[Node]]]:
    """The parts that hang together, the largest group first, each as rows by distance from the engine's parts."""
    import networkx as nx

    net = graph.as_networkx()
    nodes = {node.id: node for node in graph.nodes}
    groups = []
    for group in sorted(nx.connected_components(net), key=lambda each: (-len(each), min(each))):
        starts = sorted(node for node in group if nodes[node].owner == "engine")[:1] or [min(group)]
        rows: list[list[Node]] = []
        for layer in nx.bfs_layers(net, starts):
            above = {node.id: i for i, node in enumerate(rows[-1])} if rows else {}
            found = (nodes[part] for part in layer)
            rows.append(sorted(found, key=lambda node: (_barycentre(net, node.id, above), node.id)))
        groups.append(rows)
    return groups


def _barycentre(net: nx.Graph[str], node: str, above: dict[str, int]) -> float:
    near = [above[other] for other in net.neighbors(node) if other in above]
    return sum(near) / len(near) if near else 0.0


def _bands(root: ET.Element, graph: RouteGraph, height: float) -> None:
    for i, (_, label) in enumerate(graph.bands):
        x = EDGE + i * COLUMN
        ET.SubElement(root, "rect", {
            "x": number(x + 3), "y": "3", "width": number(COLUMN - 6), "height": number(height - 6), "rx": "6",
            "class": "band odd" if i % 2 else "band",
        })  # fmt: skip
        for j, line in enumerate(wrapped(label, 28, 2)):
            _text(root, x + COLUMN / 2, 28 + j * LINE, line, "band-words")


def _ends(places: dict[str, Place], join: Join) -> tuple[Place, Place]:
    """From border to border of the two boxes, along the line of their middles."""
    a, b = places[join.source], places[join.target]
    return _border(a, b), _border(b, a)


def _border(middle: Place, towards: Place) -> Place:
    dx, dy = towards[0] - middle[0], towards[1] - middle[1]
    if dx == dy == 0:
        return middle
    share = min(BOX_W / 2 / abs(dx) if dx else math.inf, BOX_H / 2 / abs(dy) if dy else math.inf)
    return middle[0] + dx * share, middle[1] + dy * share


def _line(root: ET.Element, join: Join, ends: tuple[Place, Place]) -> None:
    (x1, y1), (x2, y2) = ends
    name = "edge strong" if join.strong else "edge needs" if join.words == "needs" else "edge"
    ET.SubElement(root, "line", {"x1": number(x1), "y1": number(y1), "x2": number(x2), "y2": number(y2), "class": name})


def _edge_words(root: ET.Element, join: Join, ends: tuple[Place, Place], taken: list[Area]) -> None:
    """The words beside the middle of the line, or wherever along it they cover least."""
    lines = wrapped(join.words, 24, 2)
    wide, tall = max(map(len, lines)) * LETTER, len(lines) * 17.0
    (x1, y1), (x2, y2) = ends

    def area(share: float) -> Area:
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        return x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2

    spots = [area(share) for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)]
    best = min(spots, key=lambda spot: sum(_overlap(spot, other) for other in taken))
    taken.append(best)
    ET.SubElement(root, "rect", {
        "x": number(best[0] - 3), "y": number(best[1] - 2), "width": number(wide + 6), "height": number(tall + 3),
        "rx": "3", "class": "edge-ground",
    })  # fmt: skip
    for i, line in enumerate(lines):
        _text(root, (best[0] + best[2]) / 2, best[1] + 13 + i * 17, line, "edge-words")


def _overlap(a: Area, b: Area) -> float:
    return max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))


def _box(root: ET.Element, node: Node, middle: Place) -> None:
    x, y = middle[0] - BOX_W / 2, middle[1] - BOX_H / 2
    name = {AS_FOUND: "box", BETWEEN: "box between"}.get(node.state, "box fitted")
    place = {"x": number(x), "y": number(y), "width": number(BOX_W), "height": number(BOX_H), "rx": "5"}
    ET.SubElement(root, "rect", place | {"class": name})
    lines = wrapped(node.label, LETTERS, 2)
    for i, line in enumerate(lines):
        _text(root, middle[0], y + 24 + i * LINE + (LINE / 2 if len(lines) == 1 else 0), line, "box-words")
    _text(root, middle[0], y + BOX_H - 10, node.state, "state-words")


def wrapped(label: str, letters: int, most: int) -> list[str]:
    """The label in at most so many lines of so many letters; what does not fit is cut with an ellipsis.

    >>> wrapped("Hollin long-nose input shaft, 23 teeth", 25, 2)
    ['Hollin long-nose input', 'shaft, 23 teeth']
    """
    lines = [""]
    for word in clean(label)[:400].split():
        if not lines[-1] or len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] = f"{lines[-1]} {word}".strip()
        else:
            lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], lines[most - 1] + "\N{HORIZONTAL ELLIPSIS}"]
    return [line if len(line) <= letters else line[: letters - 1] + "\N{HORIZONTAL ELLIPSIS}" for line in lines]


def _text(root: ET.Element, x: float, y: float, words: str, name: str) -> None:
    ET.SubElement(root, "text", {"x": number(x), "y": number(y), "text-anchor": "middle", "class": name}).text = words
