"""The JSON shapes of answers for OpenAPI, made from the core's dataclasses, so that there is one description only.

Follows the rules of `graph.answer.serial`: `cash_hundredths` is `cash`, `value_um` is `value_mm`, fractions are
numbers. The models describe; responses are written from plain values without passing through them.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel, ConfigDict, create_model

_MODELS: dict[Any, type[BaseModel]] = {}


def shape(kind: Any) -> type[BaseModel]:
    """The pydantic model of a dataclass's JSON form, its docstring as the description; one model per dataclass."""
    if kind not in _MODELS:
        _MODELS[kind] = _model(kind)
    return _MODELS[kind]


def _model(kind: Any) -> type[BaseModel]:
    hints = get_type_hints(kind)
    fields: dict[str, Any] = {}
    for field in dataclasses.fields(kind):
        name = field.name.removesuffix("_hundredths")
        name = name.removesuffix("_um") + "_mm" if name.endswith("_um") else name
        fields[name] = (_json_type(hints[field.name], scaled=name != field.name), ...)
    model: type[BaseModel] = create_model(
        kind.__name__, __doc__=(kind.__doc__ or "").strip(), __config__=ConfigDict(extra="forbid"), **fields
    )
    return model


def _json_type(hint: Any, *, scaled: bool = False) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return Union[tuple(_json_type(each, scaled=scaled) for each in inner)]  # noqa: UP007 (built at run time)
    if origin is tuple:
        if inner[-1] is Ellipsis:
            return list[_json_type(inner[0])]  # type: ignore[misc]
        return list[Union[tuple(_json_type(each) for each in inner)]]  # type: ignore[misc]  # noqa: UP007
    if origin in (dict, Mapping):
        return dict[str, _json_type(inner[1], scaled=scaled)]  # type: ignore[misc]
    if dataclasses.is_dataclass(hint):
        return shape(hint)
    if hint is Fraction or (scaled and hint is int):
        return float
    return Any if hint is object else hint
