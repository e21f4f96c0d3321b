"""The look at a text before a parser sees it: depth as the grammars count it, declarations wherever they hide."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pyoxigraph as ox
import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidFacts
from graph.guarded.scan import JSON, MOST_NESTED, TURTLE, XML, depth_of

RDF = 'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:e="http://e/"'


@pytest.mark.parametrize(
    ("grammar", "text", "depth"),
    [
        (TURTLE, "<a> <b> [ <c> ( 1 [ ] ) ] .", 3),
        (TURTLE, '<a> <b> "[[[" , """[ " [""" , \'[[\', <http://h/[> . # [[[[\n<a> e:\\( 1 .', 0),
        (TURTLE, "{ <a> <b> <<( <c> <d> 1 )>> . }", 2),
        (JSON, '{"a": [{"b": "[[[[\\"[["}]}', 3),
        (XML, "<a b='>' c=\"/>\"><b/><!-- <c><c><c> --><![CDATA[<d>]]><?x <e>?></a>", 1),
        (XML, "<a><b><c/></b><b></b></a>", 2),
    ],
)
def test_brackets_and_tags_are_counted_where_they_are_ones(grammar: str, text: str, depth: int) -> None:
    assert depth_of(text.encode(), grammar, "f") == depth


@pytest.mark.parametrize(
    ("grammar", "opening", "closing"),
    [(TURTLE, "[<p>", "]"), (TURTLE, "(", ")"), (JSON, "[", "]"), (XML, "<a>", "</a>")],
)
def test_too_deep_is_told_with_its_line(grammar: str, opening: str, closing: str) -> None:
    depth_of(("\n" + opening * MOST_NESTED + closing * MOST_NESTED).encode(), grammar, "f")

    with pytest.raises(InvalidFacts, match="f line 2: nested more than 100 levels deep"):
        depth_of(("\n" + opening * (MOST_NESTED + 1)).encode(), grammar, "f")


@pytest.mark.parametrize(
    "text",
    [
        '<!DOCTYPE r [<!ENTITY a "x">]><r/>',
        '<?xml version="1.0"?><!-- it says: --><!DOCTYPE r SYSTEM "http://127.0.0.1/r.dtd"><r/>',
        "<!-- > --><!DOCTYPE r><r/>",
        '<r a="<!-- "><!DOCTYPE r [<!ENTITY a "x">]><b c=" -->"/></r>',
        '<r><!DOCTYPE r [<!ENTITY a "x">]>&a;</r>',
        '<!--><!DOCTYPE r [<!ENTITY a "x">]><r><!-- --></r>',
        "<r><![CDATA[ ]]><!DOCTYPE r></r>",
        '<?x ><!DOCTYPE r [<!ENTITY a "?>"><!ENTITY b "x">]><r/>',
        '<!doctype r [<!ENTITY a "x">]><r/>',
    ],
)
def test_a_declaration_is_found_wherever_it_hides(text: str) -> None:
    with pytest.raises(InvalidFacts):
        depth_of(text.encode(), XML, "f")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_another_encoding_is_refused_since_it_could_hide_anything(encoding: str) -> None:
    for grammar, text in ((XML, "<r/>"), (JSON, '{"a": 1}'), (TURTLE, "<a> <b> 1 .")):
        with pytest.raises(InvalidFacts, match="save it as UTF-8"):
            depth_of(text.encode(encoding), grammar, "f")
    with pytest.raises(InvalidFacts, match="save it as UTF-8"):
        depth_of(b"\xef\xbb\xbf<?xml version=\"1.0\" encoding='cp037'?><r/>", XML, "f")
    assert depth_of(b'<?xml version="1.0" encoding="UTF-8"?><r/>', XML, "f") == 0


PIECES = [
    "<!DOCTYPE r [<!ENTITY a 'BOOM'>]>",
    "<!ENTITY a 'BOOM'>",
    "<!--",
    "-->",
    "<![CDATA[",
    "]]>",
    "<?x ",
    "?>",
    "<!",
]
PIECES += ["<e:b>", "</e:b>", '<e:c e:d="', "<e:c e:d='", '"', "'", "/>", ">", "<", "-", "]", " ", "&a;", "&lt;", "\n"]


@given(st.lists(st.sampled_from(PIECES), max_size=8), st.lists(st.sampled_from(PIECES), max_size=12))
def test_what_the_look_lets_through_declares_nothing(before: list[str], inside: list[str]) -> None:
    """Judged by the parser itself: no entity that the document declares ever stands for anything."""
    text = (
        f"{''.join(before)}<rdf:RDF {RDF}><rdf:Description><e:p>&a;{''.join(inside)}</e:p></rdf:Description></rdf:RDF>"
    )
    try:
        depth_of(text.encode(), XML, "f")
    except InvalidFacts:
        return

    try:
        said = [str(quad) for quad in ox.parse(text, format=ox.RdfFormat.RDF_XML, base_iri="http://e/")]
    except (SyntaxError, ValueError):
        return
    assert not any("BOOM" in one.replace("ENTITY a 'BOOM'", "") for one in said)


def xml_depth(element: ElementTree.Element) -> int:
    return 1 + max((xml_depth(child) for child in element), default=0)


TREES = st.recursive(st.just(()), lambda inner: st.lists(inner, min_size=1, max_size=3).map(tuple), max_leaves=20)


@given(TREES)
def test_the_depth_of_xml_is_that_of_its_tree(tree: tuple[object, ...]) -> None:
    def written(node: tuple[object, ...]) -> str:
        return f"<a b='/>'>{''.join(map(written, node))}</a>"  # type: ignore[arg-type]

    text = written(tree)

    assert depth_of(text.encode(), XML, "f") == xml_depth(ElementTree.fromstring(text))


VALUES = st.recursive(
    st.text(st.sampled_from('a"\\[]{}\n')),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(st.sampled_from('a"[{')), inner, max_size=3),
    max_leaves=20,
)


@given(VALUES)
def test_the_depth_of_json_is_that_of_its_value(value: object) -> None:
    def depth(found: object) -> int:
        inner = found.values() if isinstance(found, dict) else found if isinstance(found, list) else None
        return 0 if inner is None else 1 + max(map(depth, inner), default=0)

    assert depth_of(json.dumps(value).encode(), JSON, "f") == depth(value)
