"""The shapes of facts/shapes, checked quickly: the few SHACL Core constraints that they use, over plain dictionaries.

Loading facts must not cost a second at every start, and a full SHACL engine does. So the shapes stay the one place
that says what a complete fact carries; this module compiles them and refuses any constraint that it does not know
(teach it here, or do without). `graph check` runs pySHACL as well; a test compares the two.
Source: W3C SHACL (2017), sections 2.1.3 (targets) and 4 (core constraints).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path

from pyoxigraph import BlankNode, Literal, NamedNode

from graph.catalogue.names import SH, TYPE, local_id, short_name
from graph.catalogue.near import near_matches
from graph.catalogue.statements import Statements, Value, node_key, read_statements
from graph.errors import InvalidFacts, Problem

Test = Callable[[Statements, Value], bool]


@dataclass(frozen=True, slots=True)
class PropertyShape:
    """What the values of one property must be."""

    path: str
    message: str
    low_count: int
    high_count: int | None
    classes: tuple[str, ...]
    tests: tuple[Test, ...]


@dataclass(frozen=True, slots=True)
class NodeShape:
    """What the subjects of some classes must carry. `any_of`: at least one of these properties must be there."""

    targets: tuple[str, ...]
    message: str
    properties: tuple[PropertyShape, ...]
    any_of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Violation:
    """One thing that a subject lacks or has wrong. `property` is empty where the whole subject is meant."""

    subject: str
    property: str
    message: str


def _number(value: Value) -> Decimal | None:
    try:
        number = Decimal(value.value)
    except (InvalidOperation, AttributeError):
        return None
    return number if number.is_finite() else None


def _has_datatype(datatypes: frozenset[str]) -> Test:
    return lambda _, value: isinstance(value, Literal) and value.datatype.value in datatypes


def _has_class(classes: tuple[str, ...]) -> Test:
    return lambda facts, value: (
        not isinstance(value, Literal) and any(facts.is_a(node_key(value), name) for name in classes)
    )


def _one_of(allowed: frozenset[str]) -> Test:
    return lambda _, value: isinstance(value, Literal) and value.value in allowed


def _matches(pattern: str) -> Test:
    compiled = re.compile(pattern)
    return lambda _, value: not isinstance(value, BlankNode) and compiled.search(value.value) is not None


def _at_least(limit: Decimal) -> Test:
    return lambda _, value: (number := _number(value)) is not None and number >= limit


def _at_most(limit: Decimal) -> Test:
    return lambda _, value: (number := _number(value)) is not None and number <= limit


def _is_node(kind: str) -> Test:
    wanted = {"Literal": Literal, "IRI": NamedNode}[kind.removeprefix(SH)]
    return lambda _, value: isinstance(value, wanted)


class _Compiler:
    """Turns the statements of shape files into shapes."""

    def __init__(self, source: Statements):
        self.source = source

    def one(self, node: str, name: str) -> str:
        values = self.source.get(node, SH + name)
        return values[0].value if values else ""

    def members(self, node: str, name: str) -> list[Value]:
        heads = self.source.get(node, SH + name)
        return [] if not heads else self.source.list_items(heads[0]) or []

    def property_shape(self, node: str) -> PropertyShape:
        tests: list[Test] = []
        classes: tuple[str, ...] = ()
        for prop, values in self.source.values[node].items():
            name = prop.removeprefix(SH)
            if prop == TYPE or name in ("path", "message", "minCount", "maxCount"):
                continue
            value = values[0].value
            if name == "class":
                classes = (value,)
            elif name == "datatype":
                tests.append(_has_datatype(frozenset((value,))))
            elif name == "or":
                datatypes, classes = self.alternatives(node)
                tests += [_has_datatype(datatypes)] if datatypes else []
            elif name == "in":
                tests.append(_one_of(frozenset(item.value for item in self.members(node, "in"))))
            elif name in _SIMPLE:
                tests.append(_SIMPLE[name](value))
            else:
                raise self.unknown(node, prop)
        highest = self.one(node, "maxCount")
        return PropertyShape(
            path=self.one(node, "path"),
            message=self.one(node, "message"),
            low_count=int(self.one(node, "minCount") or 0),
            high_count=int(highest) if highest else None,
            classes=classes,
            tests=tuple(tests),
        )

    def alternatives(self, node: str) -> tuple[frozenset[str], tuple[str, ...]]:
        members = [node_key(member) for member in self.members(node, "or")]
        for member in members:
            if not set(self.source.values.get(member, {})) <= {SH + "datatype", SH + "class"}:
                raise self.unknown(node, SH + "or")
        datatypes = frozenset(filter(None, (self.one(member, "datatype") for member in members)))
        return datatypes, tuple(filter(None, (self.one(member, "class") for member in members)))

    def node_shape(self, node: str) -> NodeShape:
        known = {TYPE, SH + "targetClass", SH + "message", SH + "property", SH + "or"}
        for prop in self.source.values[node]:
            if prop not in known:
                raise self.unknown(node, prop)
        any_of = []
        for member in self.members(node, "or"):
            shape = self.property_shape(self.one_node(node_key(member), "property"))
            if shape.low_count != 1 or shape.tests or shape.classes:
                raise self.unknown(node, SH + "or")
            any_of.append(shape.path)
        return NodeShape(
            targets=tuple(value.value for value in self.source.get(node, SH + "targetClass")),
            message=self.one(node, "message"),
            properties=tuple(self.property_shape(node_key(v)) for v in self.source.get(node, SH + "property")),
            any_of=tuple(any_of),
        )

    def one_node(self, node: str, name: str) -> str:
        return node_key(self.source.get(node, SH + name)[0])

    def unknown(self, node: str, prop: str) -> InvalidFacts:
        message = f"the quick checker does not know this use of {short_name(prop)}; teach it or write it another way"
        return InvalidFacts([Problem(self.source.place(node), message)])


_SIMPLE: dict[str, Callable[[str], Test]] = {
    "nodeKind": _is_node,
    "pattern": _matches,
    "minInclusive": lambda text: _at_least(Decimal(text)),
    "maxInclusive": lambda text: _at_most(Decimal(text)),
}


def load_shapes(files: Iterable[Path]) -> tuple[NodeShape, ...]:
    """The compiled shapes of the files. Raises InvalidFacts for one that does not parse or is not understood."""
    source, problems = read_statements(files)
    if problems:
        raise InvalidFacts(problems)
    compiler = _Compiler(source)
    return tuple(compiler.node_shape(node) for node in source.by_class.get(SH + "NodeShape", ()))


def list_violations(
    facts: Statements, shapes: Iterable[NodeShape], only: Collection[str] | None = None
) -> Iterator[Violation]:
    """Every way in which the facts break the shapes, shape by shape. `only`: the subjects to look at (None: all)."""
    for shape in shapes:
        for target in shape.targets:
            for subject in facts.list_of_class(target):
                if only is None or subject in only:
                    yield from _check(facts, shape, subject)


def _check(facts: Statements, shape: NodeShape, subject: str) -> Iterator[Violation]:
    if shape.any_of and not any(facts.get(subject, path) for path in shape.any_of):
        yield Violation(subject, "", shape.message)
    for prop in shape.properties:
        values = facts.get(subject, prop.path)
        too_many = prop.high_count is not None and len(values) > prop.high_count
        if len(values) < prop.low_count or too_many:
            count = f"found {len(values)} values" if values else "it is missing"
            yield Violation(subject, prop.path, f"{prop.message}; {count}")
        for value in values:
            if not all(test(facts, value) for test in prop.tests):
                yield Violation(subject, prop.path, f"{prop.message}; found {shown(facts, value)}")
            elif prop.classes and not _has_class(prop.classes)(facts, value):
                yield Violation(subject, prop.path, _wrong_reference(facts, prop, value))


def shown(facts: Statements, value: Value) -> str:
    """A value as a person writes it."""
    return repr(value.value) if isinstance(value, Literal) else short_name(value.value, facts.shop_base)


def _wrong_reference(facts: Statements, prop: PropertyShape, value: Value) -> str:
    """Why a value is not of the wanted class: not known at all (with near matches), or something else."""
    key = node_key(value)
    if isinstance(value, Literal) or facts.classes_of(key):
        return f"{prop.message}; found {shown(facts, value)}, which is something else"
    candidates = {local_id(s, facts.shop_base): s for name in prop.classes for s in facts.list_known(name)}
    near = [short_name(candidates[name], facts.shop_base) for name in near_matches(local_id(key), candidates)]
    hint = f"; did you mean {', '.join(near)}?" if near else ""
    return f"{prop.message}; nothing is known by the id {shown(facts, value)}{hint}"
