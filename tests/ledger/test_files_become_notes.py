"""Imports: every RDF syntax and tables; all or nothing; a fault is told by row and column; no file crashes them."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.errors import InvalidFacts
from graph.ledger.book import Ledger
from graph.ledger.imports import Imported, ImportedAs, import_source, preview_file
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft

TURTLE = b"""@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:us a lay:Shop ; rdfs:label "us" ; lay:currency "GBP" ; lay:rate 60.00 .
shop:disc-240 a lay:Part ; rdfs:label "disc 240" ; lay:kind kind:clutch-disc ; lay:cash 45.00 ; lay:currency "GBP" ;
    lay:condition [ a lay:Condition ; lay:key "torque_nm" ; lay:operator "<=" ; lay:value "240" ;
        lay:text "to 240 Nm" ] .
"""
TABLE = """id;label;kind;cash;currency;in stock
bush-16;bush 16;pilot-bush;4.50;GBP;yes
bush-18;bush 18;pilot-bush;5.25;GBP;no
"""
WORDS = Draft(text="From the shelf list.", author="counter", evidence="measured-on-these-parts")
HOW = ImportedAs(WORDS)


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    opened = open_notebook(tmp_path)
    yield opened
    opened.close()


def test_a_turtle_file_becomes_one_note_for_each_thing(notebook: Notebook) -> None:
    done = import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW)

    assert done == Imported(notes=2, statements=15)
    part = notebook.catalogue().parts["disc-240"]
    assert part.conditions[0].text == "to 240 Nm"


def test_no_blank_node_enters_the_ledger(notebook: Notebook) -> None:
    import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW)

    assert not any("_:" in note.statements for note in notebook.ledger.iter_current())


def test_a_table_with_semicolons_becomes_one_note_for_each_row(notebook: Notebook) -> None:
    import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW)

    done = import_source(notebook.ledger, "bushes.csv", TABLE.encode("utf-8-sig"), HOW)

    assert done.notes == 2
    bush = notebook.catalogue().parts["bush-16"]
    assert (bush.cash_hundredths, bush.in_stock, bush.kind) == (450, True, "pilot-bush")


def test_a_spreadsheet_says_the_same_as_the_csv(notebook: Notebook) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["id", "label", "kind", "cash", "currency", "in stock"])
    sheet.append(["bush-16", "bush 16", "pilot-bush", 4.5, "GBP", True])
    file = io.BytesIO()
    book.save(file)
    import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW)

    import_source(notebook.ledger, "bushes.xlsx", file.getvalue(), HOW)

    assert notebook.catalogue().parts["bush-16"].cash_hundredths == 450


@pytest.mark.parametrize(
    ("wrong", "place", "words"),
    [
        (TABLE.replace("5.25", "5,25"), "bushes.csv row 3 column 'cash'", "expected a number"),
        (TABLE.replace("5.25", "-5.25"), "bushes.csv row 3 column 'cash'", "0 or more"),
        (TABLE.replace(";yes", ";perhaps"), "bushes.csv row 2 column 'in stock'", "yes or no"),
        (TABLE.replace("pilot-bush;5", "pilot-busch;5"), "bushes.csv row 3 column 'kind'", "pilot-bush"),
        (TABLE.replace("bush-18;", "bush 18!;"), "bushes.csv row 3 column 'id'", "expected an id"),
        (TABLE.replace("cash", "cush"), "column 'cush'", "did you mean"),
    ],
)
def test_a_fault_is_told_by_row_and_column_and_nothing_is_written(
    notebook: Notebook, wrong: str, place: str, words: str
) -> None:
    import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW)
    before = notebook.ledger.head()

    with pytest.raises(InvalidFacts) as caught:
        import_source(notebook.ledger, "bushes.csv", wrong.encode(), HOW)

    assert any(problem.path == place and words in problem.message for problem in caught.value.problems)
    assert notebook.ledger.head() == before


def test_a_preview_shows_what_each_column_would_mean(tmp_path: Path) -> None:
    (tmp_path / "bushes.csv").write_text(TABLE.replace("cash", "price"))

    lines = preview_file(tmp_path / "bushes.csv", {"price": "cash"})

    assert "price -> cash (decimal): 4.50, 5.25" in lines
    assert "in stock -> inStock (boolean): yes, no" in lines


def test_a_dry_run_checks_everything_and_writes_nothing(notebook: Notebook) -> None:
    assert import_source(notebook.ledger, "shelf.ttl", TURTLE, HOW, dry_run=True).notes == 2
    with pytest.raises(InvalidFacts):
        import_source(notebook.ledger, "shelf.ttl", TURTLE.replace(b"45.00", b"-45.00"), HOW, dry_run=True)

    assert notebook.ledger.head().position == 0


def test_a_syntax_error_names_its_line(notebook: Notebook) -> None:
    with pytest.raises(InvalidFacts) as caught:
        import_source(notebook.ledger, "shelf.ttl", TURTLE.replace(b"lay:rate 60.00 .", b"lay:rate 60.00 ; ;; x"), HOW)

    assert caught.value.problems[0].path.startswith("shelf.ttl line ")


def test_a_spreadsheet_that_unpacks_without_end_is_refused(ledger: Ledger) -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"\0" * (257 << 20))

    with pytest.raises(InvalidFacts, match="unpacks to"):
        import_source(ledger, "bomb.xlsx", file.getvalue(), HOW)


def test_a_graph_of_blank_nodes_alone_does_not_hang(ledger: Ledger) -> None:
    # A clique of unnamed nodes makes canonical labelling exponential; naming by order of appearance is linear.
    names = [f"_:b{number}" for number in range(40)]
    text = "".join(f"{a} <http://h.example/p> {b} .\n" for a in names for b in names)

    import_source(ledger, "clique.nt", text.encode(), HOW)

    assert ledger.head().position > 0


CUTS = st.tuples(st.integers(0, 600), st.integers(0, 600), st.binary(max_size=12))


@settings(
    max_examples=int(os.environ.get("LAYSHAFT_FUZZ", "150")),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(cut=CUTS, name=st.sampled_from(["f.ttl", "f.nt", "f.jsonld", "f.rdf", "f.trig", "f.nq", "f.csv", "f.xlsx"]),
       table=st.booleans())  # fmt: skip
def test_a_file_cut_or_swapped_anywhere_is_imported_whole_or_not_at_all(
    ledger: Ledger, cut: tuple[int, int, bytes], name: str, table: bool
) -> None:
    start, length, put = cut
    data = TABLE.encode() if table else TURTLE
    data = data[:start] + put + data[start + length :]
    before = ledger.head().position

    try:
        done = import_source(ledger, name, data, HOW)
    except InvalidFacts:
        assert ledger.head().position == before
    else:
        assert ledger.head().position == before + done.notes
