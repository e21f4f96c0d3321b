"""What the classes say of their fields, held to the vocabulary: every property is a word of it, and of its sort."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import pytest
import rdflib
from rdflib import OWL, RDF, RDFS, XSD

from graph.catalogue.compact.opened import list_tables
from graph.catalogue.compact.pack import kind_of_table
from graph.catalogue.described import CLASS_NAMES, EDGE_CLASSES, SORTS, TABLES, SaidField, said_fields
from graph.catalogue.house import VOCABULARY_FOLDER
from graph.catalogue.names import LAY

UNITS = rdflib.Namespace("http://qudt.org/vocab/unit/")
SAYS_NUMBERS = {"hundredths", "um", "exact", "whole"}
REFERS = {"ref", "refs", "pair", "evidence"}
# Fields that no fact states: the shop's record writes them, or what builds a thing works them out of several words.
OF_THE_RECORD = {
    "Part": {"deposit_hundredths", "deposit_counted_hundredths", "found_condition", "price_source"},
    "JointKind": {"counted_across", "counted_within", "odds_source"},
    "TaskKind": {"cash_is_rate"},
}


@pytest.fixture(scope="module")
def vocabulary() -> rdflib.Graph:
    graph = rdflib.Graph()
    for file in sorted(VOCABULARY_FOLDER.rglob("*.ttl")):
        graph.parse(file)
    return graph


def test_the_tables_are_those_of_the_catalogue() -> None:
    assert {name: kind for name, (kind, _) in TABLES.items()} == {name: kind_of_table(name) for name in list_tables()}


def own_words() -> list[tuple[str, SaidField, rdflib.URIRef]]:
    return [
        (name, said, rdflib.URIRef(iri))
        for kind, name in CLASS_NAMES.items()
        for said in said_fields(kind)
        for iri in said.properties
        if iri.startswith(LAY)
    ]


@pytest.mark.parametrize("kind", CLASS_NAMES, ids=lambda kind: kind.__name__)
def test_every_field_says_what_facts_say_of_it(kind: type) -> None:
    silent = {one.name for one in fields(kind) if not one.metadata} - {"id"}

    assert silent == OF_THE_RECORD.get(kind.__name__, set())


def test_every_property_is_a_word_of_the_vocabulary_and_of_its_sort(vocabulary: rdflib.Graph) -> None:
    assert len(own_words()) > 100
    for name, said, word in own_words():
        where, found = f"{name}.{said.name}: {word}", vocabulary.value(word, RDFS.range)
        refers = (word, RDF.type, OWL.ObjectProperty) in vocabulary
        assert refers or (word, RDF.type, OWL.DatatypeProperty) in vocabulary, where
        assert refers == (said.sort in REFERS | {"each", "listed"}), where
        assert (found in (XSD.decimal, XSD.integer)) == (said.sort in SAYS_NUMBERS), where
        assert (found == XSD.boolean) == (said.sort == "flag"), where


def test_what_is_counted_in_micrometres_is_stated_in_millimetres_and_nothing_else_is(vocabulary: rdflib.Graph) -> None:
    for name, said, word in own_words():
        if said.sort in SAYS_NUMBERS:
            unit = vocabulary.value(word, rdflib.URIRef(LAY + "unit"))
            assert (unit == UNITS.MilliM) == (said.sort == "um"), f"{name}.{said.name}: {unit}"


def test_every_class_is_one_of_the_vocabulary(vocabulary: rdflib.Graph) -> None:
    for iri in (*(LAY + name for name in CLASS_NAMES.values()), *EDGE_CLASSES):
        assert (rdflib.URIRef(iri), RDF.type, OWL.Class) in vocabulary, iri


def test_a_sort_that_nobody_can_read_is_refused_by_name() -> None:
    @dataclass
    class Misspelt:
        batch: str = field(default="", metadata={"txt": "batch"})

    with pytest.raises(TypeError, match="batch: 'txt' is no sort"):
        said_fields(Misspelt)
    assert "text" in SORTS
