"""The namespaces of facts, and the short ids that the rest of the program uses instead of IRIs.

An id is the local part of an IRI under the shop's base or the kinds' base; any other IRI stays whole, so that
facts of another shop keep their names.
"""

from __future__ import annotations

LAY = "https://layshaft.example/vocabulary#"
KIND = "https://layshaft.example/kinds/"
SHOP = "https://shop.example/"  # RFC 2606; a shop sets its own
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
SKOS = "http://www.w3.org/2004/02/skos/core#"
PROV = "http://www.w3.org/ns/prov#"
DCTERMS = "http://purl.org/dc/terms/"
SH = "http://www.w3.org/ns/shacl#"
XSD = "http://www.w3.org/2001/XMLSchema#"

TYPE = RDF + "type"
LABEL = RDFS + "label"
PREF_LABEL = SKOS + "prefLabel"
DEFINITION = SKOS + "definition"
BROADER = SKOS + "broader"
SOURCE = DCTERMS + "source"

PREFIXES = {"lay": LAY, "kind": KIND, "rdfs": RDFS, "skos": SKOS, "prov": PROV, "dcterms": DCTERMS, "rdf": RDF}


def iri_of(name: str) -> str:
    """The IRI of a property by its prefixed name; without a prefix it is the vocabulary's own.

    >>> iri_of("hours") == LAY + "hours", iri_of("rdfs:label") == LABEL
    (True, True)
    """
    prefix, colon, local = name.partition(":")
    return PREFIXES[prefix] + local if colon else LAY + name


def local_id(iri: str, shop_base: str = SHOP) -> str:
    """The short id of an IRI.

    >>> local_id("https://layshaft.example/kinds/spline"), local_id("https://other.example/case-7")
    ('spline', 'https://other.example/case-7')
    """
    for base in (shop_base, KIND, LAY):
        if iri.startswith(base) and len(iri) > len(base):
            return iri[len(base) :]
    return iri


def short_name(iri: str, shop_base: str = SHOP) -> str:
    """The IRI as a person writes it in Turtle: `lay:hours`, `shop:case-marl-5`, or `<...>`.

    >>> short_name(LAY + "hours")
    'lay:hours'
    """
    for prefix, base in {"shop": shop_base, **PREFIXES}.items():
        if iri.startswith(base) and len(iri) > len(base):
            return f"{prefix}:{iri[len(base) :]}"
    return f"<{iri}>"
