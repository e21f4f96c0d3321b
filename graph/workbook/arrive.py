"""A workbook that somebody sends, understood: per row the thing that it is about and what is said of it.

Nothing is written here. Every fault is told with its sheet, row and column, all of them together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from graph.catalogue.model import Catalogue
from graph.catalogue.names import KIND, LABEL, LAY, PREF_LABEL, TYPE
from graph.errors import Problem
from graph.ledger.identity import new_id, note_iri
from graph.ledger.things import id_from
from graph.workbook.columns import ID_FORM, ReadSheet, columns_of
from graph.workbook.known import NUMBER_OF_PART, Known, plain
from graph.workbook.plan import (
    HOLE,
    HOLES,
    ID,
    OWN,
    REFERENCE,
    REMARKS,
    TEXT,
    WHAT,
    WORDS,
    SheetColumn,
    class_label,
)
from graph.workbook.sent import SentRow, SentSheet
from graph.workbook.values import NESTED, NODE, Unsaid, Value, iri, read_cell, text

MOST_PROBLEMS = 200
_NODE_ID = re.compile(r"notes/[0-9a-f-]{36}/nodes/\d+")
_EVIDENCE = SheetColumn(WORDS["evidence"], "", REFERENCE, classes=(LAY + "EvidenceLevel",))
_WORD = SheetColumn("", "", TEXT)


@dataclass(slots=True)
class WantedRow:
    """What a row says: the thing's IRI, its class (empty for a remark), properties with their values.

    `note_id`: of the note that it becomes if it is new; `words`: fields of that note; `is_new`: nothing is known of it.
    """

    sheet: str
    row: int
    iri: str
    of_class: str
    note_id: str
    is_new: bool
    columns: Mapping[str, str]  # property -> where its cell stands
    said: dict[str, tuple[Value, ...]] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    name: str = ""

    @property
    def place(self) -> str:
        """Where the row stands."""
        return f"sheet {self.sheet!r} row {self.row}"


@dataclass(slots=True)
class Understood:
    """What a workbook says, and what is wrong with it."""

    wanted: list[WantedRow] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def understand(
    known: Known, catalogue: Catalogue, sent: Iterable[SentSheet], beside: Sequence[str] = ()
) -> Understood:  # fmt: skip
    """What the rows say. `known` learns the names of new things. `catalogue`: whose ids are taken. `beside`: titles of
    sheets that are read elsewhere."""
    found = Understood()
    read = [one for each in sent if (one := columns_of(known, each, found.problems, beside)) is not None]
    _Names(known, catalogue, found).resolve(read)
    found.problems = found.problems[:MOST_PROBLEMS]
    return found


class _Names:
    """Finds for each row the thing that it is about, then reads its cells."""

    def __init__(self, known: Known, catalogue: Catalogue, found: Understood):
        self.known, self.catalogue, self.found = known, catalogue, found
        self._ids: set[str] = set()
        self._rows: dict[str, WantedRow] = {}  # thing -> the row that is about it
        self._edges = _standing_edges(known)

    def resolve(self, sheets_read: list[ReadSheet]) -> None:
        """Every row of the sheets."""
        later: list[tuple[ReadSheet, SentRow, WantedRow]] = []
        for each in sheets_read:
            if each.sheet.title == HOLES:
                continue
            for row in each.sent.rows:
                wanted = self._thing(each, row)
                if wanted is not None:
                    later.append((each, row, wanted))
        for _, _, wanted in later:
            if wanted.is_new and wanted.of_class:
                self.known.add_new(wanted.iri, wanted.said)
        for each, row, wanted in later:
            self._read_row(each, row, wanted)
        for each in sheets_read:
            if each.sheet.title == HOLES:
                self._read_holes(each)

    def _fault(self, where: str, why: str) -> None:
        self.found.problems += [Problem(where, line) for line in why.split("\n")]

    def _thing(self, read: ReadSheet, row: SentRow) -> WantedRow | None:
        """The thing of a row, with its class, name and number, by which other rows may name it."""
        sheet, where = read.sheet, f"sheet {read.sent.title!r} row {row.number}"
        if not row.cells:
            return None
        note_id = new_id()
        own = f"{note_iri(self.known.base, note_id)}/nodes/1"
        columns = {column.property: read.place(row.number, at) for at, column in read.columns.items()}
        wanted = WantedRow(sheet.title, row.number, own, "", note_id, True, columns)
        if sheet.title == REMARKS:
            return wanted
        wanted.of_class = sheet.classes[0] if not sheet.tells else self._class(read, row, where)
        if not wanted.of_class:
            return None
        name = next((self._text(read, row, at) for at, column in read.columns.items()
                     if column.property in (LABEL, PREF_LABEL)), "")  # fmt: skip
        wanted.name = name
        if not self._identify(read, row, wanted, where):
            return None
        if wanted.iri in self._rows:
            first = self._rows[wanted.iri]
            self._fault(
                where, f"is the same as {first.place} ({name or self.known.id_of(wanted.iri)}): leave one of them"
            )
            return None
        self._rows[wanted.iri] = wanted
        if wanted.is_new:
            label = PREF_LABEL if any(c.property == PREF_LABEL for c in sheet.columns) else LABEL
            number = next((self._text(read, row, at) for at, column in read.columns.items()
                           if column.property == NUMBER_OF_PART), "")  # fmt: skip
            wanted.said = {TYPE: (iri(wanted.of_class),), **({label: (text(name),)} if name else {}),
                           **({NUMBER_OF_PART: (text(number),)} if number else {})}  # fmt: skip
        return wanted

    def _class(self, read: ReadSheet, row: SentRow, where: str) -> str:
        said = plain(read.cell(row, WHAT))
        labels = {plain(class_label(name)): name for name in read.sheet.classes}
        if said not in labels:
            at = read.fixed.get(WHAT)
            place = where if at is None else read.place(row.number, at)
            found = f"found {said[:80]!r}" if said else "it is empty"
            self._fault(place, f"say what it is: one of {', '.join(labels)}; {found}")
        return labels.get(said, "")

    def _text(self, read: ReadSheet, row: SentRow, at: int) -> str:
        cell = row.cells.get(at)
        if cell is None or isinstance(cell, list):
            return ""
        return str(cell).strip()

    def _identify(self, read: ReadSheet, row: SentRow, wanted: WantedRow, where: str) -> bool:
        """Whether the thing of the row is clear; a new one gets its IRI."""
        known, said = self.known, read.cell(row, ID)
        place = read.place(row.number, read.fixed[ID]) if ID in read.fixed else where
        classes = (wanted.of_class,)
        if said:
            there = [name for name in known.by_id(said) if known.classes(name)]
            if there:
                if not known.is_any_of(there[0], classes):
                    self._fault(place, f"{said[:80]!r} is the id of something else; leave it empty for a new one")
                    return False
                wanted.iri, wanted.is_new = there[0], False
            elif _NODE_ID.fullmatch(said):
                known.add_new(wanted.iri, {TYPE: (iri(wanted.of_class),)}, alias=said)
            elif "://" in said or ID_FORM.fullmatch(said):
                wanted.iri = said if "://" in said else known.base + said
            else:
                self._fault(
                    place, f"expected letters, digits, - . _ without spaces, found {said[:80]!r}; or leave it empty"
                )
                return False
        elif wanted.name:
            named = known.named(wanted.name, classes)
            if len(named) > 1:
                self._fault(
                    where, f"{len(named)} are named {wanted.name[:80]!r}: fill in the id of the one that is meant"
                )
                return False
            if named:
                wanted.iri, wanted.is_new = named[0], False
            else:
                twin = next((one for one in self._rows.values() if one.is_new and one.of_class == wanted.of_class
                             and plain(one.name) == plain(wanted.name)), None)  # fmt: skip
                if twin:
                    self._fault(where, f"has the name of {twin.place} ({wanted.name[:80]}): names tell things apart")
                    return False
                made = id_from(wanted.name, self.catalogue, frozenset(self._ids))
                wanted.iri = known.base + made
        self._ids.add(known.id_of(wanted.iri))
        return True

    def _read_row(self, read: ReadSheet, row: SentRow, wanted: WantedRow) -> None:
        for at, cell in row.cells.items():
            where = read.place(row.number, at)
            try:
                if at in read.columns:
                    column = read.columns[at]
                    self._say(wanted, column, cell)
                elif at in read.words:
                    self._say_word(wanted, read.words[at], cell)
            except Unsaid as error:
                self._fault(where, str(error))
        if read.sheet.title == REMARKS and not wanted.words.get("text"):
            self._fault(wanted.place, "a remark needs its words in the column 'remark'")
            return
        if wanted.is_new and not wanted.name and (standing := self._edges.get(_edge_key(wanted.of_class, wanted.said))):
            wanted.iri, wanted.is_new = standing, False
            wanted.said.pop(TYPE, None)
            if standing in self._rows and self._rows[standing] is not wanted:
                self._fault(wanted.place, f"says the same as {self._rows[standing].place}: leave one of them")
            self._rows[standing] = wanted
        self.found.wanted.append(wanted)

    def _say(self, wanted: WantedRow, column: SheetColumn, cell: Any) -> None:
        values = read_cell(column, cell, lambda said: self.known.find(said, column.classes))
        if column.header.startswith(OWN) and isinstance(cell, (int, float)) and not isinstance(cell, bool):
            values = read_cell(SheetColumn("", column.property, "number"), cell, str)
        wanted.said[column.property] = values

    def _say_word(self, wanted: WantedRow, name: str, cell: Any) -> None:
        if name == "evidence":
            (value,) = read_cell(_EVIDENCE, cell, lambda said: self.known.find(said, _EVIDENCE.classes))
            wanted.words[name] = value.parts[0].removeprefix(KIND)
            return
        if name == "made_at" and isinstance(cell, list):
            wanted.words[name] = str(cell[1])
            return
        values = read_cell(_WORD, cell, str)
        wanted.words[name] = values[0].parts[0] if values else ""

    def _read_holes(self, read: ReadSheet) -> None:
        """Each hole goes to the row of its face."""
        names = NESTED[HOLE][1]
        for row in read.sent.rows:
            parts = dict.fromkeys(names, "")
            face: WantedRow | None = None
            for at, cell in row.cells.items():
                column = read.columns.get(at)
                if column is None:
                    continue
                try:
                    (value,) = read_cell(column, cell, lambda said, c=column: self.known.find(said, c.classes))  # type: ignore[misc]
                except (Unsaid, ValueError) as error:
                    self._fault(read.place(row.number, at), str(error))
                    continue
                if column.property == HOLE:
                    face = self._rows.get(value.parts[0])
                else:
                    parts[column.property] = value.parts[0]
            if face is None:
                told = "name the bolt face by its id; the face needs its row on the sheet 'Bolt faces'"
                self._fault(f"sheet {read.sent.title!r} row {row.number}", told)
                continue
            hole = Value(NODE, tuple(parts[name] for name in names))
            face.said[HOLE] = (*face.said.get(HOLE, ()), hole)


_Key = tuple[str, ...]


def _edge_key(of_class: str, said: Mapping[str, tuple[Value, ...]]) -> _Key:
    """By what a row without id and name is known again: what it joins; a reading or price, by all that it says."""
    ends = [LAY + name for name in ("source", "target", "joint", "position")]
    if LAY + "source" in said:
        return (of_class, *(v.parts[0] for name in ends for v in said.get(name, ())))
    rest = sorted(
        (prop, value) for prop, values in said.items() if prop not in (TYPE, LAY + "note") for value in values
    )
    return (of_class, repr(rest))


def _standing_edges(known: Known) -> dict[_Key, str]:
    found: dict[_Key, str] = {}
    for name, thing in known.things.items():
        said = thing.said
        for value in said.get(TYPE, ()):
            found.setdefault(_edge_key(value.parts[0], said), name)
    return found
