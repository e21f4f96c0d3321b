"""JSON (RFC 8259), pictures (PNG: ISO/IEC 15948; SVG), archives and SPARQL 1.1, made to break who reads them."""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import partial

from tests.hostile.bodies import JSON, Hostile
from tests.hostile.rdf import laughs
from tests.hostile.tables import zipped

SVG = "image/svg+xml"
MAIN = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1">'


def nested(depth: int, opens: str = "[", closes: str = "]") -> bytes:
    """Brackets in brackets."""
    return (opens * depth + closes * depth).encode()


def field(name: str, value: str) -> bytes:
    """An object of one field whose value is this text of JSON."""
    return f'{{"{name}":{value}}}'.encode("utf-8", "surrogatepass")


DOCUMENTS: dict[str, Callable[[], bytes]] = {
    "lists 100,000 deep": partial(nested, 100_000),
    "lists 1,500,000 deep": partial(nested, 1_500_000),
    "objects 100,000 deep": lambda: b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
    "lists without an end": lambda: b"[" * 3_000_000,
    "a number of 3 MB": lambda: field("rate", "9" * 3_000_000),
    "an exponent of millions": partial(field, "rate", "1e5000000"),
    "not a number": partial(field, "rate", "NaN"),
    "an endless number": partial(field, "rate", "-Infinity"),
    "the same name twice": lambda: b'{"text":"a","text":"b"}',
    "a name 200,000 times": lambda: b"{" + b'"a":1,' * 200_000 + b'"a":1}',
    "300,000 names": lambda: json.dumps({f"n{number}": 0 for number in range(200_000)}).encode(),
    "NUL in a text": partial(field, "gearbox", '"tansy\\u00005"'),
    "a NUL byte": lambda: b'{"gearbox":"tansy\0"}',
    "half a pair": partial(field, "gearbox", '"\\ud800"'),
    "half a pair in bytes": partial(field, "gearbox", '"\ud800"'),
    "half a pair as a name": lambda: b'{"\\udfff":1}',
    "sixteen bits": lambda: '{"gearbox":"tansy"}'.encode("utf-16"),
    "a mark before it": lambda: b"\xef\xbb\xbf[]",
    "an overlong slash": lambda: b'{"gearbox":"\xc0\xaf"}',
    "half an object": lambda: b'{"gearbox":',
    "nothing": lambda: b"",
    "a text alone": lambda: b'"tansy-5"',
    "two documents": lambda: b"{}{}",
    "a text of 3 MB": lambda: field("gearbox", f'"{"x" * 3_000_000}"'),
    "a million zeros": lambda: b"[" + b"0," * 1_000_000 + b"0]",
    "a comment": lambda: b'{/* */"gearbox":1}',
    "the parents of objects": lambda: b'{"__proto__":{"a":1},"__class__":"os.system"}',
}  # fmt: skip
READERS = ("/notes", "/solve", "/routes", "/fit-checks/press", "/identify")


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG with its sum."""
    return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))


def png(width: int, height: int, data: bytes = b"\0" * 10, more: bytes = b"") -> bytes:
    """A PNG that says that it has this size."""
    head = chunk(b"IHDR", struct.pack(">LLBBBBB", width, height, 8, 6, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + more + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


KEPT_AS_THEY_ARE: dict[str, Callable[[], bytes]] = {
    "a picture of 2^31 by 2^31": lambda: png(2**31 - 1, 2**31 - 1),
    "a picture that unpacks to 500 MB": lambda: png(20_000, 20_000, b"\0" * (500 << 20)),
    "a remark that unpacks to 200 MB": lambda: png(
        1, 1, more=chunk(b"zTXt", b"a\0\0" + zlib.compress(b"\0" * (200 << 20)))),
    "a picture with a wrong sum": lambda: png(1, 1)[:-6] + b"\0\0\0\0\0\0",
}  # fmt: skip
RIGHTLY_ANSWERED = ("all paths of all", "a pattern that goes back")  # soon answered by the engine, within its bounds
REFUSED: dict[str, Callable[[], bytes]] = {
    "entities": lambda: f"<!DOCTYPE svg [{laughs(10)}]>{MAIN}<text>&a10;</text></svg>".encode(),
    "an entity from a file": lambda: (
        f'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>{MAIN}<text>&a;</text></svg>'.encode()),
    "a script": lambda: f"{MAIN}<script>alert(1)</script></svg>".encode(),
    "a handler": lambda: f'{MAIN}<rect onload="alert(1)"/></svg>'.encode(),
    "a page inside": lambda: f"{MAIN}<foreignObject><iframe src='/notes'/></foreignObject></svg>".encode(),
    "uses of uses": lambda: (MAIN + "".join(
        f'<g id="g{n}">{f"<use href=&quot;#g{n - 1}&quot;/>" * 10}</g>' for n in range(1, 12)) + "</svg>").encode(),
    "groups 200,000 deep": lambda: (MAIN + "<g>" * 200_000).encode(),
    "an address of ours": lambda: f'{MAIN}<image href="http://127.0.0.1:9/"/></svg>'.encode(),
    "a zip": lambda: zipped({"a": b"\0" * (100 << 20)}),
    "a zip in a zip": lambda: zipped({"a.zip": zipped({"b": b"\0" * (100 << 20)})}),
    "a zip that leaves its folder": lambda: zipped({"../../../../etc/cron.d/x": b"x"}),
    "a zip of 60,000 files": lambda: zipped({f"{number}": b"" for number in range(60_000)}),
    "a page": lambda: b"<!doctype html><script>alert(1)</script>",
    "nothing": lambda: b"",
    "the beginning of a picture late": lambda: b"GIF89a" + png(1, 1),
}  # fmt: skip
SPARQL: dict[str, Callable[[], str]] = {
    "braces 20,000 deep": lambda: "SELECT * WHERE " + "{" * 20_000 + "}" * 20_000,
    "brackets 20,000 deep": lambda: "SELECT * WHERE { ?s ?p " + "(" * 20_000 + ")" * 20_000 + "}",
    "everything by everything": lambda: "SELECT * WHERE {" + "".join(f"?a{n} ?b{n} ?c{n} . " for n in range(12)) + "}",
    "all paths of all": lambda: "SELECT * WHERE { ?a (!<x:y>)* ?b . ?b (!<x:y>)* ?c . ?c (!<x:y>)* ?a }",
    "a pattern that goes back": lambda: (
        f'SELECT * WHERE {{ ?s ?p ?o FILTER(REGEX("{"a" * 5_000}!", "(a|a|aa)+$")) ?q ?r ?t . ?u ?v ?w }}'),
    "texts without end": lambda: (
        'SELECT (CONCAT(' + ",".join(["?x"] * 2_000) + ') AS ?y) WHERE { BIND("'
        + "x" * 20_000 + '" AS ?x) ?a ?b ?c . ?d ?e ?f . ?g ?h ?i }'),
    "an update": lambda: "DELETE WHERE { ?s ?p ?o }",
    "an update behind a query": lambda: "SELECT * WHERE { ?s ?p ?o } ; DROP ALL",
    "a question of another server": lambda: "SELECT * WHERE { SERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }",
    "a load": lambda: "LOAD <file:///etc/passwd>",
    "facts from elsewhere": lambda: "SELECT * FROM <http://127.0.0.1:9/x> WHERE { ?s ?p ?o } ORDER BY (",
    "half a query": lambda: "SELECT * WHERE {",
    "nothing": lambda: "",
    "98 kB of quotes": lambda: "SELECT * WHERE { " + "'" * 98_000,
    "98 kB of comments": lambda: "#" * 98_000,
    "NUL": lambda: "SELECT * WHERE { ?s ?p '\0' ",
    "a million values": lambda: "SELECT * WHERE { VALUES ?x {" + "1 " * 1_000_000 + "} }",
    "a hundred thousand unions": lambda: "SELECT * WHERE { {?s ?p ?o}" + " UNION {?s ?p ?o}" * 20_000 + "}",
}  # fmt: skip


def bodies() -> Iterator[Hostile]:
    """Documents to every reader of JSON, pictures and archives as attachments, queries to the graph."""
    for name, make in DOCUMENTS.items():
        for path in READERS:
            long_name = (path, name) == ("/solve", "a text of 3 MB")  # a document's gearbox may be called anything
            right = frozenset({*range(400, 500), *((200,) if long_name else ())})
            yield Hostile(f"{path}: {name}", path, make, JSON, statuses=right)
    for name, make in KEPT_AS_THEY_ARE.items():
        kept = frozenset({201, *range(400, 500)})  # looked at within bounds, or refused
        yield Hostile(f"attachment: {name}", "/attachments", make, "image/png", params={"name": "p.png"}, statuses=kept)
    for name, make in REFUSED.items():
        media_type = "image/png" if "picture" in name else SVG
        yield Hostile(f"attachment: {name}", "/attachments", make, media_type, params={"name": "p.svg"})
    for name, query in SPARQL.items():
        right = frozenset({*range(400, 500), *((200,) if name in RIGHTLY_ANSWERED else ())})
        yield Hostile(f"query: {name}", "/sparql", partial(_encoded, query), "application/sparql-query", statuses=right)


def _encoded(query: Callable[[], str]) -> bytes:
    return query().encode()
