"""The index over a compact catalogue file: the same look-ups, each read where it lies.

`open_index` makes the file where there is none, or where the facts have changed, and opens it. Things are made when a
question asks for them; what many questions ask for is kept.
"""

from __future__ import annotations

import hashlib
import logging
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Generic, TypeVar

from graph.catalogue.compact.bulk import Report, file_source, pack_facts
from graph.catalogue.compact.opened import catalogue_of, list_tables
from graph.catalogue.compact.pack import ASKED, LARGE, kind_of_table
from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactFile, Relation, ThingTable, keys_of_file
from graph.catalogue.described import said_fields
from graph.catalogue.house import KINDS_FOLDER, SHAPES_FOLDER, VOCABULARY_FOLDER, is_about_facts
from graph.catalogue.kinds import BroaderKinds
from graph.catalogue.model import Catalogue
from graph.catalogue.names import SHOP
from graph.catalogue.relations import EDGES_BY, PARTS_BY
from graph.catalogue.statements import list_fact_files
from graph.catalogue.texts import Texts
from graph.errors import StoreProblem
from graph.lookups.index import CatalogueIndex, keep
from graph.lookups.layered import LayeredIndex, list_changed_things
from graph.lookups.listing import Asked, ListedParts, Listing
from graph.lookups.sequences import Each
from graph.lookups.tables import LookupTables, work_of

log = logging.getLogger("layshaft.catalogue")
VERSION = 10  # of how it is written; what the catalogue's classes hold is marked besides
FEW = 200  # things looked up by one key that are kept
Key = TypeVar("Key")
Value = TypeVar("Value")


LARGE_BYTES = 2_000_000  # of fact files; below, reading them at every start takes a second or two


def is_large(paths: Sequence[Path]) -> bool:
    """Are the facts so many that they should be kept in a compact file instead of read at every start?"""
    return sum(file.stat().st_size for file in list_fact_files(paths)) > LARGE_BYTES


def open_index(
    paths: Sequence[Path], cache: Path, *, shop_base: str = SHOP, report: Report = lambda what, done, of: None,
) -> CompactIndex:  # fmt: skip
    """The index of the house's kinds, the facts under `paths`, kept in the file `cache`.

    The file is made anew when a facts file, the shop's base or the program's version has changed. Raises InvalidFacts;
    then the file is as it was.
    """
    files = [file for file in list_fact_files([KINDS_FOLDER, *paths]) if not is_about_facts(file)]
    stamp = {"version": VERSION, "base": shop_base, "classes": _classes()}
    opened = _still_good(cache, stamp, [*files, *list_fact_files([SHAPES_FOLDER, VOCABULARY_FOLDER])])
    if opened is None:
        head = {**stamp, "files": _stamps([*files, *list_fact_files([SHAPES_FOLDER, VOCABULARY_FOLDER])])}
        pack_facts([*map(file_source, files)], cache, head, shop_base=shop_base, report=report)
        opened = CompactFile(cache, checked=True)
    return CompactIndex(opened)


def _classes() -> str:
    """A mark of the catalogue's classes and of what says their fields: a file of another program is not read."""
    names = []
    for name in list_tables():
        kind = kind_of_table(name)
        said = [(one.name, one.sort, one.properties) for one in said_fields(kind)]
        names.append(f"{name} {list(codec_of(kind).defaults)} {said}")
    return hashlib.sha256("\n".join(sorted(names)).encode()).hexdigest()[:16]


def _stamps(files: Sequence[Path]) -> list[list[Any]]:
    """Per file: name, size, time of last change, hash of its content."""
    return [[str(file.resolve()), *_seen(file), _hash(file)] for file in files]


def _seen(file: Path) -> tuple[int, int]:
    found = file.stat()
    return found.st_size, found.st_mtime_ns


def _hash(file: Path) -> str:
    with file.open("rb") as data:
        return hashlib.file_digest(data, "blake2b").hexdigest()[:32]


def _still_good(cache: Path, stamp: Mapping[str, Any], files: Sequence[Path]) -> CompactFile | None:
    """The file, if it was made from just these facts. A file whose time alone has changed is known by its hash."""
    if not cache.is_file():
        return None
    try:
        opened = CompactFile(cache)
    except StoreProblem as error:
        log.warning("%s; at this start that is done unasked, from the fact files", error)
        return None
    head = opened.head
    if any(head.get(name) != value for name, value in stamp.items()):
        return None
    known = {name: (size, changed, content) for name, size, changed, content in head["files"]}
    if set(known) != {str(file.resolve()) for file in files}:
        return None
    for file in files:
        size, changed, content = known[str(file.resolve())]
        if _seen(file) != (size, changed) and (os.stat(file).st_size != size or _hash(file) != content):
            return None
    return opened


def reopen(path: Path) -> CompactIndex:
    """The index over a file that `open_index` has made or looked through just now; for another process."""
    return CompactIndex(CompactFile(path, checked=True))


class CompactIndex(CatalogueIndex):
    """The look-ups of the index, over a compact file."""

    def __init__(self, file: CompactFile, catalogue: Catalogue | None = None):
        """`catalogue`: the file's, opened earlier, maybe with kinds besides its own."""
        self.file, known = file, catalogue or catalogue_of(file)
        super().__init__(known, _tables_of_file(file, known, _table(known, "parts"), _table(known, "edges")))

    def anew(self, catalogue: Catalogue) -> CatalogueIndex:
        """The index of a catalogue that is the file's but for some changed things and other kinds."""
        own = self.catalogue
        tables: dict[str, Any] = {name: getattr(own, name) for name in (*LARGE, "faults", "inspections")}
        root = CompactIndex(self.file, replace(catalogue, **tables))
        return LayeredIndex(root, catalogue, list_changed_things(root.catalogue, catalogue))

    @property
    def path(self) -> Path:
        """The file that it reads."""
        return self.file.path

    def priced_kinds(self) -> frozenset[str]:
        """The kinds of which some part has a price, as the file's maker counted them."""
        if self._priced is None:
            self._priced = frozenset(self.file.head["small"]["priced_kinds"])
        return self._priced


def _table(catalogue: Catalogue, name: str) -> ThingTable[Any]:
    table = getattr(catalogue, name)
    assert isinstance(table, ThingTable)
    return table


def _tables_of_file(
    file: CompactFile, known: Catalogue, parts: ThingTable[Any], edges: ThingTable[Any]
) -> LookupTables:
    """The file's look-ups, read where they lie; those of work are few and made here."""
    keys = keys_of_file(file, parts, edges)
    relations = {name: Relation(file, name, keys) for name in (*PARTS_BY, *EDGES_BY)}
    listed = ListedParts(parts.ids, relations["of-kind"].get, lambda: Texts(file.data), lambda: _asked_in(file))
    return LookupTables(
        BroaderKinds(known.part_kinds),
        {one: LookedUp(relations[one], partial(Each, make=parts.ids.__getitem__)) for one in PARTS_BY},
        {one: LookedUp(relations[one], partial(_Made, make=edges.at)) for one in EDGES_BY},
        work_of(known),
        Listing(listed),
    )


def _asked_in(file: CompactFile) -> Asked:
    return {(key, op, value): count for key, op, value, count in file.head["small"][ASKED]}


class LookedUp(Generic[Key, Value]):
    """What a relation holds of a key, made when asked for and kept for a while."""

    def __init__(self, relation: Relation, make: Callable[[Sequence[int]], Sequence[Value]]):
        self._relation, self._make = relation, make
        self._kept: dict[Key, Sequence[Value]] = {}

    def get(self, key: Key, default: Any, /) -> Sequence[Value]:
        """What stands at the key; `default` where nothing does."""
        known = self._kept.get(key)
        if known is None:
            numbers = self._relation.get(key)  # type: ignore[arg-type]
            known = keep(self._kept, key, self._make(numbers) if len(numbers) else ())
        return known or default  # type: ignore[no-any-return]


class _Made(Each[Value]):
    """The same, but few are kept once made; of thousands that mate with a bearing, most are never looked at."""

    _kept: list[Value] | None = None

    def __iter__(self) -> Iterator[Value]:
        if self._kept is None:
            if len(self) > FEW:
                return super().__iter__()
            self._kept = list(super().__iter__())
        return iter(self._kept)
