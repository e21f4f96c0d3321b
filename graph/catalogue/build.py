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
    Assembly,
    BoltFace,
    Catalogue,
    ChainKind,
    Condition,
    Edge,
    EvidenceLevel,
    JointKind,
    MeasuredHole,
    Measurement,
    Note,
    OperationPrice,
    Part,
    PartCondition,
    PartKind,
    PositionKind,
    Quantity,
    StandardPartPrice,
    StatedFault,
    StatedInspection,
    TaskKind,
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
    LAY + "HasNone": "has-none",
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

    def amount_if_any(self, *names: str) -> int | None:
        value = next(filter(None, (self.text(name) for name in names)), "")
        return scaled(value, HUNDREDTHS) if value else None

    def fraction_if_any(self, *names: str) -> Fraction | None:
        value = next(filter(None, (self.text(name) for name in names)), "")
        return fraction_of(value) if value else None

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

    def evidence(self) -> str:
        """Its own level, or that of the note it rests on."""
        note = self.text("note")
        return self.ref("evidence") or (_Subject(self.facts, note).ref("evidence") if note else "")

    def operations(self) -> tuple[str, ...]:
        heads = self.facts.get(self.key, LAY + "operations")
        items = self.facts.list_items(heads[0]) if heads else []
        return tuple(item.value for item in items or ())


def _part_kind(s: _Subject) -> PartKind:
    return PartKind(
        **s.term(), intermediate=s.flag("intermediate"), broader=s.ref(BROADER), caution=s.text("caution"),
        usual_cash_hundredths=s.amount_if_any("usualCash"),
        usual_hours_hundredths=s.amount_if_any("usualHours"),
    )  # fmt: skip


def _position_kind(s: _Subject) -> PositionKind:
    return PositionKind(
        **s.term(), part_kinds=s.refs("holds"), owner=s.text("owner"), fit_tasks=s.refs("fitTask"),
        waits_for=s.refs("waitsFor"),
        works_on=s.refs("worksOn"),
    )  # fmt: skip


def _joint_kind(s: _Subject) -> JointKind:
    between = (s.ref("firstPosition"), s.ref("secondPosition"))
    return JointKind(
        **s.term(), between=between, via_kinds=s.refs("viaKind"), tasks=s.refs("task"),
        via_tasks=s.refs("viaTask"), caution=s.text("caution"),
        odds_across=s.fraction_if_any("oddsAcross", "usualOddsAcross"),
        odds_within=s.fraction_if_any("oddsWithin", "usualOddsWithin"), odds_source=_odds_source(s),
        found_out=s.text("foundOut"), remedy=s.text("remedy"), remedy_cash_hundredths=s.amount_if_any("remedyCash"),
        remedy_hours_hundredths=s.amount_if_any("remedyHours", "usualRemedyHours"), remedy_kind=s.ref("remedyKind"),
        remedy_operations=s.texts("remedyOperation"),
    )  # fmt: skip


OWN_ODDS = "the shop's own figure"


def _odds_source(s: _Subject) -> str:
    """Where the odds come from; of both figures where they do not come from one place."""
    of = {name: bool(s.text(name)) for name in ("oddsAcross", "oddsWithin", "usualOddsAcross", "usualOddsWithin")}
    usual = s.text("oddsSource")
    across = OWN_ODDS if of["oddsAcross"] else usual if of["usualOddsAcross"] else ""
    within = OWN_ODDS if of["oddsWithin"] else usual if of["usualOddsWithin"] else ""
    if across and within and across != within:
        return f"other families: {across}; other variant of the family: {within}"
    return across or within


def _assembly(s: _Subject) -> Assembly:
    """What a shop leaves out of a must-have and has among the may-haves is a may-have for it."""
    out = set(s.refs("leavesOut"))
    must, may = s.refs("mustHave"), s.refs("mayHave")

    def kept(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name not in out)

    return Assembly(
        **s.term(), must_have=kept(must), may_have=tuple(one for one in may if one not in out or one in must),
        every_job=kept(s.refs("everyJob")), comes_apart_by=kept(s.refs("comesApartBy")),
        turns_into=kept(s.refs("turnsInto")), no_joints=s.refs("noJoint"),
        no_use_for=s.refs("noUseFor"), parting=s.text("parting"),
    )  # fmt: skip


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


def _task(s: _Subject) -> TaskKind:
    return TaskKind(
        **s.term(),
        stage=s.text("stage"),
        after=s.refs("after"),
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount_if_any("hours", "usualHours"),
        days=s.days(),
        caution=s.text("caution"),
        refit=s.text("refit"),
        only_for=s.refs("onlyFor"),
        instead_of=s.ref("insteadOf"),
        source="" if s.text("hours") else s.text(SOURCE),
        low_hours_hundredths=s.amount_if_any("lowHours", "usualLowHours"),
        high_hours_hundredths=s.amount_if_any("highHours", "usualHighHours"),
        work=s.text("work"),
        waits_for=s.refs("waitsFor"),
        closes_the_job=s.flag("closesTheJob"),
        step_words=s.text("stepWords"),
        measures_lengths=s.flag("measuresLengths"),
        check_when_fitted=s.texts("checkWhenFitted"),
    )


def _part_condition(s: _Subject) -> PartCondition:
    return PartCondition(**s.term(), usable=s.flag("usable", default=True))


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
        hours_hundredths=s.amount_if_any("hours"),
        tasks=s.refs("task"),
        in_stock=s.flag("inStock"),
        conditions=s.conditions(),
        to_confirm=s.texts("toConfirm"),
        check_when_fitted=s.texts("checkWhenFitted"),
        note=s.ref("note"),
        abstract=s.flag("abstract"),
        made_for=s.refs("madeFor"),
        part_exchange_hundredths=s.amount_if_any("partExchange"),
    )


def _edge(s: _Subject) -> Edge:
    kinds = [EDGE_CLASSES[name] for name in s.facts.classes_of(s.key) if name in EDGE_CLASSES]
    return Edge(
        id=s.id,
        kind=kinds[0],
        source=s.ref("source"),
        target=s.ref("target"),
        joint=s.ref("joint"),
        position=s.ref("position"),
        group=s.text("group"),
        shift_um=s.length("shiftMm") or 0,
        uncertainty_um=s.length("uncertaintyMm"),
        cash_hundredths=s.amount_if_any("cash"),
        hours_hundredths=s.amount_if_any("hours"),
        days=s.days(),
        tasks=s.refs("task"),
        operations=s.operations(),
        irreversible=s.flag("irreversible"),
        conditions=s.conditions(),
        to_confirm=s.texts("toConfirm"),
        check_when_fitted=s.texts("checkWhenFitted"),
        reason=s.text("reason"),
        miss_um=s.length("missMm"),
        overrules=s.refs("overrules"),
        caution=s.text("caution"),
        note=s.ref("note"),
        evidence=s.evidence(),
        low_hours_hundredths=s.amount_if_any("lowHours"),
        high_hours_hundredths=s.amount_if_any("highHours"),
    )


def _fault(s: _Subject) -> StatedFault:
    return StatedFault(
        **s.term(),
        position=s.ref("position"),
        of=s.ref("of"),
        odds=fraction_of(s.text("odds")),
        cash_hundredths=s.amount_if_any("cash"),
        hours_hundredths=s.amount_if_any("hours"),
        shows=s.flag("shows", default=True),
        source=s.text(SOURCE),
    )


def _inspection(s: _Subject) -> StatedInspection:
    return StatedInspection(
        **s.term(),
        cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount_if_any("hours"),
        settles=s.refs("settles"),
        caution=s.text("caution"),
    )


def _quantity(s: _Subject) -> Quantity:
    return Quantity(
        **s.term(), dimension=s.text("dimension"), form=s.text("form", "size"), part_kinds=s.refs("partKind"),
        words=s.texts("word"), usual_tool=s.text("usualTool"), minutes=fraction_of(s.text("minutes", "5")),
        adds_to=s.refs("addsTo"), takes_from=s.refs("takesFrom"),
    )  # fmt: skip


def _measurement(s: _Subject) -> Measurement:
    return Measurement(
        id=s.id, quantity=s.ref("quantity"), of=s.ref("measuredOn"), reading=s.text("reading"),
        uncertainty=s.text("uncertainty"), datum=s.text("datum"), tool=s.text("tool"),
        temperature=s.text("temperature"), subject=s.text("subject", "variant"), evidence=s.evidence(),
        note=s.ref("note"),
    )  # fmt: skip


def _bolt_face(s: _Subject) -> BoltFace:
    found = [_Subject(s.facts, node_key(value)) for value in s.facts.get(s.key, LAY + "hole")]
    holes = tuple(
        MeasuredHole(
            id=hole.text("holeName"), x=hole.text("x"), y=hole.text("y"), diameter=hole.text("diameter"),
            use=hole.text("use"), thread=hole.text("thread"), edge_distance=hole.text("edgeDistance"),
        )
        for hole in found
    )  # fmt: skip
    return BoltFace(
        id=s.id, of=s.ref("measuredOn"), joint=s.ref("joint"), datum=s.text("datum"), seen_from=s.text("seenFrom"),
        uncertainty=s.text("uncertainty"), holes=tuple(sorted(holes, key=lambda hole: hole.id)),
        evidence=s.evidence(), note=s.ref("note"),
    )  # fmt: skip


def _operation_price(s: _Subject) -> OperationPrice:
    return OperationPrice(
        id=s.id, operation=s.text("operation"), label=s.text(LABEL), cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount_if_any("hours"), days=s.days(), tasks=s.refs("task"), work=s.text("work"),
    )  # fmt: skip


def _standard_price(s: _Subject) -> StandardPartPrice:
    return StandardPartPrice(
        id=s.id, designation=s.text("designation"), cash_hundredths=s.amount("cash"),
        hours_hundredths=s.amount_if_any("hours"), days=s.days(),
    )  # fmt: skip


def _term(s: _Subject) -> Term:
    return Term(**s.term())


_TABLES: Mapping[str, tuple[str, Callable[[_Subject], Any]]] = {
    "part_kinds": ("PartKind", _part_kind),
    "position_kinds": ("PositionKind", _position_kind),
    "joint_kinds": ("JointKind", _joint_kind),
    "chain_kinds": ("ChainKind", _chain_kind),
    "tasks": ("Task", _task),
    "assemblies": ("Assembly", _assembly),
    "features": ("Feature", _term),
    "evidence_levels": ("EvidenceLevel", _evidence_level),
    "part_conditions": ("PartCondition", _part_condition),
    "notes": ("Note", _note),
    "parts": ("Part", _part),
    "edges": ("Edge", _edge),
    "faults": ("Fault", _fault),
    "inspections": ("Inspection", _inspection),
    "quantities": ("Quantity", _quantity),
    "measurements": ("Measurement", _measurement),
    "bolt_faces": ("BoltFace", _bolt_face),
    "operation_prices": ("OperationPrice", _operation_price),
    "standard_prices": ("StandardPartPrice", _standard_price),
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
    tables["operation_prices"] = {price.operation: price for price in tables["operation_prices"].values()}
    tables["standard_prices"] = {price.designation: price for price in tables["standard_prices"].values()}
    catalogue = Catalogue(**tables)
    shops = [key for key in facts.list_of_class(LAY + "Shop") if key not in skip]
    if not shops:
        return catalogue
    shop = _Subject(facts, shops[0])
    return replace(
        catalogue,
        workshop=shop.term()["label"],
        currency=shop.text("currency"),
        rate_hundredths=shop.amount("rate"),
        day_hours=fraction_of(shop.text("dayHours", "8")),
    )
