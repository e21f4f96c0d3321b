"""Every word has a label, a definition and, if it is a quantity, a unit; every shape says what to write."""

from __future__ import annotations

from pathlib import Path

import pytest
import rdflib
from rdflib import OWL, RDF, RDFS, SH, SKOS

from graph.catalogue import model
from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.house import KINDS_FOLDER, SHAPES_FOLDER, VOCABULARY_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.names import LAY

LAYSHAFT = rdflib.Namespace(LAY)


def graph_of(folder: Path) -> rdflib.Graph:
    graph = rdflib.Graph()
    for file in sorted(folder.rglob("*.ttl")):
        graph.parse(file)
    return graph


VOCABULARY = graph_of(VOCABULARY_FOLDER)
SHAPES = graph_of(SHAPES_FOLDER)
TERMS = sorted({str(term) for term in VOCABULARY.subjects() if str(term).startswith(LAY)})


def missing(graph: rdflib.Graph, term: str, *properties: rdflib.URIRef) -> list[str]:
    return [str(prop) for prop in properties if not str(graph.value(rdflib.URIRef(term), prop) or "").strip()]


@pytest.mark.parametrize("term", TERMS)
def test_every_word_has_a_label_and_a_definition(term: str) -> None:
    assert missing(VOCABULARY, term, RDFS.label, SKOS.definition) == []


def test_a_word_without_a_definition_would_be_noticed() -> None:
    graph = rdflib.Graph().parse(data="<urn:x> <http://www.w3.org/2000/01/rdf-schema#label> 'x' .", format="turtle")

    assert missing(graph, "urn:x", RDFS.label, SKOS.definition) == [str(SKOS.definition)]


@pytest.mark.parametrize("datatype", [rdflib.XSD.decimal, rdflib.XSD.integer])
def test_every_quantity_names_its_unit(datatype: rdflib.URIRef) -> None:
    quantities = list(VOCABULARY.subjects(RDFS.range, datatype))

    assert quantities
    assert [q for q in quantities if VOCABULARY.value(q, LAYSHAFT.unit) is None] == []


def test_every_edge_kind_of_the_model_is_a_class_under_edge() -> None:
    under_edge = {str(name) for name in VOCABULARY.subjects(RDFS.subClassOf, LAYSHAFT.Edge)}

    assert set(EDGE_CLASSES) == under_edge
    assert set(EDGE_CLASSES.values()) == set(model.EDGE_KINDS)


def test_every_shape_has_a_message() -> None:
    nodes = set(SHAPES.subjects(RDF.type, SH.NodeShape)) | set(SHAPES.objects(None, SH.property))
    in_alternatives = {p for member in SHAPES.objects(None, RDF.first) for p in SHAPES.objects(member, SH.property)}

    silent = [node for node in nodes - in_alternatives if not str(SHAPES.value(node, SH.message) or "").strip()]

    assert len(nodes) > 50
    assert silent == []


def test_shapes_speak_only_of_words_that_the_vocabulary_has() -> None:
    spoken = {str(o) for o in SHAPES.objects() if str(o).startswith(LAY)}

    assert spoken - set(TERMS) == set()


def test_every_property_of_the_facts_has_a_shape() -> None:
    """The ledger's own words are written by the program alone; these are written by hand."""
    words = rdflib.Graph().parse(VOCABULARY_FOLDER / "layshaft.ttl")
    properties = {p for kind in (OWL.DatatypeProperty, OWL.ObjectProperty) for p in words.subjects(RDF.type, kind)}

    assert {str(p) for p in properties} - {str(p) for p in SHAPES.objects(None, SH.path)} == set()


def test_every_hour_and_every_limit_of_the_trade_names_its_source() -> None:
    kinds = graph_of(KINDS_FOLDER)
    source = rdflib.DCTERMS.source
    figures = {
        subject
        for prop in (LAYSHAFT.usualHours, LAYSHAFT.usualLowMm, LAYSHAFT.usualHighMm)
        for subject in kinds.subjects(prop, None)
    }

    assert len(figures) > 30
    assert [str(subject) for subject in figures if not str(kinds.value(subject, source) or "").strip()] == []


@pytest.mark.parametrize(
    "joint",
    [
        "engine-face", "housing-alignment", "housing-to-case", "input-bearing-in-housing", "input-bearing-on-shaft",
        "shaft-location", "clutch-spline", "pilot-in-crank", "pilot-on-nose", "clutch-to-flywheel", "release-contact",
        "starter-mesh", "output", "prop-flange", "lever-in-tunnel", "mount-on-box", "crank-sensor-signal",
        "gear-position-wiring",
    ],
)  # fmt: skip
def test_the_joints_that_a_conversion_has_to_close_are_there(joint: str) -> None:
    kinds = load_catalogue([])

    assert all(position in kinds.position_kinds for position in kinds.joint_kinds[joint].between)


def test_evidence_runs_from_measured_to_contradicted() -> None:
    levels = sorted(load_catalogue([]).evidence_levels.values(), key=lambda level: level.rank)

    assert [level.rank for level in levels] == list(range(1, 11))
    assert (levels[0].id, levels[-1].id) == ("measured-on-these-parts", "contradicted")


def test_getting_at_the_gear_train_takes_four_and_a_half_and_five_hours() -> None:
    """Common practice: box out and in 4.5 h, strip and rebuild 5.0 h, as a sum over the states passed through."""
    tasks = load_catalogue([]).tasks

    def stated(task: str) -> int:
        found = tasks[task].hours_hundredths
        assert found is not None, task
        return found

    def hours(task: str, below: frozenset[str] = frozenset()) -> int:
        reached, waiting = set(), [task]
        while waiting:
            name = waiting.pop()
            if name not in reached and name not in below:
                reached.add(name)
                waiting += tasks[name].after
        return sum(stated(name) for name in reached)

    out = {"raised-and-drained", "prop-shaft-off-and-on", "crossmember-and-lever-off", "gearbox-out-and-in"}
    assert hours("gearbox-out-and-in") == 450
    assert hours("gear-train-out-and-in", frozenset(out)) == 500
