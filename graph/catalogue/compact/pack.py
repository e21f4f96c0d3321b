"""Collects the things of many chunks and writes the compact file: records, sorted ids, and the columns of look-ups."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any, Self, get_args, get_type_hints

import numpy as np

from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import NAMED, RESTS, CompactSection, KeyNumbers
from graph.catalogue.kinds import BroaderKinds
from graph.catalogue.model import Catalogue, Edge, Note, Part
from graph.catalogue.relations import (
    EDGES_BY,
    PARTS_BY,
    PartKeys,
    asked_of,
    keys_of_part,
    places_of_edge,
    places_of_part,
)
from graph.catalogue.texts import pack_texts, text_of

LARGE = ("parts", "edges", "notes")  # read record by record; the other tables are small and are read whole
COLUMNS = (*EDGES_BY, *PARTS_BY)
ASKED = "asked"  # the conditions: lists of key, operator, value and on how many things


def kind_of_table(name: str) -> Any:
    """The class of the things in one of the catalogue's tables."""
    return get_args(get_type_hints(Catalogue)[name])[1]


class Packer:
    """One compact file in the making. Nothing of it stays where it is left by an error."""

    def __init__(self, target: Path, shop_base: str):
        self.shop_base = shop_base
        target.parent.mkdir(parents=True, exist_ok=True)
        self._drafts = TemporaryDirectory(dir=target.parent, prefix=".packing-")
        self._tables = {name: _Records(Path(self._drafts.name) / name) for name in LARGE}
        self._section = CompactSection(target)
        self._parts: list[PartKeys] = []  # in order of `_tables["parts"].ids`
        self._edges: list[tuple[str, str, str, str]] = []  # kind, source, target, joint
        self._texts: list[str] = []
        self._asked: Counter[tuple[str, str, str]] = Counter()
        self._priced: set[str] = set()
        self._small: dict[str, dict[str, Any]] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if error is not None:
            self._section.discard()
        for table in self._tables.values():
            table.close()
        self._drafts.cleanup()

    def add(self, catalogue: Catalogue) -> None:
        """The things of one chunk; its kinds are expected at `finish`."""
        seen: dict[str, str] = {}
        for part in catalogue.parts.values():
            self._tables["parts"].add(part.id, codec_of(Part).to_bytes(part))
            self._parts.append(keys_of_part(part))
            self._texts.append(text_of(part))
            self._note_conditions(part)
            if part.cash_hundredths is not None and not part.abstract:
                self._priced.add(part.kind)
        for edge in catalogue.edges.values():
            self._tables["edges"].add(edge.id, codec_of(Edge).to_bytes(edge))
            self._note_conditions(edge)
            ends = (seen.setdefault(text, text) for text in (edge.kind, edge.source, edge.target, edge.joint))
            self._edges.append(tuple(ends))  # type: ignore[arg-type]
        for note in catalogue.notes.values():
            self._tables["notes"].add(note.id, codec_of(Note).to_bytes(note))
        self._add_small(catalogue)

    def _note_conditions(self, thing: Part | Edge) -> None:
        self._asked.update(asked_of(thing))

    def _add_small(self, catalogue: Catalogue) -> None:
        for name in Catalogue.__dataclass_fields__:
            table = getattr(catalogue, name)
            if isinstance(table, dict) and name not in LARGE:
                codec = codec_of(kind_of_table(name))
                self._small.setdefault(name, {}).update((key, codec.to_plain(thing)) for key, thing in table.items())

    def finish(self, shared: Catalogue, head: Mapping[str, Any], statements: bytes) -> None:
        """Writes everything and puts the file in place. `statements`: what was said of kinds and shop."""
        self.add(shared)
        numbers = {name: table.write(self._section, name) for name, table in self._tables.items()}
        self._write_relations(shared, numbers["parts"], numbers["edges"])
        order = sorted(range(len(self._texts)), key=self._tables["parts"].ids.__getitem__)
        for name, data in pack_texts([self._texts[place] for place in order]).items():
            self._section.add(name, data)
        self._small[ASKED] = [[*one, count] for one, count in sorted(self._asked.items())]  # type: ignore[assignment]
        self._section.add("shared", statements)
        own = {"workshop": shared.workshop, "currency": shared.currency, "rate_hundredths": shared.rate_hundredths}
        self._section.close({**head, "shop": {**own, "day_hours": str(shared.day_hours)}, "small": self._small})

    def _write_relations(self, shared: Catalogue, parts: dict[str, int], edges: dict[str, int]) -> None:
        named: dict[str, int] = {}
        rests: dict[str, int] = {"": 0}

        def owner(name: str) -> int:
            if name in parts:
                return parts[name]
            return len(parts) + (edges[name] if name in edges else len(edges) + named.setdefault(name, len(named)))

        columns = _Columns(KeyNumbers(owner, lambda rest: rests.setdefault(rest, len(rests))))
        kinds = BroaderKinds(shared.part_kinds)
        self._relate_edges(kinds, edges, columns)
        self._relate_parts(kinds, parts, columns)
        columns.write(self._section)
        self._small["priced_kinds"] = dict.fromkeys(sorted(self._priced), True)
        self._small[NAMED], self._small[RESTS] = named, rests

    def _relate_edges(self, kinds: BroaderKinds, edges: dict[str, int], columns: _Columns) -> None:
        kind_of = {part.id: part.kind for part in self._parts}

        def stands_inside(part: str) -> bool:
            return part in kind_of and kinds.stands_inside(kind_of[part])

        for id_, ends in zip(self._tables["edges"].ids, self._edges, strict=True):
            for relation, key in places_of_edge(*ends, stands_inside):
                columns.note(relation, key, edges[id_])

    def _relate_parts(self, kinds: BroaderKinds, parts: dict[str, int], columns: _Columns) -> None:
        for part in self._parts:
            for relation, key in places_of_part(part, kinds):
                columns.note(relation, key, parts[part.id])


class _Columns:
    """Pairs of numbers, by look-up: key and value, noted in any order and written sorted."""

    def __init__(self, keys: KeyNumbers) -> None:
        self._keys = keys
        self._pairs: dict[str, tuple[array[int], array[int]]] = {name: (array("q"), array("q")) for name in COLUMNS}

    def note(self, name: str, key: str | tuple[Any, ...], value: int) -> None:
        keys, values = self._pairs[name]
        keys.append(self._keys.of(key))
        values.append(value)

    def write(self, section: CompactSection) -> None:
        for name, (keys, values) in self._pairs.items():
            _write_sorted(section, name, keys, values)


def _write_sorted(section: CompactSection, name: str, keys: array[int], values: array[int]) -> None:
    key_column, value_column = np.array(keys, np.int64), np.array(values, np.int64)
    by = np.lexsort((value_column, key_column))
    section.add(f"{name}.keys", key_column[by].tobytes())
    section.add(f"{name}.values", value_column[by].tobytes())


class _Records:
    """The records of one table, in a file of their own until the end."""

    def __init__(self, path: Path):
        self.path, self._file = path, path.open("wb")
        self.ids: list[str] = []
        self._ends = array("q", [0])

    def add(self, id_: str, record: bytes) -> None:
        """Appends a record."""
        self._file.write(record)
        self.ids.append(id_)
        self._ends.append(self._ends[-1] + len(record))

    def close(self) -> None:
        self._file.close()

    def write(self, section: CompactSection, name: str) -> dict[str, int]:
        """Appends the table's sections and hands back each id's number."""
        self._file.close()
        order = sorted(range(len(self.ids)), key=self.ids.__getitem__)
        section.add_file(f"{name}.records", self.path)
        section.add(f"{name}.starts", array("q", (self._ends[place] for place in order)))
        section.add(f"{name}.ends", array("q", (self._ends[place + 1] for place in order)))
        encoded = [self.ids[place].encode() for place in order]
        ends = array("q", [0])
        for text in encoded:
            ends.append(ends[-1] + len(text))
        section.add(f"{name}.ids", b"".join(encoded))
        section.add(f"{name}.id-ends", ends)
        return {self.ids[place]: number for number, place in enumerate(order)}
