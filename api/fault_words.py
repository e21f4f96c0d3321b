"""What the framework found wrong with a value, in the words of the rest of the house: expected this; found that.

One place for the API and the pages. What our own validators say (`value_error`) is kept as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

LONGEST = 60  # letters of a value that is told back

_Words = Callable[[Mapping[str, Any]], str]
_EXPECTED: Mapping[str, _Words] = {
    "missing": lambda said: "is needed and is not there",
    "extra_forbidden": lambda said: "nobody reads this field; take it out",
    "literal_error": lambda said: f"expected {said['expected']}",
    "enum": lambda said: f"expected {said['expected']}",
    "string_type": lambda said: "expected a text",
    "string_too_short": lambda said: f"expected at least {_letters(said['min_length'])}",
    "string_too_long": lambda said: f"expected at most {_letters(said['max_length'])}",
    "string_pattern_mismatch": lambda said: f"expected a text of the form {said['pattern']}",
    "int_type": lambda said: "expected a whole number",
    "int_parsing": lambda said: "expected a whole number",
    "int_from_float": lambda said: "expected a whole number",
    "int_parsing_size": lambda said: "expected a whole number of fewer digits",
    "float_type": lambda said: "expected a number",
    "float_parsing": lambda said: "expected a number",
    "decimal_type": lambda said: "expected a number",
    "decimal_parsing": lambda said: "expected a number such as 12.50",
    "decimal_max_places": lambda said: f"expected at most {said['decimal_places']} decimals",
    "decimal_max_digits": lambda said: f"expected at most {said['max_digits']} digits",
    "decimal_whole_digits": lambda said: f"expected at most {said['whole_digits']} digits before the point",
    "finite_number": lambda said: "expected a number that ends",
    "bool_type": lambda said: "expected true or false",
    "bool_parsing": lambda said: "expected true or false",
    "list_type": lambda said: "expected a list",
    "tuple_type": lambda said: "expected a list",
    "dict_type": lambda said: "expected an object of names and values",
    "model_type": lambda said: "expected an object of names and values",
    "model_attributes_type": lambda said: "expected an object of names and values",
    "too_short": lambda said: f"expected at least {said['min_length']} of them, found {said['actual_length']}",
    "too_long": lambda said: (
        f"expected at most {said['max_length']} of them, found {said.get('actual_length', 'more')}"
    ),
    "greater_than": lambda said: f"expected more than {said['gt']}",
    "greater_than_equal": lambda said: f"expected {said['ge']} or more",
    "less_than": lambda said: f"expected less than {said['lt']}",
    "less_than_equal": lambda said: f"expected {said['le']} or less",
    "date_type": lambda said: "expected a date such as 2026-03-31",
    "date_parsing": lambda said: "expected a date such as 2026-03-31",
    "date_from_datetime_parsing": lambda said: "expected a date such as 2026-03-31",
    "datetime_parsing": lambda said: "expected a time such as 2026-03-31T08:00:00Z",
    "datetime_from_date_parsing": lambda said: "expected a time such as 2026-03-31T08:00:00Z",
    "json_invalid": lambda said: f"is no JSON: {said['error']}",
}
_WITHOUT_FOUND = frozenset(("missing", "extra_forbidden", "too_short", "too_long", "json_invalid"))
# Where a value may be one thing or another, the framework's place names which it was tried as: nobody sent that.
_TRIED_AS = re.compile(r"constrained-\w+|function-.*|[A-Z]\w*Body")
_OUR_OWN = ("value_error", "assertion_error")


def fault_words(fault: Mapping[str, Any]) -> str:
    """The words for one fault as pydantic lists them (`type`, `ctx`, `input`, `msg`).

    >>> fault_words({"type": "int_parsing", "input": "seven", "msg": "..."})
    'expected a whole number; found “seven”'
    >>> fault_words({"type": "literal_error", "ctx": {"expected": "'cash' or 'hours'"}, "input": 3, "msg": "..."})
    "expected 'cash' or 'hours'; found 3"
    """
    kind, said = str(fault["type"]), fault.get("ctx", {})
    if kind in _OUR_OWN:
        return str(said.get("error", fault["msg"]))
    words = _EXPECTED.get(kind)
    if words is None:
        return str(fault["msg"])
    expected = words(said)
    return expected if kind in _WITHOUT_FOUND else f"{expected}; found {_found(fault.get('input'))}"


def field_steps(location: Sequence[int | str]) -> tuple[int | str, ...]:
    """The steps of a place as they were sent.

    >>> field_steps(("drilled", "FaceBody", "holes", 0)), field_steps(("drilled", "constrained-str"))
    (('drilled', 'holes', 0), ('drilled',))
    """
    return tuple(step for step in location if isinstance(step, int) or _TRIED_AS.fullmatch(step) is None)


def dotted(location: Sequence[int | str]) -> str:
    """The place of a fault as pages name their fields: `odds.worn-ring`."""
    return ".".join(map(str, field_steps(location)))


def _found(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f"“{value[:LONGEST]}{'…' if len(value) > LONGEST else ''}”" if value else "an empty text"
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, Mapping):
        return "an object"
    return str(value)[:LONGEST]


def _letters(count: int) -> str:
    return f"{count} letter{'s' if count != 1 else ''}"
