"""An answer as plain JSON values: money and hours as decimals, lengths in millimetres, as `units` says.

Every key is the field's name without its unit suffix (`cash_hundredths` becomes `cash`, `value_um` becomes
`value_mm`), so that the JSON, the pages and the papers speak of the same things.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from graph.answer.model.answer import Answer
from graph.exact import HUNDREDTHS, MICROMETRES
from graph.reading.question import Question

Json = dict[str, Any]
SCALED = "_hundredths"  # at the end of a field whose value JSON has in whole units
Memo = dict[int, Json]  # objects that stand in several places are written once; they live as long as the answer


def answer_as_json(answer: Answer) -> Json:
    """The answer as nested dictionaries and lists, ready for any JSON writer."""
    found = _plain(answer, {})
    assert isinstance(found, dict)
    return found


def part_as_json(value: Any) -> Any:
    """Any dataclass of the answer or the catalogue as JSON values, under the same rules."""
    return _plain(value, {})


def question_as_json(question: Question) -> Json:
    """The question as it can be asked again."""
    return dict(_plain(question, {}))


def _scaled(value: int, scale: int) -> int | float:
    """As `graph.exact.plain`, without a fraction in between: true division of whole numbers is correctly rounded."""
    whole, rest = divmod(value, scale)
    return whole if rest == 0 else value / scale


def _hundredths(value: int | Mapping[str, int] | None, _: Memo) -> Any:
    return _amount(value, HUNDREDTHS)


def _micrometres(value: int | Mapping[str, int] | None, _: Memo) -> Any:
    return _amount(value, MICROMETRES)


def _amount(value: int | Mapping[str, int] | None, scale: int) -> Any:
    if isinstance(value, Mapping):
        return {key: _scaled(one, scale) for key, one in value.items()}
    return None if value is None else _scaled(value, scale)


def _fraction(value: Fraction, _: Memo) -> int | float:
    return value.numerator if value.denominator == 1 else value.numerator / value.denominator


def _sequence(value: Any, memo: Memo) -> list[Any]:
    return [_plain(item, memo) for item in value]


def _mapping(value: Any, memo: Memo) -> Json:
    return {key: _plain(item, memo) for key, item in value.items()}


# By exact type, because an answer has some ten thousand values and a chain of `isinstance` takes most of the time.
_ATOMS = frozenset({str, int, float, bool, type(None)})
_BY_TYPE: dict[type, Callable[[Any, Memo], Any]] = {
    Fraction: _fraction, tuple: _sequence, list: _sequence, dict: _mapping,
}  # fmt: skip


def _plain(value: Any, memo: Memo) -> Any:
    kind = type(value)
    if kind in _ATOMS:
        return value
    convert = _BY_TYPE.get(kind)
    if convert is None:
        convert = _BY_TYPE[kind] = _converter(value)
    return convert(value, memo)


def _converter(value: Any) -> Callable[[Any, Memo], Any]:
    """How values of this one's type become JSON, for the types that are not listed beforehand."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _dataclass_converter(type(value))
    if isinstance(value, Mapping):
        return _mapping
    raise TypeError(f"no JSON form for {type(value).__name__}")


def json_name(field: str) -> str:
    """Under which name JSON has a field of a dataclass: money and hours in whole units, not in hundredths.

    >>> json_name("rate_hundredths"), json_name("deadline")
    ('rate', 'deadline')
    """
    return field.removesuffix(SCALED)


def _dataclass_converter(kind: Any) -> Callable[[Any, Memo], Json]:
    fields: list[tuple[str, str, Callable[[Any, Memo], Any]]] = []
    for field in dataclasses.fields(kind):
        name = field.name
        if name.endswith(SCALED):
            fields.append((name, json_name(name), _hundredths))
        elif name.endswith("_um"):
            fields.append((name, name.removesuffix("_um") + "_mm", _micrometres))
        else:
            fields.append((name, name, _plain))

    def convert(value: Any, memo: Memo) -> Json:
        found = memo.get(id(value))
        if found is None:
            found = memo[id(value)] = {key: each(getattr(value, name), memo) for name, key, each in fields}
        return found

    return convert
