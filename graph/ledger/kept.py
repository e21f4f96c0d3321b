"""What the notes make of the facts, kept from one start to the next, so that a start reads new lines and not all.

The file lies in the process's own view folder. It says for which program, facts and line of the ledger it was made,
and carries a digest of itself: where any of that is not so, the notes are read anew, as without it. It holds only
what the catalogue has otherwise than the ground below it (see around.py), so its size is that of the notes.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from graph.catalogue.compact.pack import kind_of_table
from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.house import FACTS_FOLDER, KINDS_FOLDER, SHAPES_FOLDER, VOCABULARY_FOLDER
from graph.catalogue.layered import Layered, changed_table
from graph.catalogue.model import Catalogue
from graph.catalogue.restate import SINGLE_TABLES
from graph.catalogue.statements import list_fact_files
from graph.ledger.around import LedgerGround

MAGIC = b"layshaft notes as facts 1\n"
READ_BY = ("catalogue", "fits", "ledger")  # packages whose code decides what notes become


@dataclass(frozen=True, slots=True)
class CatalogueAtLine:
    """The catalogue as it stood at a line of the ledger, without the `hidden` subjects."""

    position: int
    hash: str
    hidden: frozenset[str]
    catalogue: Catalogue


class KeptCatalogue:
    """The file. `paths` or `stored`: the facts below the notes; `base`: of the ledger."""

    def __init__(self, folder: Path, base: str, paths: Sequence[Path], stored: CompactFile | None):
        self.path = folder / "notes-as-facts"
        self.base, self.paths, self.stored = base, tuple(paths), stored

    def load(self, ground: LedgerGround) -> CatalogueAtLine | None:
        """What was kept, over the ground; None if there is nothing, or it is of other facts, or it is damaged."""
        try:
            data = self.path.read_bytes()
        except OSError:
            return None
        digest, _, body = data.removeprefix(MAGIC).partition(b"\n")
        if not data.startswith(MAGIC) or digest != _digest(body):
            return None
        head, tables = (json.loads(line) for line in body.split(b"\n", 1))
        if head["made_for"] != self._made_for() or head["grounded"] != sorted(ground.notes):
            return None
        changed: dict[str, Any] = {name: _laid_over(ground, name, tables[name]) for name in tables}
        return CatalogueAtLine(
            head["position"], head["hash"], frozenset(head["hidden"]), replace(ground.catalogue, **changed)
        )

    def save(self, kept: CatalogueAtLine, ground: LedgerGround) -> None:
        """Keeps it. A disk that refuses is no fault: then the next start reads the notes."""
        tables = {name: _otherwise(ground, kept.catalogue, name) for name in SINGLE_TABLES}
        head = {
            "made_for": self._made_for(), "grounded": sorted(ground.notes), "position": kept.position,
            "hash": kept.hash, "hidden": sorted(kept.hidden),
        }  # fmt: skip
        body = "\n".join(json.dumps(each, ensure_ascii=False) for each in (head, tables)).encode()
        draft = self.path.with_name(self.path.name + ".new")
        try:
            draft.write_bytes(MAGIC + _digest(body) + b"\n" + body)
            os.replace(draft, self.path)
        except OSError:
            draft.unlink(missing_ok=True)

    def _made_for(self) -> list[str]:
        """Program, base and facts, each by a digest of what it says."""
        if self.stored is not None:
            return [_program(), self.base, _digest(json.dumps(self.stored.head["files"]).encode()).decode()]
        return [_program(), self.base, _content(list_fact_files([KINDS_FOLDER, *self.paths]))]


def _otherwise(ground: LedgerGround, catalogue: Catalogue, name: str) -> dict[str, Any]:
    """What the table has otherwise than the ground: things in plain values, and the ids of those that are gone."""
    below, above = getattr(ground.catalogue, name), getattr(catalogue, name)
    codec = codec_of(kind_of_table(name))
    changed: Mapping[str, Any]
    gone: Sequence[str]
    if isinstance(above, Layered) and above.below is below:
        changed, gone = above.above, sorted(above.gone)
    else:
        changed = {id_: thing for id_, thing in above.items() if below.get(id_) != thing}
        gone = [id_ for id_ in below if id_ not in above]
    return {"things": [codec.to_plain(thing) for thing in changed.values()], "gone": gone}


def _laid_over(ground: LedgerGround, name: str, table: Mapping[str, Any]) -> Mapping[str, Any]:
    codec = codec_of(kind_of_table(name))
    things = [codec.from_plain(plain) for plain in table["things"]]
    below = getattr(ground.catalogue, name)
    return changed_table(below, {thing.id: thing for thing in things}, table["gone"]) if table != _NOTHING else below


_NOTHING: Mapping[str, Any] = {"things": [], "gone": []}


@cache
def _program() -> str:
    """A digest of the code, the vocabulary and the shapes that turn notes into facts."""
    root = Path(__file__).resolve().parents[1]
    code = [root / "exact.py", *(file for name in READ_BY for file in sorted((root / name).rglob("*.py")))]
    return _content([*code, *list_fact_files([VOCABULARY_FOLDER, SHAPES_FOLDER])])


def _content(files: Sequence[Path]) -> str:
    found = hashlib.blake2b(digest_size=16)
    for file in files:
        found.update(f"{_shown(file)}\0".encode() + hashlib.blake2b(file.read_bytes()).digest())
    return found.hexdigest()


def _shown(file: Path) -> str:
    """Where the house lies does not matter; where the shop's facts lie does."""
    full = file.resolve()
    root = FACTS_FOLDER.parent
    return str(full.relative_to(root)) if full.is_relative_to(root) else str(full)


def _digest(body: bytes) -> bytes:
    return hashlib.blake2b(body, digest_size=32).hexdigest().encode()
