"""Notes that cannot be used together with the rest: found, named with their reason, and left out, so the rest is used.

No note that contradicts what stands is let in, so there are such notes only where something else has changed: a facts
file, or a ledger that an earlier version wrote. Which notes are left out follows from facts and notes alone, so every
process leaves out the same ones: as long as something is wrong, the earliest note that brings one of the faults in,
in the order in which they were written. The facts of files stay; a fault of theirs alone is not healed by this.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from pyoxigraph import NamedNode, Triple

from graph.catalogue.model import Catalogue
from graph.catalogue.names import local_id
from graph.catalogue.statements import node_key
from graph.errors import InvalidFacts, Problem
from graph.ledger.around import Stated, origin_of

MOST_REASONS = 3
FEW = 50  # notes that one word may name and still tell something; a kind names thousands
Read = Callable[[Iterable[Stated]], Catalogue]
_WORD = re.compile(r"[^\s,;:()'\"<>]+(?::[^\s,;:()'\"<>]+)*")


@dataclass(frozen=True, slots=True)
class LeftOutNote:
    """A note that no answer rests on, though it stands, and why."""

    note: str
    iri: str
    reason: str

    def __str__(self) -> str:
        return f"note {self.note} is left out: {self.reason}"


@dataclass(frozen=True, slots=True)
class StandingNote:
    """A note that stands, with what it states."""

    note_id: str
    iri: str
    triples: Sequence[Triple]

    @property
    def stated(self) -> Stated:
        """The same as the catalogue takes it in."""
        return origin_of(self.note_id), self.triples

    def names(self, shop_base: str) -> set[str]:
        """The ids of all that it speaks of or refers to, and its own."""
        nodes = {node_key(t.subject) for t in self.triples}
        nodes |= {t.object.value for t in self.triples if isinstance(t.object, NamedNode)}
        return {self.note_id, *(local_id(node, shop_base) for node in nodes)}


def gist(problem: Problem) -> str:
    """The fault without its hint, which changes with what else is known."""
    return f"{problem.path}\n{problem.message.partition('; did you mean')[0].partition(', or did you mean')[0]}"


def read_what_holds(
    read: Read, notes: Sequence[StandingNote], shop_base: str
) -> tuple[Catalogue, tuple[LeftOutNote, ...]]:  # fmt: skip
    """The catalogue of the facts and of those of the notes that hold together; and the others, in their order.

    `notes` by position. `read`: makes the catalogue of the facts with what it is given. Raises InvalidFacts where the
    facts are wrong without any note.
    """
    kept = list(notes)
    out: list[LeftOutNote] = []
    while True:
        try:
            return read([note.stated for note in kept]), tuple(out)
        except InvalidFacts as error:
            if not out:
                read(())
            culprit, faults = _first_culprit(read, kept, error.problems, shop_base)
        kept.remove(culprit)
        out.append(LeftOutNote(culprit.note_id, culprit.iri, "; ".join(map(str, faults[:MOST_REASONS]))))


def _first_culprit(
    read: Read, kept: Sequence[StandingNote], problems: Sequence[Problem], shop_base: str
) -> tuple[StandingNote, list[Problem]]:
    """The earliest note with which some of the problems are there and without which, and all later ones, none is."""
    wanted = {gist(problem) for problem in problems}

    def present(notes: Sequence[StandingNote]) -> list[Problem]:
        try:
            read([note.stated for note in notes])
        except InvalidFacts as error:
            return [problem for problem in error.problems if gist(problem) in wanted]
        return []

    for among in _suspects(kept, problems, shop_base):
        if found := present(among):
            break
    else:  # the words did not name all that it takes
        among, found = list(kept), list(problems)
    low, high = 0, len(among)  # the first `low` notes are sound, with the first `high` some are there
    while high - low > 1:
        middle = (low + high) // 2
        if faults := present(among[:middle]):
            high, found = middle, faults
        else:
            low = middle
    return among[high - 1], found


def _suspects(
    kept: Sequence[StandingNote], problems: Sequence[Problem], shop_base: str
) -> Iterator[list[StandingNote]]:  # fmt: skip
    """Those of the notes that the problems name: first by words that name few, then by any."""
    words = set(_words(problems))
    named = [words & note.names(shop_base) for note in kept]
    often = Counter(chain.from_iterable(named))
    telling = {word for word, count in often.items() if count <= FEW}
    few = [note for note, own in zip(kept, named, strict=True) if not telling.isdisjoint(own)]
    every = [note for note, own in zip(kept, named, strict=True) if own]
    yield few
    if len(every) > len(few):
        yield every


def _words(problems: Sequence[Problem]) -> Iterator[str]:
    for problem in problems:
        for word in _WORD.findall(str(problem)):
            yield word
            yield word.partition(":")[2]
