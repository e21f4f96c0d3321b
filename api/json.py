"""JSON in and out: bodies that everybody reads alike, responses from plain values.

`check_json` holds a body to I-JSON (RFC 7493), whichever parser reads it afterwards: UTF-8, no name twice in one
object, no half surrogate pairs, numbers that a double holds; and to a depth, a length of digits and a number of names
that no honest body comes near (each unknown name is a fault to be told, which costs ten times what reading it does).
Its time grows evenly with the body: nothing is parsed before the depth is known.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from fastapi import Response
from pydantic_core import from_json, to_json

from graph.errors import InvalidInput, Problem
from graph.plain_text import fault_of_text

MOST_DEPTH = 100
MOST_DIGITS, MOST_EXPONENT = 100, 200  # together still inside a double (RFC 7493, 2.2), at either end
MOST_NAMES, MOST_NAMES_TOGETHER = 1_000, 30_000  # of one object, of all (a thousand questions have some 20,000)
_BOM = b"\xef\xbb\xbf"
# A text may lack its end here: else each quote of a text that never ends would be looked through to the end.
_TEXT = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?', re.DOTALL)  # possessive: a way back is kept for each escape
_ALL_BUT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
# An escape, DEL or what begins as U+FFFE does: then the texts are looked through; no JSON has other control characters.
_MAY_BE_UNREADABLE = re.compile(rb"\\[ubf]|\x7f|\xef\xbf")
_ODD = re.compile(rb"[0-9.]{%d}|[eE][+-]?[0-9]{3}|NaN|Infinity" % MOST_DIGITS)  # what may turn out to be odd


class PlainJson(Response):
    """A response whose body is the given dictionaries and lists as JSON."""

    media_type = "application/json"

    def render(self, content: Any) -> bytes:
        return to_json(content)


def check_json(data: bytes, most_names: int = MOST_NAMES_TOGETHER) -> None:
    """Raises InvalidInput for a body that is not JSON, or JSON that two parsers may read in two ways.

    `most_names`: how many names all its objects may have together; of values there may be twice as many.
    """
    data = data.removeprefix(_BOM)
    bare = _TEXT.sub(b"", data)
    if (depth := _depth(bare)) > MOST_DEPTH:
        raise _refused(f"nested {depth:,} deep; at most {MOST_DEPTH} are read")
    if bare.count(b":") > most_names:  # behind each name; counted before anything is made of them
        raise _refused(f"more than {most_names:,} names in its objects; send less at once")
    if bare.count(b",") > 2 * most_names:
        raise _refused(f"more than {2 * most_names:,} values; send less at once")
    try:
        if _ODD.search(bare) and (odd := _find_odd(json.loads(data, **_MARKING), "")):
            raise InvalidInput([odd])
        from_json(data, allow_inf_nan=False)
        parsed = json.loads(data, object_pairs_hook=_once)
    except (ValueError, RecursionError) as error:
        raise _refused(str(error)) from None
    if _MAY_BE_UNREADABLE.search(data) and (fault := _find_unreadable(parsed, "")):
        raise InvalidInput([fault])


def _find_unreadable(value: Any, path: str) -> Problem | None:
    """The first text that no export and no database could hold, with its path; the depth is known to be small."""
    if isinstance(value, str):
        fault = fault_of_text(value)
        return Problem(path, fault) if fault else None
    for name, each, at in _inside(value, path):
        if fault := fault_of_text(name):
            return Problem(path, f"a name {fault}")
        if found := _find_unreadable(each, at):
            return found
    return None


def _inside(value: Any, path: str) -> Iterable[tuple[str, Any, str]]:
    """What stands in an object or an array: its name, itself, its path."""
    if isinstance(value, dict):
        return ((name, each, f"{path}.{name[:100]}" if path else name[:100]) for name, each in value.items())
    return (("", each, f"{path}[{place}]") for place, each in enumerate(value)) if isinstance(value, list) else ()


def _refused(why: str) -> InvalidInput:
    return InvalidInput([Problem("", f"not JSON: {why}")])


@dataclass(frozen=True, slots=True)
class _Odd:
    """A number that no double holds, as it was written."""

    text: str


def _is_odd(text: str) -> bool:
    digits, _, exponent = text.lower().partition("e")
    return len(digits) > MOST_DIGITS or (bool(exponent) and (len(exponent) > 9 or abs(int(exponent)) > MOST_EXPONENT))


_MARKING: Any = {
    "parse_float": lambda text: _Odd(text) if _is_odd(text) else 0,
    "parse_int": lambda text: _Odd(text) if _is_odd(text) else 0,
    "parse_constant": _Odd,
}


def _find_odd(value: Any, path: str) -> Problem | None:
    """The first of them, with its path; the depth is known to be small."""
    if isinstance(value, _Odd):
        told = value.text if len(value.text) <= 40 else f"{value.text[:30]}... ({len(value.text):,} characters)"
        return Problem(path, f"expected a number that a double holds (RFC 7493, 2.2), found {told}")
    items = ((at, each) for _, each, at in _inside(value, path))
    return next((odd for at, each in items if (odd := _find_odd(each, at))), None)


def _depth(bare: bytes) -> int:
    """How deep the brackets are nested at the most, whether or not they match."""
    brackets = np.frombuffer(bare.translate(None, _ALL_BUT_BRACKETS), np.uint8)
    if not len(brackets):
        return 0
    steps = np.where((brackets == ord("[")) | (brackets == ord("{")), np.int8(1), np.int8(-1))
    return int(np.cumsum(steps, dtype=np.int32).max())


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(pairs) > MOST_NAMES:
        raise ValueError(f"more than {MOST_NAMES:,} names in one object; send less at once")
    made = dict(pairs)
    if len(made) != len(pairs):
        twice = next(name for name, count in Counter(name for name, _ in pairs).items() if count > 1)
        raise ValueError(f"the name {twice[:100]!r} stands twice in one object")
    return made
