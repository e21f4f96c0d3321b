"""The queryable graph: a pyoxigraph store that follows the ledger and can be thrown away.

One named graph for each note that stands, plus one graph, `<base>ledger`, that says at which position, hash
and number of quads the view stands; it changes in the same atomic update as the notes. A store can be damaged
and still open, with fewer quads than it had: `open_view` counts them and rebuilds. One that once failed to write
(a full disk) goes on failing until it is opened again, so that is done before the next write; until there is space
it is read as it stood. What was written stays in the store's memory until it is flushed, some 20 kB for each note,
so it is flushed every few hundred lines, beside whoever asks meanwhile. Every process has a view folder of its own (a
store has one writer), taken by a file lock.
"""

from __future__ import annotations

import fcntl
import shutil
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BufferedReader, RawIOBase
from pathlib import Path
from typing import IO, Any

import pyoxigraph as ox

from graph.errors import StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.disk import full_words, has_room, means_full
from graph.ledger.identity import VOCABULARY
from graph.ledger.provenance import quad_lines, quads_of
from graph.ledger.record import GENESIS, Entry

UPDATE_LINES = 200  # lines in one update: 20 to 500 were equally quick when measured
FLUSH_LINES = 400  # lines after which the store's memory goes to the disk
BULK_FROM = 5_000  # more lines than this behind: rebuilding in bulk is quicker than following
MAX_PROCESSES = 64
_IN_USE = "lock hold by current process"
_POSITION, _HASH, _COUNT = (ox.NamedNode(VOCABULARY + name) for name in ("ledgerPosition", "lineHash", "quadCount"))
_INTEGER = ox.NamedNode("http://www.w3.org/2001/XMLSchema#integer")


@dataclass(frozen=True, slots=True)
class ViewStanding:
    """Where a view stands: the ledger position, that line's hash, the note quads it must hold."""

    position: int = 0
    hash: str = GENESIS
    quads: int = 0


class View:
    """The ledger's notes as RDF, for one process. Thread-safe; close it to free its folder."""

    def __init__(self, ledger: Ledger, folder: Path, lock: IO[str]):
        self.ledger = ledger
        self.folder = folder
        self._lock_file = lock
        self._lock = threading.RLock()
        self._about = ox.NamedNode(f"{ledger.base}ledger")
        self._snapshots: dict[Path, int] = {}
        self.rebuilt_because = ""
        self._store: ox.Store | None = None
        self._ailing = False  # a write has failed, so all further ones would
        self._unflushed = 0  # lines
        self._flushing: threading.Thread | None = None
        with self._writing():
            self._open()
        self.catch_up()

    @property
    def store(self) -> ox.Store:
        """The store, for reading. Raises StoreProblem where it could not be opened again."""
        found = self._store
        if found is None:
            with self._lock:  # it may just be on its way
                found = self._store
        if found is None:
            raise StoreProblem(f"the graph in {self.folder} is closed; the next note or question opens it again")
        return found

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Turns the store's failures into StoreProblem, and remembers that it has to be opened again."""
        try:
            yield
        except (OSError, RuntimeError) as error:
            self._ailing = True
            if means_full(error):
                raise StoreProblem(_behind(self.folder)) from error
            raise StoreProblem(
                f"the graph in {self.folder} did not answer ({error}); it is opened again at the next try, and "
                f"`python -m graph rebuild` makes it anew"
            ) from error

    # Following

    def standing(self) -> ViewStanding:
        """What the store says of itself."""
        found = {quad.predicate: quad.object.value for quad in self._own_quads()}  # type: ignore[union-attr]
        if not {_POSITION, _HASH, _COUNT} <= set(found):
            return ViewStanding()
        return ViewStanding(int(found[_POSITION]), found[_HASH], int(found[_COUNT]))

    def catch_up(self) -> int:
        """Applies every line that the view has not seen; the position it stands at then.

        Called before a read, so a reader sees its own writes and those of other processes.
        """
        with self._lock:
            self._mend()
            head, standing = self.ledger.head(), self.standing()
            if head.position == standing.position and head.hash == standing.hash:
                return standing.position
            reason = self._why_not_following(head.position, standing)
            with self._writing():
                if reason or head.position - standing.position > BULK_FROM:
                    self._rebuild(reason)
                else:
                    self._follow(standing)
            return self.standing().position

    def rebuild(self) -> ViewStanding:
        """Throws the store away and makes it again from the ledger."""
        with self._lock, self._writing():
            self._rebuild("")
            self._ailing = False
            return self.standing()

    def close(self) -> None:
        """Syncs the store and gives the folder free."""
        with self._lock:
            self._await_flush()
            try:
                if self._store is not None:
                    self._store.flush()
            except (OSError, RuntimeError):
                pass  # what did not reach the disk is missed when the folder is next opened, and taken in again
            finally:
                self._store = None
                self._lock_file.close()

    def _why_not_following(self, newest: int, standing: ViewStanding) -> str:
        if standing.position > newest:
            return f"the view was at line {standing.position}, the ledger ends at {newest}"
        if standing.position == 0:
            return ""
        line = self.ledger.find_line(standing.position)
        return (
            "" if line and line.hash == standing.hash else f"line {standing.position} is not the one that was applied"
        )

    def _follow(self, standing: ViewStanding) -> None:
        batch: list[Entry] = []
        for line in self.ledger.iter_lines(after=standing.position):
            batch.append(line)
            if len(batch) == UPDATE_LINES:
                standing, batch = self._apply(standing, batch), []
        if batch:
            self._apply(standing, batch)

    def _apply(self, standing: ViewStanding, lines: list[Entry]) -> ViewStanding:
        newest = {line.iri: line for line in lines if line.is_note}
        gone = sum(1 for iri in newest for _ in self._graph(iri))
        quads = {iri: () if line.retracted else quads_of(line) for iri, line in newest.items()}
        count = standing.quads - gone + sum(map(len, quads.values()))
        after = ViewStanding(lines[-1].position, lines[-1].hash, count)
        drops = "".join(f"DROP SILENT GRAPH <{iri}>;\n" for iri in (*newest, self._about.value))
        body = "".join(_graph_block(group) for group in (*quads.values(), self._own(after)))
        self.store.update(f"{drops}INSERT DATA {{\n{body}}}")
        self._flush_beside(len(lines))
        return after

    def _flush_beside(self, lines: int) -> None:
        """Every FLUSH_LINES lines the store's memory goes to the disk, in a thread: nobody waits for it."""
        self._unflushed += lines
        if self._unflushed >= FLUSH_LINES and (self._flushing is None or not self._flushing.is_alive()):
            self._unflushed = 0
            self._flushing = threading.Thread(target=self._flush, args=(self.store,), name="flush of the graph")
            self._flushing.start()

    def _flush(self, store: ox.Store) -> None:
        try:
            store.flush()
        except (OSError, RuntimeError):
            self._ailing = True  # nothing is lost: opened again, the store takes in what did not reach the disk

    def _await_flush(self) -> None:
        """A store that is flushed is in use: it could be neither opened again nor thrown away."""
        if self._flushing is not None:
            self._flushing.join()
            self._flushing = None

    def _graph(self, iri: str) -> Iterator[ox.Quad]:
        return iter(self.store.quads_for_pattern(None, None, None, ox.NamedNode(iri)))

    def _own_quads(self) -> Iterable[ox.Quad]:
        return self.store.quads_for_pattern(self._about, None, None, self._about)

    def _own(self, standing: ViewStanding) -> list[ox.Quad]:
        values = {
            _POSITION: ox.Literal(str(standing.position), datatype=_INTEGER),
            _HASH: ox.Literal(standing.hash),
            _COUNT: ox.Literal(str(standing.quads), datatype=_INTEGER),
        }
        return [ox.Quad(self._about, predicate, value, self._about) for predicate, value in values.items()]

    # Opening and rebuilding

    @property
    def path(self) -> Path:
        """The folder of the store itself."""
        return self.folder / "store"

    def _open(self) -> None:
        """Opens the store; makes a new one where it is damaged. Raises OSError for a full disk or a store in use."""
        try:
            self._store = ox.Store(self.path)
            standing = self.standing()
            found = len(self._store) - len(list(self._own_quads()))
        except (OSError, ValueError, RuntimeError) as error:  # RuntimeError: what the store calls corruption
            if means_full(error) or _IN_USE in str(error):
                raise
            self._replace(f"the store did not open: {error}")
            return
        if found != standing.quads:
            self._replace(f"the store holds {found} quads where {standing.quads} were written")

    def _mend(self) -> None:
        """Opens a store again that failed to write, once there is space; until then it is left open for reading."""
        if not self._ailing and self._store is not None:
            return
        if not has_room(self.folder):
            raise StoreProblem(_behind(self.folder))
        self._await_flush()
        self._store = None  # closes it, once whoever reads it has finished
        with self._writing():
            self._open()
        self._ailing = False

    def _replace(self, reason: str) -> None:
        self.rebuilt_because = reason
        self._await_flush()
        self._store = None
        shutil.rmtree(self.path, ignore_errors=True)
        self._store = ox.Store(self.path)

    def _rebuild(self, reason: str) -> None:
        """Loads everything in bulk, as text straight from the ledger: nothing is parsed in Python."""
        self._replace(reason)
        head = self.ledger.head()
        entries = self.ledger.iter_current(as_of=head.position)
        lines = (line.encode() for entry in entries for line in quad_lines(entry))
        self.store.bulk_load(BufferedReader(_Lines(lines), 1 << 20), format=ox.RdfFormat.N_QUADS, lenient=True)  # type: ignore[arg-type]
        self.store.extend(self._own(ViewStanding(head.position, head.hash, len(self.store))))
        self.store.flush()

    # Reading

    @contextmanager
    def snapshot(self) -> Iterator[Path]:
        """A folder with the store as it stands now, that no writer touches; for readers in other processes.

        Made of hard links; shared by readers of one position, removed when the last one has finished.
        """
        with self._lock:
            path = self.folder / f"snapshot-{self.catch_up()}"
            if not path.exists():
                self._drop_unused()
                with self._writing():
                    self._save(path)
            self._snapshots[path] = self._snapshots.get(path, 0) + 1
        try:
            yield path
        finally:
            with self._lock:
                self._snapshots[path] -= 1

    def _save(self, path: Path) -> None:
        """Whole or not at all: a copy that a full disk cut short must not be taken for one."""
        unfinished = self.folder / "snapshot-unfinished"
        shutil.rmtree(unfinished, ignore_errors=True)
        self.store.backup(unfinished)
        unfinished.rename(path)

    def _drop_unused(self) -> None:
        for path in self.folder.glob("snapshot-*"):
            if not self._snapshots.get(path):
                self._snapshots.pop(path, None)
                shutil.rmtree(path, ignore_errors=True)


class _Lines(RawIOBase):
    """A file to read from, made of lines that come one by one."""

    def __init__(self, lines: Iterator[bytes]):
        self._lines, self._left = lines, b""

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        """Fills the buffer as far as it goes; 0 at the end."""
        parts, size = [self._left], len(self._left)
        while size < len(buffer) and (line := next(self._lines, b"")):
            parts.append(line)
            size += len(line)
        data = b"".join(parts)
        self._left = data[len(buffer) :]
        data = data[: len(buffer)]
        buffer[: len(data)] = data
        return len(data)


def open_view(ledger: Ledger, folder: Path) -> View:
    """A view of the ledger in the first free place under `folder`; caught up, rebuilt if it was damaged.

    Raises StoreProblem if 64 processes have views there, or the disk refuses.
    """
    for number in range(MAX_PROCESSES):
        place = folder / f"view-{number}"
        place.mkdir(parents=True, exist_ok=True)
        lock = (place / "lock").open("w")  # closed with the view
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            lock.close()
            continue
        for left in place.glob("snapshot-*"):
            shutil.rmtree(left, ignore_errors=True)
        return View(ledger, place, lock)
    raise StoreProblem(f"{MAX_PROCESSES} processes already have views in {folder}")


def _graph_block(quads: Iterable[ox.Quad]) -> str:
    group = list(quads)
    if not group:
        return ""
    return f"GRAPH {group[0].graph_name} {{\n" + "".join(f"{quad.triple} .\n" for quad in group) + "}\n"


def _behind(folder: Path) -> str:
    return f"{full_words(folder)}: the graph stays behind the ledger; free some space, and it goes on by itself"
