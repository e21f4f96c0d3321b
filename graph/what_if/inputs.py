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
from itertools import pairwise
from math import ceil
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import measured, read_nm
from graph.fits.model import NM_PER_INCH, NM_PER_MM, Dimension, Work, fixed, show_nm, show_number
from graph.fits.numbers import read_number
from graph.fits.quantity import EXAMPLES, dimension_of, quantity_of
from graph.fits.sketch import Sketch

# How names inside the sums differ from those of the fields: a unit or a sort behind.
_CALLED = {
    "limits": "low", "slave": "slave_bore", "pressure_deg": "pressure_angle", "side_a": "front_side",
    "side_b": "rear_side", "plan_a": "front_plan", "plan_b": "rear_plan",
}  # fmt: skip
_INSIDE = re.compile(r"_(?:nm|n|m|mm|rpm|deg|ratio|c)$")
LONGEST = 200
LENGTH, SIZE, READING, NUMBER, COUNT, WORD, ANGLE, QUANTITY = (
    "length", "size", "reading", "number", "count", "word", "angle", "quantity",
)  # fmt: skip
HOW: Mapping[str, str] = {
    LENGTH: "reading +/- uncertainty from datum: 25.3 mm +/- 0.05 mm from the shoulder",
    SIZE: "an exact length with its unit: 0.10 mm, 4 thou",
    READING: "a length as read, 27.0 mm or 1-1/16 in; +/- if you know it, else half its last place counts",
    NUMBER: "a number: 0.3, 3/4",
    COUNT: "a whole number: 24",
    WORD: "a word",
    ANGLE: "an angle with its unit: 30 deg",
    QUANTITY: "a number with its unit",
}
INCH_WORDS = ("in", "in.", "inch", "inches", '"', "thou", "mil")
LARGEST_NUMBER = 100_000  # beyond it a unit or a decimal mark was mistaken
_LENGTH = re.compile(r"^(?P<reading>.+?)\s*(?:\+/-|±|\+-)\s*(?P<spread>.+?)(?:\s+from\s+(?:the\s+)?(?P<datum>.+))?$")


@dataclass(frozen=True, slots=True)
class Field:
    """One input of a what-if. `needed`: without it the check cannot even be asked. `words`: what a word may be.

    `unit`: of a quantity; a name that ends in the unit (`speed_rpm`) takes a bare number in it. `signed`: may be zero
    or below; other numbers are above zero, sizes and angles
    not below it.
    """

    form: str
    about: str
    needed: bool = False
    words: tuple[str, ...] = ()
    unit: str = ""
    signed: bool = False

    @property
    def how(self) -> str:
        """How the field is written, with an example of its unit."""
        return f"{HOW[self.form]}: {EXAMPLES[dimension_of(self.unit)]}" if self.unit else HOW[self.form]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A check that can be tried: its fields by name, and the call.

    `draw`: the sketch of a piece of its work that is sent out, from the fields' values. `title`: for people, where
    the check's name will not do.
    """

    about: str
    fields: Mapping[str, Field]
    run: Callable[[Mapping[str, Any]], Any]
    draw: Callable[[Mapping[str, Any], Work], Sketch | None] | None = None
    title: str = ""


def read_fields(what_if: WhatIf, inputs: Mapping[str, str]) -> dict[str, Any]:
    """The values by field name, None where left out. Raises InvalidInput naming every fault."""
    problems = [_unknown(name, what_if.fields) for name in inputs if name not in what_if.fields]
    values: dict[str, Any] = {}
    for name, field in what_if.fields.items():
        text = inputs.get(name)
        values[name] = None
        if text is None or not str(text).strip():
            if field.needed:
                problems.append(Problem(name, f"is missing: {field.about} ({field.how})"))
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
        head, _, datum = text.partition(" from ")
        read = quantity_of(head, "length", name)  # a slip in the number is told before what is missing
        spread = "2 thou" if read.unit.lower() in INCH_WORDS else "0.05 mm"
        example = f"{read.text} +/- {spread}" + (f" from {datum}" if datum else "")
        raise InvalidInput([Problem(name, f"say how surely it is known, such as {example}; found {text!r}")])
    datum = (match["datum"] or "").strip()
    return measured(name, match["reading"], match["spread"], datum=datum, source="as given")


def _read(name: str, field: Field, text: object) -> Any:
    if not isinstance(text, str):
        raise InvalidInput([Problem(name, f"expected a text such as {field.how}, found {text!r}")])
    if len(text) > LONGEST:
        raise InvalidInput([Problem(name, f"longer than {LONGEST} characters")])
    if field.form == LENGTH:
        return read_length(name, text)
    if field.form == READING:
        return _reading(name, text)
    if field.form == SIZE:
        return _not_below_zero(name, field, read_nm(text, name), text, "0.10 mm")
    if field.form == ANGLE:
        return _not_below_zero(name, field, quantity_of(text, "angle", name).amount, text, EXAMPLES["angle"])
    if field.form == WORD:
        return _word(name, field, text.strip())
    return _in_range(name, field, _quantity(name, field, text) if field.unit else _number(name, field, text), text)


def _not_below_zero(name: str, field: Field, value: Any, text: str, example: str) -> Any:
    if value < 0 and not field.signed:
        raise InvalidInput([Problem(name, f"cannot be below zero, found {text!r}; write it such as {example}")])
    return value


def _reading(name: str, text: str) -> Dimension:
    if _LENGTH.match(text.strip()):
        return read_length(name, text)
    quantity = quantity_of(text, "length", name)
    half = ceil(quantity.rounding)
    return Dimension(
        name=name, nominal_nm=quantity.nm, low_nm=quantity.nm - half, high_nm=quantity.nm + half, as_read=quantity.text,
        uncertainty_nm=half, source="as given", evidence_rank=1,
    )  # fmt: skip


def _word(name: str, field: Field, text: str) -> str:
    if field.words and text not in field.words:
        raise InvalidInput([Problem(name, f"expected one of {', '.join(field.words)}; found {text!r}")])
    return text


def _quantity(name: str, field: Field, text: str) -> Fraction:
    """In the field's unit; a bare number where the field's name says the unit."""
    dimension = dimension_of(field.unit)
    number = read_number(text, name, EXAMPLES[dimension])
    says_unit = name.endswith(f"_{field.unit.lower()}") or (field.unit, name[-2:]) == ("C", "_c")
    written = f"{text.strip()} {field.unit}" if not number.rest and says_unit else text
    if field.unit == "K" and number.rest:  # a difference: 5 degrees of either scale are 5 K, 278 K never
        written = re.sub(r"(?:°C|degC|C)$", "K", written.strip())
    return quantity_of(written, dimension, name).in_unit(field.unit)


def _number(name: str, field: Field, text: str) -> Fraction | int:
    example = "24" if field.form == COUNT else "0.3 or 3/4"
    number = read_number(text, name, example)
    if number.rest and not (field.form == COUNT and number.rest in ("teeth", "holes", "off")):
        raise InvalidInput([Problem(name, f"expected a bare number such as {example}, found {text!r}")])
    if field.form == COUNT:
        if number.value.denominator != 1:
            raise InvalidInput([Problem(name, f"expected a whole number such as {example}, found {text!r}")])
        return int(number.value)
    return number.value


def _in_range(name: str, field: Field, value: Fraction | int, text: str) -> Fraction | int:
    example = EXAMPLES[dimension_of(field.unit)] if field.unit else "24" if field.form == COUNT else "0.3"
    if value <= 0 and not field.signed:
        raise InvalidInput([Problem(name, f"must be above zero, found {text!r}; write it such as {example}")])
    if not field.unit and abs(Fraction(value)) > LARGEST_NUMBER:
        raise InvalidInput([Problem(name, f"{text!r} is out of reason; write it such as {example}")])
    return value


def show_fields(what_if: WhatIf, values: Mapping[str, Any]) -> dict[str, str]:
    """How each given input was read, in words: `bore: 38.100 mm (1.500000 in) +/- 0.010 mm`."""
    return {name: _shown(what_if.fields[name], value) for name, value in values.items() if value is not None}


def told_units(what_if: WhatIf, inputs: Mapping[str, str], shown: Mapping[str, str]) -> dict[str, str]:
    """What was read, saying which unit was taken where none was written. `inputs`: that were read without a fault."""
    return {
        name: f"{words} (no unit written: {what_if.fields[name].unit} taken)"
        if _is_bare(what_if, name, inputs)
        else words
        for name, words in shown.items()
    }


def _is_bare(what_if: WhatIf, name: str, inputs: Mapping[str, str]) -> bool:
    unit = what_if.fields[name].unit
    return bool(unit) and not read_number(inputs[name], name, EXAMPLES[dimension_of(unit)]).rest


def length_field(about: str) -> Field:
    """A reading of a length, with its uncertainty."""
    return Field(LENGTH, about)


def size_field(about: str, needed: bool = False, signed: bool = False) -> Field:
    """A length that is given, such as a limit."""
    return Field(SIZE, about, needed, signed=signed)


def run_named(what_if: WhatIf, values: Mapping[str, Any]) -> Any:
    """The check's result. A fault that it finds is told at the field that was filled in, not at a name inside."""
    try:
        return what_if.run(values)
    except InvalidInput as error:
        named = [Problem(_field_of(one.path, what_if.fields, values), one.message) for one in error.problems]
        raise InvalidInput(named) from None


def _field_of(path: str, fields: Mapping[str, Field], values: Mapping[str, Any]) -> str:
    """The field that a name inside the sums stands for; the name itself where it is none of them."""
    if path == "datum":
        return _other_datum(fields, values) or path
    for name in (path, *path.split("."), _INSIDE.sub("", path), _CALLED.get(path, "")):
        if name in fields:
            return name
    return path


def _other_datum(fields: Mapping[str, Field], values: Mapping[str, Any]) -> str:
    """The first field that is taken from another face than the field before it."""
    taken = [(name, values[name].datum) for name in fields if isinstance(values.get(name), Dimension)]
    pairs = pairwise(taken)
    return next((later for (_, one), (later, other) in pairs if one and other and one != other), "")


def _shown(field: Field, value: Any) -> str:
    if isinstance(value, Dimension):
        datum = f" from the {value.datum}" if value.datum else ""
        return f"{_both(value.nominal_nm)} +/- {show_nm(value.uncertainty_nm)}{datum}"
    if field.form == SIZE:
        return _both(value)
    if field.form == ANGLE:
        return f"{show_number(value)} deg"
    if isinstance(value, (Fraction, int)):
        return f"{show_number(value, 6)} {field.unit}".rstrip()
    return str(value)


def _both(nm: int) -> str:
    short = f"{fixed(Fraction(nm, NM_PER_MM), 3)} mm" if abs(nm) >= NM_PER_MM else show_nm(nm)
    return f"{short} ({fixed(Fraction(nm, NM_PER_INCH), 4)} in)"


def _unknown(name: str, fields: Mapping[str, Field]) -> Problem:
    near = get_close_matches(name, fields, 3)
    hint = f"did you mean {', '.join(near)}?" if near else f"known are {', '.join(fields)}"
    return Problem(name, f"this check takes no such input; {hint}")
