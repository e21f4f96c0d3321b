"""Looks after the ledger while it is served: backups by the clock, checkpoints in a file outside.

Of all processes on one data folder exactly one does it: the one that holds a lock file, which the system gives free
when that process ends, however it ends. All of them tell of it, from the same file.
"""

from __future__ import annotations

import fcntl
import logging
import os
import threading
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from graph.errors import LayshaftError, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.checkpoint import keep_checkpoint, take_checkpoint
from graph.ledger.schedule import BackupPlan, BackupState, is_due, read_state, try_backup, write_state

LOOKS_EVERY_S = 5.0
CLOSING_S = 5.0
log = logging.getLogger("layshaft.keeper")


class LedgerKeeper:
    """`folder`: where its lock and its state stand. `plan`: None for no backups. `checkpoints`: the file, or None."""

    def __init__(self, ledger: Ledger, folder: Path, plan: BackupPlan | None, checkpoints: Path | None = None):
        self.ledger, self.plan, self.checkpoints = ledger, plan, checkpoints
        self.checkpoint_fault = ""
        self._state_file, self._lock_file = folder / "backups.json", folder / "keeper.lock"
        self._untold: BackupState | None = None  # what could not be written
        self._stop = threading.Event()
        self._lock: int | None = None
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begins to look after the ledger, in a thread of its own, if there is anything to do."""
        if self.plan is not None or self.checkpoints is not None:
            self._thread = threading.Thread(target=self._run, name="layshaft-keeper", daemon=True)
            self._thread.start()

    def close(self) -> None:
        """Ends it; a backup under way is given up and leaves nothing."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(CLOSING_S)
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None

    def state(self) -> BackupState:
        """What came of the backups, by whichever process."""
        return self._untold or read_state(self._state_file)

    def look(self, now: datetime) -> None:
        """Does what is due, if this process is the one that does it."""
        if not self._is_the_one():
            return
        if self.checkpoints is not None:
            self._keep_checkpoint(self.checkpoints)
        if self.plan is not None and is_due(before := self.state(), self.plan, now):
            after = try_backup(self.ledger, self.plan, before, now, self._tell)
            if not self._stop.is_set():
                self._note(after)

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self.look(datetime.now(UTC))
            except Exception:  # whatever it was: the service goes on, and the next look tries again
                log.exception("the ledger was not looked after")
            self._stop.wait(LOOKS_EVERY_S)

    def _is_the_one(self) -> bool:
        if self._lock is None:
            try:
                self._lock_file.parent.mkdir(parents=True, exist_ok=True)
                lock = os.open(self._lock_file, os.O_RDWR | os.O_CREAT, 0o600)
            except OSError as error:
                log.warning("%s cannot be made: %s", self._lock_file, error)
                return False
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                os.close(lock)
                return False
            self._lock = lock
        return True

    def _keep_checkpoint(self, file: Path) -> None:
        try:
            keep_checkpoint(take_checkpoint(self.ledger), file)
            self.checkpoint_fault = ""
        except LayshaftError as error:
            if str(error) != self.checkpoint_fault:
                log.warning("%s", error)
            self.checkpoint_fault = str(error)

    def _note(self, state: BackupState) -> None:
        if state.failure:
            log.warning("no backup was made: %s", state.failure)
        else:
            log.info("backup %s made and restored on trial", state.file)
        self._untold = state
        with suppress(OSError):
            write_state(self._state_file, state)
            self._untold = None

    def _tell(self, what: str, done: int, of: int) -> None:
        if self._stop.is_set():
            raise StoreProblem("the service is ending: this backup was given up")
