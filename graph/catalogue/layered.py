"""One table over another: a few things in place of those below, without a copy of the many that stay."""

from __future__ import annotations

import heapq
from collections import ChainMap
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import Any, Generic, TypeVar

Thing = TypeVar("Thing")


class Layered(Mapping[str, Thing], Generic[Thing]):
    """`below` without the ids in `gone`, and with the things `above`. Iterates in order of ids; only ever read."""

    def __init__(self, below: Mapping[str, Thing], above: Mapping[str, Thing], gone: Collection[str] = ()):
        self.below, self.above = below, above
        self.gone = frozenset(id_ for id_ in gone if id_ not in above)
        self._length = len(below) - sum(id_ in below for id_ in self.gone) + sum(id_ not in below for id_ in above)

    def __getitem__(self, id_: str) -> Thing:
        found = self.above.get(id_)
        if found is not None:
            return found
        if id_ in self.gone:
            raise KeyError(id_)
        return self.below[id_]

    def __contains__(self, id_: object) -> bool:
        return id_ in self.above or (id_ not in self.gone and id_ in self.below)

    def __iter__(self) -> Iterator[str]:
        kept = (id_ for id_ in self.below if id_ not in self.above and id_ not in self.gone)
        return heapq.merge(kept, sorted(self.above))

    def __len__(self) -> int:
        return self._length


class OnDemand(Mapping[str, Thing], Generic[Thing]):
    """A thing for each of the keys, made when somebody asks for it and then kept. `make` gives None for no thing."""

    def __init__(self, keys: Mapping[str, Any], make: Callable[[str], Thing | None]):
        self._keys, self._make = keys, make
        self._made: dict[str, Thing | None] = {}

    def __getitem__(self, id_: str) -> Thing:
        found = self._find(id_)
        if found is None:
            raise KeyError(id_)
        return found

    def get(self, id_: str, default: Any = None) -> Any:
        found = self._find(id_)
        return default if found is None else found

    def __contains__(self, id_: object) -> bool:
        return isinstance(id_, str) and self._find(id_) is not None

    def __iter__(self) -> Iterator[str]:
        return (id_ for id_ in self._keys if self._find(id_) is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __reduce__(self) -> tuple[Any, ...]:
        """Another process gets them all, made."""
        return dict, (dict(self),)

    def _find(self, id_: str) -> Thing | None:
        if id_ not in self._made:
            self._made[id_] = self._make(id_) if id_ in self._keys else None
        return self._made[id_]


def list_changed(old: Mapping[str, Thing], new: Mapping[str, Thing]) -> list[str]:
    """The ids of the things that `new` has otherwise than `old`. Only what lies above a common table is compared."""
    if old is new:
        return []
    above: Iterable[str] = new
    if isinstance(new, Layered) and new.below is _lowest(old):
        above = {*new.above, *new.gone, *(old.above if isinstance(old, Layered) else ())}
    elif isinstance(new, ChainMap) and new.maps[-1] is old:
        above = {name for layer in new.maps[:-1] for name in layer}
    return [name for name in above if new.get(name) is not old.get(name)]


def _lowest(table: Mapping[str, Thing]) -> Mapping[str, Thing]:
    return table.below if isinstance(table, Layered) else table


def changed_table(old: Mapping[str, Thing], new: Mapping[str, Thing], gone: Collection[str]) -> Mapping[str, Thing]:
    """`old` with the things `new` in place of what it has of them, and without those `gone`; in order of ids.

    A plain table is copied. Any other is too large for that, and is layered: once, however often it changes.

    >>> changed_table({"a": 1, "c": 3}, {"b": 2}, ["a"])
    {'b': 2, 'c': 3}
    """
    if isinstance(old, dict):
        merged = {**old, **new}
        for name in gone:
            merged.pop(name, None)
        return merged if all(name in old for name in new) else {name: merged[name] for name in sorted(merged)}
    if not isinstance(old, Layered):
        return Layered(old, new, gone)
    above = {**old.above, **new}
    for name in gone:
        above.pop(name, None)
    return Layered(old.below, above, {*(old.gone - new.keys()), *gone})
