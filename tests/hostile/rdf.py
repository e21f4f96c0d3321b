"""RDF made to break its readers, in five syntaxes and two that hold named graphs.

Nesting, entities, names without end, statements about statements, contexts fetched from elsewhere, lines without end,
and what looks like one thing and is another. Where a kind of attack is commonly known, it is named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from tests.hostile.bodies import JSON, WHO, Hostile

XML_HEAD = '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:e="http://e.example/">'
THING = '<rdf:Description rdf:about="http://e.example/a"><e:p>{}</e:p></rdf:Description></rdf:RDF>'
TTL = "@prefix e: <http://e.example/> .\n"
CONTEXT = '{"@context":{"p":"http://e.example/p"},"@id":"http://e.example/a",'


def laughs(layers: int) -> str:
    """Entities of entities: some hundred bytes stand for 10^layers ("billion laughs")."""
    return '<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, layers + 1))


def blow_up(times: int) -> str:
    """One long entity named often ("quadratic blowup")."""
    return f'<!DOCTYPE r [<!ENTITY a "{"x" * 50_000}">]>{XML_HEAD}' + THING.format("&a;" * times)


# name -> ending, text. Each is refused as a file; those in NOTES as what a note states as well.
TEXTS: dict[str, tuple[str, Callable[[], str]]] = {
    "entities of entities": ("rdf", lambda: f"<!DOCTYPE r [{laughs(10)}]>{XML_HEAD}{THING.format('&a10;')}"),
    "entities after a comment": (
        "rdf", lambda: f"<?xml version='1.0'?><!-- <r> --><!DOCTYPE r [{laughs(9)}]>{XML_HEAD}{THING.format('&a9;')}"),
    "entities in an attribute": (
        "rdf", lambda: f"<!DOCTYPE r [{laughs(9)}]>{XML_HEAD}<rdf:Description rdf:about='&a9;' e:p='&a9;'/></rdf:RDF>"),
    "entities between quotes": (
        "rdf", lambda: f"{XML_HEAD}<e:T e:p='<!-- '/><!DOCTYPE r [{laughs(9)}]>{THING.format('&a9;')}<!-- -->"),
    "one entity named often": ("rdf", lambda: blow_up(20_000)),
    "an entity from a file": (
        "rdf", lambda: f'<!DOCTYPE r [<!ENTITY a SYSTEM "file:///etc/passwd">]>{XML_HEAD}{THING.format("&a;")}'),
    "a document type from elsewhere": (
        "rdf", lambda: f'<!DOCTYPE r SYSTEM "http://127.0.0.1:9/r.dtd">{XML_HEAD}{THING.format("x")}'),
    "entities of parameters": (
        "rdf", lambda: f'<!DOCTYPE r [<!ENTITY % a "{"x" * 9000}"><!ENTITY % b "%a;%a;">%b;]>{XML_HEAD}</rdf:RDF>'),
    "an entity that is itself": ("rdf", lambda: f'<!DOCTYPE r [<!ENTITY a "&a;">]>{XML_HEAD}{THING.format("&a;")}'),
    "elements 20,000 deep": (
        "rdf", lambda: XML_HEAD + "<e:T><e:p>" * 20_000 + "</e:p></e:T>" * 20_000 + "</rdf:RDF>"),
    "elements never closed": ("rdf", lambda: XML_HEAD + "<rdf:Description><e:p>" * 100_000),
    "an XML text never closed": ("rdf", lambda: XML_HEAD + "<rdf:Description e:p='" + "x" * 2_000_000),
    "an XML comment never closed": ("rdf", lambda: XML_HEAD + "<!-" + "<!--" * 400_000),
    "an XML literal that is a bomb": (
        "rdf", lambda: XML_HEAD + "<rdf:Description><e:p rdf:parseType='Literal'>" + "<x>" * 300_000),
    "objects 2,000 deep": ("jsonld", lambda: CONTEXT + '"p":{' * 2_000 + '"p":"x"' + "}" * 2_001),
    "objects 50,000 deep": ("jsonld", lambda: CONTEXT + '"p":{' * 50_000 + '"p":"x"' + "}" * 50_001),
    "lists 100,000 deep": ("jsonld", lambda: CONTEXT + '"p":' + "[" * 100_000 + "]" * 100_000 + "}"),
    "a context from elsewhere": ("jsonld", lambda: '{"@context":"http://127.0.0.1:9/c.jsonld","p":1}'),
    "a context from a file": ("jsonld", lambda: '{"@context":["file:///etc/passwd"],"p":1}'),
    "contexts that take each other in": (
        "jsonld", lambda: '{"@context":{"@import":"http://127.0.0.1:9/c"},"@id":"http://e.example/a"}'),
    "a JSON text never closed": ("jsonld", lambda: CONTEXT + '"p":"' + 'x\\"' * 500_000),
    "JSON in sixteen bits": ("jsonld", lambda: (CONTEXT + '"p":1}').encode("utf-16").decode("latin-1")),
    "30,000 things without names": ("jsonld", lambda: CONTEXT + '"p":[' + ",".join(['{"p":1}'] * 30_000) + "]}"),
    "brackets 20,000 deep": ("ttl", lambda: TTL + "e:a e:p " + "[ e:p " * 20_000 + "1" + " ]" * 20_000 + " ."),
    "lists 20,000 deep": ("ttl", lambda: TTL + "e:a e:p " + "( " * 20_000 + ") " * 20_000 + " ."),
    "brackets never closed": ("ttl", lambda: TTL + "e:a e:p " + "[ e:p ( " * 200_000),
    "30,000 blank nodes": ("ttl", lambda: TTL + "[] e:p [] .\n" * 30_000),
    "one node with 10^5 statements": ("ttl", lambda: TTL + "e:a e:p " + ",".join(map(str, range(100_000))) + " ."),
    "a literal of 3 MB": ("ttl", lambda: f'{TTL} e:a e:p "{"x" * 3_000_000}" .'),
    "a text never closed": ("ttl", lambda: TTL + 'e:a e:p """\n' + '\\"""\n' * 200_000),
    "a name without end": ("ttl", lambda: TTL + "e:" + "a.-_1" * 400_000),
    "an IRI without end": ("ttl", lambda: TTL + "<http://e.example/" + "a" * 2_000_000),
    "prefixes without end": (
        "ttl", lambda: "".join(f"@prefix p{n}: <http://e.example/{n}> .\n" for n in range(60_000)) + "p1:a p2:b"),
    "statements about statements": (
        "ttl", lambda: TTL + "e:a e:p " + "<<( e:a e:p " * 20_000 + "1" + " )>>" * 20_000 + " ."),
    "no text at all": ("ttl", lambda: "\0" * 100_000),
    "what is no syntax": ("ttl", lambda: "<<<<<>>>>>[[]](({{}}" * 10_000),
    "half a character": ("ttl", lambda: TTL + 'e:a e:p "\xff\xfe" .'),
    "a chain of 30,000 blank nodes": (
        "nt", lambda: "".join(f"_:n{n} <http://e.example/p> _:n{n + 1} .\n" for n in range(30_000))),
    "a ring of blank nodes": (
        "nt", lambda: "".join(f"_:n{n} <http://e.example/p> _:n{(n + 1) % 5_000} .\n" for n in range(5_000))),
    "one line of 3 MB": ("nt", lambda: f'<http://e.example/a> <http://e.example/p> "{"x" * 3_000_000}'),
    "triples in triples": (
        "nt", lambda: "<http://a/> <http://b/> " + "<<( <http://a/> <http://b/> " * 20_000 + '"" )>> ' * 20_000 + "."),
    "20,000 named things": (
        "nt", lambda: "".join(f'<http://e.example/{n}> <http://e.example/p> "x" .\n' for n in range(20_000))),
    "graphs in graphs": ("trig", lambda: TTL + "e:g { " * 20_000 + "}" * 20_000),
    "brackets in a graph 20,000 deep": (
        "trig", lambda: TTL + "e:g { e:a e:p " + "[ e:p " * 20_000 + "1" + " ]" * 20_000 + " }"),
    "loose statements": ("trig", lambda: TTL + "".join(f"e:a{n} e:p {n} .\n" for n in range(50_000))),
}  # fmt: skip
SYNTAX = {"ttl": "turtle", "nt": "n-triples", "jsonld": "json-ld", "rdf": "rdf-xml"}
DATASETS = ("trig", "nq", "jsonld")
MOST_IN_A_NOTE = 900_000
# As what a note states these are in order: cut to a note's length they state nothing, or they are plain text.
IN_ORDER_IN_A_NOTE = ("prefixes without end", "half a character")


def bodies() -> Iterator[Hostile]:
    """Every text as an import; as a merge where its syntax has named graphs; as a note where it has none."""
    for name, (ending, text) in TEXTS.items():
        content = partial(_encoded, text)
        yield Hostile(f"import: {name}", "/imports", content, params={**WHO, "name": f"hostile.{ending}"})
        if ending in DATASETS:
            yield Hostile(f"merge: {name}", "/merges", content, params={"name": f"hostile.{ending}"})
        if ending in SYNTAX and name not in IN_ORDER_IN_A_NOTE:
            yield Hostile(f"note: {name}", "/notes", partial(_note, text, SYNTAX[ending]), JSON)


def _encoded(text: Callable[[], str]) -> bytes:
    return text().encode("latin-1", "replace")


def _note(text: Callable[[], str], syntax: str) -> bytes:
    import json

    return json.dumps({**WHO, "text": "hostile", "statements": text()[:MOST_IN_A_NOTE], "syntax": syntax}).encode()
