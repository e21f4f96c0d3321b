"""Finding parts by words as people type them: sizes, numbers, names of units and kinds, misspelt or not.

Words are looked for in ids, labels and numbers; sizes with an x or a space between them are the same, and a standard
bearing is found by its sizes and by its designation (ISO 15). Units come before parts, whole words before parts of
words. Where nothing has all the words, a kind's words are taken as the kind; where a word stands in no part, the known
words nearest to it are taken instead (edit similarity, at least two thirds alike) and the reader is told which.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import islice

from rapidfuzz import fuzz, utils

from graph.answer.browse import check_kind, list_ids, parts_of
from graph.catalogue.model import UNIT_KINDS, Part
from graph.catalogue.texts import BETWEEN, words_in
from graph.fits.model import NM_PER_MM, show_number
from graph.fits.tables import load_tables
from graph.lookups.index import CatalogueIndex
from graph.lookups.listing import Listing

LONGEST_QUERY = 200
MOST_WORDS = 8
MOST_SCORED = 1_000  # of more, in order of ids, the first are compared with the whole text
MOST_RANKED = 5_000  # nobody reads further; more words are the better way
MEASURES = ("mm", "cm", "in", "inch", "thou")  # that names of parts seldom have
_SIZES = re.compile(r"(?<=\d)\s*[x\u00d7*]\s*(?=\d)|(?<=\d)(?=mm\b)")


@dataclass(frozen=True, slots=True)
class FoundParts:
    """The parts found, in the order of `find_parts`.

    `read_as`: each misspelt word -> the known words that were taken for it. `more`: there are more than are given.
    """

    parts: Sequence[Part]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    more: bool = False


@dataclass(frozen=True, slots=True)
class PartHit:
    """A part that was found by words; `likeness` 100 is the name itself."""

    id: str
    label: str
    kind: str
    likeness: int


@dataclass(frozen=True, slots=True)
class _Ids:
    ids: Sequence[str]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    more: bool = False


def find_parts(index: CatalogueIndex, text: str, kind: str = "") -> FoundParts:
    """Parts whose id, label or number has all words of the text; misspelt words find those that look like them.

    Units before parts, the likest first; of more than MOST_RANKED, and of no words, in order of ids. `kind`: only parts
    of this kind or a narrower one; NotFound for a kind that the graph does not know. An empty text finds every part.

    >>> words_of("Bearing 45x100x25 mm")
    ['bearing', '45', '100', '25', 'mm']
    """
    check_kind(index, kind)
    found = _find_ids(index, text, kind)
    return FoundParts(parts_of(index, found.ids), found.read_as, found.more)


def rank_parts(index: CatalogueIndex, text: str, kind: str = "", limit: int = 20) -> list[PartHit]:
    """The first of `find_parts`, with how like their names are to the whole text (rapidfuzz's WRatio)."""
    check_kind(index, kind)
    if not text.split():
        return []
    listing, wanted = index.listing, utils.default_process(text)
    best = parts_of(index, _find_ids(index, text, kind).ids[:limit])
    return [PartHit(one.id, one.label, one.kind, round(_likeness(listing.line(one.id), wanted))) for one in best]


def words_of(text: str) -> list[str]:
    """The words of a text as they are looked for: sizes apart, casefolded, at most MOST_WORDS."""
    return _SIZES.sub(" ", text[:LONGEST_QUERY].casefold()).split()[:MOST_WORDS]


def _likeness(line: str, wanted: str) -> float:
    return max(fuzz.WRatio(utils.default_process(name), wanted) for name in line.split(BETWEEN))


def _find_ids(index: CatalogueIndex, text: str, kind: str) -> _Ids:
    listing, words = index.listing, words_of(text)
    if not words:
        return _Ids(list_ids(index, [], kind))
    exact = _having(index, words, kind) or _of_a_kind(index, words, kind)
    if exact:
        ranked = exact if len(exact) > MOST_RANKED else _ranked(index, exact, [(word,) for word in words], text)
        return _Ids(ranked)
    read_as = {word: near for word in words if (near := _near(listing, word))}
    told = {word: near for word, near in read_as.items() if word not in near}
    if len(read_as) < len(set(words)):
        return _Ids((), told)
    choices = [read_as[word] for word in words]
    alike = list_ids(index, choices, kind)
    ranked = _ranked(index, list(islice(alike, MOST_RANKED)), choices, text)
    return _Ids(ranked, told, len(alike) > MOST_RANKED)


def _having(index: CatalogueIndex, words: list[str], kind: str) -> Sequence[str]:
    """Parts with all the words; bearings by the other name of their size too; without units of measure if need be."""
    found = list_ids(index, [(word,) for word in words], kind)
    for other in _other_names(words):
        more = list_ids(index, [(word,) for word in other], kind)
        if more and not found:
            found = more
        elif more and len(found) <= MOST_RANKED:
            found = list(dict.fromkeys((*found, *islice(more, MOST_RANKED))))
    bare = [word for word in words if word not in MEASURES]
    return found if found or len(bare) in (0, len(words)) else _having(index, bare, kind)


def _other_names(words: list[str]) -> Iterator[list[str]]:
    """The same words with a bearing's sizes in place of its designation, and the other way about (ISO 15)."""
    sizes = _bearing_sizes()
    for at, word in enumerate(words):
        if word in sizes:
            yield [*words[:at], *sizes[word], *words[at + 1 :]]
        for designation, three in sizes.items():
            if words[at : at + 3] == list(three):
                yield [*words[:at], designation, *words[at + 3 :]]


@cache
def _bearing_sizes() -> Mapping[str, tuple[str, ...]]:
    def millimetres(size_nm: int) -> str:
        return show_number(Fraction(size_nm, NM_PER_MM))

    return {
        one.designation: tuple(millimetres(size) for size in (one.bore_nm, one.od_nm, one.width_nm))
        for one in load_tables().bearings
    }


def _of_a_kind(index: CatalogueIndex, words: list[str], kind: str) -> Sequence[str]:
    """Where the words name a kind, its parts that have the other words: `input bearing 6309`, `Tansy plate`."""
    if kind:
        return ()
    said = {_singular(word) for word in words}
    known = index.catalogue.part_kinds.values()
    named = [(one.id, frozenset(map(_singular, one.label.casefold().split()))) for one in known]
    fitting = [(id, label) for id, label in named if label <= said]
    most = max((len(label) for _, label in fitting), default=0)
    found = dict[str, None]()
    for id, label in fitting:
        if len(label) == most:
            rest = [word for word in words if _singular(word) not in label]
            of_it = _having(index, rest, id) if rest else list_ids(index, [], id)
            found.update(dict.fromkeys(islice(of_it, MOST_RANKED)))
    return list(found)


def _near(listing: Listing, word: str) -> tuple[str, ...]:
    """The words that it may stand for; one number is never a slip of another."""
    if word.isdigit():
        return (word,) if listing.has_word(word) else ()
    return listing.near_words(word)


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _ranked(index: CatalogueIndex, ids: Sequence[str], choices: Sequence[Sequence[str]], text: str) -> list[str]:
    """The nearest words first (`choices`: of each word, nearest first); most of them as whole words, and in what it is
    called before what describes it; of these units, then parts; the likest to the whole text first."""
    listing, wanted = index.listing, utils.default_process(text)
    scored = len(ids) <= MOST_SCORED

    def order(id: str) -> tuple[int, int, int, bool, bool, float, str]:
        line, part = listing.line(id), index.catalogue.parts[id]
        called, all_words = (set(words_in([one])) for one in (_called(part), line))
        unit = any(index.is_unit(id, what) for what in UNIT_KINDS)
        likeness = _likeness(line, wanted) if scored else 0.0
        whole, named = (-sum(not among.isdisjoint(near) for near in choices) for among in (all_words, called))
        return _rank(listing, id, choices), whole, named, not unit, part.abstract, -likeness, id

    return sorted(ids, key=order)


def _called(part: Part) -> str:
    """Its name up to the first comma, its id and its number."""
    return f"{part.id} {part.label.partition(',')[0]} {part.number}".casefold()


def _rank(listing: Listing, part: str, choices: Sequence[Sequence[str]]) -> int:
    inside = listing.line(part)
    return sum(next((rank for rank, near in enumerate(each) if near in inside), 0) for each in choices)
