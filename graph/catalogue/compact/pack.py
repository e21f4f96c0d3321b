"""Collects the things of many chunks and writes the compact file: records, sorted ids, and the columns of look-ups."""

from __future__ import annotations

from array import array
from collections import ChainMap, Counter
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any, Self, get_args, get_type_hints

import numpy as np

from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactSection
from graph.catalogue.kinds import with_broader
from graph.catalogue.model import END_SORTS, LAYS_OPEN, REPLACES, UNIT_KINDS, Catalogue, Edge, Note, Part
from graph.catalogue.relations import BY_TARGET, MATING, RELATION_OF, RELATIONS, asked_of, ends_of
from graph.catalogue.texts import pack_texts, text_of

LARGE = ("parts", "edges", "notes")  # read record by record; the other tables are small and are read whole
COLUMNS = (*(name for name in RELATIONS if name != "laid-open"), "variants", "families", "of-kind", *UNIT_KINDS)
OPENED = "laid_open_by"
ASKED = "asked"  # the conditions: lists of key, operator, value and on how many things
SORT_CODES = {sort: code for code, sort in enumerate(END_SORTS)}


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
        self._parts: list[tuple[str, str]] = []  # kind, family; in order of `_tables["parts"].ids`
        self._edges: list[tuple[str, str, str, str]] = []  # kind, source, target, joint
        self._families: list[str] = []
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
            self._parts.append((part.kind, part.variant_of))
            self._texts.append(text_of(part))
            self._note_conditions(part)
            if part.abstract:
                self._families.append(part.id)
            elif part.cash_hundredths is not None:
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
        columns = _Columns()
        self._relate_edges(shared, parts, edges, columns)
        self._relate_parts(shared, parts, columns)
        columns.write(self._section)
        self._small["priced_kinds"] = dict.fromkeys(sorted(self._priced), True)

    def _relate_edges(
        self, shared: Catalogue, parts: dict[str, int], edges: dict[str, int], columns: _Columns
    ) -> None:  # fmt: skip
        joints = {joint: code for code, joint in enumerate(sorted(shared.joint_kinds))}
        features = {feature: code for code, feature in enumerate(sorted(shared.features))}
        ends = ChainMap({feature: len(parts) + code for feature, code in features.items()}, parts)
        kinds = _Kinds(shared)
        kind_of = dict(zip(self._tables["parts"].ids, (kind for kind, _ in self._parts), strict=True))
        opened: dict[str, list[str]] = {}
        for id_, (kind, source, target, joint) in zip(self._tables["edges"].ids, self._edges, strict=True):
            number = edges[id_]
            for end, sort in ends_of(kind, source, target):
                if end in ends:
                    columns.note("ends", ends[end] * len(END_SORTS) + SORT_CODES[sort], number)
            if kind in MATING:
                for here, far in ((source, target), (target, source)):
                    if here in parts and joint in joints:
                        key = parts[here] * len(joints) + joints[joint]
                        columns.note("mating", key, number)
                        if kinds.stands_inside(kind_of.get(far, "")):
                            columns.note("mating-inside", key, number)
            elif kind == LAYS_OPEN:
                opened.setdefault(target, []).append(source)
            else:
                at = target if kind in BY_TARGET else source
                key = parts[at] if at in parts else len(parts) + edges[at]
                columns.note(RELATION_OF[kind], key, number)
                if kind == REPLACES and source in parts:
                    columns.note("replaced", parts[source], number)
        self._small[OPENED] = {fault: sorted(tasks) for fault, tasks in opened.items()}
        self._small["joint_codes"], self._small["feature_codes"] = joints, features

    def _relate_parts(self, shared: Catalogue, parts: dict[str, int], columns: _Columns) -> None:
        codes: dict[str, int] = {}
        kinds = _Kinds(shared)
        for id_, (kind, family) in zip(self._tables["parts"].ids, self._parts, strict=True):
            if family in parts:
                columns.note("variants", parts[family], parts[id_])
            columns.note("of-kind", codes.setdefault(kind, len(codes)), parts[id_])
            for unit in UNIT_KINDS:
                if unit in kinds.broader(kind):
                    columns.note(unit, 0, parts[id_])
        for id_ in self._families:
            columns.note("families", parts[id_], 1)
        self._small["kind_codes"] = codes


class _Columns:
    """Pairs of numbers, by look-up: key and value, noted in any order and written sorted."""

    def __init__(self) -> None:
        self._pairs: dict[str, tuple[array[int], array[int]]] = {name: (array("q"), array("q")) for name in COLUMNS}

    def note(self, name: str, key: int, value: int) -> None:
        keys, values = self._pairs[name]
        keys.append(key)
        values.append(value)

    def write(self, section: CompactSection) -> None:
        for name, (keys, values) in self._pairs.items():
            _write_sorted(section, name, keys, values)


class _Kinds:
    """Part kinds with all that is broader."""

    def __init__(self, shared: Catalogue):
        self._shared = shared
        self._known: Any = shared.part_kinds
        self._broader: dict[str, frozenset[str]] = {}

    def broader(self, kind: str) -> frozenset[str]:
        """The kind and all broader ones."""
        if kind not in self._broader:
            self._broader[kind] = with_broader(self._shared, kind)
        return self._broader[kind]

    def stands_inside(self, kind: str) -> bool:
        """Can such a part stand inside a joint?"""
        return any(one in self._known and self._known[one].intermediate for one in self.broader(kind))


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
