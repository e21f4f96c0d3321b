"""What a route joins, in words: the parts at the joints that take work, what stands between them, and what a fitted
part needs."""

from __future__ import annotations

from itertools import pairwise

from graph.answer.model.fit import DIRECT, MACHINING, JointLine
from graph.answer.model.route import AnsweredRoute
from graph.catalogue.model import NEEDS
from graph.lookups.index import CatalogueIndex


def joined_parts(index: CatalogueIndex, route: AnsweredRoute) -> tuple[str, ...]:
    """`Pipit block - fits: engine face - Hollin bell housing`, in the order of the joints; then what needs what."""
    told = [joint for joint in route.joints if joint.verdict != DIRECT]
    labels = {part.id: part.label for joint in told for part in (*joint.parts, *joint.via)}
    labels |= {part.part: part.label for part in route.parts}
    joins = [join for joint in told for join in _along(joint)]
    joins += _needs(index, labels)
    return tuple(dict.fromkeys(f"{labels[source]} - {words} - {labels[target]}" for source, words, target in joins))


def _along(joint: JointLine) -> list[tuple[str, str, str]]:
    verb = "fits through" if joint.via else "requires machining" if joint.verdict == MACHINING else "fits"
    ends = [joint.parts[0].id, *(part.id for part in joint.via), joint.parts[1].id]
    return [(source, f"{verb}: {joint.label}", target) for source, target in pairwise(ends)]


def _needs(index: CatalogueIndex, labels: dict[str, str]) -> list[tuple[str, str, str]]:
    return [
        (part, "needs", edge.target)
        for part in labels
        for source in index.lineage(part)
        for edge in index.rules(source)
        if edge.kind == NEEDS and edge.target in labels and edge.target != part
    ]
