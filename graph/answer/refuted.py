"""What was measured on these parts against what a note says of others: the measurement is better known.

In order of trust: measured on these parts, then done by us and came back good, then the rest (graph's evidence ranks).
A note and the arithmetic that contradicts it stay a dispute; where the readings are better known than the note, the
route that builds on the note is not advisable, and the reading says why.
"""

from __future__ import annotations

from collections.abc import Iterator

from graph.answer.ground import Ground
from graph.fits.model import Verdict
from graph.reading.model import EdgeDispute
from graph.search.result import Route


def refuted(ground: Ground, route: Route) -> tuple[str, ...]:
    """The joints of the route that readings better known than its notes say do not close, each with its reason."""
    if ground.reading is None or not ground.reading.disputes:
        return ()
    return tuple(dict.fromkeys(_refuted(ground, route)))


def _refuted(ground: Ground, route: Route) -> Iterator[str]:
    assert ground.reading is not None
    for joint, link in sorted(route.links.items()):
        used = {edge.id for edge in ground.edges_of(link)}
        for dispute in ground.reading.disputes:
            if dispute.joint == ground.joints[joint].kind and not used.isdisjoint(dispute.edges_for):
                yield from _better_known(ground, ground.joints[joint].label or joint, dispute)


def _better_known(ground: Ground, label: str, dispute: EdgeDispute) -> Iterator[str]:
    assert ground.reading is not None
    levels = ground.catalogue.evidence_levels
    noted = (ground.catalogue.edges.get(edge) for edge in dispute.edges_for)
    ranks = [levels[edge.evidence].rank for edge in noted if edge is not None and edge.evidence in levels]
    for edge in dispute.edges_against:
        result = ground.reading.derived.workings.get(edge)
        if result is not None and result.verdict is Verdict.FAILS and result.evidence_rank < min(ranks, default=0):
            yield f"{label}: {result.summary}, measured, against what is noted of others"
