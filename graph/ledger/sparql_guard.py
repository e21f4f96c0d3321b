"""Which SPARQL text may run at all: queries on our own data. SERVICE, FROM and updates are refused before it runs.

A query engine fetches what SERVICE, FROM and LOAD name, so readers could make this machine call any other.
The text is cut into tokens as the grammar does (W3C SPARQL 1.1, section 19.8), so a keyword inside a string, an
IRI, a comment, a variable or a prefixed name is not mistaken for one, and cannot hide in one either. The time that
this takes grows with the length of the text and not faster.
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
# Every repetition is possessive, and a run of letters that is no prefix is taken as a whole: no character is looked at
# more than a few times, however the text is made. (With backtracking, 16 kB of "a1a1a1..." took seconds.)
_TOKEN = re.compile(
    r"""(?P<iri><[^<>"{}|^`\\\x00-\x20]*+>)
      | (?P<text>\"{3}(?:\"{0,2}(?:[^\"\\]|\\.))*+\"{3} | '{3}(?:'{0,2}(?:[^'\\]|\\.))*+'{3}
               | "(?:[^"\\\n\r]|\\.)*+" | '(?:[^'\\\n\r]|\\.)*+')
      | (?P<unclosed>["'])
      | (?P<comment>\#[^\n\r]*+)
      | (?P<variable>[?$]\w++)
      | (?P<language>@[A-Za-z]++(?:-[A-Za-z0-9]++)*+)
      | (?P<blank>_:\w(?:\.*+[\w-])*+)
      | (?P<name>(?:[^\W\d_][\w.-]*+(?<!\.))?+:
               (?:(?:[\w:]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%])
                  (?:\.*+(?:[\w:-]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%]))*+)?+)
      | (?P<run>[^\W\d_][\w.-]*+)
      | (?P<other>.)""",
    re.VERBOSE | re.DOTALL,
)
_WORD = re.compile("[A-Za-z]+")
_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")


def query_form(text: str) -> str:
    """`SELECT`, `ASK`, `CONSTRUCT` or `DESCRIBE`. Raises InvalidQuestion for a text that may not run, LimitExceeded."""
    if len(text.encode("utf-8", "replace")) > MAX_QUERY_BYTES:
        raise LimitExceeded(f"the query is longer than {MAX_QUERY_BYTES:,} bytes")
    words = _keywords(text)
    if (plain := _unescaped(text)) != text:
        words += _keywords(plain)
    for word, line in words:
        if word in _REFUSED:
            raise InvalidQuestion([Problem(f"query line {line}", f"{word} {_REFUSED[word]}")])
    form = next((word for word, _ in words if word in FORMS), "")
    if not form:
        raise InvalidQuestion([Problem("query", f"expected one of {', '.join(FORMS)}")])
    return form


def _keywords(text: str) -> list[tuple[str, int]]:
    found: list[tuple[str, int]] = []
    line, counted = 1, 0
    for token in _TOKEN.finditer(text):
        if token.lastgroup not in ("run", "unclosed"):
            continue
        line += text.count("\n", counted, token.start())
        counted = token.start()
        if token.lastgroup == "unclosed":
            message = f"a text that begins with {token[0]} is not closed; a quote inside a text is written \\{token[0]}"
            raise InvalidQuestion([Problem(f"query line {line}", message)])
        found += [(word.upper(), line) for word in _WORD.findall(token[0])]
    return found


def _unescaped(text: str) -> str:
    r"""With `\uXXXX` read as the character it stands for, as the standard has it (section 19.2)."""

    def character(match: re.Match[str]) -> str:
        code = int(match[1] or match[2], 16)
        return chr(code) if code < 0x110000 and not 0xD800 <= code < 0xE000 else " "

    return _ESCAPE.sub(character, text)
