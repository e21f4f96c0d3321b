"""The shapes run by pySHACL, an engine that this project did not write. Slow (seconds), so only `graph check` asks.

rdflib and pySHACL are imported on first use, so that loading facts does not pay for them.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from pathlib import Path

from pyoxigraph import BlankNode, Literal

from graph.catalogue.names import SH, XSD
from graph.catalogue.shapes import Violation
from graph.catalogue.statements import Statements


def list_shacl_violations(facts: Statements, shapes: Iterable[Path], vocabulary: Iterable[Path]) -> list[Violation]:
    """Every validation result of pySHACL over the facts, as (subject, property, message)."""
    import pyshacl
    import rdflib

    logging.getLogger("rdflib.term").setLevel(logging.ERROR)  # ill-typed literals are what we are looking for
    shape_graph, words = rdflib.Graph(), rdflib.Graph()
    for file in shapes:
        shape_graph.parse(file)
    for file in vocabulary:
        words.parse(file)
    _, report, _ = pyshacl.validate(_to_rdflib(facts), shacl_graph=shape_graph, ont_graph=words, inference="none")
    found = []
    for result in report.subjects(rdflib.RDF.type, rdflib.URIRef(SH + "ValidationResult")):
        focus = report.value(result, rdflib.URIRef(SH + "focusNode"))
        path = report.value(result, rdflib.URIRef(SH + "resultPath"))
        message = report.value(result, rdflib.URIRef(SH + "resultMessage"))
        key = f"_:{focus}" if isinstance(focus, rdflib.BNode) else str(focus)
        found.append(Violation(key, str(path or ""), str(message or "breaks a shape")))
    return sorted(found, key=lambda v: (v.subject, v.property, v.message))


def _to_rdflib(facts: Statements):  # type: ignore[no-untyped-def]
    """The statements as an rdflib graph, blank nodes under the same labels and literals as written."""
    import rdflib

    def node(key: str):  # type: ignore[no-untyped-def]
        return rdflib.BNode(key[2:]) if key.startswith("_:") else rdflib.URIRef(key)

    graph = rdflib.Graph()
    for subject, properties in facts.values.items():
        for prop, values in properties.items():
            for value in values:
                if isinstance(value, Literal):
                    plain = value.language or value.datatype.value == XSD + "string"  # rdflib tells the two apart
                    datatype = None if plain else rdflib.URIRef(value.datatype.value)
                    made = rdflib.Literal(value.value, lang=value.language, datatype=datatype, normalize=False)
                else:
                    made = node(str(value) if isinstance(value, BlankNode) else value.value)
                graph.add((node(subject), rdflib.URIRef(prop), made))
    return graph
