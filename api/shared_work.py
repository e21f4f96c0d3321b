"""What all service processes on one data folder know of each other's long work: a file for each piece of it.

The process that works on it writes, every other one reads; whoever wants it to end leaves a mark that the first looks
for. Work whose process has ended is known by that. The files are the program's own, in the workshop's own folder, and
are trusted as the ledger beside them is.
"""

from __future__ import annotations

import os
import pickle
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from fcntl import LOCK_EX, flock
from pathlib import Path
from typing import Any, NamedTuple

MOST_FILES = 200  # of one kind; the oldest go


class SharedWork(NamedTuple):
    """A piece of work as its process last wrote it; `alive`: whether that process still runs."""

    value: Any
    alive: bool


class WorkFolder:
    """`kind` and `name` are plain words. Safe for any thread and process."""

    def __init__(self, folder: Path):
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    def write(self, kind: str, name: str, value: Any) -> None:
        """What everybody shall know of it now; in one piece or not at all."""
        data = pickle.dumps((os.getpid(), _started(os.getpid()), value))
        descriptor, path = tempfile.mkstemp(dir=self.folder, prefix=".")
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(data)
            os.replace(path, self._path(kind, name))
        except OSError:
            Path(path).unlink(missing_ok=True)
            raise
        self._forget_old(kind)

    def find(self, kind: str, name: str) -> SharedWork | None:
        """What is known of it; None where nothing is."""
        return self._read(self._path(kind, name))

    def list_work(self, kind: str) -> list[SharedWork]:
        """Everything of the kind."""
        return [found for path in self.folder.glob(f"{kind}--*.work") if (found := self._read(path))]

    def ask_to_end(self, kind: str, name: str) -> None:
        """Leaves the mark."""
        self._path(kind, name).with_suffix(".end").touch()

    def is_asked_to_end(self, kind: str, name: str) -> bool:
        """Whether the mark is there."""
        return self._path(kind, name).with_suffix(".end").exists()

    @contextmanager
    def one_at_a_time(self, kind: str) -> Iterator[None]:
        """Waits until no other process is at it. The system frees it when the process ends, however it does."""
        with (self.folder / f"{kind}.lock").open("w") as file:
            flock(file, LOCK_EX)
            yield

    def _path(self, kind: str, name: str) -> Path:
        if not name.replace("-", "").isalnum():
            return self.folder / "none"
        return self.folder / f"{kind}--{name}.work"

    def _read(self, path: Path) -> SharedWork | None:
        try:
            pid, started, value = pickle.loads(path.read_bytes())
        except (OSError, EOFError, pickle.UnpicklingError, AttributeError, ImportError, ValueError):
            return None  # another version's, or none
        return SharedWork(value, _started(pid) == started)

    def _forget_old(self, kind: str) -> None:
        paths = sorted(self.folder.glob(f"{kind}--*.work"), key=lambda path: path.name)
        if len(paths) > MOST_FILES:
            for path in sorted(paths, key=_changed)[:-MOST_FILES]:
                path.unlink(missing_ok=True)
                path.with_suffix(".end").unlink(missing_ok=True)


def _changed(path: Path) -> float:
    with suppress(OSError):
        return path.stat().st_mtime
    return 0.0


def _started(pid: int) -> str:
    """When the process began, so that another one that got its number later is not taken for it; empty: it is gone."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[19]
    except OSError:
        pass
    if Path("/proc/self").exists():
        return ""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return ""
    except PermissionError:
        pass
    return str(pid)
