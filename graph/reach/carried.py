"""An index carried to another process: the compact file by its name, and beside it only what was changed over it.

The receiving process opens the same file (it need not be sent), lays the changes over it, and keeps the index for the
questions that follow. What does not rest on a file is sent as it is.
"""

from __future__ import annotations

import hashlib
import io
import pickle
from dataclasses import dataclass, fields
from pathlib import Path
from threading import Lock
from typing import Any

from graph.catalogue.compact.opened import catalogue_of
from graph.catalogue.model import Catalogue
from graph.lookups.compact import CompactIndex, reopen
from graph.lookups.layered import LayeredIndex, list_changed_things
from graph.reading import CatalogueIndex


@dataclass(frozen=True, slots=True)
class Carried:
    """What is sent. `file`: the compact file, empty for none; `size_bytes`: how large it is; `data`: the rest."""

    file: str
    size_bytes: int
    data: bytes

    @property
    def mark(self) -> str:
        """The same for the same facts."""
        return hashlib.blake2b(self.data + f"{self.file} {self.size_bytes}".encode(), digest_size=16).hexdigest()

    def open(self) -> CatalogueIndex:
        """The index. Raises StoreProblem where the file cannot be read here."""
        if not self.file:
            return CatalogueIndex(pickle.loads(self.data))
        ground = reopen(Path(self.file))
        catalogue = _Unpickler(io.BytesIO(self.data), ground.catalogue).load()
        names = list_changed_things(ground.catalogue, catalogue)
        whole = all(getattr(catalogue, name) is getattr(ground.catalogue, name) for name in _names())
        return ground if whole else LayeredIndex(ground, catalogue, names)


def carry(index: CatalogueIndex) -> Carried:
    """What another process needs to have the same index. Computed edges are computed there."""
    ground = index
    while isinstance(ground, LayeredIndex):
        ground = ground.below
    if not isinstance(ground, CompactIndex):
        return Carried("", 0, pickle.dumps(index.catalogue))
    data = io.BytesIO()
    _Pickler(data, catalogue_of(ground.file)).dump(index.catalogue)
    path = ground.path.resolve()
    return Carried(str(path), path.stat().st_size, data.getvalue())


def _names() -> list[str]:
    return [field.name for field in fields(Catalogue)]


class _Pickler(pickle.Pickler):
    """Writes the tables of the ground as their names."""

    def __init__(self, to: io.BytesIO, ground: Catalogue):
        super().__init__(to)
        self._known = {id(table): name for name in _names() if not _is_plain(table := getattr(ground, name))}

    def persistent_id(self, thing: Any) -> str | None:
        return self._known.get(id(thing))


class _Unpickler(pickle.Unpickler):
    def __init__(self, data: io.BytesIO, ground: Catalogue):
        super().__init__(data)
        self._ground = ground

    def persistent_load(self, name: Any) -> Any:
        return getattr(self._ground, name)


def _is_plain(value: object) -> bool:
    return isinstance(value, (str, int, float))


_opened: dict[str, CatalogueIndex] = {}  # the last one only: an index may be large
_lock = Lock()


def index_of(carried: Carried) -> CatalogueIndex:
    """The index, opened once in this process."""
    with _lock:
        mark = carried.mark
        if mark not in _opened:
            _opened.clear()
            _opened[mark] = carried.open()
        return _opened[mark]
