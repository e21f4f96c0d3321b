"""A value as statements and as a cell, both ways; what one kind of column cannot say is told, never dropped.

Several values stand in one cell apart by `|` (`\\|` where a text holds one). A condition is written
`torque_nm <= 240: up to 240 Nm`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation

import pyoxigraph as ox

from graph.catalogue.names import LAY, RDF, TYPE, XSD
from graph.catalogue.statements import LIST_FIRST, LIST_REST, Statements, node_key
from graph.plain_text import fault_of_text
from graph.workbook.plan import CONDITIONS, DAY, HOLE, NUMBER, REFERENCE, STEPS, TEXT, TRUTH, SheetColumn

OPERATIONS, CONDITION = LAY + "operations", LAY + "condition"
NESTED: Mapping[str, tuple[str, tuple[str, ...]]] = {
    CONDITION: (LAY + "Condition", tuple(LAY + name for name in ("key", "operator", "value", "text"))),
    HOLE: (LAY + "Hole", tuple(LAY + name for name in
                               ("holeName", "x", "y", "diameter", "use", "thread", "edgeDistance"))),
}  # fmt: skip
NONE = "(none)"  # in a cell: what is stated is taken away
IRI, LITERAL, LIST, NODE = "iri", "literal", "list", "node"
_PLAIN_TYPES = (XSD + "string", RDF + "langString", XSD + "decimal", XSD + "integer", XSD + "boolean", XSD + "date",
                XSD + "dateTime")  # fmt: skip
_CONDITION = re.compile(r"\s*([a-z][a-z0-9_]*)\s*(!=|<=|>=|=|<|>|has\b)\s*([^:]*\S)\s*:\s*(.*\S)\s*", re.DOTALL)
_TRUTH = {"yes": "true", "true": "true", "no": "false", "false": "false"}
_MOST_DIGITS = 15

Cell = str | int | float | bool | Decimal | None
Said = Mapping[str, tuple["Value", ...]]  # of one thing: property -> values


@dataclass(frozen=True, slots=True, order=True)
class Value:
    """What is stated. `kind`: IRI, LITERAL (`parts`: text and datatype), LIST (texts in order), NODE (the texts of a
    condition or hole, in the order of NESTED). Equal numbers are equal however they were written."""

    kind: str
    parts: tuple[str, ...]


class Unsaid(ValueError):
    """A cell that cannot be read, or a value that no cell can hold; its text says why and what to write."""


def text(value: str) -> Value:
    """A plain text."""
    return Value(LITERAL, (value, XSD + "string"))


def iri(value: str) -> Value:
    """A thing by its IRI."""
    return Value(IRI, (value,))


# From statements, and back.


def things_in(facts: Statements) -> dict[str, dict[str, tuple[Value, ...]]]:
    """What is stated of every thing that has a name of its own."""
    inner = {key for about in facts.values.values() for prop in (*NESTED, OPERATIONS, LIST_REST)
             for key in map(node_key, about.get(prop, ()))}  # fmt: skip
    return {
        subject: {prop: tuple(_value(facts, prop, value) for value in values) for prop, values in about.items()}
        for subject, about in facts.values.items()
        if subject not in inner and not subject.startswith("_:")
    }


def _value(facts: Statements, prop: str, value: object) -> Value:
    key = node_key(value)
    if prop == OPERATIONS and not isinstance(value, ox.Literal):
        items = facts.list_items(value)  # type: ignore[arg-type]
        return Value(LIST, tuple(item.value for item in items or ()))
    if prop in NESTED and not isinstance(value, ox.Literal):
        return Value(NODE, tuple(_one(facts, key, name) for name in NESTED[prop][1]))
    if isinstance(value, ox.Literal):
        return Value(LITERAL, _plain(value.value, value.datatype.value))
    return iri(key)


def _one(facts: Statements, node: str, prop: str) -> str:
    return "|".join(value.value for value in facts.get(node, prop))


def _plain(said: str, datatype: str) -> tuple[str, str]:
    if datatype in (XSD + "decimal", XSD + "integer"):
        try:
            return digits(Decimal(said)), XSD + "decimal"
        except InvalidOperation:
            return said, datatype
    return said, XSD + "string" if datatype == RDF + "langString" else datatype


def digits(number: Decimal) -> str:
    """The number as it is written plainly: 12.5, no closing zeros."""
    plain = f"{number:f}"
    return (plain.rstrip("0").rstrip(".") if "." in plain else plain) or "0"


def triples_of(subject: str, said: Said, new_node: Callable[[], str], whole: frozenset[str]) -> Iterator[ox.Triple]:
    """The statements. `new_node`: an IRI for a condition, hole or step; `whole`: properties of whole numbers."""
    thing = ox.NamedNode(subject)
    for prop, values in said.items():
        for value in values:
            yield from _stated(thing, ox.NamedNode(prop), value, new_node, prop in whole)


def _stated(
    thing: ox.NamedNode, prop: ox.NamedNode, value: Value, new_node: Callable[[], str], whole: bool
) -> Iterator[ox.Triple]:
    if value.kind == IRI:
        yield ox.Triple(thing, prop, ox.NamedNode(value.parts[0]))
    elif value.kind == LITERAL:
        said, datatype = value.parts
        datatype = XSD + "integer" if whole and "." not in said and datatype == XSD + "decimal" else datatype
        yield ox.Triple(thing, prop, ox.Literal(said, datatype=ox.NamedNode(datatype)))
    elif value.kind == LIST:
        nodes = [ox.NamedNode(new_node()) for _ in value.parts]
        ends = [*nodes, ox.NamedNode(RDF + "nil")]
        yield ox.Triple(thing, prop, ends[0])
        for node, step, rest in zip(nodes, value.parts, ends[1:], strict=True):
            yield ox.Triple(node, ox.NamedNode(LIST_FIRST), ox.Literal(step))
            yield ox.Triple(node, ox.NamedNode(LIST_REST), rest)
    else:
        class_, names = NESTED[prop.value]
        node = ox.NamedNode(new_node())
        yield ox.Triple(thing, prop, node)
        yield ox.Triple(node, ox.NamedNode(TYPE), ox.NamedNode(class_))
        yield from (ox.Triple(node, ox.NamedNode(name), ox.Literal(part))
                    for name, part in zip(names, value.parts, strict=True) if part)  # fmt: skip


# To a cell, and back.


def cell_of(column: SheetColumn, values: Sequence[Value], name_of: Callable[[str], str]) -> Cell:
    """The cell that says these values. Raises Unsaid where none does."""
    if column.kind == STEPS:
        (value,) = values
        return "|".join(map(_escaped, value.parts))
    if len(values) > 1 and not column.many:
        raise Unsaid(f"{len(values)} values, where one has room")
    cells = [_cell(column, value, name_of) for value in sorted(values)]
    return cells[0] if not column.many else "|".join(_escaped(str(cell)) for cell in cells)


def _cell(column: SheetColumn, value: Value, name_of: Callable[[str], str]) -> Cell:
    if value.kind == NODE and column.kind == CONDITIONS:
        key, operator, tested, words = value.parts
        return f"{key} {operator} {tested}: {words}"
    if value.kind == IRI and column.kind == REFERENCE:
        return name_of(value.parts[0])
    if value.kind != LITERAL or value.parts[1] not in _PLAIN_TYPES:
        raise Unsaid(f"{value.parts[0][:80]!r} is nothing that a column of {column.kind} says")
    said, datatype = value.parts
    if datatype == XSD + "boolean" and column.kind == TRUTH:
        return "yes" if said in ("true", "1") else "no"
    if datatype == XSD + "decimal" and column.kind == NUMBER:
        return Decimal(said) if len(said.strip("-").replace(".", "")) <= _MOST_DIGITS else said
    if column.kind == NUMBER:
        raise Unsaid(f"{said[:80]!r} is no number")
    return said


def _escaped(said: str) -> str:
    return said.replace("\\", "\\\\").replace("|", "\\|")


def _pieces(said: str) -> list[str]:
    """What stands between the bars."""
    found, at = [""], 0
    while at < len(said):
        if said[at] == "\\" and said[at + 1 : at + 2] in ("|", "\\"):
            found[-1] += said[at + 1]
            at += 1
        elif said[at] == "|":
            found.append("")
        else:
            found[-1] += said[at]
        at += 1
    return [piece.strip() for piece in found if piece.strip()]


def read_cell(column: SheetColumn, cell: object, iri_of: Callable[[str], str]) -> tuple[Value, ...]:
    """What a cell says; () where it takes away what is stated. Raises Unsaid with one line for each fault."""
    if isinstance(cell, str) and cell.strip() == NONE:
        return ()
    said = _text_of(column, cell)
    if fault := fault_of_text(said):
        raise Unsaid(fault)
    if column.kind == STEPS:
        return (Value(LIST, tuple(_pieces(said))),)
    return tuple(dict.fromkeys(_read(column, one, iri_of) for one in (_pieces(said) if column.many else [said])))


def _text_of(column: SheetColumn, cell: object) -> str:
    """A cell's content as it would be typed."""
    if isinstance(cell, bool):
        if column.kind != TRUTH:
            raise Unsaid(f"expected {_expected(column)}, found {'TRUE' if cell else 'FALSE'}")
        return "yes" if cell else "no"
    if isinstance(cell, list):
        if column.kind == DAY and cell[0] == "date":
            return str(cell[1])
        raise Unsaid(
            f"is a {cell[0]} ({cell[1]}), expected {_expected(column)}: a spreadsheet makes a date of 3.4 or 3/4; "
            f"set the cell to text and type it again"
        )
    if isinstance(cell, float):
        return f"{Decimal(f'{cell:.15g}'):f}"  # as spreadsheets show it (common practice)
    return str(cell).strip()


def _read(column: SheetColumn, said: str, iri_of: Callable[[str], str]) -> Value:
    if column.words and said.casefold() not in column.words:
        raise Unsaid(f"expected one of {', '.join(column.words)}, found {said[:80]!r}")
    if column.kind == REFERENCE:
        return iri(iri_of(said))
    if column.kind == NUMBER:
        return Value(LITERAL, (_number(column, said), XSD + "decimal"))
    if column.kind == TRUTH:
        if said.casefold() not in _TRUTH:
            raise Unsaid(f"expected yes or no, found {said[:80]!r}")
        return Value(LITERAL, (_TRUTH[said.casefold()], XSD + "boolean"))
    if column.kind == DAY:
        return Value(LITERAL, _day(said))
    if column.kind == CONDITIONS:
        found = _CONDITION.fullmatch(said)
        if found is None:
            example = "torque_nm <= 240: up to 240 Nm"
            raise Unsaid(f"expected a test and its words, such as `{example}`, found {said[:80]!r}")
        return Value(NODE, tuple(found.groups()))
    return text(said.casefold() if column.words else said)


def _day(said: str) -> tuple[str, str]:
    try:
        date.fromisoformat(said[:10])
    except ValueError:
        raise Unsaid(f"expected a day like 2024-05-17, found {said[:80]!r}") from None
    return said, XSD + ("date" if len(said) == 10 else "dateTime")


def _number(column: SheetColumn, said: str) -> str:
    try:
        number = Decimal(said.replace(",", ".") if said.count(",") == 1 and "." not in said else said)
    except InvalidOperation:
        raise Unsaid(f"expected {_expected(column)}, found {said[:80]!r}") from None
    if not number.is_finite() or abs(number.adjusted()) > _MOST_DIGITS:
        raise Unsaid(f"expected an ordinary number, found {said[:80]!r}")
    return digits(number)


def _expected(column: SheetColumn) -> str:
    return {NUMBER: "a number such as 12.50", TRUTH: "yes or no", DAY: "a day", TEXT: "a text"}.get(
        column.kind, "a name"
    )


def same(one: Iterable[Value], other: Iterable[Value]) -> bool:
    """Whether two properties say the same, in whatever order."""
    return sorted(one) == sorted(other)
