"""Tables (CSV, TSV, XLSX) as statements: headers matched to properties of the vocabulary, cells read by their range.

`id` is the row's own name (an IRI, or an id under the shop's base). Lists in a cell are separated by `|`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from itertools import islice
from typing import IO, Any

import pyoxigraph as ox

from graph.catalogue.house import KINDS_FOLDER, VOCABULARY_FOLDER
from graph.errors import InvalidFacts, InvalidInput, LimitExceeded, Problem
from graph.guarded.sheets import iter_rows
from graph.ledger.identity import KINDS, VOCABULARY, new_id
from graph.ledger.statements import canonical
from graph.plain_text import fault_of_text

MAX_PROBLEMS = 100
MAX_SHOWN = 200  # characters of a cell, in a preview
LABEL = "http://www.w3.org/2000/01/rdf-schema#label"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XSD = "http://www.w3.org/2001/XMLSchema#"
OWL = "http://www.w3.org/2002/07/owl#"
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._~-]*")
_TRUTH = {"true": "true", "yes": "true", "1": "true", "false": "false", "no": "false", "0": "false"}


@dataclass(frozen=True, slots=True)
class PropertyColumn:
    """What a column holds. `property`: local name in the vocabulary, `id`, `label`, or empty (left out)."""

    header: str
    property: str
    range: str = ""  # decimal, integer, boolean, string or iri


def _read_table(file: IO[bytes], name: str) -> tuple[list[str], Iterator[tuple[int, list[str]]]]:
    """Headers and rows, each row with its number as a spreadsheet shows it. Raises InvalidFacts, LimitExceeded."""
    rows = _text_rows(file, name)
    headers = [cell.strip() for cell in next(rows, (0, []))[1]]
    if not headers:
        raise InvalidFacts([Problem(name, "the table is empty; the first row holds the headers")])
    if doubled := sorted({header for header in headers if header and headers.count(header) > 1}):
        raise InvalidFacts([Problem(f"{name} row 1", f"two columns are headed {doubled[0]!r}")])
    return headers, ((number, cells) for number, cells in rows if any(cell.strip() for cell in cells))


def _text_rows(file: IO[bytes], name: str) -> Iterator[tuple[int, list[str]]]:
    try:
        for row in iter_rows(file, name):
            yield row.number, ["" if cell is None else str(cell) for cell in row.cells]
    except InvalidInput as error:
        raise InvalidFacts(error.problems) from None


# Tasks of `graph.guarded.reader`: they run in a child process.


def preview_lines(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[str]:
    """One line a column: header, property, range, first values. Given: columns. The whole table is read."""
    headers, rows = _read_table(file, given["name"])
    columns = columns_of(headers, given["columns"])
    first = list(islice(rows, 3))
    for _ in rows:
        pass  # whatever is wrong with it is to be said now
    for index, column in enumerate(columns):
        values = [cells[index][:MAX_SHOWN] for _, cells in first if index < len(cells)]
        meaning = f"{column.property} ({column.range})" if column.property else "left out"
        yield f"{column.header} -> {meaning}: {', '.join(values)}"


def row_groups(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[Any]:
    """First the header of each property; then for each row its place, the id of its note, its statements.

    Given: columns, base, of_class, items.
    """
    name, base, problems = given["name"], given["base"], list[Problem]()
    headers, rows = _read_table(file, name)
    columns = columns_of(headers, given["columns"])
    yield {f"lay:{column.property}": column.header for column in columns}
    for count, (number, cells) in enumerate(rows, start=1):
        if count > given["items"]:
            raise LimitExceeded(f"{name}: more than {given['items']:,} rows; split the table")
        triples, faults = row_triples(base, number, cells, columns, given["of_class"])
        problems += [Problem(f"{name} {fault.path}", fault.message) for fault in faults]
        if len(problems) > MAX_PROBLEMS:
            break
        yield f"{name} row {number}", new_id(), canonical(triples)
    if problems:
        raise InvalidFacts(problems)


@cache
def _words() -> tuple[dict[str, str], dict[str, str], frozenset[str]]:
    """Property -> range, lower-case label -> property, and the local names of all kinds."""
    properties: dict[str, str] = {}
    labels: dict[str, str] = {}
    for file in sorted(VOCABULARY_FOLDER.glob("*.ttl")):
        for quad in ox.parse(path=str(file), format=ox.RdfFormat.TURTLE):
            name = getattr(quad.subject, "value", "").removeprefix(VOCABULARY)
            value = getattr(quad.object, "value", "")
            if quad.predicate.value == RDF + "type" and value == OWL + "ObjectProperty":
                properties[name] = "iri"
            elif quad.predicate.value.endswith("#range") and properties.get(name) != "iri":
                properties[name] = value.removeprefix(XSD)
            elif quad.predicate.value == LABEL:
                labels.setdefault(value.lower(), name)
    kinds = frozenset(
        quad.subject.value.removeprefix(KINDS)
        for file in sorted(KINDS_FOLDER.glob("*.ttl"))
        for quad in ox.parse(path=str(file), format=ox.RdfFormat.TURTLE)
        if isinstance(quad.subject, ox.NamedNode) and quad.subject.value.startswith(KINDS)
    )
    return properties, labels, kinds


def columns_of(headers: list[str], chosen: Mapping[str, str]) -> list[PropertyColumn]:
    """What every column is taken as: as chosen, or by its header. Raises InvalidFacts naming unknown ones."""
    properties, labels, _ = _words()
    problems = [Problem(f"column {header!r}", "there is no such column") for header in chosen if header not in headers]
    columns = []
    for header in headers:
        wanted = chosen.get(header, header)
        name = wanted.removeprefix("lay:")
        if name not in properties and name not in ("id", "label", ""):
            name = labels.get(name.lower(), name)
        if name in ("", "id", "label"):
            columns.append(PropertyColumn(header, name, "string"))
        elif name in properties:
            columns.append(PropertyColumn(header, name, properties[name]))
        else:
            message = f"no property is called {wanted!r}{_hint(wanted, properties)}; write COLUMN= to leave it out"
            problems.append(Problem(f"column {header!r}", message))
    if not any(column.property == "id" for column in columns):
        problems.append(Problem("row 1", "one column must be the `id` of the rows"))
    if problems:
        raise InvalidFacts(problems)
    return columns


def _hint(wanted: str, known: Iterable[str]) -> str:
    from graph.catalogue.near import near_matches

    near = near_matches(wanted, known)
    return f"; did you mean {', '.join(near)}?" if near else ""


def row_triples(
    base: str, number: int, cells: list[str], columns: list[PropertyColumn], of_class: str
) -> tuple[list[ox.Triple], list[Problem]]:
    """The statements of a row, and its faults (path: `row N column 'H'`)."""
    problems: list[Problem] = []
    if len(cells) > len(columns):
        problems.append(Problem(f"row {number}", f"{len(cells)} cells under {len(columns)} headers"))
    own = next((cells[i].strip() for i, c in enumerate(columns) if c.property == "id" and i < len(cells)), "")
    try:
        subject = _iri(base, own)
        triples = [ox.Triple(subject, ox.NamedNode(RDF + "type"), ox.NamedNode(VOCABULARY + of_class))]
    except ValueError as error:
        return [], [*problems, Problem(f"row {number} column 'id'", str(error))]
    for column, cell in zip(columns, cells, strict=False):
        if column.property in ("", "id") or not cell.strip():
            continue
        if fault := fault_of_text(cell):
            problems.append(Problem(f"row {number} column {column.header!r}", fault))
            continue
        predicate = ox.NamedNode(LABEL if column.property == "label" else VOCABULARY + column.property)
        for item in [cell] if column.range == "string" else cell.split("|"):
            try:
                triples.append(ox.Triple(subject, predicate, _value(base, column, item.strip())))
            except ValueError as error:
                problems.append(Problem(f"row {number} column {column.header!r}", str(error)))
    return triples, problems


def _value(base: str, column: PropertyColumn, text: str) -> ox.NamedNode | ox.Literal:
    if column.range == "iri":
        return _iri(base, text)
    if column.range in ("decimal", "integer"):
        return ox.Literal(_number(text), datatype=ox.NamedNode(XSD + "decimal"))
    if column.range == "boolean":
        if text.lower() not in _TRUTH:
            raise ValueError(f"expected yes or no, found {text!r}")
        return ox.Literal(_TRUTH[text.lower()], datatype=ox.NamedNode(XSD + "boolean"))
    if column.range in ("date", "dateTime"):
        return ox.Literal(text, datatype=ox.NamedNode(XSD + column.range))
    return ox.Literal(text)


def _number(text: str) -> str:
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"expected a number with a decimal point, found {text!r}") from None
    if not value.is_finite() or abs(value.adjusted()) > 15:
        raise ValueError(f"expected an ordinary number, found {text!r}")
    return f"{value:f}"


def _iri(base: str, text: str) -> ox.NamedNode:
    for prefix, iri in (("kind:", KINDS), ("lay:", VOCABULARY), ("shop:", base)):
        if text.startswith(prefix) and _ID.fullmatch(text.removeprefix(prefix)):
            return ox.NamedNode(iri + text.removeprefix(prefix))
    if text.startswith(("http://", "https://")):
        return ox.NamedNode(text)
    if not _ID.fullmatch(text):
        raise ValueError(f"expected an id (letters, digits, - . _) or an IRI, found {text!r}")
    return ox.NamedNode((KINDS if text in _words()[2] else base) + text)
