"""Notes beside facts that a compact file keeps: the same verdicts and the same catalogue as beside facts read whole."""

from __future__ import annotations

import tempfile
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from graph.catalogue.compact.store import CompactFile
from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.model import Catalogue
from graph.errors import InvalidFacts
from graph.ledger.identity import new_id
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft
from graph.lookups.compact import CompactIndex, open_index
from graph.lookups.layered import FollowingIndex
from graph.reading import CatalogueIndex, Question, read_conversion
from tests.ledger.test_following_equals_reading_all import LEVELS, PREFIXES, SAID, draft

FACTS = PREFIXES + "\n".join(
    (
        "@prefix prov: <http://www.w3.org/ns/prov#> . @prefix xsd: <http://www.w3.org/2001/XMLSchema#> .",
        'shop:works a lay:Shop ; rdfs:label "works" ; lay:currency "EUR" ; lay:rate 60.00 .',
        'shop:bench a <http://www.w3.org/ns/prov#Agent> ; rdfs:label "the bench" .',
        'shop:n1 a lay:Note ; lay:text "seen" ; lay:evidence kind:measured-on-these-parts ;'
        ' prov:wasAttributedTo shop:bench ; prov:generatedAtTime "2024-02-03"^^xsd:date .',
        *(SAID[at] for at in (0, 3, 5)),  # a disc, discs, a shaft with a price
        "shop:e0 a lay:Fits ; lay:source shop:discs ; lay:target shop:shaft ; lay:joint kind:clutch-spline ;"
        ' lay:note shop:n1 ; lay:condition [ a lay:Condition ; lay:key "duty" ; lay:operator "=" ;'
        ' lay:value "road" ; lay:text "on the road" ] .',
        "shop:s0 a lay:Shifts ; lay:source shop:disc ; lay:target kind:pilot-overlap ; lay:shiftMm 1.00 .",
    )
)
MORE = (
    "shop:e0 lay:cash 12.00 .",
    'shop:e0 lay:toConfirm "which spline" .',
    "shop:disc lay:variantOf shop:discs .",
    "shop:s2 a lay:Shifts ; lay:source shop:e0 ; lay:target kind:pilot-overlap ; lay:shiftMm 2.50 .",
    'shop:disc-2 a lay:Part ; rdfs:label "disc 2" ; lay:kind kind:clutch-disc ; lay:variantOf shop:discs .',
    "shop:x a lay:Fits ; lay:source shop:disc-2 ; lay:target shop:shaft ; lay:joint kind:clutch-spline ;"
    " lay:note shop:n1 .",
    'kind:at-the-moon a lay:PositionKind ; skos:prefLabel "at the moon" .',
    'shop:sawing a lay:OperationPrice ; rdfs:label "sawing" ; lay:operation "saw" ; lay:cash 5.00 .',
)  # fmt: skip
DAY = "2024-05-01"
Action = tuple[str, int, list[str], str]


def notebooks(folder: Path) -> tuple[Notebook, Notebook]:
    facts = folder / "facts.ttl"
    facts.write_text(FACTS)

    def stored(base: str) -> CompactFile:
        return open_index([facts], folder / "catalogue", shop_base=base).file

    return open_notebook(folder / "read", facts=[facts]), open_notebook(folder / "kept", stored=stored)


def dated(said: list[str], level: str, key: str) -> Draft:
    return replace(draft(said, level, key), made_at=DAY)


def verdict(notebook: Notebook, action: Action, key: str) -> set[str]:
    """Does the action where it may be done; else what is wrong with it, without where it stands and hints."""
    what, number, said, level = action
    ledger, notes = notebook.ledger, list(notebook.ledger.iter_current())
    try:
        if what == "add" or not notes:
            ledger.append(dated(said, level, key), note_id=key)
            return set()
        chosen = notes[number % len(notes)]
        if what == "settle":
            settling = Draft(text="settled", author="bench", evidence=LEVELS[0], settles=(chosen.iri,), made_at=DAY)
            ledger.append(settling, note_id=key)
        elif what == "revise":
            ledger.revise(chosen.note_id, chosen.revision, dated(said, level, chosen.note_id))
        else:
            ledger.retract(chosen.note_id, chosen.revision, Draft(text="mistaken"))
    except InvalidFacts as error:
        return {p.message.partition("; did you mean")[0].partition(", or did you")[0].partition(", in ")[0]
                for p in error.problems}  # fmt: skip
    return set()


def differences(one: Catalogue, other: Catalogue) -> list[str]:
    """What the two catalogues do not have alike, table by table."""
    found = []
    for field in fields(Catalogue):
        left, right = getattr(one, field.name), getattr(other, field.name)
        if not isinstance(left, dict):
            found += [field.name] if left != right else []
        else:
            found += [f"{field.name} {key}: {left.get(key)} {right.get(key)}" for key in {*left, *right}
                      if left.get(key) != right.get(key)]  # fmt: skip
    return found


ACTIONS = st.tuples(
    st.sampled_from(("add", "add", "add", "revise", "retract", "settle")), st.integers(0, 5),
    st.lists(st.sampled_from((*SAID, *MORE, *MORE)), min_size=1, max_size=2, unique=True), st.sampled_from(LEVELS),
)  # fmt: skip


@settings(
    max_examples=5,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(st.lists(ACTIONS, min_size=3, max_size=9))
def test_verdicts_and_catalogue_are_alike(actions: list[Action]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        read, kept = notebooks(Path(folder))
        try:
            for action in actions:
                key = new_id()
                one, other = verdict(read, action, key), verdict(kept, action, key)
                assert bool(one) == bool(other)
                assert one <= other  # a value said again in another spelling counts as one more
                assert differences(read.catalogue(), kept.catalogue()) == []
                assert (read.catalogue_fault, kept.catalogue_fault) == ("", "")
        finally:
            read.close()
            kept.close()


def test_answers_follow_notes_beside_the_demo_kept_in_a_file(tmp_path: Path) -> None:
    demo = FACTS_FOLDER / "demo"
    index = open_index([demo], tmp_path / "catalogue")
    kept = open_notebook(tmp_path / "kept", stored=lambda base: index.file)
    following = FollowingIndex(CompactIndex(index.file))
    question = Question(gearbox="tansy-5", engine="pipit-16")
    assert read_conversion(following.of(kept.catalogue()), question) == read_conversion(index, question)

    key = new_id()
    note = 'shop:disc-tansy-1 a lay:Part ; rdfs:label "disc, one more" ; lay:kind kind:clutch-disc ; lay:cash 9.00 .'
    kept.ledger.append(draft([note], LEVELS[0], key), note_id=key)
    catalogue = kept.catalogue()
    followed = following.of(catalogue)

    assert following.of(catalogue) is followed
    assert followed.catalogue.parts["disc-tansy-1"].cash_hundredths == 900
    assert read_conversion(followed, question) == read_conversion(CatalogueIndex(catalogue), question)
    kept.close()
    again = open_notebook(tmp_path / "kept", stored=lambda base: index.file)
    assert again.catalogue().parts["disc-tansy-1"].label == "disc, one more"
    again.close()


def test_a_wrong_name_beside_kept_facts_is_refused_with_where_and_what(tmp_path: Path) -> None:
    read, kept = notebooks(tmp_path)
    read.close()
    key = new_id()

    with pytest.raises(InvalidFacts, match="nothing is known by the id shop:disk"):
        kept.ledger.append(draft([SAID[13]], LEVELS[0], key), note_id=key)

    assert kept.catalogue().parts.keys() == {"disc", "discs", "shaft"}
    kept.close()
