"""Dimensions as a person types them for a what-if: `25.3 mm +/- 0.05 mm from the shoulder`.

The reading, then how surely (the tool's uncertainty, or a drawing's tolerance either way), then the datum. A field
that is left out is one that nobody has measured: the check then says what to measure.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.exact import NotExact, fraction_of
from graph.fits.lengths import measured, read_nm
from graph.fits.model import Dimension
from graph.fits.quantity import quantity_of

LONGEST = 200
LENGTH, SIZE, NUMBER, COUNT, WORD, ANGLE = "length", "size", "number", "count", "word", "angle"
HOW: Mapping[str, str] = {
    LENGTH: "reading +/- uncertainty from datum: 25.3 mm +/- 0.05 mm from the shoulder",
    SIZE: "an exact length with its unit: 0.10 mm, 4 thou",
    NUMBER: "a number",
    COUNT: "a whole number",
    WORD: "a word",
    ANGLE: "an angle with its unit: 30 deg",
}
_LENGTH = re.compile(r"^(?P<reading>.+?)\s*(?:\+/-|±|\+-)\s*(?P<spread>.+?)(?:\s+from\s+(?:the\s+)?(?P<datum>.+))?$")


@dataclass(frozen=True, slots=True)
class Field:
    """One input of a what-if. `needed`: without it the check cannot even be asked. `words`: what a word may be."""

    form: str
    about: str
    needed: bool = False
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A check that can be tried: its fields by name, and the call."""

    about: str
    fields: Mapping[str, Field]
    run: Callable[[Mapping[str, Any]], Any]


def read_fields(what_if: WhatIf, inputs: Mapping[str, str]) -> dict[str, Any]:
    """The values by field name, None where left out. Raises InvalidInput naming every fault."""
    problems = [_unknown(name, what_if.fields) for name in inputs if name not in what_if.fields]
    values: dict[str, Any] = {}
    for name, field in what_if.fields.items():
        text = inputs.get(name)
        values[name] = None
        if text is None or not str(text).strip():
            if field.needed:
                problems.append(Problem(name, f"is missing: {field.about} ({HOW[field.form]})"))
            continue
        try:
            values[name] = _read(name, field, text)
        except InvalidInput as error:
            problems.extend(error.problems)
    if problems:
        raise InvalidInput(problems)
    return values


def read_length(name: str, text: str) -> Dimension:
    """The dimension that a text states. Raises InvalidInput for a missing unit or uncertainty.

    >>> read_length("play", "25.3 mm +/- 0.05 mm from the shoulder").datum
    'shoulder'
    """
    match = _LENGTH.match(text.strip())
    if match is None:
        wanted = f"say how surely it is known: {HOW[LENGTH]}"
        raise InvalidInput([Problem(name, f"{wanted}; found {text!r}")])
    datum = (match["datum"] or "").strip()
    return measured(name, match["reading"], match["spread"], datum=datum, source="as given")


def _read(name: str, field: Field, text: object) -> Any:
    if not isinstance(text, str):
        raise InvalidInput([Problem(name, f"expected a text such as {HOW[field.form]}, found {text!r}")])
    if len(text) > LONGEST:
        raise InvalidInput([Problem(name, f"longer than {LONGEST} characters")])
    if field.form == LENGTH:
        return read_length(name, text)
    if field.form == SIZE:
        return read_nm(text, name)
    if field.form == ANGLE:
        return quantity_of(text, "angle", name).amount
    if field.form == WORD:
        return _word(name, field, text.strip())
    return _number(name, field, text)


def _word(name: str, field: Field, text: str) -> str:
    if field.words and text not in field.words:
        raise InvalidInput([Problem(name, f"expected one of {', '.join(field.words)}; found {text!r}")])
    return text


def _number(name: str, field: Field, text: str) -> Fraction | int:
    try:
        number = fraction_of(text.strip())
    except NotExact as error:
        raise InvalidInput([Problem(name, str(error))]) from None
    if field.form == COUNT:
        if number.denominator != 1:
            raise InvalidInput([Problem(name, f"expected a whole number, found {text!r}")])
        return int(number)
    return number


def _unknown(name: str, fields: Mapping[str, Field]) -> Problem:
    near = get_close_matches(name, fields, 3)
    hint = f"did you mean {', '.join(near)}?" if near else f"known are {', '.join(fields)}"
    return Problem(name, f"this check takes no such input; {hint}")
