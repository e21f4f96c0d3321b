"""Long lists of ids or edges that are read where they lie, and the same lists with a few things changed.

All are in order of a key (for ids: the id itself), so that a thing's place is found by halving.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, TypeVar

Value = TypeVar("Value")
Made = TypeVar("Made")
FEW = 200  # so many are copied rather than patched


class Each(Sequence[Made]):
    """`make` of each of `names`, made when somebody looks at it and not kept.

    >>> list(Each((1, 2, 3), str)[1:])
    ['2', '3']
    """

    def __init__(self, names: Sequence[Any], make: Callable[[Any], Made]):
        self.names, self._make = names, make

    def __len__(self) -> int:
        return len(self.names)

    def __getitem__(self, place: Any) -> Any:
        if isinstance(place, slice):
            return [self._make(name) for name in self.names[place]]
        return self._make(self.names[place])

    def __iter__(self) -> Iterator[Made]:
        return map(self._make, self.names)


class Patched(Sequence[Value]):
    """`below` without some of its places and with the things `added` in between; nothing of it is copied.

    `order`: by which all of it is sorted. Patched again, it lies over the same `below`.
    """

    def __init__(
        self, below: Sequence[Value], gone: list[int], added: list[Value], places: list[int],
        order: Callable[[Any], Any],
    ):  # fmt: skip
        """`gone`: places in `below`, ascending; `added`: in order, each to stand before its place in `places`."""
        self._below, self._gone, self._added, self._places, self._order = below, gone, added, places, order

    def patched(self, gone: Iterable[Any], added: Iterable[Value]) -> Patched[Value]:
        """Without the things whose order is in `gone`, with `added` among them."""
        out, own, places, order = self._gone.copy(), self._added.copy(), self._places.copy(), self._order
        for one in gone:
            for at in _places_of(own, one, order)[::-1]:
                del own[at], places[at]
            for at in _places_of(self._below, one, order):
                if find(out, at, int) is None:
                    insort(out, at)
        for thing in added:
            at = bisect_left(own, order(thing), key=order)
            own.insert(at, thing)
            places.insert(at, bisect_left(self._below, order(thing), key=order))
        return Patched(self._below, out, own, places, order)

    @cached_property
    def _cut(self) -> list[int]:
        """The places that are gone, as places among those that stay."""
        return [place - before for before, place in enumerate(self._gone)]

    @cached_property
    def _put(self) -> list[int]:
        """Where the added stand in the whole."""
        return [at - bisect_left(self._gone, at) + before for before, at in enumerate(self._places)]

    def __len__(self) -> int:
        return len(self._below) - len(self._gone) + len(self._added)

    def __getitem__(self, place: Any) -> Any:
        if isinstance(place, slice):
            return [self._at(one) for one in range(*place.indices(len(self)))]
        found = place + len(self) if place < 0 else place
        if not 0 <= found < len(self):
            raise IndexError(place)
        return self._at(found)

    def _at(self, place: int) -> Value:
        before = bisect_left(self._put, place)
        if before < len(self._put) and self._put[before] == place:
            return self._added[before]
        kept = place - before
        return self._below[kept + bisect_right(self._cut, kept)]

    def __iter__(self) -> Iterator[Value]:
        below, added, at = iter(self._below), iter(self._added), 0
        cut, put = iter([*self._cut, -1]), iter([*self._put, -1])
        next_cut, next_put, kept = next(cut), next(put), 0
        while at < len(self):
            if at == next_put:
                yield next(added)
                next_put = next(put)
                at += 1
                continue
            thing = next(below)
            if kept == next_cut:
                next_cut = next(cut)
                continue
            yield thing
            kept, at = kept + 1, at + 1


def patched(
    below: Sequence[Value], gone: Iterable[Any], added: Iterable[Value], order: Callable[[Any], Any]
) -> Sequence[Value]:
    """`below` without the things whose order is in `gone`, with `added` among them; a long one is not copied.

    >>> list(patched(["a", "c"], ["c"], ["b"], str))
    ['a', 'b']
    """
    out = set(gone)
    if isinstance(below, Patched):
        return below.patched(out, added)
    if len(below) <= FEW:
        return tuple(sorted((*(thing for thing in below if order(thing) not in out), *added), key=order))
    return Patched(below, [], [], [], order).patched(out, added)


def evenly(things: Sequence[Value], most: int) -> list[Value]:
    """At most so many of the things, the same distance apart from the first on; all, where they are no more.

    >>> evenly("abcdefg", 3)
    ['a', 'd', 'g']
    """
    return [things[at] for at in range(0, len(things), -(-len(things) // most) or 1)]


def find(things: Sequence[Value], wanted: Any, order: Callable[[Any], Any] = str) -> int | None:
    """The place of the thing with this order; None where there is none."""
    place = bisect_left(things, wanted, key=order)
    return place if place < len(things) and order(things[place]) == wanted else None


def _places_of(things: Sequence[Any], wanted: Any, order: Callable[[Any], Any]) -> range:
    """The places of all things with this order: an edge from a part to itself stands twice at it."""
    start = end = bisect_left(things, wanted, key=order)
    while end < len(things) and order(things[end]) == wanted:
        end += 1
    return range(start, end)
