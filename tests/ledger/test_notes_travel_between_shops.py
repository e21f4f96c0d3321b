"""What one shop shares another can merge: nothing private leaves, nothing clashes, nothing is doubled."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pyoxigraph as ox
import pytest
import rdflib
from rdflib.compare import isomorphic

from graph.errors import InvalidFacts, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.exchange import Merged, export_quads, merge
from graph.ledger.identity import new_id
from graph.ledger.publish import publish
from graph.ledger.record import Draft
from graph.ledger.verify import verify

DECIMAL = "http://www.w3.org/2001/XMLSchema#decimal"
PART = f'<https://shop-a.example/bush> <https://layshaft.example/vocabulary#cash> "2.50"^^<{DECIMAL}> .\n'
SHARED = Draft(
    text="Bush turned to 16.02 mm.", statements=PART, author="Müller & Co", evidence="hearsay", shareable=True
)
PRIVATE = replace(SHARED, text="The customer haggles.", shareable=False)


@pytest.fixture
def shops(tmp_path: Path) -> tuple[Ledger, Ledger]:
    def opened(name: str) -> Ledger:
        return Ledger(open_database(sqlite_url(tmp_path / f"{name}.db")), f"https://shop-{name}.example/")

    return opened("a"), opened("b")


def test_only_shareable_notes_leave(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    ours.append(PRIVATE)
    shared = ours.append(SHARED)

    assert merge(theirs, export_quads(ours)) == Merged(new=1, newer=0, known=0)

    assert [note.iri for note in theirs.iter_current()] == [shared.iri]


@pytest.mark.parametrize("syntax", [ox.RdfFormat.N_QUADS, ox.RdfFormat.TRIG, ox.RdfFormat.JSON_LD])
def test_a_merged_note_says_the_same_in_every_syntax(shops: tuple[Ledger, Ledger], syntax: ox.RdfFormat) -> None:
    ours, theirs = shops
    note = ours.append(replace(SHARED, settles=(ours.append(SHARED).iri,)))
    file = ox.serialize(export_quads(ours), format=syntax)

    merge(theirs, ox.parse(file, format=syntax))

    got = theirs.get_note(note.note_id)
    assert (got.text, got.statements, got.author, got.evidence, got.settles) == (
        note.text, note.statements, note.author, note.evidence, note.settles,
    )  # fmt: skip
    assert got.made_at == note.recorded_at


def test_merging_twice_changes_nothing(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    ours.append(SHARED)
    merge(theirs, export_quads(ours))

    assert merge(theirs, export_quads(ours)) == Merged(new=0, newer=0, known=1)
    assert theirs.head().position == 1


def test_notes_that_come_home_are_known(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    ours.append(SHARED)
    merge(theirs, export_quads(ours))

    assert merge(ours, export_quads(theirs)) == Merged(new=0, newer=0, known=1)


def test_a_newer_revision_and_a_taking_back_arrive_too(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    note, other = ours.append(SHARED), ours.append(SHARED)
    merge(theirs, export_quads(ours))
    ours.revise(note.note_id, 1, replace(SHARED, text="16.05 mm after all"))
    ours.retract(other.note_id, 1, Draft(text="another bush"))

    assert merge(theirs, export_quads(ours)) == Merged(new=0, newer=2, known=0)

    assert [entry.text for entry in theirs.iter_current()] == ["16.05 mm after all"]
    assert verify(theirs).sound


def test_a_dry_run_tells_and_writes_nothing(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    ours.append(SHARED)

    assert merge(theirs, export_quads(ours), dry_run=True) == Merged(new=1, newer=0, known=0)
    assert theirs.head().position == 0


def test_a_forged_note_of_our_own_stops_the_whole_merge(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    theirs.append(SHARED)
    forged = f"<{ours.base}notes/{new_id()}>"
    file = "".join(f"{quad} .\n" for quad in export_quads(theirs))
    for word, value in (("revision", '"1"^^<http://www.w3.org/2001/XMLSchema#integer>'), ("text", '"we said so"')):
        file += f"{forged} <https://layshaft.example/vocabulary#{word}> {value} {forged} .\n"

    with pytest.raises(InvalidFacts, match="never held it"):
        merge(ours, ox.parse(file, format=ox.RdfFormat.N_QUADS))

    assert ours.head().position == 0


def test_a_known_revision_with_other_words_is_refused(shops: tuple[Ledger, Ledger]) -> None:
    ours, theirs = shops
    ours.append(SHARED)
    file = "".join(f"{quad} .\n" for quad in export_quads(ours))
    merge(theirs, ox.parse(file, format=ox.RdfFormat.N_QUADS))

    with pytest.raises(InvalidFacts, match="other words"):
        merge(theirs, ox.parse(file.replace("16.02", "16.20"), format=ox.RdfFormat.N_QUADS))


@pytest.fixture(scope="module")
def outside_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    program = Path(sys.executable).parent / "oxigraph"
    if not program.exists():
        pytest.skip("the oxigraph server is not installed (test extra)")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{probe.getsockname()[1]}"
    folder = tmp_path_factory.mktemp("outside")
    process = subprocess.Popen([program, "serve", "-l", folder, "-b", address], stderr=subprocess.DEVNULL)
    for _ in range(100):
        try:
            httpx.get(f"http://{address}/")
            break
        except httpx.HTTPError:
            time.sleep(0.05)
    yield f"http://{address}"
    process.kill()
    process.wait()


def test_what_is_published_is_read_back_isomorphic(shops: tuple[Ledger, Ledger], outside_server: str) -> None:
    ours, _ = shops
    ours.append(replace(SHARED, statements=PART.replace("2.50", "2.5")))  # the server writes 2.50 as 2.5
    ours.append(PRIVATE)

    sent = publish(ours, f"{outside_server}/store")
    again = publish(ours, f"{outside_server}/store")

    graph = {"graph": "https://shop-a.example/shared"}
    text = httpx.get(f"{outside_server}/store", params=graph, headers={"Accept": "text/turtle"}).text
    expected = rdflib.Graph()
    for quad in export_quads(ours):
        expected.parse(data=f"{quad.triple} .", format="nt")
    assert sent == again == len(expected)
    assert isomorphic(rdflib.Graph().parse(data=text, format="turtle"), expected)


def test_a_server_that_is_not_there_is_named(shops: tuple[Ledger, Ledger]) -> None:
    with pytest.raises(StoreProblem, match="did not answer"):
        publish(shops[0], "http://127.0.0.1:9/store")
