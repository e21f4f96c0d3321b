"""A quick look at the ledger before anything is served from it: the same few steps however long it is.

The head and the newest lines are checked, and that the file is as long as it says; a small file also page by page.
What stands further back, `python -m graph verify` and every scheduled backup read whole.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from graph.errors import Problem, StoreProblem
from graph.ledger.database import reading
from graph.ledger.verify import newest_line_faults

NEWEST = 100  # lines
MOST_PAGES = 2_000  # of a file that is looked through page by page; 8 MB, some milliseconds


def quick_faults(engine: Engine) -> list[Problem]:
    """What is wrong at first sight; empty for a ledger that may be served. Raises StoreProblem."""
    with reading(engine) as connection:
        try:
            return [*_file_faults(connection), *newest_line_faults(connection, NEWEST)]
        except DBAPIError as error:
            return [Problem("ledger", f"cannot be read: {error.orig}")]


def check_quickly(engine: Engine) -> None:
    """Raises StoreProblem with what `quick_faults` found: nothing is served from a ledger that is not what was kept."""
    if faults := quick_faults(engine):
        where = engine.url.render_as_string(hide_password=True)
        raise StoreProblem(
            f"{where} is not what was written: {faults[0]}; nothing was changed, and nothing is served from it; "
            f"`python -m graph verify` names all that is wrong, `python -m graph restore` fills an empty ledger from "
            f"a backup"
        )


def _file_faults(connection: Connection) -> list[Problem]:
    if connection.dialect.name != "sqlite":
        return []
    pages, size = (
        int(connection.exec_driver_sql(f"PRAGMA {name}").scalar() or 0) for name in ("page_count", "page_size")
    )
    file = Path(str(connection.engine.url.database))
    log = file.with_name(file.name + "-wal")
    if file.stat().st_size < pages * size and not (log.is_file() and log.stat().st_size):
        return [Problem("pages", f"the file should have {pages:,} pages of {size:,} bytes; its end is missing")]
    if pages > MOST_PAGES:
        return []
    found = str(connection.exec_driver_sql("PRAGMA quick_check(1)").scalar())
    return [] if found == "ok" else [Problem("pages", found.replace("\n", " "))]
