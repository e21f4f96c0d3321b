"""Frozen catalogue things as short JSON texts and back: only what differs from the default is written.

Fractions are written as "3/4", tuples as lists; the fields' own types say how to read them back.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from fractions import Fraction
from functools import cache
from typing import Any, Generic, TypeVar, get_args, get_origin, get_type_hints

Thing = TypeVar("Thing")
Reader = Callable[[Any], Any]


def _as_is(value: Any) -> Any:
    return value


def _reader(hint: Any) -> Reader:
    """How a field of this type is read from JSON; `_as_is` where JSON has it already."""
    if hint is Fraction:
        return Fraction
    if Fraction in get_args(hint):  # or None
        return lambda value: None if value is None else Fraction(value)
    if get_origin(hint) is tuple:
        inside = get_args(hint)[0]
        if inside is str:
            return tuple
        codec: Codec[Any] = codec_of(inside)
        return lambda values: tuple(codec.from_plain(value) for value in values)
    return _as_is


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if hasattr(value, "__dataclass_fields__"):
        kind: type = type(value)
        return codec_of(kind).to_plain(value)
    return value


@dataclass(frozen=True)
class Codec(Generic[Thing]):
    """Writes and reads things of one class."""

    kind: Callable[..., Thing]
    defaults: Mapping[str, Any]
    readers: Mapping[str, Reader]

    def to_plain(self, thing: Thing) -> dict[str, Any]:
        """The fields that differ from their defaults, in JSON's own types."""
        found = ((name, getattr(thing, name)) for name in self.defaults)
        return {name: _plain(value) for name, value in found if value != self.defaults[name]}

    def from_plain(self, plain: dict[str, Any]) -> Thing:
        """The thing. `plain` is used up."""
        for name in self.readers.keys() & plain.keys():
            plain[name] = self.readers[name](plain[name])
        return self.kind(**plain)

    def to_bytes(self, thing: Thing) -> bytes:
        """
        >>> from graph.catalogue.terms import Term
        >>> codec_of(Term).to_bytes(Term("spline", "clutch spline"))
        b'{"id":"spline","label":"clutch spline"}'
        """
        return json.dumps(self.to_plain(thing), ensure_ascii=False, separators=(",", ":")).encode()

    def from_bytes(self, data: bytes) -> Thing:
        """The thing that `to_bytes` wrote."""
        return self.from_plain(json.loads(data))


@cache
def codec_of(kind: type[Thing]) -> Codec[Thing]:
    """The codec of a dataclass of the catalogue."""
    hints = get_type_hints(kind)
    own = fields(kind)  # type: ignore[arg-type]
    readers = {one.name: _reader(hints[one.name]) for one in own}
    return Codec(
        kind,
        {one.name: _NEVER if one.default is MISSING else one.default for one in own},
        {name: reader for name, reader in readers.items() if reader is not _as_is},
    )


_NEVER = object()  # equals no value: a field without a default is always written
