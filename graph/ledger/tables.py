"""Tables (CSV, TSV, XLSX) as statements: headers matched to properties of the vocabulary, cells read by their range.

`id` is the row's own name (an IRI, or an id under the shop's base). Lists in a cell are separated by `|`.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from itertools import islice
from pathlib import Path

import pyoxigraph as ox

from graph.catalogue.load import KINDS_FOLDER, VOCABULARY_FOLDER
from graph.errors import InvalidFacts, Problem
from graph.ledger.identity import KINDS, VOCABULARY

MAX_ROWS = 200_000
MAX_COLUMNS = 200
MAX_UNPACKED = 256 << 20
MAX_CELL = 20_000
LABEL = "http://www.w3.org/2000/01/rdf-schema#label"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XSD = "http://www.w3.org/2001/XMLSchema#"
OWL = "http://www.w3.org/2002/07/owl#"
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._~-]*")
_TRUTH = {"true": "true", "yes": "true", "1": "true", "false": "false", "no": "false", "0": "false"}


@dataclass(frozen=True, slots=True)
class Column:
    """What a column holds. `property`: local name in the vocabulary, `id`, `label`, or empty (left out)."""

    header: str
    property: str
    range: str = ""  # decimal, integer, boolean, string or iri


def read_table(name: str, data: bytes) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Headers and rows, each row with its number as a spreadsheet shows it. Raises InvalidFacts."""
    rows = list(_xlsx_rows(name, data) if Path(name).suffix.lower() == ".xlsx" else _text_rows(name, data))
    if not rows:
        raise InvalidFacts([Problem(name, "the table is empty; the first row holds the headers")])
    headers = [cell.strip() for cell in rows[0][1]]
    if doubled := sorted({header for header in headers if header and headers.count(header) > 1}):
        raise InvalidFacts([Problem(f"{name} row 1", f"two columns are headed {doubled[0]!r}")])
    return headers, [(number, cells) for number, cells in rows[1:] if any(cell.strip() for cell in cells)]


def _text_rows(name: str, data: bytes) -> Iterable[tuple[int, list[str]]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InvalidFacts([Problem(f"{name} row {line}", "not UTF-8; save the table as CSV UTF-8")]) from None
    first = text.partition("\n")[0]
    delimiter = max(("\t", ";", ","), key=first.count)
    try:
        rows = [(n, row) for n, row in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), 1)]
    except csv.Error as error:
        raise InvalidFacts([Problem(name, f"not readable as a table: {error}")]) from None
    return _limited(name, rows)


def _xlsx_rows(name: str, data: bytes) -> Iterable[tuple[int, list[str]]]:
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
        if unpacked > MAX_UNPACKED:
            raise InvalidFacts([Problem(name, f"unpacks to {unpacked:,} bytes; at most {MAX_UNPACKED:,}")])
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        rows = islice(sheet.iter_rows(values_only=True, max_col=MAX_COLUMNS + 1), MAX_ROWS + 2)
        found = [(number, _texts(row)) for number, row in enumerate(rows, 1)]
        book.close()
    except InvalidFacts:
        raise
    except Exception as error:  # a spreadsheet can be broken in more ways than its reader has exceptions for
        raise InvalidFacts([Problem(name, f"not readable as a spreadsheet: {type(error).__name__}: {error}")]) from None
    return _limited(name, found)


def _texts(row: Iterable[object]) -> list[str]:
    """Cells as text, without the empty ones that a spreadsheet reader puts behind the last."""
    cells = ["" if cell is None else str(cell) for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _limited(name: str, rows: list[tuple[int, list[str]]]) -> list[tuple[int, list[str]]]:
    if len(rows) > MAX_ROWS:
        raise InvalidFacts([Problem(name, f"more than {MAX_ROWS:,} rows; split the table")])
    if any(len(cells) > MAX_COLUMNS for _, cells in rows):
        raise InvalidFacts([Problem(name, f"more than {MAX_COLUMNS} columns")])
    return rows


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


def columns_of(headers: list[str], chosen: Mapping[str, str]) -> list[Column]:
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
            columns.append(Column(header, name, "string"))
        elif name in properties:
            columns.append(Column(header, name, properties[name]))
        else:
            message = f"no property is called {wanted!r}{_hint(wanted, properties)}; write COLUMN= to leave it out"
            problems.append(Problem(f"column {header!r}", message))
    if not any(column.property == "id" for column in columns):
        problems.append(Problem("row 1", "one column must be the `id` of the rows"))
    if problems:
        raise InvalidFacts(problems)
    return columns


def _hint(wanted: str, known: Iterable[str]) -> str:
    from graph.catalogue.shapes import near_matches

    near = near_matches(wanted, known)
    return f"; did you mean {', '.join(near)}?" if near else ""


def shown_columns(columns: list[Column], rows: list[tuple[int, list[str]]]) -> list[str]:
    """One line a column: header, property, range, first values."""
    lines = []
    for index, column in enumerate(columns):
        values = [cells[index] for _, cells in rows[:3] if index < len(cells)]
        meaning = f"{column.property} ({column.range})" if column.property else "left out"
        lines.append(f"{column.header} -> {meaning}: {', '.join(values)}")
    return lines


def row_triples(
    base: str, number: int, cells: list[str], columns: list[Column], of_class: str
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
        predicate = ox.NamedNode(LABEL if column.property == "label" else VOCABULARY + column.property)
        for item in [cell] if column.range == "string" else cell.split("|"):
            try:
                triples.append(ox.Triple(subject, predicate, _value(base, column, item.strip())))
            except ValueError as error:
                problems.append(Problem(f"row {number} column {column.header!r}", str(error)))
    return triples, problems


def _value(base: str, column: Column, text: str) -> ox.NamedNode | ox.Literal:
    if len(text) > MAX_CELL:
        raise ValueError(f"{len(text):,} characters; at most {MAX_CELL:,}")
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
