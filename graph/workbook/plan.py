"""Which sheets a workbook has, and which columns: read off vocabulary and shapes, so that a new property has its column
at once. Titles of sheets and the words over the two ends of an edge are given here; nothing else is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from graph.catalogue.house import SHAPES_FOLDER, VOCABULARY_FOLDER, read_vocabulary
from graph.catalogue.names import DCTERMS, DEFINITION, LABEL, LAY, PREF_LABEL, PROV, RDF, RDFS, SH, TYPE, XSD
from graph.catalogue.statements import Statements, list_fact_files, node_key, read_statements

HOW_TO, CHOICES, LEFT_OUT = "How to fill this in", "Choices", "Not in this workbook"
HOLE, HOLES = LAY + "hole", "Holes"
WHAT, ID, FACE = "what", "id", "bolt face"
NUMBER, TEXT, TRUTH, DAY, REFERENCE = "number", "text", "yes or no", "day", "name"
STEPS, CONDITIONS = "steps", "conditions"
OWN = "own: "  # before the header of a property that a shop has added itself
UNITS, PARTS, REMARKS = "Units", "Parts", "Remarks"
# What a note of the ledger says beside its statements: field of `graph.ledger.record.Draft` -> header.
WORDS = {
    "author": "who says so", "evidence": "known by", "made_at": "found out on", "method": "found out how",
    "job": "on job", "document": "rests on", "text": "remark", "shareable": "may be shared",
}  # fmt: skip
MARK = "workbook"  # the method of the note by which a workbook that was taken in is found
ABOUT = DCTERMS + "subject"  # of a remark: the part that it is about

_SHEETS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("Workshop", ("Shop",), "Name, currency, rate: compared with the workshop that takes it in, not taken in."),
    (UNITS, ("Part",), "Gearboxes, engines, vehicles: one a row, and families of them."),
    (PARTS, ("Part",), "Every part by its name: what it is, its number, price, condition."),
    ("What is in what", ("Contains", "HasNone"), "Which part a unit has in which place, or that it has none there."),
    ("Joints known", ("Fits", "RequiresMachining", "DoesNotFit"), "Which parts mate at which joint, and which do not."),
    ("Replaces and needs", ("Replaces", "Needs", "Excludes", "AddsFeature"), "What stands in for, needs or bars what."),
    ("Lengths", ("Shifts",), "What a part adds to a dimension, in mm."),
    ("Readings", ("Measurement",), "What was measured on which part: with its unit, as it was read."),
    ("Bolt faces", ("BoltFace",), "Faces with holes; the holes stand on the next sheet."),
    (HOLES, ("Hole",), "One hole a row."),
    ("Prices", ("OperationPrice", "StandardPartPrice"), "Of work and standard parts; a part's own stands on its row."),
    ("Faults", ("Fault",), "What may be worn in the part at a place, and how likely."),
    ("Laid open by", ("LaysOpen",), "With which task done a fault can be seen."),
    ("Inspections", ("Inspection",), "Tests before anything comes apart, and which faults they settle."),
    ("Tasks", ("Task",), "States of opening and visits: your own hours and money, or a task of your own."),
    (REMARKS, (), "What is known in words alone, and of which parts."),
    ("Notes", ("Note",), "Who said what, when, and how it was known; other sheets name a note by its id."),
    ("People", (PROV + "Agent",), "Who is named on the sheet of notes."),
)  # fmt: skip
_ALWAYS = {title for title, _, _ in _SHEETS}
_KINDS = ("PartKind", "PositionKind", "JointKind", "ChainKind", "Assembly", "Feature", "EvidenceLevel",
          "PartCondition", "Quantity")  # fmt: skip
_ENDS: Mapping[str, tuple[str, str]] = {
    "What is in what": ("unit", "part"), "Joints known": ("part", "meets"), "Replaces and needs": ("this", "that"),
    "Lengths": ("part", "dimension"), "Laid open by": ("task done", "fault"),
}  # fmt: skip
_HEADERS = {LABEL: "name", PREF_LABEL: "name", DEFINITION: "what it means", PROV + "wasAttributedTo": "said by",
            PROV + "generatedAtTime": "said on"}  # fmt: skip
_FIRST = (HOLE, LABEL, PREF_LABEL, LAY + "source", LAY + "joint", LAY + "position", LAY + "target", LAY + "measuredOn",
          LAY + "quantity", LAY + "reading", LAY + "kind")  # fmt: skip
_NUMBERS = {XSD + "decimal", XSD + "integer"}


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column: its `header`, the property (IRI; empty for what is none), what its cells are (`kind`).

    `many`: several values, apart by `|`. `classes`: of which class (IRIs) a name must be; `words`: all that it may say.
    `whole`: only whole numbers; `hint`: what it means.
    """

    header: str
    property: str
    kind: str
    many: bool = False
    needed: bool = False
    classes: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    whole: bool = False
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet: its rows are things of one of its `classes` (IRIs). `always`: also where there is nothing to say."""

    title: str
    classes: tuple[str, ...]
    columns: tuple[SheetColumn, ...]
    hint: str
    always: bool

    @property
    def tells(self) -> bool:
        """Whether a row says itself of which class it is."""
        return len(self.classes) > 1


@cache
def sheets() -> tuple[Sheet, ...]:
    """All sheets that a workbook may have, in order."""
    words = _vocabulary()
    shapes = read_statements(list_fact_files([SHAPES_FOLDER]))[0]
    described = [(title, names, hint) for title, names, hint in _SHEETS]
    described += [
        (_plural(_label(words, LAY + name)), (name,), _said(words, LAY + name, DEFINITION)) for name in _KINDS
    ]
    return tuple(_sheet(words, shapes, title, names, hint) for title, names, hint in described)


def class_label(name: str) -> str:
    """What a class is called in a cell."""
    return _labels().get(name, name.rpartition("#")[2])


def property_label(name: str) -> str:
    """What a property is called over its column, with its unit."""
    return _header(_vocabulary(), name, "")


@cache
def _vocabulary() -> Statements:
    return read_statements(list_fact_files([VOCABULARY_FOLDER]))[0]


@cache
def _labels() -> dict[str, str]:
    words = _vocabulary()
    return {name: _label(words, name) for name in words.list_of_class("http://www.w3.org/2002/07/owl#Class")}


def _sheet(words: Statements, shapes: Statements, title: str, names: tuple[str, ...], hint: str) -> Sheet:
    classes = tuple(name if "://" in name else LAY + name for name in names)
    found: dict[str, SheetColumn] = {}
    for name in classes:
        for column in _columns(words, shapes, name, title):
            known = found.get(column.property)
            found[column.property] = column if known is None else _both(known, column, in_all=False)
    if len(classes) > 1:  # what only some of the classes need, no column needs
        per_class = [{c.property: c for c in _columns(words, shapes, name, title)} for name in classes]
        found = {path: _needed(column, all(path in own and own[path].needed for own in per_class))
                 for path, column in found.items()}  # fmt: skip
    if title == REMARKS:
        found = {
            ABOUT: SheetColumn("about", ABOUT, REFERENCE, many=True, classes=(LAY + "Part",), hint="Of which parts.")
        }
    if title == HOLES:
        hint = "The id of the face on the sheet of bolt faces."
        found[HOLE] = SheetColumn(FACE, HOLE, REFERENCE, needed=True, classes=(LAY + "BoltFace",), hint=hint)
    ordered = sorted(found.values(), key=lambda column: _place(column, list(found)))
    return Sheet(title, classes, tuple(ordered), hint, title in _ALWAYS)


def _plural(label: str) -> str:
    return (label[:-1] + "ies" if label.endswith("y") else label + "s").capitalize()


def _place(column: SheetColumn, order: list[str]) -> tuple[int, int, int]:
    first = _FIRST.index(column.property) if column.property in _FIRST else len(_FIRST)
    return first, not column.needed, order.index(column.property)


def _columns(words: Statements, shapes: Statements, name: str, title: str) -> Iterator[SheetColumn]:
    above = {name, *(upper for upper, below in read_vocabulary()[1].items() if name in below)}
    found: dict[str, SheetColumn] = {}
    for shape in shapes.by_class.get(SH + "NodeShape", ()):
        if not above & {node_key(target) for target in shapes.get(shape, SH + "targetClass")}:
            continue
        for node in map(node_key, shapes.get(shape, SH + "property")):
            column = _column(words, shapes, node, title)
            known = found.get(column.property)
            found[column.property] = column if known is None else _both(known, column)
    for path in words.values:  # a property of the class that no shape speaks of
        domains = {node_key(value) for value in words.get(path, RDFS + "domain")}
        if path not in found and name in domains and name != LAY + "Note":
            found[path] = _plain(words, path, title)
    forbidden = {path for path, column in found.items() if column.hint == ""}
    yield from (column for path, column in found.items() if path != HOLE and path not in forbidden)


def _column(words: Statements, shapes: Statements, node: str, title: str) -> SheetColumn:
    def one(name: str) -> str:
        values = shapes.get(node, SH + name)
        return values[0].value if values else ""

    path = one("path")
    plain = _plain(words, path, title)
    members = [node_key(m) for head in shapes.get(node, SH + "or") for m in shapes.list_items(head) or ()]
    classes = [one("class"), *(v.value for m in members for v in shapes.get(m, SH + "class"))]
    types = {one("datatype"), *(v.value for m in members for v in shapes.get(m, SH + "datatype"))} - {""}
    allowed = tuple(v.value for head in shapes.get(node, SH + "in") for v in shapes.list_items(head) or ())
    kind = plain.kind
    if types and kind == TEXT:
        kind = NUMBER if types <= _NUMBERS else TRUTH if types == {XSD + "boolean"} else DAY
    if any(classes):
        kind = CONDITIONS if LAY + "Condition" in classes else REFERENCE
    highest = one("maxCount")
    return SheetColumn(
        plain.header, path, kind, many=highest == "", needed=one("minCount") == "1",
        classes=tuple(filter(None, classes)) or plain.classes, words=allowed, whole=types == {XSD + "integer"},
        hint="" if highest == "0" else plain.hint,
    )  # fmt: skip


def _plain(words: Statements, path: str, title: str) -> SheetColumn:
    """The property as the vocabulary alone describes it."""
    said = _said(words, path, RDFS + "range")
    datatype = said.startswith(XSD)
    kind = REFERENCE if said and not datatype else TEXT
    if not said and "http://www.w3.org/2002/07/owl#ObjectProperty" in map(node_key, words.get(path, TYPE)):
        kind = REFERENCE
    kind = {RDF + "List": STEPS, XSD + "decimal": NUMBER, XSD + "integer": NUMBER, XSD + "boolean": TRUTH,
            XSD + "date": DAY, LAY + "Condition": CONDITIONS}.get(said, kind)  # fmt: skip
    classes = (said,) if kind == REFERENCE and said.startswith((LAY, PROV)) else ()
    hint = _said(words, path, DEFINITION) or path.rpartition("#")[2].rpartition("/")[2]
    return SheetColumn(_header(words, path, title), path, kind, many=kind == STEPS, classes=classes, hint=hint)


def _header(words: Statements, path: str, title: str) -> str:
    ends = _ENDS.get(title, ("from", "to"))
    plain = {LAY + "source": ends[0], LAY + "target": ends[1], **_HEADERS}.get(path, "")
    label = plain or _label(words, path)
    units = {"MilliM": " (mm)", "HR": " (h)", "DAY": " (days)", "MIN": " (min)"}
    unit = units.get(_said(words, path, LAY + "unit").rpartition("/")[2], "")
    return label if unit.strip(" ()") in label.split() else label + unit


def _both(one: SheetColumn, other: SheetColumn, in_all: bool = True) -> SheetColumn:
    return SheetColumn(
        one.header, one.property, one.kind if one.kind != TEXT else other.kind, one.many and other.many,
        one.needed or other.needed if in_all else one.needed and other.needed,
        tuple(dict.fromkeys((*one.classes, *other.classes))), one.words or other.words, one.whole or other.whole,
        one.hint or other.hint,
    )  # fmt: skip


def _needed(column: SheetColumn, needed: bool) -> SheetColumn:
    return SheetColumn(column.header, column.property, column.kind, column.many, needed, column.classes, column.words,
                  column.whole, column.hint)  # fmt: skip


def _label(words: Statements, name: str) -> str:
    return _said(words, name, LABEL) or name.rpartition("#")[2].rpartition("/")[2]


def _said(words: Statements, name: str, prop: str) -> str:
    values = words.get(name, prop)
    return values[0].value if values else ""
