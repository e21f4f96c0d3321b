"""The search's way through the tree of tables: what hangs below what, and what is still looked at.

The search decides positions root first and one branch after the other (`layout`), so at every depth what is still
open is a stack: the next variable with all that hangs below it, then what comes after those.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from graph.search.layout import Layout


@dataclass(frozen=True, slots=True)
class Walk:
    """`scopes[variable]`: the free positions that its table looks at; `below[position]`: variables that hang on it.

    By depth: `after`, where the variable and all below it are decided; `looked_at`, the decided free positions that
    anything still open looks at (one depth more than variables).
    """

    scopes: tuple[tuple[int, ...], ...]
    below: tuple[tuple[int, ...], ...]
    after: tuple[int, ...]
    looked_at: tuple[tuple[int, ...], ...]


def walk_through(layout: Layout, ends: Sequence[tuple[int, int]]) -> Walk:
    """The walk along `layout.branching`."""
    scopes = [*_position_scopes(layout, ends), *(tuple(sorted(_free(layout, both))) for both in ends)]
    depth_of = {variable: depth for depth, variable in enumerate(layout.branching)}
    below: list[list[int]] = [[] for _ in layout.sizes]
    for variable in layout.branching:
        joint = variable - len(layout.sizes)
        over = ends[joint] if joint >= 0 else scopes[variable]
        if over:
            below[max(over, key=lambda place: depth_of[place])].append(variable)
    after = list(range(1, len(layout.branching) + 1))
    for depth in range(len(after) - 1, -1, -1):
        variable = layout.branching[depth]
        if variable < len(layout.sizes):
            after[depth] = max([after[depth], *(after[depth_of[one]] for one in below[variable])])
    looked_at: list[set[int]] = [set() for _ in range(len(after) + 1)]
    for depth in range(len(after) - 1, -1, -1):
        looked_at[depth] = set(scopes[layout.branching[depth]]) | looked_at[after[depth]]
    return Walk(tuple(scopes), tuple(map(tuple, below)), tuple(after), tuple(tuple(sorted(one)) for one in looked_at))


def _free(layout: Layout, places: Sequence[int]) -> list[int]:
    return [place for place in places if layout.sizes[place] > 1]


def _position_scopes(layout: Layout, ends: Sequence[tuple[int, int]]) -> list[tuple[int, ...]]:
    """What each position's table looks at once it is eliminated; nothing for a settled one."""
    near: list[set[int]] = [set() for _ in layout.sizes]
    for one, other in ends:
        if layout.sizes[one] > 1 and layout.sizes[other] > 1:
            near[one].add(other)
            near[other].add(one)
    for place in layout.order:
        for one in near[place]:
            near[one] |= near[place]
            near[one] -= {one, place}
    return [tuple(sorted(one)) for one in near]
