"""The words that screens, papers and messages use, in plain words: facts/kinds/glossary.csv and what the kinds define.

One word, one meaning; each is a word of the trade, an open standard's, or this service's own and says so.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from graph.catalogue.house import KINDS_FOLDER
from graph.catalogue.model import Catalogue
from graph.catalogue.terms import Term

FILE = KINDS_FOLDER / "glossary.csv"
KINDS = "kinds of this workshop"
LONGEST_SEARCH = 200


@dataclass(frozen=True, slots=True)
class GlossaryEntry:
    """A word, its meaning, its source, and what `sort` of word it is: "word", or a kind's sort ("part kind")."""

    word: str
    meaning: str
    source: str
    sort: str = "word"


@cache
def own_words() -> tuple[GlossaryEntry, ...]:
    """The words of the file, in order."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return tuple(GlossaryEntry(row["word"], row["meaning"], row["source"]) for row in csv.DictReader(lines))


def list_words(catalogue: Catalogue, text: str = "") -> tuple[GlossaryEntry, ...]:
    """All words in order; with a `text` those that have it in the word, then those that have it in the meaning."""
    every = sorted((*own_words(), *_kinds(catalogue)), key=_place)
    wanted = " ".join(text.casefold().split())
    if not wanted:
        return tuple(every)
    named = [one for one in every if wanted in one.word.casefold()]
    meant = [one for one in every if one not in named and wanted in one.meaning.casefold()]
    return (*named, *meant)


def _place(entry: GlossaryEntry) -> tuple[str, bool, str]:
    return entry.word.casefold(), entry.sort != "word", entry.sort


def _kinds(known: Catalogue) -> Iterable[GlossaryEntry]:
    sorts: tuple[tuple[str, Mapping[str, Term]], ...] = (
        ("part kind", known.part_kinds), ("place", known.position_kinds), ("joint", known.joint_kinds),
        ("chain of dimensions", known.chain_kinds), ("task", known.tasks), ("assembly", known.assemblies),
        ("feature", known.features), ("evidence", known.evidence_levels),
        ("condition of a part", known.part_conditions),
        ("quantity", known.quantities),
    )  # fmt: skip
    for sort, terms in sorts:
        for term in terms.values():
            if term.definition:
                yield GlossaryEntry(term.label, term.definition, KINDS, sort)
