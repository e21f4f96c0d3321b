"""What two hundred questions in words are understood as, and laws that hold for any words at all."""

from __future__ import annotations

import os
import random
import re

import pytest

from api.questions import QuestionBody
from api.routers.spoken import in_words_as_json
from graph.errors import InvalidInput
from graph.reading.question import check_question
from graph.spoken import InWords
from graph.spoken.model import SpokenChip, SpokenWord
from graph.spoken.phrases import CORRECTED, FILLERS
from graph.spoken.pieces import LONGEST_TEXT, pieces_of
from tests.spoken.table import demo, phrasings, understood, written

MUTATIONS = int(os.environ.get("LAYSHAFT_MUTATIONS", "40"))


def test_the_table_has_two_hundred_phrasings() -> None:
    assert len(phrasings()) >= 200
    assert len({words for words, _ in phrasings()}) == len(phrasings())


def test_each_phrasing_is_understood_as_the_table_says() -> None:
    wrong = [
        f"{words}\n    expected {expected}\n    found    {found}"
        for words, expected in phrasings()
        if (found := written(understood(words))) != expected
    ]

    assert not wrong, "\n" + "\n".join(wrong)


def test_what_is_ready_is_a_question_that_can_be_asked_and_the_same_over_http() -> None:
    ready = [found for words, _ in phrasings() if (found := understood(words)).ready]

    for found in ready:
        check_question(demo(), found.question())
        assert QuestionBody.model_validate(in_words_as_json(found)["question"]).question() == found.question()
    assert len(ready) > 100


def test_nothing_is_ready_without_a_gearbox_and_an_engine_or_while_something_is_doubtful() -> None:
    assert understood("tansy 5 behind a zebra").missing == ("engine",)
    assert not understood("tansy 5 behind a zebra").ready
    assert not understood("tansy behind pipit").ready
    assert understood("tansy 5 behind pipit").ready


@pytest.mark.parametrize("words", ["tansy 5 behind pipit, {} Nm", "{} tansy 5 behind pipit", "tansy {} behind pipit"])
def test_marks_that_nobody_sees_change_nothing(words: str) -> None:
    """Marks for the direction of writing and joiners, Unicode 15 general category Cf; control characters, Cc."""
    plain, hidden = words.format("180"), words.format("\u202e1\u200b80\u200f\u2066")

    assert written(understood(hidden)) == written(understood(plain))
    assert written(understood(f"\x00{plain}\x1b\x07")) == written(understood(plain))


@pytest.mark.parametrize("length", [LONGEST_TEXT + 1, 100_000])
def test_a_text_that_no_question_is_as_long_as_is_refused_and_told_so(length: int) -> None:
    with pytest.raises(InvalidInput) as refused:
        understood("tansy " * (length // 6 + 1))

    assert "1,000 characters" in refused.value.problems[0].message


@pytest.mark.parametrize(
    "words", ["9" * LONGEST_TEXT, "under " * 166, "a" * LONGEST_TEXT, "-/" * 500, "½" * 900, "(" * 999]
)
def test_long_nonsense_is_read_without_harm(words: str) -> None:
    found = understood(words)

    assert found.chips == () and unaccounted(found) == []


def test_every_word_of_the_table_is_accounted_for() -> None:
    for words, _ in phrasings():
        assert unaccounted(understood(words)) == [], words


def test_every_word_is_accounted_for_whatever_is_typed() -> None:
    """Letters swapped, left out and doubled, words moved, taken away and put in."""
    chance = random.Random(17)
    every = [words for words, _ in phrasings()]
    for _ in range(MUTATIONS):
        words = mutated(chance, chance.choice(every))
        found = understood(words)

        assert unaccounted(found) == [], words
        found.question()
        if found.ready:
            check_question(demo(), found.question())


def test_a_word_that_nobody_knows_is_always_told() -> None:
    chance = random.Random(18)
    every = [words for words, _ in phrasings()]
    for _ in range(MUTATIONS // 2):
        said = chance.choice(every).split()
        said.insert(chance.randrange(len(said) + 1), "qwxzv")

        assert "qwxzv" in {one.word for one in understood(" ".join(said)).not_understood}, said


def unaccounted(found: InWords) -> list[str]:
    """Words that are in no chip, no doubt, not among those not understood, and not rightly passed over."""
    said: list[SpokenChip | SpokenWord] = [*found.chips, *found.not_understood]
    places = [(one.start, one.end) for one in said]
    passed = {(one.start, one.end): one.word for one in found.passed_over}
    doubted = " ".join((*(doubt.words for doubt in found.doubts), *(chip.words for chip in found.chips)))
    left = []
    for piece in pieces_of(found.text)[1]:
        if not piece.says or any(start <= piece.start and piece.end <= end for start, end in places):
            continue
        if re.search(rf"(?<!\w){re.escape(piece.text)}|{re.escape(piece.text)}(?!\w)", doubted):
            continue
        if (piece.start, piece.end) in passed and piece.plain in FILLERS | set(CORRECTED):
            continue
        left.append(piece.text)
    return left


def mutated(chance: random.Random, words: str) -> str:
    said = words.split()
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(said))
        word = said[at]
        place = chance.randrange(len(word))
        said[at] = chance.choice([
            word[:place] + word[place + 1 :] or word, word[:place] + word[place] + word[place:],
            word[:place] + word[place : place + 2][::-1] + word[place + 2 :],
            word[:place] + chance.choice("aeioubn5") + word[place + 1 :], word.upper(), word + ",",
        ])  # fmt: skip
        if chance.random() < 0.3:
            said.insert(chance.randrange(len(said)), said.pop(chance.randrange(len(said))))
    return " ".join(said)[:LONGEST_TEXT]
