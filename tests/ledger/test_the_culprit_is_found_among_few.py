"""Which of many notes is left out is found by reading the few that a fault names, not half of all again and again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from pyoxigraph import Literal, NamedNode, Triple

from graph.catalogue.model import Catalogue
from graph.errors import InvalidFacts, Problem
from graph.ledger.around import Stated
from graph.ledger.left_out import StandingNote, read_what_holds

SHOP = "https://shop.example/"
KIND, DISC = NamedNode("https://layshaft.example/vocabulary#kind"), NamedNode("https://layshaft.example/kinds/disc")
LABEL = NamedNode("http://www.w3.org/2000/01/rdf-schema#label")


def note(number: int, part: str, label: str) -> StandingNote:
    subject, note_id = NamedNode(SHOP + part), f"note-{number:04}"
    triples = [Triple(subject, KIND, DISC), Triple(subject, LABEL, Literal(label))]
    return StandingNote(note_id, f"{SHOP}notes/{note_id}", triples)


class Reader:
    """Reads facts of which one is wrong: a part with two labels. `sizes`: how many notes each reading had."""

    def __init__(self) -> None:
        self.sizes: list[int] = []

    def __call__(self, stated: Iterable[Stated]) -> Catalogue:
        notes = list(stated)
        self.sizes.append(len(notes))
        labelled = (triple.subject for _, triples in notes for triple in triples if triple.predicate == LABEL)
        labels = Counter(subject.value for subject in labelled if isinstance(subject, NamedNode))
        twice = [subject.removeprefix(SHOP) for subject, count in labels.items() if count > 1]
        if twice:
            raise InvalidFacts([Problem(f"shop:{part}", "two labels on a thing of kind:disc") for part in twice])
        return Catalogue()


def test_among_a_thousand_notes_of_one_kind_only_those_that_it_names_are_tried() -> None:
    notes = [note(number, f"disc-{number}", "a disc") for number in range(1_000)]
    notes.insert(700, note(2_000, "disc-3", "another disc"))
    reader = Reader()

    _, out = read_what_holds(reader, notes, SHOP)

    assert [one.note for one in out] == ["note-2000"]
    assert sorted(reader.sizes)[-3:] == [2, 1_000, 1_001]  # all with it, all without it; else the two that are named


def test_of_many_that_say_the_same_the_first_stays() -> None:
    notes = [note(number, "disc-3", f"label {number}") for number in range(60)]  # more than a telling word may name

    _, out = read_what_holds(Reader(), notes, SHOP)

    assert [one.note for one in out] == [f"note-{number:04}" for number in range(1, 60)]
