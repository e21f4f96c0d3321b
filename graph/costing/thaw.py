"""Frozen objects as plain JSON and back, exactly: what was answered can be kept and printed again as it was.

Fractions are kept as text ("7/20"), so nothing is rounded. Fields that a later version adds take their defaults.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar

from graph.errors import Conflict

Kept = TypeVar("Kept")


def freeze(value: object) -> Any:
    """The value as JSON values. Takes dataclasses, mappings, sequences, fractions and what JSON has itself.

    >>> freeze((Fraction(7, 20), {"a": None}))
    ['7/20', {'a': None}]
    """
    if isinstance(value, Fraction):
        return str(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: freeze(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): freeze(each) for key, each in value.items()}
    if isinstance(value, (tuple, list)):
        return [freeze(each) for each in value]
    return value


def thaw(kind: type[Kept], value: object) -> Kept:
    """The object that `freeze` made the JSON of. Raises Conflict if it lacks what this program needs.

    >>> thaw(tuple[Fraction, ...], ["7/20"])
    (Fraction(7, 20),)
    """
    try:
        found: Kept = _thaw(kind, value)
    except (TypeError, KeyError, ValueError, AttributeError) as fault:
        raise Conflict(f"kept by another version of this program, which it cannot read: {fault}") from None
    return found


def _thaw(kind: Any, value: Any) -> Any:
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return None if value is None else _thaw(next(each for each in inner if each is not types.NoneType), value)
    if origin is tuple:
        kinds = [inner[0]] * len(value) if inner[-1] is Ellipsis else inner
        return tuple(_thaw(each, one) for each, one in zip(kinds, value, strict=True))
    if origin is not None:  # a mapping
        return {key: _thaw(inner[1], each) for key, each in value.items()}
    if kind is Fraction:
        return Fraction(value)
    return _made(kind, value) if dataclasses.is_dataclass(kind) else value


def _made(kind: Any, value: Mapping[str, Any]) -> Any:
    hints = _hints(kind)
    return kind(**{name: _thaw(hints[name], each) for name, each in value.items() if name in hints})


@cache
def _hints(kind: type) -> Mapping[str, Any]:
    return typing.get_type_hints(kind)
