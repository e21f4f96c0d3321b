"""What may stand in an address behind the question mark: a name that nobody reads is refused, not passed over.

A misspelt `torque_nm` that is left aside would be answered as if nothing had been said, and of a name that stands
there twice one value would be lost. The names of an endpoint are those of its parameters; one that reads the address
itself says which by `reads`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, TypeVar, get_args, get_origin
from weakref import WeakKeyDictionary

from fastapi import Request
from pydantic import BaseModel

from graph.errors import InvalidInput, Problem

MOST_TOLD, LONGEST_TOLD = 20, 60  # faults of one address, letters of a name
EVERYWHERE = ("back",)  # the answer that a page was opened from, see api/pages/back.py
_READ = "layshaft_read_names"
Endpoint = TypeVar("Endpoint")


class UnreadAddress(InvalidInput):
    """An address says something that nobody reads, or the same thing in two ways."""


@dataclass(frozen=True, slots=True)
class ReadNames:
    """The names that an endpoint reads: `once`; `often`, which may stand there several times; and those that begin
    like one of `starts` (once) or `often_starts`. `whatever`: it judges its address itself."""

    once: frozenset[str] = frozenset()
    often: frozenset[str] = frozenset()
    starts: tuple[str, ...] = ()
    often_starts: tuple[str, ...] = ()
    whatever: bool = False

    def __or__(self, other: ReadNames) -> ReadNames:
        return ReadNames(
            self.once | other.once, self.often | other.often, self.starts + other.starts,
            self.often_starts + other.often_starts, self.whatever or other.whatever,
        )  # fmt: skip

    def knows(self, name: str) -> bool:
        """Whether it is read at all."""
        return name in self.once or name in self.often or name.startswith(self.starts + self.often_starts)

    def takes_several(self, name: str) -> bool:
        """Whether each of several values is read."""
        return name in self.often or name.startswith(self.often_starts)


_KEPT: WeakKeyDictionary[Any, ReadNames] = WeakKeyDictionary()


def reads(names: ReadNames) -> Callable[[Endpoint], Endpoint]:
    """Marks an endpoint, or a dependency, with names that it reads besides its parameters."""

    def stated(endpoint: Endpoint) -> Endpoint:
        setattr(endpoint, _READ, names)
        return endpoint

    return stated


async def all_is_read(request: Request) -> None:
    """A dependency of every route. Raises UnreadAddress, with a problem for each name."""
    if not request.scope.get("query_string"):
        return
    route = request.scope.get("route")
    refuse_unread(names_of(route), request.query_params.multi_items())


def refuse_unread(names: ReadNames, items: Iterable[tuple[str, str]]) -> None:
    """Raises UnreadAddress where a pair of the address has a name that is not among them, or that stands twice."""
    if not names.whatever and (problems := list(_faults(names, items))):
        raise UnreadAddress(problems[:MOST_TOLD])


def names_of(route: Any) -> ReadNames:
    """The names that a route reads: its parameters, those of its dependencies, and what either is marked with."""
    found = _KEPT.get(route.endpoint)
    if found is None:
        found = ReadNames(frozenset(EVERYWHERE)) | getattr(route.endpoint, _READ, ReadNames())
        for one in _with_its_own(route.dependant):
            found |= getattr(one.call, _READ, ReadNames())
            for field in one.query_params:
                found |= _of_field(field.alias, field.field_info.annotation)
        _KEPT[route.endpoint] = found
    return found


def _with_its_own(dependant: Any) -> Iterator[Any]:
    yield dependant
    for one in dependant.dependencies:
        yield from _with_its_own(one)


def _of_field(alias: str, annotation: Any) -> ReadNames:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        fields = ((field.alias or name, field.annotation) for name, field in annotation.model_fields.items())
        found = ReadNames()
        for name, each in fields:
            found |= _of_field(name, each)
        return found
    several = (get_origin(one) or one for one in (annotation, *get_args(annotation)))
    if any(one in (list, tuple, set, frozenset) for one in several):
        return ReadNames(often=frozenset((alias,)))
    return ReadNames(frozenset((alias,)))


def _faults(names: ReadNames, items: Iterable[tuple[str, str]]) -> Iterator[Problem]:
    said: dict[str, dict[str, None]] = {}
    for name, value in items:
        said.setdefault(name, {})[value] = None
    for name, values in said.items():
        if not names.knows(name):
            yield Problem(name[:LONGEST_TOLD], _unknown(names, name))
        elif len(values) > 1 and not names.takes_several(name):
            first, second = (value[:LONGEST_TOLD] for value in tuple(values)[:2])
            yield Problem(name[:LONGEST_TOLD], f"stands in the address as “{first}” and as “{second}”; leave one")


def _unknown(names: ReadNames, name: str) -> str:
    near = get_close_matches(name, sorted(names.once | names.often | set(names.starts) | set(names.often_starts)), 3)
    if any(start and start.rstrip(".") == name for start in names.often_starts + names.starts):
        near = [f"{name}.…"]
    meant = f"; did you mean {' or '.join(near)}?" if near else "; take it out, or look the names up in the API"
    return f"nobody reads this part of the address{meant}"
