"""Files into notes: RDF in any syntax and tables (CSV, XLSX), all or nothing, with faults named by row and column.

An RDF file becomes one note for each thing it describes (with its unnamed parts), so that each can be revised
by itself; named graphs that are another shop's notes are left to `exchange.merge`. A table becomes one note for
each row, its columns being properties of the vocabulary.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from graph.errors import InvalidFacts, Problem
from graph.guarded.bounds import OWNER, Bounds
from graph.guarded.reader import Source
from graph.ledger.book import Ledger, Retry
from graph.ledger.bulk import without_collector
from graph.ledger.foreign import NoteGroup, read_groups, read_preview
from graph.ledger.record import Draft

_NOTE = re.compile(r"note ([0-9a-f-]{36})")


@dataclass(frozen=True, slots=True)
class ImportedAs:
    """`words`: text, author, evidence and the rest for every note. `of_class`, `columns`: for tables."""

    words: Draft
    of_class: str = "Part"
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Imported:
    """How many notes and statements were written (or would be)."""

    notes: int
    statements: int


def import_file(
    ledger: Ledger, path: Path, how: ImportedAs, *, dry_run: bool = False, tell: Callable[[str], None] | None = None
) -> Imported:
    """Imports a file from disk. Raises InvalidFacts with every fault found; then nothing was written."""
    with path.open("rb") as file:
        return import_source(ledger, path.name, file, how, dry_run=dry_run, tell=tell)


def import_source(
    ledger: Ledger, name: str, source: Source, how: ImportedAs, *, bounds: Bounds = OWNER,
    dry_run: bool = False, tell: Callable[[str], None] | None = None, retry: Retry | None = None,
) -> Imported:  # fmt: skip
    """Imports a file's content; `name` tells its kind by its ending. All or nothing.

    A child reads it within `bounds`. Raises InvalidFacts with every fault found, LimitExceeded, Busy.
    """
    with without_collector():
        return _imported(ledger, name, source, how, bounds, dry_run, tell, retry)


def _imported(
    ledger: Ledger, name: str, source: Source, how: ImportedAs, bounds: Bounds, dry_run: bool,
    tell: Callable[[str], None] | None, retry: Retry | None,
) -> Imported:  # fmt: skip
    say = tell or (lambda text: None)
    headers, found = read_groups(name, source, ledger.base, how.of_class, how.columns, bounds)
    groups = list(found)
    say(f"{len(groups):,} notes read from {name}; checking and writing")
    drafts = [(group.note_id, replace(how.words, statements=group.statements)) for group in groups]
    try:
        if dry_run:
            ledger.judge(drafts)
        else:
            ledger.append_all(drafts, retry=retry)
    except InvalidFacts as error:
        raise InvalidFacts(_placed(error.problems, groups, headers)) from None
    say("done")
    return Imported(len(drafts), sum(group.statements.count("\n") for group in groups))


def preview_file(path: Path, chosen: Mapping[str, str]) -> list[str]:
    """What each column of a table would be taken as, with its first values: one line a column."""
    with path.open("rb") as file:
        return read_preview(path.name, file, chosen)


def _placed(problems: Iterable[Problem], groups: list[NoteGroup], headers: Mapping[str, str]) -> list[Problem]:
    """The same faults, told by the file's own rows and columns. `headers`: of each property, as problems name it."""
    places = {group.note_id: group.place for group in groups}
    placed = []
    for problem in problems:
        match = _NOTE.search(problem.path)
        if match is None or match[1] not in places:
            placed.append(problem)
            continue
        word = problem.path.rpartition(" ")[2]
        rest = f" column {headers[word]!r}" if word in headers else problem.path[match.end() :]
        placed.append(Problem(places[match[1]] + rest, problem.message))
    return placed
