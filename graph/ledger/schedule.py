"""Backups by the clock: each is made, verified, restored into a scratch ledger, and only then is an old one removed.

What came of it stands in a file of fixed size that is written in place, so that a full disk can still be told of.
"""

from __future__ import annotations

import json
import os
import shutil
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from graph.errors import LayshaftError, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.care import backup, restore
from graph.ledger.checkpoint import stamp_of
from graph.ledger.database import sqlite_url
from graph.ledger.disk import unwritten_words
from graph.ledger.verify import Tell

NAMES = "ledger-*T*Z.db"
AGAIN = timedelta(minutes=10)  # after a failure, where backups are further apart than that
STATE_BYTES = 4096


@dataclass(frozen=True, slots=True)
class BackupPlan:
    """Into which folder, every how many hours, and how many are kept (at least 1)."""

    folder: Path
    hours: int
    keep: int


@dataclass(frozen=True, slots=True)
class BackupState:
    """`file`, `good_at`, `size`, `checkpoint`: of the last good backup; `failed_at`, `failure`: of a failure since.

    Times are UTC (RFC 3339), sizes bytes. Empty: none yet.
    """

    file: str = ""
    good_at: str = ""
    size: int = 0
    checkpoint: str = ""
    failed_at: str = ""
    failure: str = ""

    @property
    def words(self) -> str:
        """`failed` where the last try failed, `good`, or `none yet`."""
        return "failed" if self.failure else "good" if self.good_at else "none yet"


def is_due(state: BackupState, plan: BackupPlan, now: datetime) -> bool:
    """Whether one should be made now; also where the clock was set back behind the last one.

    >>> from datetime import UTC
    >>> made = BackupState(good_at="2026-01-01T00:00:00Z")
    >>> [is_due(made, BackupPlan(Path("b"), 24, 7), datetime(2026, 1, day, tzinfo=UTC)) for day in (1, 2)]
    [False, True]
    """
    wait = timedelta(hours=plan.hours)
    last, apart = (state.failed_at, min(AGAIN, wait)) if state.failure else (state.good_at, wait)
    if not last:
        return True
    age = now - datetime.fromisoformat(last)
    return age >= apart or age < -timedelta(minutes=1)


def make_backup(ledger: Ledger, plan: BackupPlan, now: datetime, tell: Tell | None = None) -> BackupState:
    """A new backup in the folder, proven by restoring it; then those beyond `keep` are removed, the oldest first.

    Raises StoreProblem; then every older backup is still there, and nothing half is left.
    """
    path = plan.folder / f"ledger-{now:%Y%m%dT%H%M%S}Z.db"
    try:
        plan.folder.mkdir(parents=True, exist_ok=True)
        _clear_leavings(plan.folder)
        report = backup(ledger, path, tell)
        try:
            with TemporaryDirectory(prefix=".trial-", dir=plan.folder) as scratch:
                restore(path, sqlite_url(Path(scratch) / "ledger.db"), tell)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        size = path.stat().st_size
        _rotate(plan, path)
    except OSError as error:
        raise StoreProblem(f"{unwritten_words(plan.folder, error)}: no backup was made") from error
    return BackupState(path.name, stamp_of(now), size, str(report.checkpoint))


def try_backup(
    ledger: Ledger, plan: BackupPlan, before: BackupState, now: datetime, tell: Tell | None = None
) -> BackupState:  # fmt: skip
    """The same; a failure stands in the state, beside the last good one."""
    try:
        return make_backup(ledger, plan, now, tell)
    except LayshaftError as error:
        return replace(before, failed_at=stamp_of(now), failure=str(error))


def list_backups(folder: Path) -> list[Path]:
    """The scheduled backups in the folder, oldest first."""
    return sorted(folder.glob(NAMES))


def read_state(file: Path) -> BackupState:
    """What was written last; an empty state where nothing was, or where it cannot be read."""
    try:
        return BackupState(**json.loads(file.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return BackupState()


def write_state(file: Path, state: BackupState) -> None:
    """Writes it in place, over the same bytes. Raises OSError where even that cannot be done."""
    said = json.dumps(asdict(replace(state, failure=state.failure[:500])))
    file.parent.mkdir(parents=True, exist_ok=True)
    kept = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        os.pwrite(kept, said.encode().ljust(STATE_BYTES), 0)
    finally:
        os.close(kept)


def _rotate(plan: BackupPlan, made: Path) -> None:
    older = [path for path in list_backups(plan.folder) if path != made]
    for path in older[: max(0, len(older) - (plan.keep - 1))]:
        path.unlink(missing_ok=True)


def _clear_leavings(folder: Path) -> None:
    """What a backup that was killed has left behind; only one process makes them at a time."""
    for path in (*folder.glob("ledger-*Z.db.unfinished*"), *folder.glob(".trial-*")):
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            with suppress(OSError):
                path.unlink()
