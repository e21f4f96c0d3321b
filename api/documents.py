"""JSON Schemas of the two documents that travel by themselves: the conversion and the routes found for it.

Made from the core's dataclasses under the key names that the document uses (`shifts`, not `shifts_um`).
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Union, get_args, get_origin, get_type_hints

from graph.conversion.document import LINK_KINDS, Conversion
from graph.search.result import OBJECTIVES, PARTS

Schema = dict[str, Any]
SIGNED = ("start", "low", "high", "shifts")  # lengths may be negative; money, hours and days may not
NUMBER: Schema = {"type": "number"}
TEXT: Schema = {"type": "string"}
NUMBERS: Schema = {"type": "object", "additionalProperties": NUMBER}
TEXTS: Schema = {"type": "object", "additionalProperties": TEXT}


def _object(properties: Schema, required: list[str], description: str = "") -> Schema:
    schema: Schema = {"type": "object", "properties": properties, "required": required, "additionalProperties": False}
    return {**schema, "description": description} if description else schema


def _schema_of(kind: Any) -> Schema:
    hints = get_type_hints(kind)
    properties, required = {}, []
    for field in dataclasses.fields(kind):
        name = field.name.removesuffix("_hundredths").removesuffix("_um")
        properties[name] = _property(name, hints[field.name])
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING:
            required.append(name)
    return _object(properties, [name for name in required if name not in OPTIONAL], (kind.__doc__ or "").strip())


OPTIONAL = ("kind", "label", "part", "gearbox", "engine", "candidates", "position")  # a fault has position or on


def _property(name: str, hint: Any) -> Schema:
    inner = get_args(hint)
    if get_origin(hint) in (Union, types.UnionType):
        return {"anyOf": [_property(name, inner[0]), {"type": "null"}]}
    if get_origin(hint) is tuple:
        schema: Schema = {"type": "array", "items": _property(name, inner[0])}
        return schema if inner[-1] is Ellipsis else {**schema, "minItems": len(inner), "maxItems": len(inner)}
    if get_origin(hint) in (dict, Mapping):
        return NUMBERS
    if dataclasses.is_dataclass(hint):
        return _schema_of(hint)
    if hint is bool:
        return {"type": "boolean"}
    if hint is int or hint is Fraction:
        limits = {} if name in SIGNED else {"minimum": 0} | ({"maximum": 1} if name == "odds" else {})
        return NUMBER | limits
    if name == "kind":
        return TEXT | {"examples": list(LINK_KINDS)}
    return TEXT


CONVERSION_SCHEMA: Schema = _schema_of(Conversion)

_TOLD: Schema = {"type": "array", "items": _object({"what": TEXT, "words": TEXT}, ["what", "words"])}
_AMOUNTS = ("cash", "hours", "total", "expected", "days")
_ROUTE = _object(
    {
        "picks": TEXTS,
        "links": TEXTS,
        "tasks": {"type": "array", "items": TEXT},
        **dict.fromkeys(_AMOUNTS, NUMBER),
        "spread": _object(dict.fromkeys(("p50", "p90", "p50_least", "p90_least"), NUMBER), ["p50", "p90"]),
        "chains": {"type": "object", "additionalProperties": {"type": ["number", "null"]}},
        "assumed": _TOLD,
        "unmeasured": _TOLD,
    },
    ["picks", "links", "tasks", *_AMOUNTS, "spread", "chains", "assumed", "unmeasured"],
    "One allowed way of doing the conversion.",
)
SOLUTION_SCHEMA: Schema = {
    "type": "object",
    "required": ["status", "objective", "routes", "front", "look_first", "open"],
    "properties": {
        "status": {"enum": ["optimal", "no route", "stopped early"]},
        "objective": {"enum": list(OBJECTIVES)},
        "routes": {"type": "array", "items": _ROUTE},
        "front": {"type": "array", "items": _ROUTE},
        "look_first": {
            "anyOf": [
                {
                    "type": "object",
                    "required": ["inspections", "expected"],
                    "properties": {"inspections": {"type": "array", "items": TEXT}, "expected": NUMBER},
                },
                {"type": "null"},
            ]
        },
        "open": {"type": "array", "items": {"type": "object", "properties": {"what": TEXT, "why": TEXT}}},
        "instead": {"anyOf": [_object({"cost": NUMBER, "words": TEXT}, ["cost", "words"]), {"type": "null"}]},
        "gap": NUMBER,
        "parts": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["part", "complete", "gap", "words"],
                "properties": {
                    "part": {"enum": list(PARTS)},
                    "complete": {"type": "boolean"},
                    "gap": {"anyOf": [NUMBER, {"type": "null"}]},
                    "words": TEXT,
                },
            },
        },
    },
}

# The example of the route definition that can be worked by hand: rate 60, a ring worn with odds 0.35.
HAND_EXAMPLE: Schema = {
    "gearbox": "gearbox",
    "engine": "engine",
    "rate": 60,
    "tasks": [
        {"id": "out", "label": "gearbox out and in", "hours": 4.5},
        {"id": "strip", "label": "strip and rebuild", "after": ["out"], "cash": 110, "hours": 5},
    ],
    "positions": [
        {"id": "shaft", "candidates": [
            {"id": "shaft as found", "as_found": True},
            {"id": "long-nose shaft", "cash": 160, "hours": 0.5, "tasks": ["strip"]},
        ]},
        {"id": "disc", "candidates": [
            {"id": "disc as found", "as_found": True},
            {"id": "other disc", "cash": 135, "hours": 0.6, "tasks": ["out"]},
        ]},
        {"id": "pilot", "candidates": [
            {"id": "pilot as found", "as_found": True},
            {"id": "extended bush", "cash": 110, "hours": 0.5, "tasks": ["out"]},
        ]},
        {"id": "ring", "candidates": [{"id": "ring as found", "as_found": True}]},
    ],
    "joints": [
        {"id": "spline", "between": ["shaft", "disc"], "links": [
            {"id": "other disc on shaft", "parts": ["shaft as found", "other disc"]},
            {"id": "long-nose shaft in disc", "parts": ["long-nose shaft", "disc as found"]},
        ]},
        {"id": "pilot joint", "between": ["shaft", "pilot"], "links": [
            {"id": "shaft in extended bush", "parts": ["shaft as found", "extended bush"]},
            {"id": "long-nose shaft in pilot", "parts": ["long-nose shaft", "pilot as found"]},
        ]},
    ],
    "faults": [
        {"id": "worn ring", "position": "ring", "odds": 0.35, "cash": 48, "hours": 0.4, "reach": ["strip"],
         "shows": True},
    ],
    "inspections": [{"id": "road test", "hours": 1, "settles": ["worn ring"]}],
}  # fmt: skip
