"""Which texts may be kept: those that every export and every database can hold; and how others are read nevertheless.

XML 1.0 (W3C, section 2.2, production 2) has no room for most control characters, U+FFFE and U+FFFF, so no export in
RDF/XML, XLSX or SVG could be read with them, and PostgreSQL keeps no NUL in a text. They, and DEL, are refused where
they come in. What an earlier version let in is shown with U+FFFD, the replacement character, where it is not XML's.
"""

from __future__ import annotations

import re
import unicodedata
from typing import IO

UNREADABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_NOT_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_NOT_XML_IN_UTF8 = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]|\xef\xbf[\xbe\xbf]")
REPLACEMENT = "\ufffd"
ENCODING = "windows-1252"  # what the core fonts of a PDF can write
NEAREST = {
    "≤": "<=", "≥": ">=", "≠": "not =", "→": "->", "←": "<-", "−": "-", "⌀": "dia. ", "∅": "dia. ", "″": '"', "′": "'",
    "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ı": "i", "☐": "[ ]", "⚠": "!", "½": "1/2", "\u2011": "-", "\u2009": " ",
    "\u202f": " ", "\u00a0": " ", "\ufe0e": "", "\t": " ",
}  # fmt: skip


def fault_of_text(value: str) -> str:
    """Why a text may not be kept: it holds a character that exports and databases cannot hold. Empty for none.

    >>> fault_of_text("16.05" + chr(0))
    'holds a control character (U+0000, at character 6); plain text only'
    """
    found = UNREADABLE.search(value)
    if found is None:
        return ""
    return f"holds a control character (U+{ord(found[0]):04X}, at character {found.start() + 1}); plain text only"


def for_xml(value: str) -> str:
    """The text as XML can hold it.

    >>> for_xml("16.05" + chr(0)) == "16.05" + REPLACEMENT
    True
    """
    return _NOT_XML.sub(REPLACEMENT, value)


class XmlFile:
    """A file to write XML in UTF-8 to, whatever the texts in it; close with `end`, which leaves the file open."""

    def __init__(self, file: IO[bytes]):
        self._file, self._held = file, b""

    def write(self, data: bytes) -> int:
        """Writes all but the beginning of a character that may turn out not to be XML's."""
        text = self._held + bytes(data)
        held = next((size for size in (2, 1) if b"\xef\xbf".startswith(text[-size:]) and len(text) >= size), 0)
        text, self._held = text[: len(text) - held], text[len(text) - held :]
        self._file.write(_NOT_XML_IN_UTF8.sub(REPLACEMENT.encode(), text))
        return len(data)

    def flush(self) -> None:
        """What is held waits for the character's end."""
        self._file.flush()

    def end(self) -> None:
        """Writes what is held."""
        self._file.write(self._held)
        self._held = b""


def printable(text: str) -> str:
    """The text in letters that the core fonts have.

    >>> printable("gap ≤ 0.5 mm, Łódź, 50 €")
    'gap <= 0.5 mm, Lódz, 50 €'
    """
    return "".join(_letters(mark) for mark in text)


def _letters(mark: str) -> str:
    if mark in NEAREST:
        return NEAREST[mark]
    if mark == "\n" or (mark.isprintable() and _encodes(mark)):
        return mark
    plain = "".join(c for c in unicodedata.normalize("NFKD", mark) if not unicodedata.combining(c))
    return plain if plain and plain.isprintable() and _encodes(plain) else "?"


def _encodes(text: str) -> bool:
    try:
        text.encode(ENCODING)
    except UnicodeEncodeError:
        return False
    return True
