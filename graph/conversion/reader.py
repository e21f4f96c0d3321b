"""Reading JSON objects strictly: every fault is collected with the path of its field.

An unknown key is a fault, a wrong type is a fault, a missing number is 0 and a missing list is empty.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Any, TypeVar

from graph.errors import InvalidDocument, Problem
from graph.exact import HUNDREDTHS, MICROMETRES, NotExact, fraction_of, scaled

Made = TypeVar("Made")
MOST_TEXTS = 10_000  # in one list of texts
MOST_DECIMALS = 40  # of days, odds and the like; a float has up to 17 digits after its first
MAX_PROBLEMS = 200  # a document with more faults than this needs another tool, not a longer list


def read_json(data: bytes | str) -> Any:
    """The JSON value in `data`, numbers as decimals. Raises InvalidDocument for text that is not JSON."""
    try:
        return json.loads(data, parse_float=Decimal, object_pairs_hook=_unique_keys)
    except (ValueError, ArithmeticError, RecursionError) as error:
        raise InvalidDocument([Problem("", f"not JSON: {error}")]) from None


def _unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        twice = next(key for key, count in Counter(key for key, _ in pairs).items() if count > 1)
        raise ValueError(f"the key {twice!r} stands twice in one object")
    return made


class Problems:
    """The faults found so far; `note` adds one."""

    def __init__(self) -> None:
        self.found: list[Problem] = []

    def note(self, path: str, message: str) -> None:
        if len(self.found) < MAX_PROBLEMS:
            self.found.append(Problem(path, message))

    def raise_if_any(self) -> None:
        if self.found:
            raise InvalidDocument(self.found)


class ObjectReader:
    """One JSON object being read. Each `take_*` returns a value that fits, or a default and a noted fault."""

    def __init__(self, value: Any, path: str, allowed: Iterable[str], problems: Problems):
        self.path, self.problems = path, problems
        if not isinstance(value, Mapping):
            problems.note(path, f"expected an object, found {_name(value)}")
            value = {}
        self.value: Mapping[str, Any] = value
        known = tuple(allowed)
        for key in value:
            if key not in known:
                problems.note(self.at(key), f"unknown key; known here: {', '.join(known)}")

    def at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else str(key)

    def note(self, key: str, message: str) -> None:
        """Note a fault of this field."""
        self.problems.note(self.at(key), message)

    def take_count(self, key: str) -> int:
        """A whole number of 0 or more."""
        return self._take_scaled(key, 1, least=0)

    def take_id(self, key: str) -> str:
        text = self.value.get(key)
        if isinstance(text, str) and text.strip():
            return text
        self.problems.note(self.at(key), "expected a text that is not empty")
        return ""

    def take_text(self, key: str, default: str) -> str:
        text = self.value.get(key, default)
        if isinstance(text, str):
            return text
        self.problems.note(self.at(key), f"expected a text, found {_name(text)}")
        return default

    def take_flag(self, key: str) -> bool:
        flag = self.value.get(key, False)
        if not isinstance(flag, bool):
            self.problems.note(self.at(key), f"expected true or false, found {_name(flag)}")
            return False
        return flag

    def take_texts(self, key: str) -> tuple[str, ...]:
        texts = self._take_list(key)
        if len(texts) > MOST_TEXTS:
            self.problems.note(self.at(key), f"{len(texts)} entries; at most {MOST_TEXTS} can be read in one list")
            return ()
        for place, text in enumerate(texts):
            if not isinstance(text, str) or not text:
                self.problems.note(f"{self.at(key)}[{place}]", "expected a text that is not empty")
        return tuple(text for text in texts if isinstance(text, str) and text)

    def take_objects(self, key: str, read: Callable[[Any, str], Made]) -> tuple[Made, ...]:
        items = self._take_list(key)
        return tuple(read(item, f"{self.at(key)}[{place}]") for place, item in enumerate(items))

    def take_hundredths(self, key: str) -> int:
        return self._take_scaled(key, HUNDREDTHS, least=0)

    def take_micrometres(self, key: str) -> int:
        return self._take_scaled(key, MICROMETRES, least=None)

    def take_limit_um(self, key: str) -> int | None:
        return None if self.value.get(key) is None else self.take_micrometres(key)

    def take_fraction(self, key: str, default: int = 0, most: int | None = None) -> Fraction:
        try:
            number = fraction_of(_short(_no_text(self.value.get(key, default))))
        except NotExact as error:
            self.problems.note(self.at(key), str(error))
            return Fraction(default)
        if number < 0 or (most is not None and number > most):
            wanted = "0 or more" if most is None else f"from 0 to {most}"
            self.problems.note(self.at(key), f"expected {wanted}, found {self.value.get(key)}")
            return Fraction(default)
        return number

    def take_odds(self, key: str) -> dict[str, Fraction]:
        """An object of id: odds from 0 to 1."""
        stated = self.value.get(key, {})
        if not isinstance(stated, Mapping):
            self.problems.note(self.at(key), f"expected an object of id: odds, found {_name(stated)}")
            return {}
        made = {}
        for name, value in stated.items():
            try:
                made[str(name)] = fraction_of(_short(_no_text(value)))
            except NotExact as error:
                self.problems.note(f"{self.at(key)}.{name}", str(error))
                continue
            if not 0 <= made[str(name)] <= 1:
                self.problems.note(f"{self.at(key)}.{name}", f"expected from 0 to 1, found {value}")
        return made

    def take_shifts_um(self, key: str) -> dict[str, int]:
        shifts = self.value.get(key, {})
        if not isinstance(shifts, Mapping):
            self.problems.note(self.at(key), f"expected an object of chain: mm, found {_name(shifts)}")
            return {}
        made = {}
        for chain, value in shifts.items():
            try:
                made[str(chain)] = scaled(_no_text(value), MICROMETRES)
            except NotExact as error:
                self.problems.note(f"{self.at(key)}.{chain}", str(error))
        return made

    def _take_list(self, key: str) -> Sequence[Any]:
        value = self.value.get(key, ())
        if isinstance(value, (list, tuple)):
            return value
        self.problems.note(self.at(key), f"expected a list, found {_name(value)}")
        return ()

    def _take_scaled(self, key: str, scale: int, least: int | None) -> int:
        try:
            number = scaled(_no_text(self.value.get(key, 0)), scale)
        except NotExact as error:
            self.problems.note(self.at(key), str(error))
            return 0
        if least is not None and number < least:
            self.problems.note(self.at(key), f"expected {least} or more, found {self.value[key]}")
            return 0
        return number


def _no_text(value: Any) -> Any:
    if isinstance(value, str):
        raise NotExact(f"expected a number, found the text {value!r}")
    return value


def _short(value: Any) -> Any:
    """A number with so many decimals that sums of it would never end is a mistake, or somebody testing the door."""
    if isinstance(value, (float, Decimal)) and isfinite(value):
        exponent = Decimal(str(value)).as_tuple().exponent
        if isinstance(exponent, int) and exponent < -MOST_DECIMALS:
            raise NotExact(f"expected at most {MOST_DECIMALS} decimals, found {-exponent}")
    return value


def _name(value: Any) -> str:
    names = {dict: "an object", list: "a list", str: "a text", bool: "true or false", type(None): "null"}
    return names.get(type(value), "a number")
