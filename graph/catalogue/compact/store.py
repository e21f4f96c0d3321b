"""The file: a head in JSON, then sections of whole numbers and bytes that are read where they lie (memory-mapped).

Ids are sorted, so that a thing's number is its place in the order of ids, and a look-up is a binary search. Records
stand in the order in which they were written. The head says which facts the file was made from, and the sums of all
blocks (see checks.py); a file of another version, of other facts or with a wrong sum is made anew, never read.
"""

from __future__ import annotations

import json
import mmap
import os
import struct
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Generic, TypeVar
from zlib import crc32

from graph.catalogue.compact.checks import BLOCK, BlockSums, find_wrong_block
from graph.catalogue.compact.records import Codec
from graph.errors import StoreProblem

Thing = TypeVar("Thing")
MAGIC = b"layshaft catalogue 5\n"
_TAIL = struct.Struct("<QI")  # the head's length and its sum
MOST_KEPT = 50_000  # things made from records and kept, per table
UNKNOWN = -1
NAMED, RESTS = "named", "rests"  # of the head: numbers of owners that are neither parts nor edges, and of keys' rests
REST_BITS = 20  # of a key's number


class CompactSection:
    """Writes one file, section by section; `close` puts the head and the name in place."""

    def __init__(self, path: Path):
        self.path = path
        self._draft = path.with_name(f"{path.name}.{os.getpid()}.new")
        self._file = self._draft.open("wb")
        self._sections: dict[str, tuple[int, int]] = {}
        self._sums = BlockSums()

    def _write(self, data: bytes | bytearray | memoryview | array[int]) -> None:
        self._file.write(data)
        self._sums.take(memoryview(data).cast("B"))

    def add(self, name: str, data: bytes | bytearray | memoryview | array[int]) -> None:
        """Appends a section, on a border of eight bytes."""
        self._write(b"\0" * (-self._file.tell() % 8))
        start = self._file.tell()
        self._write(data)
        self._sections[name] = (start, self._file.tell() - start)

    def add_file(self, name: str, source: Path) -> None:
        """Appends the whole of another file as a section."""
        self._write(b"\0" * (-self._file.tell() % 8))
        start = self._file.tell()
        with source.open("rb") as data:
            while block := data.read(1 << 20):
                self._write(block)
        self._sections[name] = (start, self._file.tell() - start)

    def close(self, head: Mapping[str, Any]) -> None:
        """Writes the head, makes all of it durable and puts it in place of what was there."""
        text = json.dumps({**head, "sections": self._sections, "sums": self._sums.all()}).encode()
        self._file.write(text + _TAIL.pack(len(text), crc32(text)) + MAGIC)
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()
        os.replace(self._draft, self.path)

    def discard(self) -> None:
        """Leaves no draft behind."""
        self._file.close()
        self._draft.unlink(missing_ok=True)


class CompactFile:
    """An opened file. Raises StoreProblem where it is not one of ours, cut short, or not what was written.

    `checked`: whether somebody has just looked through all of it, so that only the head need be.
    """

    def __init__(self, path: Path, *, checked: bool = False):
        self.path = path
        try:
            with path.open("rb") as file:
                self._map = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        except (OSError, ValueError) as error:
            raise StoreProblem(f"{path} cannot be read: {error}; `python -m graph rebuild` makes it anew") from error
        self._whole = memoryview(self._map)
        body, head = self._parted()
        self.head: dict[str, Any] = json.loads(head)
        if not checked and (block := find_wrong_block(body, self.head["sums"])) is not None:
            at = f"bytes {block * BLOCK:,} to {min((block + 1) * BLOCK, len(body)):,}"
            raise StoreProblem(
                f"{path} is damaged: {at} are not what was written; `python -m graph rebuild` makes it anew"
            )

    def _parted(self) -> tuple[memoryview, bytes]:
        """The sections and the head, which is what was written."""
        end = len(self._whole) - len(MAGIC)
        start = end - _TAIL.size
        if start >= 0 and self._whole[end:] == MAGIC:
            length, wanted = _TAIL.unpack(self._whole[start:end])
            if length <= start and crc32(head := bytes(self._whole[start - length : start])) == wanted:
                return self._whole[: start - length], head
        raise StoreProblem(f"{self.path} is not a whole catalogue file; `python -m graph rebuild` makes it anew")

    def data(self, name: str) -> memoryview:
        """The bytes of a section."""
        start, length = self.head["sections"][name]
        return self._whole[start : start + length]

    def numbers(self, name: str) -> memoryview:
        """The section as whole numbers of eight bytes."""
        return self.data(name).cast("q")


class Ids(Sequence[str]):
    """Sorted ids: number to id, and id to number."""

    def __init__(self, file: CompactFile, name: str):
        self._text, self._ends = file.data(f"{name}.ids"), file.numbers(f"{name}.id-ends")

    def __len__(self) -> int:
        return len(self._ends) - 1

    def __getitem__(self, place: Any) -> Any:
        if isinstance(place, slice):
            return [self[number] for number in range(*place.indices(len(self)))]
        return str(self._text[self._ends[place] : self._ends[place + 1]], "utf-8")

    def find(self, id_: str) -> int:
        """The id's number, or UNKNOWN. Ids are sorted by their UTF-8 bytes, which is the order of their characters."""
        wanted, low, high = id_.encode(), 0, len(self._ends) - 1
        text, ends = self._text, self._ends
        while low < high:
            middle = (low + high) // 2
            if bytes(text[ends[middle] : ends[middle + 1]]) < wanted:
                low = middle + 1
            else:
                high = middle
        return low if low < len(ends) - 1 and text[ends[low] : ends[low + 1]] == wanted else UNKNOWN


class ThingTable(Mapping[str, Thing], Generic[Thing]):
    """Things by id, made from their records when asked for. Iterates in order of ids."""

    def __init__(self, file: CompactFile, name: str, codec: Codec[Thing]):
        self.ids = Ids(file, name)
        self._records, self._codec = file.data(f"{name}.records"), codec
        self._starts, self._ends = file.numbers(f"{name}.starts"), file.numbers(f"{name}.ends")
        self._kept: dict[str, Thing] = {}
        self._numbers: dict[str, int] = {}

    def __len__(self) -> int:
        return len(self.ids)

    def __iter__(self) -> Iterator[str]:
        return iter(self.ids)

    def __contains__(self, id_: object) -> bool:
        return id_ in self._kept or (isinstance(id_, str) and self.number(id_) != UNKNOWN)

    def __getitem__(self, id_: str) -> Thing:
        found = self._kept.get(id_)
        if found is not None:
            return found
        number = self.number(id_)
        if number == UNKNOWN:
            raise KeyError(id_)
        return self._make(number, id_)

    def number(self, id_: str) -> int:
        """The id's place in the order, or UNKNOWN."""
        known = self._numbers.get(id_)
        if known is None:
            if len(self._numbers) >= MOST_KEPT:
                self._numbers.clear()
            known = self._numbers[id_] = self.ids.find(id_)
        return known

    def at(self, number: int) -> Thing:
        """The thing with this number."""
        id_ = self.ids[number]
        return self._kept.get(id_) or self._make(number, id_)

    def _make(self, number: int, id_: str) -> Thing:
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        made = self._codec.from_bytes(bytes(self._records[self._starts[number] : self._ends[number]]))
        self._kept[id_] = made
        return made


class KeyNumbers:
    """Keys of look-ups as whole numbers: whose it is (a part, an edge or something else with a name), and the rest.

    `owner` and `rest`: the number of a name, or UNKNOWN. Whoever writes a file and whoever reads it number alike.
    """

    def __init__(self, owner: Callable[[str], int], rest: Callable[[str], int]):
        self._owner, self._rest = owner, rest

    def of(self, key: str | tuple[Any, ...]) -> int:
        """The key's number, or UNKNOWN."""
        name, rest = (key, 0) if isinstance(key, str) else (key[0], self._rest(" ".join(map(str, key[1:]))))
        owner = self._owner(name)
        return UNKNOWN if UNKNOWN in (owner, rest) else owner << REST_BITS | rest


class Relation:
    """Numbers by key: two sorted columns. A key may have any number of values, in order."""

    def __init__(self, file: CompactFile, name: str, keys: KeyNumbers):
        self._keys, self._values = file.numbers(f"{name}.keys"), file.numbers(f"{name}.values")
        self._numbers = keys

    def get(self, key: str | tuple[Any, ...]) -> Sequence[int]:
        """The values of the key; empty where there are none."""
        number = self._numbers.of(key)
        start = bisect_left(self._keys, number)
        return self._values[start : bisect_right(self._keys, number, start)]  # type: ignore[return-value]


def keys_of_file(file: CompactFile, parts: ThingTable[Any], edges: ThingTable[Any]) -> KeyNumbers:
    """How the file numbers the keys of its look-ups."""
    named, rests = file.head["small"][NAMED], file.head["small"][RESTS]

    def owner(name: str) -> int:
        number = parts.number(name)
        if number != UNKNOWN:
            return number
        code = named.get(name, UNKNOWN)
        if code != UNKNOWN:
            return len(parts) + len(edges) + int(code)
        number = edges.number(name)
        return UNKNOWN if number == UNKNOWN else len(parts) + number

    return KeyNumbers(owner, lambda rest: int(rests.get(rest, UNKNOWN)))
