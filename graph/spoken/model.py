"""What was understood of a question in words: every word stands in exactly one place. No I/O.

A field is named as in the address of the question and in `POST /routes`: `gearbox`, `avoid`, `deadline`; what is known
of the job with its key, `context.torque_nm`. A value is text, as a form would send it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from graph.errors import InvalidQuestion, Problem
from graph.exact import HUNDREDTHS, NotExact, fraction_of, scaled
from graph.reading.question import Question

CONTEXT = "context."
LISTS = ("own", "avoid", "features", "demands")
MONEY = ("rate", "instead")
FLAGS = ("part_exchange", "refuse_disputed", "without_machining", "from_shelf")
YES = "yes"
NEEDED = ("gearbox", "engine")


@dataclass(frozen=True, slots=True)
class SpokenChoice:
    """One thing that words may mean: the field of the question, its value, and both in words."""

    field: str
    value: str
    label: str


@dataclass(frozen=True, slots=True)
class SpokenChip:
    """What was understood: field, value and label as in a choice; the `words` it is from, at `start` to `end`."""

    field: str
    value: str
    label: str
    words: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class SpokenDoubt:
    """Words that may mean several things, or one that is not sure. `asked`: the question to the asker.

    `choices`: likeliest first; `several`: more than one of them may hold.
    """

    words: str
    start: int
    end: int
    asked: str
    choices: tuple[SpokenChoice, ...]
    several: bool = False


@dataclass(frozen=True, slots=True)
class SpokenWord:
    """A word with its place, and why it is no part of the question ("" where nobody knows it).

    `near`: known words that it may be a slip of.
    """

    word: str
    start: int
    end: int
    reason: str = ""
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class InWords:
    """The words, and what became of each: in a chip, in a doubt, not understood, or passed over (the, please, behind).

    `text`: as read, without invisible marks; places are counted in it.
    """

    text: str
    chips: tuple[SpokenChip, ...] = ()
    doubts: tuple[SpokenDoubt, ...] = ()
    not_understood: tuple[SpokenWord, ...] = ()
    passed_over: tuple[SpokenWord, ...] = ()

    @property
    def left_over(self) -> tuple[SpokenWord, ...]:
        """What was not understood, neighbours with the same reason as one: "under 900 km", not three words."""
        told: list[SpokenWord] = []
        for word in self.not_understood:
            last = told[-1] if told else None
            if last and word.reason and word.reason == last.reason and not self.text[last.end : word.start].strip():
                told[-1] = SpokenWord(self.text[last.start : word.end], last.start, word.end, word.reason)
            else:
                told.append(word)
        return tuple(told)

    @property
    def missing(self) -> tuple[str, ...]:
        """What a question needs and nothing certain was said of: gearbox, engine."""
        said = {chip.field for chip in self.chips}
        return tuple(what for what in NEEDED if what not in said)

    @property
    def ready(self) -> bool:
        """Whether it can be asked as it stands: both units certain, nothing doubtful, and nothing not understood."""
        return not self.missing and not self.doubts and not self.not_understood

    def question(self, chosen: Iterable[SpokenChoice] = ()) -> Question:
        """What is certain, with what was chosen, as the question that `POST /routes` takes; units may be lacking."""
        return question_of_choices(
            [*(SpokenChoice(chip.field, chip.value, chip.label) for chip in self.chips), *chosen]
        )


def question_of_choices(choices: Iterable[SpokenChoice]) -> Question:
    """The question with these values in its fields. Raises InvalidQuestion for one that cannot be read.

    >>> question_of_choices([SpokenChoice("gearbox", "tansy-5", ""), SpokenChoice("deadline", "9", "")]).deadline
    Fraction(9, 1)
    """
    made = Question(gearbox="", engine="")
    for choice in choices:
        try:
            made = _with(made, choice.field, choice.value)
        except (NotExact, ValueError) as error:
            raise InvalidQuestion([Problem(choice.field, str(error))]) from None
    return made


def _with(question: Question, field: str, value: str) -> Question:
    if field.startswith(CONTEXT):
        return replace(question, context={**question.context, field.removeprefix(CONTEXT): value})
    name, made = f"{field}_hundredths" if field in MONEY else field, _read(question, field, value)
    changed: dict[str, Any] = {name: made}
    return replace(question, **changed)


def _read(question: Question, field: str, value: str) -> object:
    if field in LISTS:
        return tuple(dict.fromkeys((*getattr(question, field), value)))
    if field in FLAGS:
        return value == YES
    if field in MONEY:
        return scaled(value, HUNDREDTHS)
    if field in ("alternatives", "most_assumed"):
        return int(value)
    return fraction_of(value) if field == "deadline" else value
