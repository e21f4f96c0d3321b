"""Notes out to another shop and in from one: the shareable part, as named graphs with their provenance.

A note keeps its IRI, revision and author wherever it goes, so merging twice changes nothing, and a newer
revision takes the place of an older one. Only the shop that wrote a note revises it; a note that claims to be
ours, or a revision that we know with other words, stops the whole merge.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import pyoxigraph as ox
from sqlalchemy import Connection

from graph.errors import InvalidFacts, Problem
from graph.guarded.bounds import OWNER, Bounds
from graph.guarded.reader import Source
from graph.ledger.book import Ledger
from graph.ledger.bulk import without_collector
from graph.ledger.database import reading
from graph.ledger.drafts import check_draft, text_problems
from graph.ledger.foreign import Arrival, arrival_of, read_arrivals
from graph.ledger.lines import find_newest_of, line_values
from graph.ledger.provenance import quads_of
from graph.ledger.rdf_files import MAX_PROBLEMS, list_arrivals
from graph.ledger.record import RETRACT, Draft, Entry, draft_of


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge did (or, in a dry run, would do): notes that are new, newer than ours, and known already."""

    new: int
    newer: int
    known: int


def export_quads(ledger: Ledger, shareable_only: bool = True) -> Iterator[ox.Quad]:
    """The named graph of every note that stands, and of those taken back (their end, not what they said)."""
    shareable = True if shareable_only else None
    for entry in ledger.iter_current(shareable=shareable, include_retracted=True):
        yield from quads_of(entry)


def merge(ledger: Ledger, quads: Iterable[ox.Quad], dry_run: bool = False) -> Merged:
    """Takes in another shop's export, all or nothing. Raises InvalidFacts naming every graph at fault."""
    with without_collector():
        return _merged(ledger, [arrival_of(one) for one in list_arrivals(iter(quads), OWNER.items)], dry_run)


def merge_source(ledger: Ledger, name: str, source: Source, *, bounds: Bounds = OWNER, dry_run: bool = False) -> Merged:
    """The same from a file's content, which a child reads within bounds; `name` ends in .trig, .nq or .jsonld."""
    with without_collector():
        return _merged(ledger, read_arrivals(name, source, ledger.base, bounds), dry_run)


def _merged(ledger: Ledger, arrivals: list[Arrival], dry_run: bool) -> Merged:
    stands = [(arrival.iri, arrival.draft) for arrival in arrivals if arrival.action != RETRACT]
    replaced = [arrival.note_id for arrival in arrivals]
    counts: dict[str, int] = {}

    def lines(connection: Connection) -> list[dict[str, Any]]:
        counts.update(new=0, newer=0, known=0)
        return list(_lines(ledger, connection, arrivals, counts))

    if dry_run:
        _check_words(ledger, arrivals)
        ledger.judge(stands, replaced)
        with reading(ledger.engine) as connection:
            lines(connection)
    else:
        _check_words(ledger, arrivals)
        ledger.admit(stands, replaced, lambda under_lock: under_lock.write(lines(under_lock.connection)))
    return Merged(**counts)


def _check_words(ledger: Ledger, arrivals: list[Arrival]) -> None:
    """Also of those that tell of a note's end."""
    problems: list[Problem] = []
    for arrival in arrivals:
        try:
            if arrival.action == RETRACT:
                problems += _within(arrival, text_problems(arrival.draft))
            else:
                check_draft(arrival.draft, ledger.levels)
        except InvalidFacts as error:
            problems += _within(arrival, error.problems)
    if problems:
        raise InvalidFacts(problems[:MAX_PROBLEMS])


def _within(arrival: Arrival, problems: Iterable[Problem]) -> list[Problem]:
    return [Problem(f"graph <{arrival.iri}> {problem.path}", problem.message) for problem in problems]


def _lines(
    ledger: Ledger, connection: Connection, arrivals: list[Arrival], counts: dict[str, int]
) -> Iterator[dict[str, Any]]:
    problems: list[Problem] = []
    known = find_newest_of(connection, [arrival.note_id for arrival in arrivals])
    for arrival in arrivals:
        ours = known.get(arrival.note_id)
        verdict, why = _compare(ledger, arrival, ours)
        if why:
            problems.append(Problem(f"graph <{arrival.iri}>", why))
            continue
        counts[verdict] += 1
        if verdict != "known":
            draft = replace(arrival.draft, recorded_by="merged")
            yield line_values(arrival.note_id, arrival.iri, arrival.revision, arrival.action, draft)
    if problems:
        raise InvalidFacts(problems[:MAX_PROBLEMS])


def _compare(ledger: Ledger, arrival: Arrival, ours: Entry | None) -> tuple[str, str]:
    is_ours = arrival.iri.startswith(f"{ledger.base}notes/")
    if ours is None:
        return "new", "claims to be a note of this shop, but this ledger never held it" if is_ours else ""
    if ours.iri != arrival.iri:
        return "", f"has the id of <{ours.iri}>, which is another note"
    if arrival.revision < ours.revision:
        return "known", ""
    if arrival.revision > ours.revision:
        return "newer", "claims to be a newer revision of our own note" if is_ours else ""
    same = _said(draft_of(ours), ours) == _said(arrival.draft, None) and ours.action == arrival.action
    return "known", "" if same else f"revision {ours.revision} is known here with other words"


def _said(draft: Draft, entry: Entry | None) -> Draft:
    made_at = draft.made_at or (entry.recorded_at if entry else "")
    return replace(draft, made_at=made_at, recorded_by="", settles=tuple(sorted(draft.settles)))
