"""What facts can say of each class of the catalogue, read off its fields (model.py and terms.py).

A field's metadata names the sort of what is said and the property that says it: `{"ref": "variantOf"}`. From that
alone a thing is built from statements (build.py) and said again as statements (restate.py); how it is packed follows
from the fields' types (compact/records.py). No fact says anything of a field without metadata.

Sorts: text, texts, ref and refs (to other things, by id), flag, date, whole and exact numbers, hundredths (of money or
hours), um (micrometres of a length in mm), pair (of two references), each (a thing that hangs on this one), listed
(texts in their order), person, evidence (its own, or that of its note), edge_class. Of several properties the first
that is stated counts.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields
from functools import cache
from typing import Any, get_args, get_type_hints

from graph.catalogue.model import (
    BoltFace,
    Condition,
    Edge,
    MeasuredHole,
    Measurement,
    Note,
    OperationPrice,
    Part,
    StandardPartPrice,
    StatedFault,
    StatedInspection,
)
from graph.catalogue.names import LAY, iri_of
from graph.catalogue.terms import (
    Assembly,
    ChainKind,
    EvidenceLevel,
    JointKind,
    PartCondition,
    PartKind,
    PositionKind,
    Quantity,
    TaskKind,
    Term,
)
from graph.exact import HUNDREDTHS, MICROMETRES

SCALES = {"hundredths": HUNDREDTHS, "um": MICROMETRES, "exact": 1, "whole": 1}
SORTS = frozenset((
    *SCALES, "text", "texts", "ref", "refs", "flag", "date", "pair", "each", "listed", "person", "evidence",
    "edge_class",
))  # fmt: skip

# The tables of the catalogue: the class of their things, and its name in the vocabulary.
TABLES: dict[str, tuple[type, str]] = {
    "part_kinds": (PartKind, "PartKind"),
    "position_kinds": (PositionKind, "PositionKind"),
    "joint_kinds": (JointKind, "JointKind"),
    "chain_kinds": (ChainKind, "ChainKind"),
    "tasks": (TaskKind, "Task"),
    "assemblies": (Assembly, "Assembly"),
    "features": (Term, "Feature"),
    "evidence_levels": (EvidenceLevel, "EvidenceLevel"),
    "part_conditions": (PartCondition, "PartCondition"),
    "notes": (Note, "Note"),
    "parts": (Part, "Part"),
    "edges": (Edge, "Edge"),
    "faults": (StatedFault, "Fault"),
    "inspections": (StatedInspection, "Inspection"),
    "quantities": (Quantity, "Quantity"),
    "measurements": (Measurement, "Measurement"),
    "bolt_faces": (BoltFace, "BoltFace"),
    "operation_prices": (OperationPrice, "OperationPrice"),
    "standard_prices": (StandardPartPrice, "StandardPartPrice"),
}
HANGING = {Condition: "Condition", MeasuredHole: "Hole"}
CLASS_NAMES: dict[type, str] = {**dict(TABLES.values()), **HANGING}
EDGE_CLASSES = {
    LAY + "Contains": "contains",
    LAY + "Fits": "fits",
    LAY + "RequiresMachining": "requires-machining",
    LAY + "DoesNotFit": "does-not-fit",
    LAY + "Replaces": "replaces",
    LAY + "AddsFeature": "adds-feature",
    LAY + "Needs": "needs",
    LAY + "Excludes": "excludes",
    LAY + "Shifts": "shifts",
    LAY + "LaysOpen": "lays-open",
    LAY + "HasNone": "has-none",
}
REQUIRED = object()  # the default of a field that has none


@dataclass(frozen=True, slots=True)
class SaidField:
    """A field, the `sort` of what is said of it, and the IRIs of its `properties`; `said_as`: the one that says it.

    `default`: what holds where nothing is said. `inside`: the class of what hangs on it. `only_of`: the one kind of
    edge that has it; "" for all. `always`: said even where it is the default.
    """

    name: str
    sort: str
    properties: tuple[str, ...]
    said_as: str
    default: Any
    inside: type | None
    only_of: str
    always: bool


@cache
def said_fields(kind: type) -> tuple[SaidField, ...]:
    """The fields of the class that facts can say something of.

    >>> [(one.name, one.sort) for one in said_fields(StandardPartPrice)][:2]
    [('designation', 'text'), ('cash_hundredths', 'hundredths')]
    """
    hints = get_type_hints(kind)
    return tuple(_said(one, hints[one.name]) for one in fields(kind) if one.metadata)


def _said(own: Any, hint: Any) -> SaidField:
    sort = next(iter(own.metadata))
    if sort not in SORTS:
        raise TypeError(f"{own.name}: {sort!r} is no sort of what facts say; one of {', '.join(sorted(SORTS))}")
    named = own.metadata[sort]
    properties = tuple(map(iri_of, (named,) if isinstance(named, str) else named))
    said_as = iri_of(own.metadata["say"]) if "say" in own.metadata else properties[0]
    return SaidField(
        own.name, sort, properties, said_as, REQUIRED if own.default is MISSING else own.default,
        get_args(hint)[0] if sort == "each" else None, own.metadata.get("only_of", ""),
        own.metadata.get("always", False),
    )  # fmt: skip
