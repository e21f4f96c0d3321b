"""From statements to catalogue: every class by what graph/catalogue/described.py says of its fields.

Statements are expected to satisfy the shapes; a subject that does not is left out here, and the loader then refuses
the whole. Numbers are read exactly: money and hours as whole hundredths, lengths as whole micrometres.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import astuple, replace
from typing import Any

from graph.catalogue.described import EDGE_CLASSES, REQUIRED, SCALES, TABLES, SaidField, said_fields
from graph.catalogue.model import Catalogue, Condition, MeasuredHole
from graph.catalogue.names import LABEL, LAY, PREF_LABEL, local_id
from graph.catalogue.statements import Statements, Value, node_key
from graph.catalogue.terms import Assembly, JointKind, TaskKind
from graph.exact import HUNDREDTHS, fraction_of, scaled

OWN_ODDS = "the shop's own figure"
EVIDENCE, NOTE = LAY + "evidence", LAY + "note"
# What stands for a field without a default of which nothing is said.
_UNSAID: Mapping[str, Any] = {"hundredths": 0, "um": 0, "exact": 0, "whole": 0}


_WITHOUT_ID = (Condition, MeasuredHole)  # a hole has the name that it was given, a condition none


class _Subject:
    """Reads what is said of one subject."""

    def __init__(self, facts: Statements, key: str):
        self.facts, self.key = facts, key
        self.about = facts.about(key)

    def id_of(self, iri: str) -> str:
        """The id of another thing."""
        return local_id(iri, self.facts.shop_base)

    def values(self, *properties: str) -> Sequence[Value]:
        """Those of the first property that is stated."""
        for name in properties:
            found = self.about.get(name, ())
            if found and found[0].value:
                return found
        return ()

    def text(self, *properties: str) -> str:
        """The first value of the first property that is stated; else empty."""
        found = self.values(*properties)
        return found[0].value if found else ""

    def thing(self, kind: type) -> Any:
        """The thing that it is."""
        fields = {"id": self.id_of(self.key)} if kind not in _WITHOUT_ID else {}
        for said in said_fields(kind):
            if (whole := _OF_SEVERAL.get(said.sort)) is not None:
                fields[said.name] = whole(self, said)
            elif found := self.values(*said.properties):
                fields[said.name] = _READERS[said.sort](self, found, said)
            elif said.default is REQUIRED:
                fields[said.name] = _UNSAID.get(said.sort, "")
        made = kind(**fields)
        return _AFTERWARDS[kind](self, made) if kind in _AFTERWARDS else made


def _number(_: _Subject, values: Sequence[Value], said: SaidField) -> int:
    return scaled(values[0].value, SCALES[said.sort])


def _hanging(subject: _Subject, values: Sequence[Value], said: SaidField) -> tuple[Any, ...]:
    assert said.inside is not None
    return tuple(sorted((_Subject(subject.facts, node_key(one)).thing(said.inside) for one in values), key=astuple))


def _person(subject: _Subject, values: Sequence[Value], _: SaidField) -> str:
    """The name of the one who said it, or the id."""
    return _Subject(subject.facts, node_key(values[0])).text(LABEL) or subject.id_of(values[0].value)


_READERS: Mapping[str, Callable[[_Subject, Sequence[Value], SaidField], Any]] = {
    "text": lambda subject, values, said: values[0].value,
    "date": lambda subject, values, said: values[0].value,
    "texts": lambda subject, values, said: tuple(sorted(one.value for one in values)),
    "ref": lambda subject, values, said: subject.id_of(values[0].value),
    "refs": lambda subject, values, said: tuple(sorted(subject.id_of(node_key(one)) for one in values)),
    "flag": lambda subject, values, said: values[0].value in ("true", "1"),
    "hundredths": _number,
    "um": _number,
    "exact": lambda subject, values, said: fraction_of(values[0].value),
    "whole": lambda subject, values, said: int(values[0].value),
    "each": _hanging,
    "listed": lambda subject, values, said: tuple(one.value for one in subject.facts.list_items(values[0]) or ()),
    "person": _person,
}


def _pair(subject: _Subject, said: SaidField) -> tuple[str, ...]:
    texts = [subject.text(name) for name in said.properties]
    return tuple(subject.id_of(text) if text else "" for text in texts)


def _evidence(subject: _Subject, _: SaidField) -> str:
    """Its own level, or that of the note it rests on."""
    note = subject.text(NOTE)
    level = subject.text(EVIDENCE) or (_Subject(subject.facts, note).text(EVIDENCE) if note else "")
    return subject.id_of(level) if level else ""


def _edge_class(subject: _Subject, _: SaidField) -> str:
    return next(EDGE_CLASSES[name] for name in subject.facts.classes_of(subject.key) if name in EDGE_CLASSES)


_OF_SEVERAL: Mapping[str, Callable[[_Subject, SaidField], Any]] = {
    "pair": _pair, "evidence": _evidence, "edge_class": _edge_class,
}  # fmt: skip


# What follows from several properties of one subject.


def _with_source_of_odds(subject: _Subject, made: JointKind) -> JointKind:
    """Where the odds come from; of both figures where they do not come from one place."""
    usual = subject.text(LAY + "oddsSource")

    def source(own: str, other: str) -> str:
        return OWN_ODDS if subject.text(LAY + own) else usual if subject.text(LAY + other) else ""

    across, within = source("oddsAcross", "usualOddsAcross"), source("oddsWithin", "usualOddsWithin")
    if across and within and across != within:
        return replace(made, odds_source=f"other families: {across}; other variant of the family: {within}")
    return replace(made, odds_source=across or within)


def _without_what_is_left_out(subject: _Subject, made: Assembly) -> Assembly:
    """What a shop leaves out of a must-have and has among the may-haves is a may-have for it."""
    out = {subject.id_of(node_key(one)) for one in subject.values(LAY + "leavesOut")}

    def kept(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name not in out)

    return replace(
        made, must_have=kept(made.must_have),
        may_have=tuple(one for one in made.may_have if one not in out or one in made.must_have),
        every_job=kept(made.every_job), comes_apart_by=kept(made.comes_apart_by), turns_into=kept(made.turns_into),
    )  # fmt: skip


def _with_own_hours(subject: _Subject, made: TaskKind) -> TaskKind:
    """The source is that of the usual hours."""
    return replace(made, source="") if subject.text(LAY + "hours") else made


_AFTERWARDS: Mapping[type, Callable[[_Subject, Any], Any]] = {
    JointKind: _with_source_of_odds, Assembly: _without_what_is_left_out, TaskKind: _with_own_hours,
}  # fmt: skip


def build_catalogue(facts: Statements, skip: Collection[str] = ()) -> Catalogue:
    """The catalogue that the statements describe, without the subjects in `skip`.

    Raises NotExact (graph.exact) or KeyError where a subject that is not skipped breaks the shapes.
    """
    tables: dict[str, Any] = {}
    for name, (kind, class_name) in TABLES.items():
        keys = dict.fromkeys(facts.list_of_class(LAY + class_name))
        made = [_Subject(facts, key).thing(kind) for key in keys if key not in skip]
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
        workshop=shop.text(PREF_LABEL, LABEL),
        currency=shop.text(LAY + "currency"),
        rate_hundredths=scaled(shop.text(LAY + "rate") or "0", HUNDREDTHS),
        day_hours=fraction_of(shop.text(LAY + "dayHours") or "8"),
    )
