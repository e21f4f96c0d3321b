"""Which SPARQL text may run at all: queries on our own data. SERVICE, FROM and updates are refused before it runs.

A query engine fetches what SERVICE, FROM and LOAD name, so readers could make this machine call any other.
The text is cut into tokens as the grammar does (W3C SPARQL 1.1, section 19.8), so a keyword inside a string, an
IRI, a comment, a variable or a prefixed name is not mistaken for one, and cannot hide in one either.
"""

from __future__ import annotations

import re

from graph.errors import InvalidQuestion, LimitExceeded, Problem

MAX_QUERY_BYTES = 100_000
FORMS = ("SELECT", "ASK", "CONSTRUCT", "DESCRIBE")
_REFUSED = {
    "SERVICE": "asks another server, which this one does not do: ask that server yourself",
    "FROM": "names a data set to fetch; leave it out and use GRAPH <...> for one of this graph's named graphs",
    **dict.fromkeys(
        ("INSERT", "DELETE", "LOAD", "CLEAR", "DROP", "CREATE", "ADD", "MOVE", "COPY"),
        "changes data; this door only reads. Add a note instead",
    ),
}
_TOKEN = re.compile(
    r"""(?P<iri><[^<>"{}|^`\\\x00-\x20]*>)
      | (?P<text>\"{3}(?:\"{0,2}(?:[^\"\\]|\\.))*\"{3} | '{3}(?:'{0,2}(?:[^'\\]|\\.))*'{3}
               | "(?:[^"\\\n\r]|\\.)*" | '(?:[^'\\\n\r]|\\.)*')
      | (?P<comment>\#[^\n\r]*)
      | (?P<variable>[?$]\w+)
      | (?P<language>@[A-Za-z]+(?:-[A-Za-z0-9]+)*)
      | (?P<blank>_:\w(?:[\w.-]*[\w-])?)
      | (?P<name>(?:[^\W\d_](?:[\w.-]*[\w-])?)?:(?:(?:[\w:]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%])
               (?:(?:[\w.:-]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%])*(?:[\w:-]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%]))?)?)
      | (?P<word>[A-Za-z]+)
      | (?P<other>.)""",
    re.VERBOSE | re.DOTALL,
)
_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")


def query_form(text: str) -> str:
    """`SELECT`, `ASK`, `CONSTRUCT` or `DESCRIBE`. Raises InvalidQuestion for a text that may not run."""
    if len(text.encode("utf-8", "replace")) > MAX_QUERY_BYTES:
        raise LimitExceeded(f"the query is longer than {MAX_QUERY_BYTES:,} bytes")
    words = [*_keywords(text), *_keywords(_unescaped(text))]
    for word, line in words:
        if word in _REFUSED:
            raise InvalidQuestion([Problem(f"query line {line}", f"{word} {_REFUSED[word]}")])
    form = next((word for word, _ in words if word in FORMS), "")
    if not form:
        raise InvalidQuestion([Problem("query", f"expected one of {', '.join(FORMS)}")])
    return form


def _keywords(text: str) -> list[tuple[str, int]]:
    found = []
    for token in _TOKEN.finditer(text):
        if token.lastgroup == "word":
            found.append((token["word"].upper(), text.count("\n", 0, token.start()) + 1))
    return found


def _unescaped(text: str) -> str:
    r"""With `\uXXXX` read as the character it stands for, as the standard has it (section 19.2)."""

    def character(match: re.Match[str]) -> str:
        code = int(match[1] or match[2], 16)
        return chr(code) if code < 0x110000 and not 0xD800 <= code < 0xE000 else " "

    return _ESCAPE.sub(character, text)
