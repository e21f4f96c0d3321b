"""A data folder of the version before, in which notes of cost stood beside the lines, opens and says the same.

`earlier/folder.tar.xz` was written by the code of that time; `earlier/make_folder.py` tells how, and what is in it.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from fastapi.testclient import TestClient
from sqlalchemy import MetaData, create_engine, select

from api.service import opened_service
from api.settings import Settings
from graph.costing.notes import PRICE, standing
from graph.costing.shop import list_rates, list_stock
from graph.costing.store import SqlNotes
from graph.ledger import database
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.record import COST
from graph.ledger.verify import parse_checkpoint, verify
from tests.ledger.conftest import postgres
from tests.ledger.postgres import Postgres

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

__all__ = ["postgres"]  # a fixture
PACKED = Path(__file__).parent / "earlier" / "folder.tar.xz"
HERE = "http://127.0.0.1"
QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up",
            "context": {"torque_nm": "180", "duty": "road"}}  # fmt: skip
LISTS = ("/notes?limit=1000", "/disputes", "/prices.csv", "/shop", "/jobs", "/jobs/J-1", "/jobs/J-2", "/jobs/J-3")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with tarfile.open(PACKED) as packed:
        packed.extractall(tmp_path / "data", filter="data")
    return tmp_path / "data"


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, folder: Path) -> str:
    """The address of a database as the version before left it."""
    if request.param == "sqlite":
        return sqlite_url(folder / "ledger.db")
    server: Postgres = request.getfixturevalue("postgres")
    return copied_to(server.new_url(), folder / "ledger.db")


def copied_to(url: str, path: Path) -> str:
    """The rows of a file of that time in a PostgreSQL database with the tables of that time."""
    target = create_engine(url.replace("postgresql:", "postgresql+psycopg:"))
    config = Config()
    config.set_main_option("script_location", str(Path(database.__file__).parent / "migrations"))
    config.set_main_option("path_separator", "os")
    source = create_engine(sqlite_url(path))
    tables = MetaData()
    with target.begin() as writer:
        config.attributes["connection"] = writer
        command.upgrade(config, "0002")
        tables.reflect(writer)
    with target.begin() as writer, source.connect() as reader:
        for table in tables.tables.values():
            rows = [dict(row) for row in reader.execute(select(table)).mappings()]
            if rows and table.name != "alembic_version":
                writer.execute(table.insert(), rows)
    source.dispose()
    target.dispose()
    return url


@pytest.fixture
def service(folder: Path, url: str) -> Iterator[tuple[TestClient, dict[str, Any]]]:
    said = json.loads((folder / "answers.json").read_text())
    with opened_service(folder, Settings(), url) as (app, _), TestClient(app, base_url=HERE) as client:
        yield client, said


def test_every_list_says_what_it_said_then(service: tuple[TestClient, dict[str, Any]]) -> None:
    client, said = service

    for path in LISTS:
        answer = client.get(path)
        assert holds_still(answer.text if path.endswith(".csv") else answer.json(), said[path]), path


def holds_still(now: Any, then: Any) -> bool:
    """Whether everything that was said then is said now; a later version may say more of a thing."""
    if isinstance(then, dict):
        return isinstance(now, dict) and all(key in now and holds_still(now[key], then[key]) for key in then)
    if isinstance(then, list):
        return len(now) == len(then) and all(map(holds_still, now, then))
    return bool(now == then)


def test_the_answer_is_the_same_to_the_cent_but_for_hours_learnt_by_other_rules(
    service: tuple[TestClient, dict[str, Any]],
) -> None:
    """That version learnt hours with a bias (a job on plan raised the plan); what is on record is the same."""
    client, said = service

    answer = client.post("/routes", json=QUESTION).json()

    found, then = answer["routes"][0], said["/routes"]["routes"][0]
    names = ("cash", "picks", "links", "tasks")
    assert {name: found[name] for name in names} == {name: then[name] for name in names}
    assert [line["price"] for line in found["parts"]] == [line["price"] for line in then["parts"]]
    assert answer["rate"] == said["/routes"]["rate"]
    assert round(found["total"] - found["cash"], 2) == round(answer["rate"] * found["hours"], 2)


def test_the_chain_goes_on_where_it_ended_and_now_covers_costs_and_attachments(
    service: tuple[TestClient, dict[str, Any]], url: str
) -> None:
    client, said = service
    checkpoint = said["verification"]["checkpoint"]

    found = client.get("/ledger/verification", params={"since": checkpoint}).json()

    assert (found["sound"], found["faults"]) == (True, [])
    engine = open_database(url)
    ledger = Ledger(engine)
    before = parse_checkpoint(checkpoint).position
    new = [line.action for line in ledger.iter_lines(after=before)]
    assert new.count("attachment") == 1 and set(new) == {"attachment", COST}
    assert len(standing(SqlNotes(ledger), kind=PRICE)) == len(said["/prices"]["prices"])
    engine.dispose()


def test_work_goes_on_where_it_was_left(service: tuple[TestClient, dict[str, Any]]) -> None:
    client, said = service
    note = {"text": "Sent twice.", "author": "bench", "evidence": "hearsay"}
    again = client.post("/notes", json=note, headers={"Idempotency-Key": "sent-twice"}).json()
    closed = client.post("/jobs/J-2/closing", json={"outcome": "done"}).json()
    opened = client.post(f"/batches/{said['/jobs/J-1']['closing']}/retraction", json={"reason": "wrong"})

    assert again in said["/notes?limit=1000"]["notes"]
    assert closed["outcome"] == "done" and opened.status_code == 200
    texts = [note["text"] for note in client.get("/notes?limit=1000").json()["notes"]]
    assert sum(text.startswith("Job J-2 closed") for text in texts) == 1
    assert not any(text.startswith("Job J-1 closed") for text in texts)
    assert client.get("/ledger/verification").json()["sound"]


def test_opening_again_changes_nothing(folder: Path, url: str) -> None:
    heads = []
    for _ in range(2):
        engine = open_database(url)
        heads.append((Ledger(engine).head(), verify(Ledger(engine)).checkpoint))
        engine.dispose()

    assert heads[0] == heads[1]


def test_a_record_of_cost_in_a_file_of_its_own_is_taken_over_once_and_left_as_it_was(folder: Path) -> None:
    before = (folder / "costs.db").read_bytes()
    notes = SqlNotes.on_file(folder / "new.db")

    assert [notes.take_over(folder / "costs.db") for _ in range(2)] == [2, 0]

    assert [rate.hundredths for rate in list_rates(notes)] == [5800]
    assert [(item.part, item.quantity) for item in list_stock(notes)] == [("disc-28", 3)]
    assert (folder / "costs.db").read_bytes() == before
    assert verify(notes.ledger).sound
    notes.close()


def test_a_file_with_costs_alone_opens_as_a_ledger(folder: Path) -> None:
    notes = SqlNotes.on_file(folder / "costs.db")

    assert [rate.hundredths for rate in list_rates(notes)] == [5800]
    assert verify(notes.ledger).sound and notes.ledger.head().position == 2
    notes.close()


def test_a_migration_that_is_cut_short_leaves_the_database_as_it_was(folder: Path, monkeypatch: Any) -> None:
    shutil.copy(folder / "ledger.db", folder / "copy.db")
    with sqlite3.connect(folder / "copy.db") as spoilt:
        spoilt.execute("CREATE TABLE cost_notes_numbered (taken TEXT)")
    spoilt.close()

    with pytest.raises(Exception, match="cost_notes_numbered"):
        open_database(sqlite_url(folder / "copy.db"))

    with sqlite3.connect(folder / "copy.db") as left:
        assert left.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
        columns = [row[1] for row in left.execute("PRAGMA table_info(entries)")]
        assert "covers" not in columns
    left.close()
