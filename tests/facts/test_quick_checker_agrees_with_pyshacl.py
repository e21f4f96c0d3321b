"""The quick checker finds what pySHACL finds, on the wrong examples and on facts spoilt at random."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyoxigraph import Literal, NamedNode

from graph.catalogue.house import SHAPES_FOLDER, VOCABULARY_FOLDER, read_vocabulary
from graph.catalogue.names import KIND, LAY, SHOP, XSD
from graph.catalogue.shacl import list_shacl_violations
from graph.catalogue.shapes import list_violations, load_shapes
from graph.catalogue.statements import Statements, list_fact_files, read_statements
from graph.errors import InvalidFacts
from tests.facts.files import GOOD, WRONG

SHAPES = load_shapes(list_fact_files([SHAPES_FOLDER]))
SUBCLASSES = read_vocabulary()[1]
PARSING = [file for file in WRONG if file.stem != "malformed-turtle"]
ODD_VALUES: tuple[Literal | NamedNode, ...] = (
    Literal("1.5e0", datatype=NamedNode(XSD + "double")),  # NaN: see not-a-number.ttl; pySHACL 0.40 fails at some
    Literal("-3", datatype=NamedNode(XSD + "integer")),
    Literal("1.0005", datatype=NamedNode(XSD + "decimal")),
    Literal("2.50", datatype=NamedNode(XSD + "decimal")),
    Literal("true", datatype=NamedNode(XSD + "boolean")),
    Literal("perhaps"),
    Literal(" "),
    NamedNode(SHOP + "nobody"),
    NamedNode(SHOP + "disc"),
    NamedNode(KIND + "at-pilot"),
)


def read(*files: Path) -> Statements:
    facts, problems = read_statements(files, Statements(subclasses=SUBCLASSES))
    assert problems == []
    return facts


def compared(facts: Statements) -> tuple[set[tuple[str, str]], set[tuple[str, str]]]:
    slow = list_shacl_violations(facts, list_fact_files([SHAPES_FOLDER]), list_fact_files([VOCABULARY_FOLDER]))
    quick = list_violations(facts, SHAPES)
    return {(v.subject, v.property) for v in quick}, {(v.subject, v.property) for v in slow}


@pytest.mark.parametrize("file", PARSING, ids=lambda file: file.stem)
def test_on_every_wrong_example(file: Path) -> None:
    quick, slow = compared(read(file))

    assert quick == slow


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(data=st.data())
def test_on_facts_spoilt_at_random(data: st.DataObject) -> None:
    facts = read(*GOOD)
    for _ in range(data.draw(st.integers(1, 6))):
        subject = data.draw(st.sampled_from(sorted(facts.declared)))
        prop = data.draw(
            st.sampled_from(sorted(p for p in facts.values[subject] if p.startswith(LAY)) or [LAY + "cash"])
        )
        values = facts.values[subject].setdefault(prop, [])
        act = data.draw(st.sampled_from(("drop", "replace", "add")))
        if act != "add":
            values.clear()
        odd = data.draw(st.sampled_from(ODD_VALUES))
        if act != "drop" and odd not in values:
            values.append(odd)
        if not values:
            del facts.values[subject][prop]

    quick, slow = compared(facts)

    assert quick == slow


def test_a_constraint_that_the_quick_checker_does_not_know_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "shape.ttl"
    file.write_text(
        "@prefix sh: <http://www.w3.org/ns/shacl#> . @prefix lay: <https://layshaft.example/vocabulary#> .\n"
        "lay:S a sh:NodeShape ; sh:targetClass lay:Part ; sh:property [ sh:path lay:cash ; sh:lessThan lay:hours ] .\n"
    )

    with pytest.raises(InvalidFacts, match="does not know this use of <http://www.w3.org/ns/shacl#lessThan>"):
        load_shapes([file])
