"""Tables that change a little at a time: each one stands as it is, and the next shares with it all that stays.

So whoever works with one goes on undisturbed, and taking in a change costs what changed, however much is known.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, Generic, TypeVar

Thing = TypeVar("Thing")
Key = TypeVar("Key")
PIECES = 256
COPIED = 1_000  # a plain table of more things is layered, not copied


class Pieced(Mapping[Key, Thing]):
    """A table that never changes, kept in pieces: one with a few changes copies the pieces that these fall into."""

    __slots__ = ("__weakref__", "_length", "_pieces")

    def __init__(self, things: Mapping[Key, Thing] | None = None):
        self._pieces: list[dict[Key, Thing]] = [_NO_PIECE] * PIECES
        self._length = 0
        if things:
            self._take(things, ())

    def changed(self, new: Mapping[Key, Thing], gone: Iterable[Key] = ()) -> Pieced[Key, Thing]:
        """With the things `new` instead of what it has of them, and without those `gone`, unless they are new."""
        made: Pieced[Key, Thing] = Pieced()
        made._pieces, made._length = self._pieces.copy(), self._length
        made._take(new, gone)
        return made

    def _take(self, new: Mapping[Key, Thing], gone: Iterable[Key]) -> None:
        """Only while nobody else has it."""
        pieces, own = self._pieces, set[int]()
        changes: list[tuple[Key, Any, bool]] = [(key, None, False) for key in gone if key not in new]
        changes += [(key, thing, True) for key, thing in new.items()]
        for key, thing, stays in changes:
            place = hash(key) % PIECES
            if place not in own:
                own.add(place)
                pieces[place] = pieces[place].copy()
            piece = pieces[place]
            before = len(piece)
            if stays:
                piece[key] = thing
            else:
                piece.pop(key, None)
            self._length += len(piece) - before

    def differing(self, other: Pieced[Key, Thing]) -> set[Key]:
        """The keys of which the two do not hold the same object. Quick where one was made from the other."""
        found: set[Key] = set()
        for mine, theirs in zip(self._pieces, other._pieces, strict=True):
            if mine is not theirs:
                found.update(key for key, thing in mine.items() if theirs.get(key, _NOTHING) is not thing)
                found.update(key for key in theirs if key not in mine)
        return found

    def get(self, key: Any, default: Any = None) -> Any:
        return self._pieces[hash(key) % PIECES].get(key, default)

    def __getitem__(self, key: Key) -> Thing:
        return self._pieces[hash(key) % PIECES][key]

    def __contains__(self, key: object) -> bool:
        return key in self._pieces[hash(key) % PIECES]

    def __iter__(self) -> Iterator[Key]:
        for piece in self._pieces:
            yield from piece

    def __len__(self) -> int:
        return self._length

    def __reduce__(self) -> tuple[Any, ...]:
        """Another process gives the keys other hashes."""
        return Pieced, (dict(self),)


_NO_PIECE: dict[Any, Any] = {}
_NOTHING = object()


class Layered(Mapping[str, Thing], Generic[Thing]):
    """`below` without the ids in `gone`, and with the things `above`. Iterates in order of ids; only ever read."""

    def __init__(self, below: Mapping[str, Thing], above: Mapping[str, Thing], gone: Iterable[str] = ()):
        self.below = below
        self.above: Pieced[str, Thing] = above if isinstance(above, Pieced) else Pieced(above)
        out = gone if isinstance(gone, Pieced) else {id_: None for id_ in gone if id_ not in above and id_ in below}
        self.gone: Pieced[str, None] = out if isinstance(out, Pieced) else Pieced(out)
        self._length = len(below) - len(self.gone) + sum(id_ not in below for id_ in self.above)

    def changed(self, new: Mapping[str, Thing], gone: Iterable[str] = ()) -> Layered[Thing]:
        """With the things `new` in place of what it has of them, and without those `gone`; over the same table."""
        out = {id_: None for id_ in gone if id_ not in new}
        made: Layered[Thing] = Layered.__new__(Layered)
        made.below, made.above = self.below, self.above.changed(new, out)
        made.gone = self.gone.changed({id_: None for id_ in out if id_ in self.below}, new.keys())
        made._length = self._length + sum(id_ not in self for id_ in new) - sum(id_ in self for id_ in out)
        return made

    def __getitem__(self, id_: str) -> Thing:
        found: Thing | None = self.above.get(id_)
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

    def __init__(self, keys: Collection[str], make: Callable[[str], Thing | None]):
        self.keys_of: Any = keys
        self._make = make
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
        return (id_ for id_ in self.keys_of if self._find(id_) is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __reduce__(self) -> tuple[Any, ...]:
        """Another process gets them all, made."""
        return dict, (dict(self),)

    def _find(self, id_: str) -> Thing | None:
        if id_ not in self._made:
            self._made[id_] = self._make(id_) if id_ in self.keys_of else None
        return self._made[id_]


class Revised(Mapping[str, Thing], Generic[Thing]):
    """`below`, with what `make` makes of the things of some names, when asked for; each is then kept."""

    def __init__(self, below: Mapping[str, Thing], names: Collection[str], make: Callable[[Thing], Thing]):
        self.below, self.names, self._make = below, names, make
        self._made: dict[str, Thing] = {}

    def __getitem__(self, id_: str) -> Thing:
        found = self._made.get(id_)
        if found is None:
            found = self.below[id_]
            if id_ in self.names:
                found = self._made[id_] = self._make(found)
        return found

    def __contains__(self, id_: object) -> bool:
        return id_ in self.below

    def __iter__(self) -> Iterator[str]:
        return iter(self.below)

    def __len__(self) -> int:
        return len(self.below)

    def __reduce__(self) -> tuple[Any, ...]:
        """Another process gets what is other, made."""
        made = {name: self[name] for name in self.names if name in self.below}
        return changed_table, (self.below, made, ())


class Joined(Mapping[str, Thing], Generic[Thing]):
    """The things of two tables, which have none of the same name; in order of ids."""

    def __init__(self, below: Mapping[str, Thing], more: Mapping[str, Thing]):
        self.below, self.more = below, more

    def __getitem__(self, id_: str) -> Thing:
        found = self.more.get(id_)
        return self.below[id_] if found is None else found

    def __contains__(self, id_: object) -> bool:
        return id_ in self.below or id_ in self.more

    def __iter__(self) -> Iterator[str]:
        return heapq.merge(self.below, sorted(self.more))

    def __len__(self) -> int:
        return len(self.below) + len(self.more)

    def __reduce__(self) -> tuple[Any, ...]:
        return changed_table, (self.below, dict(self.more), ())


def lowest_ids(table: Mapping[str, Any]) -> Mapping[str, Any]:
    """The table whose things those of `table` are made from, one by one; `table` itself where they are its own."""
    while isinstance(table, OnDemand | Revised):
        table = table.keys_of if isinstance(table, OnDemand) else table.below
    return table


def list_changed(old: Mapping[str, Thing], new: Mapping[str, Thing]) -> Sequence[str]:
    """The ids of the things that `new` has otherwise than `old`. Only what lies above a common table is compared."""
    if old is new:
        return ()
    pairs = ((name, old.get(name), new.get(name)) for name in _that_may_differ(old, new))
    return [name for name, one, other in pairs if one is not other and one != other]


def _that_may_differ(old: Mapping[str, Thing], new: Mapping[str, Thing]) -> Iterable[str]:
    if isinstance(old, Layered) and isinstance(new, Layered) and old.below is new.below:
        return old.above.differing(new.above) | old.gone.differing(new.gone)
    if isinstance(new, Layered) and new.below is old:
        return (*new.above, *new.gone)
    if isinstance(old, Layered) and old.below is new:
        return (*old.above, *old.gone)
    if isinstance(new, Revised) and new.below is old:
        return set(new.names)
    return old.keys() | new.keys()


def changed_table(old: Mapping[str, Thing], new: Mapping[str, Thing], gone: Collection[str]) -> Mapping[str, Thing]:
    """`old` with the things `new` in place of what it has of them, and without those `gone`; in order of ids.

    A plain table of a few things is copied; any other is layered: once, however often it changes.

    >>> changed_table({"a": 1, "c": 3}, {"b": 2}, ["a"])
    {'b': 2, 'c': 3}
    """
    if isinstance(old, Layered):
        return old.changed(new, gone)
    if not isinstance(old, dict) or len(old) + len(new) > COPIED:
        return Layered(old, new, gone)
    merged = {**old, **new}
    for name in gone:
        if name not in new:
            merged.pop(name, None)
    return merged if all(name in old for name in new) else {name: merged[name] for name in sorted(merged)}
