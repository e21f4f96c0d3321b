"""An answer as plain JSON values: money and hours as decimals, lengths in millimetres, as `units` says.

Every key is the field's name without its unit suffix (`cash_hundredths` becomes `cash`, `value_um` becomes
`value_mm`), so that the JSON, the pages and the papers speak of the same things.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from graph.answer.model import Answer
from graph.exact import HUNDREDTHS, MICROMETRES, plain
from graph.reading.question import Question

Json = dict[str, Any]


def answer_as_json(answer: Answer) -> Json:
    """The answer as nested dictionaries and lists, ready for any JSON writer."""
    found = _plain(answer)
    assert isinstance(found, dict)
    return found


def part_as_json(value: Any) -> Any:
    """Any dataclass of the answer or the catalogue as JSON values, under the same rules."""
    return _plain(value)


def question_as_json(question: Question) -> Json:
    """The question as it can be asked again."""
    return {
        "gearbox": question.gearbox,
        "engine": question.engine,
        "vehicle": question.vehicle,
        "context": {key: _plain(value) for key, value in question.context.items()},
        "avoid": list(question.avoid),
        "own": list(question.own),
        "features": list(question.features),
        "evidence_floor": question.evidence_floor,
        "refuse_disputed": question.refuse_disputed,
        "rate": None if question.rate_hundredths is None else plain(question.rate_hundredths, HUNDREDTHS),
        "deadline": None if question.deadline is None else plain(question.deadline),
        "objective": question.objective,
        "alternatives": question.alternatives,
    }


def _hundredths(value: int | None) -> int | float | None:
    return None if value is None else plain(value, HUNDREDTHS)


def _micrometres(value: int | Mapping[str, int] | None) -> Any:
    if isinstance(value, Mapping):
        return {key: plain(um, MICROMETRES) for key, um in value.items()}
    return None if value is None else plain(value, MICROMETRES)


@cache
def _fields(kind: Any) -> tuple[tuple[str, str, Callable[[Any], Any]], ...]:
    """(attribute, JSON key, converter) for each field of a dataclass."""
    found: list[tuple[str, str, Callable[[Any], Any]]] = []
    for field in dataclasses.fields(kind):
        name = field.name
        if name.endswith("_hundredths"):
            found.append((name, name.removesuffix("_hundredths"), _hundredths))
        elif name.endswith("_um"):
            found.append((name, name.removesuffix("_um") + "_mm", _micrometres))
        else:
            found.append((name, name, _plain))
    return tuple(found)


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, (str, bool, int, float)):
        return value
    if isinstance(value, Fraction):
        return plain(value)
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {key: convert(getattr(value, name)) for name, key, convert in _fields(type(value))}
    raise TypeError(f"no JSON form for {type(value).__name__}")
