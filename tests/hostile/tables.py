"""Tables made to break their readers: workbooks (a zip of XML, ECMA-376) and text apart by commas."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable, Iterator, Mapping
from functools import partial

from tests.hostile.bodies import WHO, Hostile, form_of
from tests.hostile.rdf import laughs

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEADS = ("id", "label", "part", "price", "currency", "condition", "date")


def row(number: int, *cells: str, attributes: str = "") -> str:
    """A row of inline texts."""
    inner = "".join(f'<c t="inlineStr"><is><t>{cell}</t></is></c>' for cell in cells)
    return f'<row r="{number}"{attributes}>{inner}</row>'


def sheet(rows: str, before: str = "", declared: str = "") -> str:
    """A worksheet with the header and these rows."""
    return f'{XML}{declared}<worksheet xmlns="{MAIN}">{before}<sheetData>{row(1, *HEADS)}{rows}</sheetData></worksheet>'


def workbook(rows: str = "", /, **members: str | bytes) -> bytes:
    """A workbook of these rows; `members` stand in for, or beside, its parts (`xl__styles.xml` for xl/styles.xml)."""
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": f'{XML}<Types xmlns="{PACKAGE}/content-types">'
        f'<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{TYPES}.sharedStrings+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{TYPES}.worksheet+xml"/></Types>',
        "_rels/.rels": f'{XML}<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="r1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{XML}<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>'
        '<sheet name="s" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'{XML}<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="r1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="r2" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/sharedStrings.xml": f'{XML}<sst xmlns="{MAIN}"/>',
        "xl/worksheets/sheet1.xml": sheet(rows),
    }  # fmt: skip
    parts |= {name.replace("__", "/"): content for name, content in members.items()}
    return zipped(parts)


def zipped(parts: Mapping[str, str | bytes]) -> bytes:
    """A zip of these files."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return made.getvalue()


def one_sheet(text: str) -> bytes:
    """A workbook whose sheet is this text."""
    return workbook(**{"xl__worksheets__sheet1.xml": text})


def bomb(member: str, layers: int = 10) -> bytes:
    """A workbook with entities of entities in one of its parts."""
    return workbook(**{member: f"{XML}<!DOCTYPE x [{laughs(layers)}]><x>&a{layers};</x>"})


def shared_strings(count: int, length: int) -> bytes:
    """A workbook with so many shared texts."""
    texts = f"<si><t>{'x' * length}</t></si>" * count
    return workbook(**{"xl__sharedStrings.xml": f'{XML}<sst xmlns="{MAIN}">{texts}</sst>'})


def lying_size(data: bytes) -> bytes:
    """The same zip, whose directory says that each file unpacks to 10 bytes."""
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data = data[: at + 24] + struct.pack("<L", 10) + data[at + 28 :]
        at = data.find(b"PK\x01\x02", at + 4)
    return data


BOOKS: dict[str, Callable[[], bytes]] = {
    "entities in the sheet": partial(bomb, "xl__worksheets__sheet1.xml"),
    "entities in the workbook": partial(bomb, "xl__workbook.xml"),
    "entities in the texts": partial(bomb, "xl__sharedStrings.xml"),
    "entities in the styles": partial(bomb, "xl__styles.xml"),
    "entities in the types": partial(bomb, "[Content_Types].xml"),
    "entities in the relations": partial(bomb, "xl___rels__workbook.xml.rels"),
    "entities behind a comment": lambda: one_sheet(
        sheet("", declared=f"<!--{' ' * 200_000}--><!DOCTYPE x [{laughs(10)}]>")),
    "entities in sixteen bits": lambda: workbook(
        **{"xl__worksheets__sheet1.xml": f"<!DOCTYPE x [{laughs(9)}]><x>&a9;</x>".encode("utf-16")}),
    "an entity from a file": lambda: one_sheet(
        f'{XML}<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><x>&a;</x>'),
    "a sheet of 300 MB of nothing": lambda: one_sheet(sheet(" " * (300 << 20))),
    "five sheets of 60 MB": lambda: workbook(**{f"xl__media__{n}.bin": b"\0" * (60 << 20) for n in range(5)}),
    "a million empty rows": lambda: one_sheet(sheet('<row/>' * 1_100_000)),
    "a row beyond all rows": lambda: workbook(row(999_999_999_999, "a", "b")),
    "a cell beyond all columns": lambda: workbook('<row r="2"><c r="ZZZ2"><v>1</v></c></row>' * 9),
    "a dimension of everything": lambda: one_sheet(
        sheet("<row/>" * 10, before='<dimension ref="A1:XFD1048576"/>') + "<x"),
    "250,000 rows": lambda: workbook("".join(row(n, "a", "b") for n in range(2, 250_002))),
    "3,000 columns": lambda: workbook(row(2, *["x"] * 3_000)),
    "a cell of 5 MB": lambda: workbook(row(2, "x" * 5_000_000, "b")),
    "a million texts": partial(shared_strings, 1_000_000, 20),
    "texts of 200 MB": partial(shared_strings, 20, 10_000_000),
    "tags 200,000 deep": lambda: one_sheet(sheet("<row>" * 200_000)),
    "attributes without end": lambda: workbook(row(2, "a", attributes="".join(f' a{n}="x"' for n in range(100_000)))),
    "a formula": lambda: workbook('<row r="2"><c><f>HYPERLINK("http://127.0.0.1:9/")</f><v>1</v></c></row>'),
    "a formula of rings": lambda: workbook('<row r="2"><c r="A2"><f>A2+1</f></c></row>'),
    "a formula as a text": lambda: workbook(row(2, "=1+1", "b")),
    "values from another book": lambda: workbook(row(2, "a"), **{"xl__externalLinks__externalLink1.xml": f"{XML}<x/>"}),
    "a relation that leaves the zip": lambda: workbook(
        **{"xl___rels__workbook.xml.rels": f'{XML}<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" '
           f'Type="{OFFICE}/worksheet" Target="../../../../etc/passwd"/></Relationships>'}),
    "a number without end": lambda: workbook(f'<row r="2"><c><v>{"9" * 500_000}</v></c></row>'),
    "a text that is not there": lambda: workbook('<row r="2"><c t="s"><v>999999</v></c></row>'),
    "a zip that lies about its sizes": lambda: lying_size(workbook(row(2, "x" * 100_000))),
    "a zip of 60,000 files": lambda: zipped({f"xl/{n}": b"" for n in range(60_000)}),
    "a zip in a zip": lambda: zipped({"a.zip": zipped({"b.zip": zipped({"c": b"\0" * (50 << 20)})})}),
    "half a zip": lambda: workbook(row(2, "x" * 10_000))[:900],
    "a zip without a directory": lambda: b"PK\x03\x04" + b"\0" * 200_000,
    "a zip of no workbook": lambda: zipped({"evil/../../../../tmp/layshaft": b"x"}),
}  # fmt: skip
LINES: dict[str, Callable[[], bytes]] = {
    "one line of 3 MB": lambda: b"id,label\n" + b"x" * 3_000_000,
    "one cell of 3 MB": lambda: b'id,label\n"' + b"x\n" * 1_500_000 + b'"',
    "a quote never closed": lambda: b'id,label\na,"' + b"b,c\n" * 700_000,
    "quotes and nothing else": lambda: b'"' * 3_000_001,
    "a million columns": lambda: b"id" + b"," * 1_000_000 + b"\n" + b"x" + b"," * 1_000_000,
    "1.5 million rows": lambda: b"id,label\n" + b"a\n" * 1_500_000,
    "columns of one name": lambda: b"id," * 90 + b"\n",
    "bytes of nothing": lambda: b"id,label\n" + b"\0" * 3_000_000,
    "half a character": lambda: b"id,label\n\xff\xfe\xff\n",
    "sixteen bits": lambda: "id,label\na,b\n".encode("utf-16"),
    "line ends without lines": lambda: b"\r" * 3_000_000,
    "formulas": lambda: b"id,label,cash\n" + b"=cmd|' /C calc'!A0,=1+1,=9\n" * 1_000,
    "a list in a cell": lambda: b"id,label,replaces\na,b," + b"x|" * 1_000_000,
    "numbers without end": lambda: b"id,label,cash\n" + (b"a,b," + b"9" * 10_000 + b"\n") * 100,
    "odd characters": lambda: b"id,label\n" + "\u202e\u200b\ufeff\u0000\u0007,x\n".encode() * 1_000,
}
# A preview says how the columns would be taken, and reads no cell: what is odd in one is for the import to refuse.
PREVIEWED = ("formulas", "numbers without end")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
IMPORTED = ("entities in the texts", "a sheet of 300 MB of nothing", "250,000 rows", "a million texts", "a formula",
            "a cell beyond all columns", "a zip of 60,000 files")  # fmt: skip


def bodies() -> Iterator[Hostile]:
    """Every workbook and text as a preview and as a price list; some as imports and as price previews."""
    for ending, found in (("xlsx", BOOKS), ("csv", LINES)):
        for name, make in found.items():
            file = f"hostile.{ending}"
            right = frozenset({*range(400, 500), *((200,) if name in PREVIEWED else ())})
            yield Hostile(f"preview {ending}: {name}", "/imports/preview", make, params={"name": file}, statuses=right)
            yield _price_list(f"prices {ending}: {name}", "/prices/import", file, make)
            if ending == "csv" or name in IMPORTED:
                yield Hostile(f"import {ending}: {name}", "/imports", make, params={**WHO, "name": file})


def _price_list(name: str, path: str, file: str, make: Callable[[], bytes]) -> Hostile:
    media_type = form_of(file, b"")[1]
    return Hostile(name, path, lambda: form_of(file, make(), author="bench")[0], media_type)
