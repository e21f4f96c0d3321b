"""From statements to catalogue: one small function for each class of thing.

Statements are expected to satisfy the shapes; a subject that does not is left out here, and the loader then refuses
the whole. Numbers are read exactly: money and hours as whole hundredths, lengths as whole micrometres.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from graph.catalogue.model import (
    Catalogue,
    ChainKind,
    Condition,
    Edge,
    EvidenceLevel,
    Fault,
    Inspection,
    JointKind,
    Note,
    Part,
    PartKind,
    PositionKind,
    Task,
    Term,
)
from graph.catalogue.names import (
    BROADER,
    DEFINITION,
    LABEL,
    LAY,
    PREF_LABEL,
    PROV,
    SOURCE,
    local_id,
)
from graph.catalogue.statements import Statements, node_key
from graph.exact import HUNDREDTHS, MICROMETRES, fraction_of, scaled

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
}


class _Subject:
    """Reads the properties of one subject."""

    def __init__(self, facts: Statements, key: str):
        self.facts, self.key = facts, key
        self.id = local_id(key, facts.shop_base)

    def text(self, name: str, default: str = "") -> str:
        values = self.facts.get(self.key, name if ":" in name else LAY + name)
        return values[0].value if values else default

    def texts(self, name: str) -> tuple[str, ...]:
        return tuple(sorted(value.value for value in self.facts.get(self.key, LAY + name)))

    def ref(self, name: str) -> str:
        value = self.text(name)
        return local_id(value, self.facts.shop_base) if value else ""

    def refs(self, name: str) -> tuple[str, ...]:
        values = self.facts.get(self.key, LAY + name)
        return tuple(sorted(local_id(node_key(value), self.facts.shop_base) for value in values))

    def flag(self, name: str, default: bool = False) -> bool:
        value = self.text(name)
        return value in ("true", "1") if value else default

    def amount(self, *names: str) -> int:
        """Hundredths of the first of the properties that is stated, else 0."""
        value = next(filter(None, (self.text(name) for name in names)), "0")
        return scaled(value, HUNDREDTHS)

    def length(self, *names: str) -> int | None:
        value = next(filter(None, (self.text(name) for name in names)), "")
        return scaled(value, MICROMETRES) if value else None

    def days(self) -> Fraction:
        return fraction_of(self.text("days", "0"))

    def term(self) -> dict[str, str]:
        label = self.text(PREF_LABEL) or self.text(LABEL)
        return {"id": self.id, "label": label, "definition": self.text(DEFINITION)}

    def conditions(self) -> tuple[Condition, ...]:
        found = [_Subject(self.facts, node_key(value)) for value in self.facts.get(self.key, LAY + "condition")]
        made = [Condition(c.text("key"), c.text("operator"), c.text("value"), c.text("text")) for c in found]
        return tuple(sorted(made, key=lambda c: (c.key, c.op, c.value)))

    def operations(self) -> tuple[str, ...]:
        heads = self.facts.get(self.key, LAY + "operations")
        items = self.facts.list_items(heads[0]) if heads else []
        return tuple(item.value for item in items or ())


def _part_kind(s: _Subject) -> PartKind:
    return PartKind(**s.term(), intermediate=s.flag("intermediate"), broader=s.ref(BROADER), caution=s.text("caution"))


def _position_kind(s: _Subject) -> PositionKind:
    return PositionKind(**s.term(), part_kinds=s.refs("holds"), owner=s.text("owner"), fit_tasks=s.refs("fitTask"))


def _joint_kind(s: _Subject) -> JointKind:
    between = (s.ref("firstPosition"), s.ref("secondPosition"))
    return JointKind(
        **s.term(), between=between, via_kinds=s.refs("viaKind"), tasks=s.refs("task"), caution=s.text("caution")
    )


def _chain_kind(s: _Subject) -> ChainKind:
    return ChainKind(
        **s.term(),
        start_um=s.length("startMm") or 0,
        low_um=s.length("lowMm", "usualLowMm"),
        high_um=s.length("highMm", "usualHighMm"),
        positions=s.refs("position"),
        remedy=s.text("remedy"),
        source=s.text(SOURCE),
    )


def _task(s: _Subject) -> Task:
    return Task(
        **s.term(),
        stage=s.text("stage"),
        after=s.refs("after"),
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount("hours", "usualHours"),
        days=s.days(),
        caution=s.text("caution"),
        refit=s.text("refit"),
        only_for=s.refs("onlyFor"),
        instead_of=s.ref("insteadOf"),
        source="" if s.text("hours") else s.text(SOURCE),
    )


def _evidence_level(s: _Subject) -> EvidenceLevel:
    return EvidenceLevel(**s.term(), rank=int(s.text("rank")))


def _note(s: _Subject) -> Note:
    author = s.text(PROV + "wasAttributedTo")
    name = _Subject(s.facts, author).text(LABEL) if author else ""
    return Note(
        id=s.id,
        text=s.text("text"),
        evidence=s.ref("evidence"),
        author=name or local_id(author, s.facts.shop_base),
        made_on=s.text(PROV + "generatedAtTime"),
        method=s.text("method"),
        job=s.text("job"),
    )


def _part(s: _Subject) -> Part:
    return Part(
        id=s.id,
        label=s.text(LABEL),
        kind=s.ref("kind"),
        variant_of=s.ref("variantOf"),
        number=s.text("number"),
        condition=s.ref("partCondition") or "unknown",
        cash_hundredths=s.amount("cash") if s.text("cash") else None,
        currency=s.text("currency"),
        days=s.days(),
        hours_hundredths=s.amount("hours"),
        tasks=s.refs("task"),
        in_stock=s.flag("inStock"),
        conditions=s.conditions(),
        to_confirm=s.texts("toConfirm"),
        note=s.ref("note"),
        abstract=s.flag("abstract"),
    )


def _edge(s: _Subject) -> Edge:
    kinds = [EDGE_CLASSES[name] for name in s.facts.classes_of(s.key) if name in EDGE_CLASSES]
    note = s.ref("note")
    evidence = s.ref("evidence")
    if note and not evidence:
        evidence = _Subject(s.facts, s.text("note")).ref("evidence")
    return Edge(
        id=s.id,
        kind=kinds[0],
        source=s.ref("source"),
        target=s.ref("target"),
        joint=s.ref("joint"),
        position=s.ref("position"),
        group=s.text("group"),
        shift_um=s.length("shiftMm") or 0,
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount("hours"),
        days=s.days(),
        tasks=s.refs("task"),
        operations=s.operations(),
        irreversible=s.flag("irreversible"),
        conditions=s.conditions(),
        to_confirm=s.texts("toConfirm"),
        reason=s.text("reason"),
        miss_um=s.length("missMm"),
        caution=s.text("caution"),
        note=note,
        evidence=evidence,
    )


def _fault(s: _Subject) -> Fault:
    return Fault(
        **s.term(),
        position=s.ref("position"),
        of=s.ref("of"),
        odds=fraction_of(s.text("odds")),
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount("hours"),
        shows=s.flag("shows", default=True),
        source=s.text(SOURCE),
    )


def _inspection(s: _Subject) -> Inspection:
    return Inspection(
        **s.term(),
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount("hours"),
        settles=s.refs("settles"),
        caution=s.text("caution"),
    )


def _term(s: _Subject) -> Term:
    return Term(**s.term())


_TABLES: Mapping[str, tuple[str, Callable[[_Subject], Any]]] = {
    "part_kinds": ("PartKind", _part_kind),
    "position_kinds": ("PositionKind", _position_kind),
    "joint_kinds": ("JointKind", _joint_kind),
    "chain_kinds": ("ChainKind", _chain_kind),
    "tasks": ("Task", _task),
    "features": ("Feature", _term),
    "evidence_levels": ("EvidenceLevel", _evidence_level),
    "part_conditions": ("PartCondition", _term),
    "notes": ("Note", _note),
    "parts": ("Part", _part),
    "edges": ("Edge", _edge),
    "faults": ("Fault", _fault),
    "inspections": ("Inspection", _inspection),
}


def build_catalogue(facts: Statements, skip: Collection[str] = ()) -> Catalogue:
    """The catalogue that the statements describe, without the subjects in `skip`.

    Raises NotExact (graph.exact) or KeyError where a subject that is not skipped breaks the shapes.
    """
    tables: dict[str, Any] = {}
    for name, (class_name, make) in _TABLES.items():
        keys = dict.fromkeys(facts.list_of_class(LAY + class_name))
        made = [make(_Subject(facts, key)) for key in keys if key not in skip]
        tables[name] = {thing.id: thing for thing in sorted(made, key=lambda thing: thing.id)}
    catalogue = Catalogue(**tables)
    shops = [key for key in facts.list_of_class(LAY + "Shop") if key not in skip]
    if not shops:
        return catalogue
    shop = _Subject(facts, shops[0])
    return replace(
        catalogue,
        currency=shop.text("currency"),
        rate_hundredths=shop.amount("rate"),
        day_hours=fraction_of(shop.text("dayHours", "8")),
    )
