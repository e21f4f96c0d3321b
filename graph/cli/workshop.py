"""Which workshop a data folder holds: the demo until somebody starts an own one, which then lives beside it, apart.

The demo's notes stay in the data folder; an own workshop that is started by a page has the folder `workshop` in it,
with its own ledger. A data folder with facts of its own (`facts`) is a workshop as it stands. Nothing is ever shared.
"""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pyoxigraph as ox
from sqlalchemy import Engine, select

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.names import LABEL, LAY, TYPE, XSD
from graph.cli.question import DEMO_FACTS, facts_of
from graph.costing.notes import Provenance
from graph.costing.store import SqlNotes
from graph.costing.tax import tax_note
from graph.errors import Conflict, InvalidInput, Problem
from graph.ledger import schema
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, reading, sqlite_url, writing
from graph.ledger.identity import DEFAULT_BASE

OWN, DEMO, YARD = "workshop", "demo", "yard"  # folders in a data folder
YARD_FACTS = FACTS_FOLDER / "yard"
FACTS = "workshop.ttl"


@dataclass(frozen=True, slots=True)
class NewWorkshop:
    """What an own workshop starts with. `currency`: ISO 4217; `rate`: money an hour, `day_hours`: as decimals; `tax`:
    percent of a price, empty where it is not stated."""

    name: str
    currency: str
    rate: str
    day_hours: str = "8"
    tax: str = ""


def home_of(data: Path) -> Path:
    """The folder of the workshop that a data folder is about: an own one that was started in it, or itself."""
    return data / OWN if (data / OWN).is_dir() else data


def demo_home_of(data: Path) -> Path:
    """The folder in which the demo keeps what is noted while it is looked at."""
    return data / DEMO if home_of(data) == data and facts_of(data) != DEMO_FACTS else data


def yard_of(data: Path) -> Path:
    """The folder, in a data folder, of the demo with five other sorts of job beside it; made if it is not there.

    Its facts are copies, to be changed at will; its notes are kept there and nowhere else.
    """
    home = data / YARD
    if not (home / "facts").is_dir():
        home.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix="copying-", dir=home) as folder:
            copies = Path(folder) / "facts"
            for facts in (DEMO_FACTS, YARD_FACTS):
                shutil.copytree(facts, copies / facts.name)
            copies.rename(home / "facts")
    return home


def start_workshop(data: Path, new: NewWorkshop, people: Engine | None = None) -> Path:
    """Makes the own workshop of a data folder, empty but for its figures, all at once; its folder.

    `people`: a ledger's database whose access tokens hold there too. Raises Conflict where there is one already.
    """
    if home_of(data) != data or facts_of(data) != DEMO_FACTS:
        raise Conflict(f"{data} holds a workshop of its own already")
    with tempfile.TemporaryDirectory(prefix="starting-", dir=data) as folder:
        home = Path(folder) / OWN
        (home / "facts").mkdir(parents=True)
        (home / "facts" / FACTS).write_text(_turtle(new), encoding="utf-8")
        engine = open_database(sqlite_url(home / "ledger.db"))
        try:
            ledger = Ledger(engine)
            if new.tax:
                SqlNotes(ledger).append([tax_note(new.tax, Provenance("workshop", "said at its start"))])
            if people is not None:
                _copy_tokens(people, engine)
        finally:
            engine.dispose()
        try:
            home.rename(data / OWN)
        except OSError as error:
            raise Conflict(f"{data / OWN} is there already: {error}") from error
    return data / OWN


def _turtle(new: NewWorkshop) -> str:
    shop = ox.NamedNode(DEFAULT_BASE + OWN)
    if not new.name.strip():
        raise InvalidInput([Problem("name", "give the workshop a name")])
    number = ox.NamedNode(XSD + "decimal")
    values: dict[str, ox.NamedNode | ox.Literal] = {
        TYPE: ox.NamedNode(LAY + "Shop"), LABEL: ox.Literal(new.name), LAY + "currency": ox.Literal(new.currency),
        LAY + "rate": ox.Literal(new.rate, datatype=number),
        LAY + "dayHours": ox.Literal(new.day_hours, datatype=number),
    }  # fmt: skip
    triples = [ox.Triple(shop, ox.NamedNode(name), value) for name, value in values.items()]
    said = ox.serialize(triples, format=ox.RdfFormat.TURTLE, prefixes={"lay": LAY, "shop": DEFAULT_BASE})
    assert said is not None  # it is handed back where no file is named
    return said.decode()


def _copy_tokens(source: Engine, target: Engine) -> None:
    """Who may come in here may come in there; browsers sign in again."""
    with reading(source) as connection:
        rows = [dict(row) for row in connection.execute(select(schema.tokens)).mappings()]
    if rows:
        with writing(target) as connection:
            connection.execute(schema.tokens.insert(), rows)
