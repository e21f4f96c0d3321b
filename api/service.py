"""Everything that the service offers, over one data folder: routes, notes, costing, papers, behind the gate.

The folder holds the ledger with the record of cost (`ledger.db`, `views/`), and a shop's own facts (`facts/`, Turtle);
without own facts the demo workshop is used. Facts of some megabytes are kept besides as a compact file (`catalogue`),
made anew when they change. A `costs.db` of an earlier version is taken over once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from fastapi import FastAPI

from api import notebook as notes
from api.app import create_app
from api.front import Front, Reached
from api.routers import costing
from api.security import LOOPBACK, Gate, RateLimit, check_listening
from api.settings import Settings
from api.shared_work import WorkFolder
from api.stock_jobs import StockJobs
from graph.catalogue.compact.bulk import Report
from graph.cli.question import facts_of
from graph.counter.cluster import Cluster
from graph.counter.opened import opened_shop
from graph.counter.processes import SearchProcesses
from graph.counter.shop import Shop
from graph.ledger.book import Ledger
from graph.ledger.keeper import LedgerKeeper
from graph.ledger.schedule import BackupPlan
from graph.ledger.tokens import Tokens


@contextmanager
def opened_service(
    data: Path, settings: Settings, database: str = "", host: str = LOOPBACK,
    report: Report = lambda what, done, of: None,
) -> Iterator[tuple[FastAPI, Shop]]:  # fmt: skip
    """The app over a data folder, made if it is not there, and its shop; closed afterwards.

    `database`: the address of the ledger's database instead of a file in the folder. `host`: the address that the
    service will listen on; where others can reach it, every request needs an access token, and one must exist.
    `report`: told how far it is with facts that are many, when they are read for the first time or have changed.
    Raises InvalidFacts, InvalidInput, Conflict, StoreProblem.
    """
    cluster = Cluster(settings.spread_over) if settings.spread_over else None
    searches = SearchProcesses(settings.searches_at_once, settings.searches_at_once, cluster=cluster)
    with (
        closing(searches),
        opened_shop(data, facts_of(data), database, searches=searches, limits=settings.limits, report=report) as opened,
    ):
        tokens = Tokens(opened.notebook.ledger.engine)
        front = Front.of(settings)
        required = check_listening(host, tokens, front, data)
        app = create_app(opened.shop, settings)
        app.state.searches = searches
        app.state.work_folder = WorkFolder(data / "work")
        app.state.stock_jobs = StockJobs(settings, app.state.work_folder)
        keeper = app.state.keeper = keeper_of(settings, opened.notebook.ledger, data / "work")
        notes.install(app, opened.notebook)
        costing.install(app, opened.shop.notes)
        rate = RateLimit(settings.most_a_second, 4 * settings.most_a_second) if required else None
        app.add_middleware(Gate, tokens=tokens, required=required, rate=rate)
        app.add_middleware(Reached, front=front)
        with closing(app.state.stock_jobs), closing(keeper):
            keeper.start()
            yield app, opened.shop


def keeper_of(settings: Settings, ledger: Ledger, folder: Path) -> LedgerKeeper:
    """What makes backups and checkpoints as the settings say; not started yet."""
    kept = settings.backup_folder
    plan = BackupPlan(Path(kept), settings.backup_hours, settings.backups_kept) if kept else None
    outside = Path(settings.checkpoint_file) if settings.checkpoint_file else None
    return LedgerKeeper(ledger, folder, plan, outside)
