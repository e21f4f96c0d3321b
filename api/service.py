"""Everything that the service offers, over one data folder: routes, notes, costing, papers, behind the gate.

The folder holds the ledger with the record of cost (`ledger.db`, `views/`), and a shop's own facts (`facts/`, Turtle);
without own facts the demo workshop is used, until an own one is started, which lives in the folder `workshop` with a
ledger of its own (`graph/cli/workshop.py`). Facts of some megabytes are kept besides as a compact file (`catalogue`),
made anew when they change. A `costs.db` of an earlier version is taken over once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

from fastapi import FastAPI

from api import with_notes
from api.app import create_app
from api.front import Front, ReachedThroughProxy
from api.pages import start
from api.routers import costing
from api.security import LOOPBACK, Gate, RateLimit, check_listening
from api.settings import Settings
from api.shared_work import WorkFolder
from api.stock_jobs import StockJobs
from api.two_workshops import RightWorkshop, TwoWorkshops
from graph.catalogue.compact.bulk import Report
from graph.cli.question import facts_of
from graph.cli.workshop import home_of
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
    Beside the workshop that the folder is about, the demo or one that is started later is opened when it is wanted.
    Raises InvalidFacts, InvalidInput, Conflict, StoreProblem.
    """
    cluster = Cluster(settings.spread_over) if settings.spread_over else None
    searches = SearchProcesses(settings.searches_at_once, settings.searches_at_once, cluster=cluster)
    main: list[FastAPI] = []

    @contextmanager
    def opens(home: Path, demo: bool) -> Iterator[FastAPI]:
        apart = replace(settings, backup_folder="", checkpoint_file="") if demo else settings
        if not demo:  # from now on the own one is what is backed up
            main[0].state.keeper.close()
        tokens = Tokens(main[0].state.notebook.ledger.engine) if demo else None
        with _opened(home, apart, searches, "", host, report, tokens) as (app, _):
            yield app

    with closing(searches), _opened(home_of(data), settings, searches, database, host, report) as (app, shop):
        main.append(app)
        two = TwoWorkshops(data, opens, can_start=not database)
        app.state.two = two
        app.add_middleware(RightWorkshop, two=two)
        with closing(two):
            yield app, shop


@contextmanager
def _opened(
    home: Path, settings: Settings, searches: SearchProcesses, database: str, host: str, report: Report,
    people: Tokens | None = None,
) -> Iterator[tuple[FastAPI, Shop]]:  # fmt: skip
    """One workshop's app. `people`: whose access tokens hold; its own ledger's if left out."""
    facts = facts_of(home)
    with opened_shop(home, facts, database, searches=searches, limits=settings.limits, report=report) as opened:
        tokens = people or Tokens(opened.notebook.ledger.engine)
        front = Front.of(settings)
        required = check_listening(host, tokens, front, home)
        app = create_app(opened.shop, settings)
        app.state.searches, app.state.open_to_others = searches, bool(required)
        app.state.work_folder = WorkFolder(home / "work")
        app.state.stock_jobs = StockJobs(settings, app.state.work_folder)
        keeper = app.state.keeper = keeper_of(settings, opened.notebook.ledger, home / "work")
        with_notes.install(app, opened.notebook)
        costing.install(app, opened.shop.notes)
        app.include_router(start.router)
        rate = RateLimit(settings.most_a_second, 4 * settings.most_a_second) if required else None
        app.add_middleware(Gate, tokens=tokens, required=required, rate=rate)
        app.add_middleware(ReachedThroughProxy, front=front)
        with closing(app.state.stock_jobs), closing(keeper):
            keeper.start()
            yield app, opened.shop


def keeper_of(settings: Settings, ledger: Ledger, folder: Path) -> LedgerKeeper:
    """What makes backups and checkpoints as the settings say; not started yet."""
    kept = settings.backup_folder
    plan = BackupPlan(Path(kept), settings.backup_hours, settings.backups_kept) if kept else None
    outside = Path(settings.checkpoint_file) if settings.checkpoint_file else None
    return LedgerKeeper(ledger, folder, plan, outside)
