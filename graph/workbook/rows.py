"""What stands as rows of sheets; and what no sheet can hold, each with a line that says so.

Every row is read again, as whoever takes it in will, and held against what it was made of; what differs is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from graph.catalogue.model import UNIT_KINDS
from graph.catalogue.names import BROADER, KIND, LAY, TYPE
from graph.ledger.record import Entry
from graph.workbook.known import FILES, Known, Thing, classes_of, label_of
from graph.workbook.plan import (
    FACE,
    HOLE,
    HOLES,
    ID,
    MARK,
    NUMBER,
    OWN,
    PARTS,
    REFERENCE,
    REMARKS,
    TEXT,
    TRUTH,
    UNITS,
    WHAT,
    WORDS,
    Sheet,
    SheetColumn,
    class_label,
    sheets,
)
from graph.workbook.values import IRI, LITERAL, NESTED, Cell, Unsaid, Value, cell_of, iri, read_cell, same

NOTE = LAY + "note"
MOST_LEFT_OUT = 2_000


@dataclass(slots=True)
class SheetTable:
    """One sheet to be written: its columns in order, and rows by header."""

    sheet: Sheet
    headers: list[str]
    columns: dict[str, SheetColumn]
    rows: list[dict[str, Cell]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Book:
    """A workbook's content. `left_out`: what it does not hold, a line each."""

    tables: tuple[SheetTable, ...]
    left_out: tuple[str, ...]

    @property
    def row_count(self) -> int:
        """How many rows its sheets have."""
        return sum(len(table.rows) for table in self.tables)


def empty_book() -> Book:
    """The template."""
    return Book(tuple(_table(sheet, ()) for sheet in sheets() if sheet.always), ())


def book_of(known: Known, *, whole: bool, hidden: Iterable[str] = ()) -> Book:
    """What the shop's notes say; with `whole` also what its fact files say. What the workshop is called and reckons
    with is always there. `hidden`: what disputes have set aside."""
    left_out = [f"{known.id_of(name)}: set aside by a note that settles a dispute" for name in sorted(hidden)]
    aside, placed = set(hidden), dict[str, list[tuple[Thing, tuple[str, ...]]]]()
    for thing in known.things.values():
        seen = thing
        if not whole and LAY + "Shop" not in classes_of(thing.said):
            seen = Thing(thing.iri, {s: said for s, said in thing.by_source.items() if s != FILES})
        if seen.iri in aside or not seen.by_source:
            continue
        classes = classes_of(seen.said) or known.classes(thing.iri)
        title = _sheet_of(known, classes, seen)
        if title:
            placed.setdefault(title, []).append((seen, classes))
        elif set(seen.said) - {TYPE}:
            left_out.append(f"{known.id_of(thing.iri)}: no sheet is for what is stated of it")
    tables = [
        _filled(known, sheet, placed.get(sheet.title, []), left_out)
        for sheet in sheets()
        if sheet.always or sheet.title in placed
    ]
    _add_holes(known, tables, placed.get("Bolt faces", []))
    _add_bare_remarks(known, tables)
    return Book(tuple(tables), tuple(left_out[:MOST_LEFT_OUT]))


def _sheet_of(known: Known, classes: tuple[str, ...], thing: Thing) -> str:
    if LAY + "Part" in classes:
        kinds = [value.parts[0] for value in thing.said.get(LAY + "kind", ())]
        return UNITS if any(_is_unit(known, kind) for kind in kinds) else PARTS
    found = next((sheet.title for sheet in sheets() if set(sheet.classes) & set(classes)), "")
    return found or (REMARKS if not classes and thing.notes else "")


def _is_unit(known: Known, kind: str) -> bool:
    seen: set[str] = set()
    while kind not in seen:
        if kind.removeprefix(KIND) in UNIT_KINDS:
            return True
        seen.add(kind)
        said = known.things[kind].said if kind in known.things else known.house.get(kind, {})
        kind = next((value.parts[0] for value in said.get(BROADER, ())), kind)
    return False


def _table(sheet: Sheet, own: Iterable[SheetColumn]) -> SheetTable:
    columns = {column.header: column for column in (*sheet.columns, *own)}
    words = () if sheet.title == HOLES else tuple(WORDS.values())
    identity = () if sheet.title in (HOLES, REMARKS) else (ID,)
    return SheetTable(sheet, [*((WHAT,) if sheet.tells else ()), *columns, *words, *identity], columns)


def _filled(known: Known, sheet: Sheet, things: list[tuple[Thing, tuple[str, ...]]], left_out: list[str]) -> SheetTable:
    described = {column.property for column in sheet.columns} | {TYPE, HOLE}
    table = _table(sheet, _own_columns(known, [thing for thing, _ in things], described))
    by_property = {column.property: column for column in table.columns.values()}
    for thing, classes in sorted(things, key=lambda one: _order(sheet, one)):
        row, lost = row_of(known, sheet, by_property, thing, classes)
        table.rows.append(row)
        left_out += [f"{sheet.title}, {known.name_of(thing.iri)}: {what}" for what in lost]
    return table


def _order(sheet: Sheet, one: tuple[Thing, tuple[str, ...]]) -> tuple[int, str, str]:
    thing, classes = one
    at = next((place for place, name in enumerate(sheet.classes) if name in classes), 0)
    return at, label_of(thing.said).casefold(), thing.iri


def _own_columns(known: Known, things: list[Thing], described: set[str]) -> Iterator[SheetColumn]:
    """Columns of the properties that the shop has added itself."""
    found: dict[str, list[tuple[Value, ...]]] = {}
    for thing in things:
        for prop, values in thing.said.items():
            if prop not in described:
                found.setdefault(prop, []).append(values)
    for prop, all_values in sorted(found.items()):
        kinds = {_kind_of(value) for values in all_values for value in values}
        many = any(len(values) > 1 for values in all_values)
        yield own_column(prop.removeprefix(known.base), prop, kinds.pop() if len(kinds) == 1 else TEXT, many)


def own_column(name: str, prop: str, kind: str = TEXT, many: bool = True) -> SheetColumn:
    """The column of a property that the shop has added itself."""
    return SheetColumn(OWN + name, prop, kind, many=many, hint="A property of this shop's own.")


def _kind_of(value: Value) -> str:
    if value.kind == IRI:
        return REFERENCE
    datatype = value.parts[1].rpartition("#")[2] if value.kind == LITERAL else ""
    return {"decimal": NUMBER, "boolean": TRUTH}.get(datatype, TEXT)


def row_of(
    known: Known, sheet: Sheet, columns: Mapping[str, SheetColumn], thing: Thing, classes: tuple[str, ...]
) -> tuple[dict[str, Cell], list[str]]:
    """The row of a thing, and what of it the row does not say. `columns`: by property."""
    row: dict[str, Cell] = {}
    lost: list[str] = []
    own_notes = {iri(known.entries[note].iri) for note in thing.notes}
    fitting = [name for name in sheet.classes if name in classes]
    if sheet.tells:
        row[WHAT] = class_label(fitting[0])
    if len(fitting) > 1:
        lost.append(f"is also {', '.join(class_label(name) for name in fitting[1:])}")
    if not label_of(thing.said) and (usual := label_of(known.house.get(thing.iri, {}))):
        row["name"] = usual
    for prop, values in thing.said.items():
        if prop in (TYPE, HOLE):
            continue
        values = tuple(value for value in values if prop != NOTE or value not in own_notes)
        column = columns[prop]
        try:
            if values:
                row[column.header] = cell = cell_of(column, values, known.name_of)
                if not same(read_cell(column, cell, lambda said, c=column: known.find(said, c.classes)), values):  # type: ignore[misc]
                    lost.append(f"{column.header} reads differently when it is taken in")
        except Unsaid as error:
            row.pop(column.header, None)
            lost.append(f"{column.header}: {error}")
    row[ID] = known.id_of(thing.iri)
    if thing.notes:
        row |= words_of(known.entries[thing.notes[-1]])
        if len(thing.notes) > 1:
            lost.append(f"{len(thing.notes)} notes speak of it; the words of the newest are kept")
    if sheet.title == REMARKS:
        row.pop(ID)
    return row, lost


def _is_bare(entry: Entry) -> bool:
    """Words alone; not those that tell of a workbook."""
    return not entry.statements and entry.method != MARK


def words_of(entry: Entry) -> dict[str, Cell]:
    """What a note says beside its statements, by header."""
    said = {WORDS[name]: getattr(entry, name) for name in WORDS if name != "shareable"}
    shared = {WORDS["shareable"]: "yes"} if entry.shareable else {}
    return {header: cell for header, cell in said.items() if cell} | shared


def _add_holes(known: Known, tables: list[SheetTable], faces: list[tuple[Thing, tuple[str, ...]]]) -> None:
    (table,) = (one for one in tables if one.sheet.title == HOLES)
    headers = {column.property: column.header for column in table.columns.values()}
    for thing, _ in sorted(faces, key=lambda one: one[0].iri):
        for value in thing.said.get(HOLE, ()):
            said = {headers[name]: part for name, part in zip(NESTED[HOLE][1], value.parts, strict=True) if part}
            table.rows.append({FACE: known.id_of(thing.iri), **said})


def _add_bare_remarks(known: Known, tables: list[SheetTable]) -> None:
    """Notes that state nothing."""
    (table,) = (one for one in tables if one.sheet.title == REMARKS)
    table.rows += [words_of(entry) for entry in known.entries.values() if _is_bare(entry)]
