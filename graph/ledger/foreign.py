"""What strangers wrote, as the ledger takes it: statements of a note, groups of a file, arrivals of a merge.

All of it is read in a child process with bounds (`graph.guarded`); only a short and flat text of a note is read here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyoxigraph as ox

from graph.errors import InvalidFacts, Problem
from graph.guarded.bounds import LOOK, Bounds
from graph.guarded.reader import Source, read
from graph.ledger.rdf_files import arrivals, format_of, is_small, note_statements, thing_groups
from graph.ledger.record import Draft
from graph.ledger.statements import iter_quads, statements_of
from graph.ledger.tables import preview_lines, row_groups

TABLES = (".csv", ".tsv", ".xlsx")


@dataclass(frozen=True, slots=True)
class NoteGroup:
    """What becomes one note: where it stands in the file, the note's id, its statements."""

    place: str
    note_id: str
    statements: str


@dataclass(frozen=True, slots=True)
class Arrival:
    """Another shop's note, as it came."""

    iri: str
    note_id: str
    revision: int
    action: str
    draft: Draft


def is_table(name: str) -> bool:
    """Whether the name is that of a table."""
    return Path(name).suffix.lower() in TABLES


def read_statements(data: bytes | str, rdf_format: ox.RdfFormat, base: str, iri: str) -> str:
    """The canonical statements of one note from a document in any syntax. Named graphs in it are refused.

    Raises InvalidFacts, LimitExceeded (TooMuch), Busy.
    """
    try:
        content = data.encode() if isinstance(data, str) else data
    except UnicodeEncodeError as error:
        raise InvalidFacts([Problem("statements", f"not text: half a character at {error.start}")]) from None
    if is_small(content, rdf_format, "statements"):
        return statements_of(iter_quads(content, rdf_format, base, "statements"), iri)
    given = {"media_type": rdf_format.media_type, "base": base, "iri": iri}
    (found,) = read(note_statements, content, "statements", given, LOOK, note=True)
    return str(found)


def read_groups(
    name: str, source: Source, base: str, of_class: str, columns: Mapping[str, str], bounds: Bounds
) -> tuple[dict[str, str], Iterator[NoteGroup]]:  # fmt: skip
    """The header of each property (for a table), and what becomes the notes of a file."""
    given = {"base": base, "items": bounds.items}
    if not is_table(name):
        form = format_of(name)
        found = read(thing_groups, source, name, given | {"media_type": form.media_type}, bounds)
        return {}, (NoteGroup(*one) for one in found)
    found = read(row_groups, source, name, given | {"of_class": of_class, "columns": dict(columns)}, bounds)
    headers = next(found)
    return headers, (NoteGroup(*one) for one in found)


def read_preview(name: str, source: Source, columns: Mapping[str, str], bounds: Bounds = LOOK) -> list[str]:
    """What each column of a table would be taken as, with its first values: one line a column."""
    if not is_table(name):
        raise InvalidFacts([Problem("name", f"a preview is for tables ({', '.join(TABLES)}), found {name!r}")])
    return list(read(preview_lines, source, name, {"columns": dict(columns)}, bounds))


def read_arrivals(name: str, source: Source, base: str, bounds: Bounds) -> list[Arrival]:
    """Another shop's notes in a file, by their names. Raises InvalidFacts naming every graph at fault."""
    given = {"base": base, "items": bounds.items, "media_type": format_of(name, of_datasets=True).media_type}
    return list(map(arrival_of, read(arrivals, source, name, given, bounds)))


def arrival_of(values: Mapping[str, Any]) -> Arrival:
    """From what `rdf_files.list_arrivals` says."""
    said = values["draft"]
    return Arrival(**{**values, "draft": Draft(**{**said, "settles": tuple(said["settles"])})})
