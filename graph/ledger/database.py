"""Opening the ledger's database: SQLite by default, PostgreSQL by URL; migrations; plain words for failures.

A commit is on the disk before it is answered: SQLite runs with WAL and `synchronous=FULL`, PostgreSQL with
`synchronous_commit=on` whatever its configuration file says.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import (
    ArgumentError,
    DatabaseError,
    DBAPIError,
    InterfaceError,
    OperationalError,
)

from graph.errors import InvalidInput, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.disk import full_words, has_room, means_full

if TYPE_CHECKING:
    from alembic.config import Config

WAIT_S = 30  # how long a writer waits for another one
_WRITE = "layshaft_write"


class DamagedDatabase(StoreProblem):
    """The database's own pages are not what they were."""


def open_database(url: str | URL) -> Engine:
    """An engine on the ledger's database, its schema up to date.

    `url`: `sqlite:///FILE` or `postgresql://USER@HOST/NAME`. Raises InvalidInput for another kind of URL and
    StoreProblem when the database cannot be opened, or was written by a newer program.
    """
    parsed = _parsed(url)
    engine = _sqlite_engine(parsed) if parsed.get_backend_name() == "sqlite" else _postgresql_engine(parsed)
    migrate(engine)
    return engine


@contextmanager
def opened_read_only(url: str | URL, *, still: bool = False) -> Iterator[Engine]:
    """An engine that reads only, closed afterwards; the schema is left as it is. Media that cannot be written will do.

    `still`: a file that nobody writes, such as a backup: then nothing is made beside it either. Raises as above.
    """
    parsed = _parsed(url)
    with ExitStack() as afterwards:
        if parsed.get_backend_name() == "sqlite":
            engine = _reading_engine(parsed, _readable(Path(str(parsed.database)), still, afterwards))
        else:
            engine = _postgresql_engine(parsed, read_only=True)
        afterwards.callback(engine.dispose)
        with reading(engine) as connection:
            if schema_of(connection) == "":
                raise StoreProblem(f"{parsed.render_as_string()} is no ledger, or an empty one")
        yield engine


def _parsed(url: str | URL) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError as error:
        raise InvalidInput([Problem("database", f"not a database URL: {error}")]) from None
    if parsed.get_backend_name() == "postgres" or parsed.drivername == "postgresql":
        parsed = parsed.set(drivername="postgresql+psycopg")
    if parsed.get_backend_name() not in ("sqlite", "postgresql"):
        raise InvalidInput(
            [
                Problem(
                    "database",
                    f"expected sqlite:///FILE or postgresql://..., found {url!r}",
                )
            ]
        )
    return parsed


def sqlite_url(path: Path) -> str:
    """The URL of a ledger kept in one file."""
    return f"sqlite:///{path}"


def _sqlite_engine(url: URL) -> Engine:
    if url.database in (None, "", ":memory:"):
        raise InvalidInput([Problem("database", "a ledger in memory would be lost; name a file")])
    folder = Path(url.database).parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreProblem(_cannot_be_made(folder, error)) from error
    engine = create_engine(url, connect_args={"timeout": WAIT_S, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def _settings(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # the driver must not open transactions on its own; `_begin` does
        for pragma in (
            f"busy_timeout={WAIT_S * 1000}",
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
        ):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get(_WRITE)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _reading_engine(url: URL, uri: str) -> Engine:
    def connected() -> sqlite3.Connection:
        connection = sqlite3.connect(uri, uri=True, timeout=WAIT_S, check_same_thread=False)
        connection.isolation_level = None
        connection.text_factory = _as_text  # a damaged text must be found at its line, not end the reading
        return connection

    engine = create_engine(url, creator=connected)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def _as_text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _readable(file: Path, still: bool, afterwards: ExitStack) -> str:
    """The address under which SQLite reads the file without changing it (sqlite.org/uri.html, wal.html#readonly)."""
    if not file.is_file():
        raise StoreProblem(f"there is no ledger at {file}")
    log = file.with_name(file.name + "-wal")
    unfinished = log.is_file() and log.stat().st_size > 0
    can_write = os.access(file.parent, os.W_OK)
    if unfinished and not can_write:  # its log must be read too, which SQLite does only where it may write beside it
        folder = Path(afterwards.enter_context(TemporaryDirectory(prefix="layshaft-reading-")))
        for part in (file, log):
            shutil.copy(part, folder / part.name)
        return _file_uri(folder / file.name)
    as_it_is = not unfinished and (still or not can_write)
    return f"{_file_uri(file)}?mode=ro{'&immutable=1' if as_it_is else ''}"


def _file_uri(file: Path) -> str:
    return f"file:{quote(str(file.resolve()))}"


def _postgresql_engine(url: URL, read_only: bool = False) -> Engine:
    engine = create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": 10})

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: object) -> None:
        connection.execute("SET synchronous_commit = on")
        connection.execute(f"SET lock_timeout = '{WAIT_S}s'")
        if read_only:
            connection.execute("SET default_transaction_read_only = on")
        connection.commit()

    return engine


def migrate(engine: Engine) -> None:
    """Bring the schema up to date. Processes that start together take turns. Raises StoreProblem for a newer one."""
    with reading(engine) as connection:
        if schema_of(connection) == schema.REVISION:
            return
    from alembic import command  # here, because it takes half a second to load and is seldom needed

    with one_at_a_time(engine), writing(engine) as connection:
        if engine.dialect.name == "postgresql":
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(4719871)")
        config = _migrations()
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _migrations() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.set_main_option("path_separator", "os")
    return config


def schema_of(connection: Connection) -> str:
    """The schema's revision; empty for a database without one. Raises StoreProblem for one that is not known here."""
    if not inspect(connection).has_table("alembic_version"):
        return ""
    found = str(connection.scalar(text("SELECT version_num FROM alembic_version")) or "")
    if found not in ("", *schema.REVISIONS):
        where = connection.engine.url.render_as_string(hide_password=True)
        raise StoreProblem(
            f"{where} was written by a newer program: its schema is {found}, this program knows them up to "
            f"{schema.REVISION}; use the newer program, or restore a backup that this one has made into an empty ledger"
        )
    return found


@contextmanager
def one_at_a_time(engine: Engine) -> Iterator[None]:
    """For SQLite, a lock file beside the database (its own lock is not held yet while the schema is read)."""
    if engine.dialect.name != "sqlite":
        yield
        return
    try:
        lock = open(f"{engine.url.database}.lock", "w")  # noqa: SIM115 (closed below; only opening it is guarded)
    except OSError as error:
        raise StoreProblem(_cannot_be_made(Path(f"{engine.url.database}.lock"), error)) from error
    with lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes: committed and synced when the block ends, or rolled back whole."""
    with (
        plain_words(engine),
        engine.connect().execution_options(**{_WRITE: True}) as connection,
        connection.begin(),
    ):
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that reads one state of the ledger."""
    with plain_words(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def one_state(engine: Engine) -> Iterator[Connection]:
    """A transaction in which every statement reads the same state of the ledger, whatever others write meanwhile."""
    with reading(engine) as connection:
        if engine.dialect.name == "postgresql":  # SQLite's transactions are so anyway
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield connection


@contextmanager
def plain_words(engine: Engine) -> Iterator[None]:
    """Turns the driver's failures into StoreProblem with the cause and the next step."""
    try:
        yield
    except UnicodeDecodeError as error:  # the driver reads the names in a schema, too, before it says anything of pages
        raise DamagedDatabase(_damaged_words(_where(engine), f"text that is not UTF-8: {error.reason}")) from error
    except (OperationalError, InterfaceError, DatabaseError) as error:
        if isinstance(error, DBAPIError) and type(error).__name__ in (
            "IntegrityError",
            "DataError",
            "ProgrammingError",
        ):
            raise
        kind = DamagedDatabase if _kind_of(error.orig) == "damaged" else StoreProblem
        raise kind(_explain(error.orig, engine)) from error


def _where(engine: Engine) -> str:
    return str(engine.url.render_as_string(hide_password=True))


def _damaged_words(where: str, why: str) -> str:
    return f"{where} is damaged ({why}): stop writing, run `python -m graph verify`, restore the last backup"


def _explain(error: BaseException | None, engine: Engine) -> str:
    """What the driver's error means, and what to do. Told apart by SQLite's and PostgreSQL's own codes."""
    where = _where(engine)
    message = (str(error).strip().splitlines() or ["no reason given"])[0]
    kind, file = _kind_of(error), _file_of(engine)
    if kind == "full" or (kind == "refused" and file is not None and not has_room(file)):
        words = full_words(file) if file is not None else f"the disk that holds {where} is full"
        return f"{words}: nothing was written; free some space and send it again"
    if kind == "refused":
        return f"the disk that holds {where} refused ({message}): nothing was acknowledged; look at the disk first"
    if kind == "damaged":
        return _damaged_words(where, message)
    if kind == "read-only":
        return f"{where} cannot be written ({message}): check who owns the file and its folder"
    if kind == "busy":
        return f"{where} was busy for {WAIT_S} s: nothing was written; send it again"
    return f"{where} did not answer ({message}): nothing was acknowledged; send it again"


# SQLite: result codes by name (sqlite.org/rescode.html); PostgreSQL: SQLSTATE (its documentation, appendix A).
_KINDS = {
    "SQLITE_FULL": "full", "53100": "full",
    "SQLITE_IOERR": "refused", "SQLITE_CANTOPEN": "refused", "58030": "refused",
    "SQLITE_CORRUPT": "damaged", "SQLITE_NOTADB": "damaged", "XX001": "damaged", "XX002": "damaged",
    "SQLITE_READONLY": "read-only", "SQLITE_PERM": "read-only", "25006": "read-only",
    "SQLITE_BUSY": "busy", "SQLITE_LOCKED": "busy", "55P03": "busy",
}  # fmt: skip


def _kind_of(error: BaseException | None) -> str:
    """full, refused, damaged, read-only, busy; empty for anything else."""
    code = str(getattr(error, "sqlite_errorname", "") or getattr(error, "sqlstate", "") or "")
    return next((kind for begins, kind in _KINDS.items() if code.startswith(begins)), "")


def _cannot_be_made(path: Path, error: OSError) -> str:
    if means_full(error):
        return f"{full_words(path)}; free some space and start again"
    return f"{path} cannot be made ({error.strerror}): check who owns its folder"


def _file_of(engine: Engine) -> Path | None:
    return Path(str(engine.url.database)) if engine.dialect.name == "sqlite" else None
