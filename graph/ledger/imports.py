"""Files into notes: RDF in any syntax and tables (CSV, XLSX), all or nothing, with faults named by row and column.

An RDF file becomes one note for each thing it describes (with its unnamed parts), so that each can be revised
by itself; named graphs that are another shop's notes are left to `exchange.merge`. A table becomes one note for
each row, its columns being properties of the vocabulary.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import pyoxigraph as ox

from graph.errors import InvalidFacts, Problem
from graph.ledger.book import Ledger, Retry
from graph.ledger.bulk import without_collector
from graph.ledger.identity import new_id, note_iri
from graph.ledger.record import Draft
from graph.ledger.statements import canonical, iter_quads, named
from graph.ledger.tables import Column, columns_of, read_table, row_triples, shown_columns

MAX_BYTES = 512 << 20
TABLES = (".csv", ".tsv", ".xlsx")
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


@dataclass(frozen=True, slots=True)
class _Group:
    """What becomes one note, and where it stands in the file."""

    place: str
    note_id: str
    statements: str


def import_file(
    ledger: Ledger, path: Path, how: ImportedAs, *, dry_run: bool = False, tell: Callable[[str], None] | None = None
) -> Imported:
    """Imports a file from disk. Raises InvalidFacts with every fault found; then nothing was written."""
    if path.stat().st_size > MAX_BYTES:
        raise InvalidFacts([Problem(str(path), f"larger than {MAX_BYTES >> 20} MiB; split it")])
    return import_bytes(ledger, path.name, path.read_bytes(), how, dry_run=dry_run, tell=tell)


def import_bytes(
    ledger: Ledger, name: str, data: bytes, how: ImportedAs, *, dry_run: bool = False,
    tell: Callable[[str], None] | None = None, retry: Retry | None = None,
) -> Imported:  # fmt: skip
    """Imports a file's content; `name` tells its kind by its ending. All or nothing."""
    with without_collector():
        return _imported(ledger, name, data, how, dry_run, tell, retry)


def _imported(
    ledger: Ledger, name: str, data: bytes, how: ImportedAs, dry_run: bool, tell: Callable[[str], None] | None,
    retry: Retry | None,
) -> Imported:  # fmt: skip
    say = tell or (lambda text: None)
    columns: list[Column] = []
    if Path(name).suffix.lower() in TABLES:
        headers, rows = read_table(name, data)
        columns = columns_of(headers, how.columns)
        groups = list(_row_groups(ledger, name, rows, columns, how.of_class))
    else:
        groups = list(_thing_groups(ledger, name, data))
    say(f"{len(groups):,} notes read from {name}; checking and writing")
    drafts = [(group.note_id, replace(how.words, statements=group.statements)) for group in groups]
    try:
        if dry_run:
            ledger.judge(drafts)
        else:
            ledger.append_all(drafts, retry=retry)
    except InvalidFacts as error:
        raise InvalidFacts(_placed(error.problems, groups, columns)) from None
    say("done")
    return Imported(len(drafts), sum(group.statements.count("\n") for group in groups))


def preview_file(path: Path, chosen: Mapping[str, str]) -> list[str]:
    """What each column of a table would be taken as, with its first values: one line a column."""
    if path.suffix.lower() not in TABLES:
        raise InvalidFacts([Problem(str(path), f"a preview is for tables ({', '.join(TABLES)})")])
    headers, rows = read_table(path.name, path.read_bytes())
    return shown_columns(columns_of(headers, chosen), rows)


def _row_groups(
    ledger: Ledger, name: str, rows: Iterable[tuple[int, list[str]]], columns: list[Column], of_class: str
) -> Iterator[_Group]:
    problems: list[Problem] = []
    for number, cells in rows:
        note_id = new_id()
        triples, faults = row_triples(ledger.base, number, cells, columns, of_class)
        problems += [Problem(f"{name} {fault.path}", fault.message) for fault in faults]
        if len(problems) > 100:
            break
        yield _Group(f"{name} row {number}", note_id, canonical(triples))
    if problems:
        raise InvalidFacts(problems)


def _thing_groups(ledger: Ledger, name: str, data: bytes) -> Iterator[_Group]:
    form = ox.RdfFormat.from_extension(Path(name).suffix.lstrip(".").lower())
    if form is None:
        raise InvalidFacts([Problem(name, "expected .ttl .nt .jsonld .rdf .trig .nq .csv .tsv or .xlsx")])
    by_subject: dict[object, list[ox.Quad]] = {}
    owner: dict[object, object] = {}
    for quad in iter_quads(data, form, ledger.base, name):
        by_subject.setdefault(quad.subject, []).append(quad)
        if isinstance(quad.object, ox.BlankNode):
            owner.setdefault(quad.object, quad.subject)
    groups: dict[object, list[ox.Quad]] = {}
    for subject, quads in by_subject.items():
        groups.setdefault(_root(subject, owner), []).extend(quads)
    for root, quads in groups.items():
        note_id = new_id()
        try:
            statements = canonical(named(quads, f"{note_iri(ledger.base, note_id)}/nodes/"))
        except InvalidFacts as error:
            raise InvalidFacts(Problem(f"{name}, {root}", one.message) for one in error.problems) from None
        yield _Group(f"{name}, {root}", note_id, statements)


def _root(node: object, owner: Mapping[object, object]) -> object:
    """The named thing that a blank node hangs on; itself where it hangs on nothing, or in a ring."""
    seen: set[object] = set()
    while isinstance(node, ox.BlankNode) and node in owner and node not in seen:
        seen.add(node)
        node = owner[node]
    return node


def _placed(problems: Iterable[Problem], groups: list[_Group], columns: list[Column]) -> list[Problem]:
    """The same faults, told by the file's own rows and columns."""
    places = {group.note_id: group.place for group in groups}
    headers = {f"lay:{column.property}": column.header for column in columns}
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
