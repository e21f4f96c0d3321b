"""A disk fills up and is freed again: what is refused is said to be refused, and all goes on without a restart."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.__main__ import main as start
from api.service import opened_service
from api.settings import Settings
from graph.errors import StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft
from graph.ledger.verify import verify
from graph.ledger.view import View, open_view
from tests.ledger.disks import Disk, mounted_or_skip
from tests.ledger.postgres import Postgres

LAY = "https://layshaft.example/vocabulary#"
PART = f"""<https://shop.example/disc-{{0}}> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <{LAY}Part> .
<https://shop.example/disc-{{0}}> <http://www.w3.org/2000/01/rdf-schema#label> "Disc {{0}}" .
<https://shop.example/disc-{{0}}> <{LAY}kind> <https://layshaft.example/kinds/clutch-disc> .
"""


def a_part(number: int) -> Draft:
    text = f"Disc {number} lies on the shelf. " + "x" * 15_000
    return Draft(text=text, statements=PART.format(number), author="bench", evidence="measured-on-these-parts")


def as_json(number: int) -> dict[str, str]:
    draft = a_part(number)
    return {name: getattr(draft, name) for name in ("text", "statements", "author", "evidence")}


@contextmanager
def opened(folder: Path, url: str = "") -> Iterator[Notebook]:
    notebook = open_notebook(folder, url)
    try:
        yield notebook
    finally:
        notebook.close()


def until_refused(ledger: Ledger, view: View | None = None) -> tuple[int, str]:
    """Adds notes until the disk is full: how many were acknowledged, and what was said then."""
    for number in range(1, 1_000):
        try:
            ledger.append(a_part(number))
            if view is not None:
                view.catch_up()
        except StoreProblem as error:
            return number - 1, str(error)
    raise AssertionError("the disk did not fill up")


def test_the_graph_goes_on_by_itself_once_there_is_space(ledger: Ledger, small_disk: Disk) -> None:
    view = open_view(ledger, small_disk.path / "views")
    small_disk.fill()
    _, said = until_refused(ledger, view)
    standing = view.standing().position

    small_disk.free()
    view.catch_up()

    assert "is full" in said
    assert standing < view.standing().position == ledger.head().position
    followed = set(view.store)
    view.rebuild()
    assert set(view.store) == followed
    view.close()


def test_while_its_disk_is_full_the_graph_can_be_read_as_it_stood(ledger: Ledger, small_disk: Disk) -> None:
    view = open_view(ledger, small_disk.path / "views")
    ledger.append(a_part(0))
    view.catch_up()
    known = set(view.store)
    small_disk.fill()
    until_refused(ledger, view)

    for _ in range(3):
        with pytest.raises(StoreProblem, match="is full"):
            view.catch_up()
        assert known <= set(view.store)

    small_disk.free()
    view.close()


def test_a_note_that_cannot_be_judged_is_refused_as_not_written(tmp_path: Path, small_disk: Disk) -> None:
    with opened(small_disk.path / "data", sqlite_url(tmp_path / "ledger.db")) as notebook:
        notebook.ledger.append(a_part(0))
        small_disk.fill()
        acknowledged, said = until_refused(notebook.ledger)

        assert "nothing was written" in said
        assert "safe" not in said
        assert notebook.ledger.head().position == acknowledged + 1

        small_disk.free()
        notebook.ledger.append(a_part(1_000))
        assert "disc-1000" in notebook.catalogue().parts


def test_what_was_known_is_answered_while_the_disk_is_full(tmp_path: Path, small_disk: Disk) -> None:
    with opened(small_disk.path / "data", sqlite_url(tmp_path / "ledger.db")) as notebook:
        notebook.ledger.append(a_part(0))
        assert "disc-0" in notebook.catalogue().parts
        small_disk.fill()
        until_refused(notebook.ledger)

        assert "disc-0" in notebook.catalogue().parts
        assert "is full" in notebook.catalogue_fault

        small_disk.free()
        notebook.catalogue()
        assert notebook.catalogue_fault == ""


def test_the_ledger_goes_on_by_itself_once_there_is_space(small_disk: Disk) -> None:
    ledger = Ledger(open_database(sqlite_url(small_disk.path / "ledger.db")))
    small_disk.fill()
    acknowledged, said = until_refused(ledger)

    small_disk.free()
    ledger.append(a_part(1_000))

    assert "nothing was written" in said
    assert verify(ledger).lines == acknowledged + 1
    assert verify(ledger).sound
    ledger.engine.dispose()


def test_a_ledger_in_postgresql_goes_on_by_itself_once_there_is_space(postgres: Postgres) -> None:
    """Its tables lie on a small disk of their own (a tablespace); the server itself has room."""
    with mounted_or_skip(postgres.folder / "small", "24m") as disk:
        ledger = Ledger(open_database(postgres.new_url(within=disk.path)))
        disk.fill()
        acknowledged, said = 0, ""
        while not said and acknowledged < 2_000:
            try:
                ledger.append(Draft(text=os.urandom(6_000).hex(), author="bench", evidence="hearsay"))
                acknowledged += 1
            except StoreProblem as error:
                said = str(error)

        disk.free()
        ledger.append(a_part(1_000))

        assert "is full" in said and "nothing was written" in said
        assert verify(ledger).lines == acknowledged + 1
        assert verify(ledger).sound
        ledger.engine.dispose()
        postgres.drop(ledger.engine.url.database)


def test_search_goes_on_by_itself_once_there_is_space(tmp_path: Path, small_disk: Disk) -> None:
    with opened(small_disk.path / "data", sqlite_url(tmp_path / "ledger.db")) as notebook:
        plain = Ledger(notebook.ledger.engine)  # judges nothing, so that only the search meets the full disk
        notebook.search.find_notes("disc")
        small_disk.fill()
        for number in range(20):
            plain.append(a_part(number))
        for _ in range(2):
            with pytest.raises(StoreProblem, match="is full"):
                notebook.search.find_notes("disc")

        small_disk.free()

        assert len(notebook.search.find_notes("disc", limit=100)) == 20


@pytest.mark.parametrize("known_before", [True, False])
def test_starting_on_a_full_disk_says_so_with_how_much_is_left_and_where(
    small_disk: Disk, known_before: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    data = small_disk.path / "data"
    if known_before:
        with opened(data) as notebook:
            notebook.ledger.append(a_part(0))
    small_disk.fill()

    assert start(["--data", str(data), "--no-serve"]) == 2

    said = capsys.readouterr().err
    assert "is full" in said
    assert "0 bytes" in said
    assert str(small_disk.path) in said
    assert "damaged" not in said
    assert "restore" not in said
    assert len(said.strip().splitlines()) == 1
    small_disk.free()
    assert start(["--data", str(data), "--no-serve"]) == 0


def test_the_service_refuses_answers_on_and_goes_on_by_itself(small_disk: Disk) -> None:
    with (
        opened_service(small_disk.path / "data", Settings()) as (app, _),
        TestClient(app, base_url="http://127.0.0.1") as client,
    ):
        small_disk.fill()
        statuses = [client.post("/notes", json=as_json(number)).status_code for number in range(60)]
        asked = client.get("/parts", params={"text": "disc"})
        refused = client.post("/notes", json=as_json(99))

        small_disk.free()

        assert (statuses[-1], asked.status_code, refused.status_code) == (503, 200, 503)
        assert "nothing was written" in refused.json()["detail"]
        assert client.post("/notes", json=as_json(100)).status_code == 201
        assert client.get("/parts/disc-100").status_code == 200
        assert [client.get(f"/parts/disc-{number}").status_code for number in range(60)] == [
            200 if status == 201 else 404 for status in statuses
        ]


def test_a_notebook_is_closed_without_a_fault_on_a_full_disk(small_disk: Disk) -> None:
    with opened(small_disk.path / "data") as notebook:
        notebook.ledger.append(a_part(0))
        notebook.catalogue()
        small_disk.fill()

    small_disk.free()
    with opened(small_disk.path / "data") as notebook:
        assert "disc-0" in notebook.catalogue().parts
