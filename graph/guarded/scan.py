"""A look at a text from front to back, once, before a parser sees it: how deeply it is nested, what it declares.

Parsers that call themselves for every level use up their stack or their memory on a few kilobytes of brackets, and an
XML document may declare entities that stand for gigabytes. The tokens are those of the grammars, so that a bracket in
a text or a comment counts for nothing and a declaration cannot hide in one. Every repetition is possessive: the time
is in proportion to the length. Sources: RDF 1.1 Turtle, 6.5; RFC 8259, 2 and 7; XML 1.0, 2.2 to 2.8 and 3.1.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from mmap import mmap

from graph.errors import InvalidFacts, Problem

MOST_NESTED = 100
TURTLE, JSON, XML = "Turtle", "JSON-LD", "RDF/XML"
# What opens a level stands in group 1, what closes one in group 2, what must not be there in group 3.
_TURTLE = re.compile(
    rb"""[^<>"'\#\\\[\](){}]++
       | \"{3}(?:\"{0,2}(?:[^\"\\]|\\.))*+\"{3} | '{3}(?:'{0,2}(?:[^'\\]|\\.))*+'{3}
       | "(?:[^"\\\n\r]|\\.)*+" | '(?:[^'\\\n\r]|\\.)*+'
       | <[^<>"{}|^`\x00-\x20]*+> | \#[^\n\r]*+ | \\.
       | ([\[({]|<<\(?) | ([\])}]|>>) | (["'])""",
    re.VERBOSE | re.DOTALL,
)
_JSON = re.compile(rb'[^"\[\]{}]++|"(?:[^"\\]|\\.)*+"|([\[{])|([\]}])|(")', re.DOTALL)
_XML = re.compile(
    rb"""[^<]++ | <!--(?!-?>)(?:[^-]|-(?!-))*+--> | <!\[CDATA\[(?:[^\]]|\](?!\]>))*+\]\]> | <\?(?:[^?]|\?(?!>))*+\?>
       | <(?![!?/])(?:[^<>"'/]|"[^<"]*+"|'[^<']*+'|/(?!>))*+(?:/>|(>)) | (</[^<>]*+>) | (<)""",
    re.VERBOSE,
)
_GRAMMARS: Mapping[str, re.Pattern[bytes]] = {TURTLE: _TURTLE, JSON: _JSON, XML: _XML}
_ENCODING = re.compile(rb"""\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([^"']{0,40})""")


def depth_of(data: bytes | mmap, grammar: str, where: str) -> int:
    """How deep it is nested. Raises InvalidFacts beyond MOST_NESTED levels, for entities, and where it is not UTF-8."""
    _check_encoding(data, grammar, where)
    depth = deepest = 0
    for token in _GRAMMARS[grammar].finditer(data):
        if not token.lastindex:
            continue
        if token.lastindex == 3:
            raise _wrong(data, token.start(), where, _what_stands_there(data, token.start(), grammar))
        depth += 1 if token.lastindex == 1 else -1
        if depth > deepest:
            deepest = depth
            if depth > MOST_NESTED:
                raise _wrong(data, token.start(), where, f"nested more than {MOST_NESTED} levels deep; write it flat")
    return deepest


def is_recoded(start: bytes) -> bool:
    """Whether an XML document, by its beginning, is written in anything but UTF-8, or says so."""
    named = _ENCODING.match(start.removeprefix(b"\xef\xbb\xbf"))
    wide = start.startswith((b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<"))
    return wide or bool(named and named[1].lower() not in (b"utf-8", b"us-ascii", b"ascii"))


def _check_encoding(data: bytes | mmap, grammar: str, where: str) -> None:
    start = bytes(data[:300])
    if b"\0" in start or is_recoded(start):
        raise InvalidFacts([Problem(where, "not UTF-8; save it as UTF-8")])


def _what_stands_there(data: bytes | mmap, at: int, grammar: str) -> str:
    if grammar != XML:
        return "a text begins here that is not closed"
    start = bytes(data[at : at + 10]).upper()
    if start.startswith((b"<!DOCTYPE", b"<!ENTITY")):
        return "declares a document type or entities, which facts do not need: refused. Write each text out"
    return "no tag, comment or section of characters as XML has them"


def _wrong(data: bytes | mmap, at: int, where: str, message: str) -> InvalidFacts:
    line = bytes(data[:at]).count(b"\n") + 1
    return InvalidFacts([Problem(f"{where} line {line}", message)])
