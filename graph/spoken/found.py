"""What was found of a question in words so far: chips, doubts, and which words are taken. No I/O."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from graph.spoken.meant import Meant
from graph.spoken.model import YES, InWords, SpokenChip, SpokenChoice, SpokenDoubt, SpokenWord
from graph.spoken.names import Names
from graph.spoken.phrases import ASKING_WHETHER, FILLERS, NO_EITHER_OR, NO_SUCH_WISH
from graph.spoken.pieces import Heard

MOST_CHOICES = 12
AVOID, OWN, LACK = "avoid", "own", "lack"


@dataclass(slots=True)
class FoundInWords:
    """The words (`heard`), the `names` that are known, what was found, and the pieces that are `amounts`."""

    heard: Heard
    names: Names
    chips: list[SpokenChip] = field(default_factory=list)
    doubts: list[SpokenDoubt] = field(default_factory=list)
    amounts: set[int] = field(default_factory=set)

    def chip(self, first: int, stop: int, *choices: SpokenChoice) -> None:
        """These words mean all of these, and are taken."""
        words, start, end = self.heard.words(first, stop)
        self.chips += [SpokenChip(one.field, one.value, one.label, words, start, end) for one in choices]
        self.heard.take(first, stop)

    def doubt(self, first: int, stop: int, asked: str, choices: Iterable[SpokenChoice], several: bool = False) -> None:
        """These words may mean one of these, and are taken."""
        words, start, end = self.heard.words(first, stop)
        kept = tuple(dict.fromkeys(choices))[:MOST_CHOICES]
        self.doubts.append(SpokenDoubt(words, start, end, asked, kept, several))
        self.heard.take(first, stop)

    def add_meant(self, first: int, stop: int, meant: Meant) -> None:
        """A number with its meaning."""
        if meant.reason:
            return
        self.amounts.update(range(first, stop))
        if meant.asked:
            self.doubt(first, stop, meant.asked, meant.choices)
        else:
            self.chip(first, stop, *meant.choices)

    def in_words(self) -> InWords:
        """Everything, and what is left over."""
        left: list[SpokenWord] = []
        passed: list[SpokenWord] = []
        for number, piece in enumerate(self.heard.pieces):
            if (self.heard.taken[number] and number not in self.heard.reasons) or not piece.says:
                continue
            reason = self.heard.reasons.get(number, "") or NO_SUCH_WISH.get(piece.plain, "")
            if piece.plain == "or" and number + 1 in self.amounts:
                reason = reason or NO_EITHER_OR
            if piece.plain == "if" and self._asks_whether(number):
                passed.append(SpokenWord(piece.text, piece.start, piece.end))
                continue
            passes = piece.plain in FILLERS and not reason
            near = () if passes or reason else self.names.near(piece)
            word = SpokenWord(piece.text, piece.start, piece.end, reason, near)
            (passed if passes else left).append(word)
        chips, doubts = self._without_contradictions()
        return InWords(self.heard.text, tuple(chips), tuple(doubts), tuple(left), tuple(passed))

    def _asks_whether(self, number: int) -> bool:
        """`tell me if`: an "if" that sets no condition; also at the very beginning."""
        return number == 0 or self.heard.pieces[number - 1].plain in ASKING_WHETHER

    def _without_contradictions(self) -> tuple[Sequence[SpokenChip], Sequence[SpokenDoubt]]:
        """Two values for what holds one only, or a part both in hand and left out, become a doubt."""
        doubts, kept = list(self.doubts), dict[tuple[str, str], SpokenChip]()
        for chip in self.chips:
            rivals = [one for one in self.chips if _contradict(one, chip)]
            if not rivals:
                key = (chip.field, chip.value)
                # Said twice in two places: one chip, with the words of both.
                kept[key] = replace(kept[key], words=f"{kept[key].words} … {chip.words}") if key in kept else chip
                continue
            every = [one for one in self.chips if one is chip or one in rivals]
            if every[0] is chip:  # told once
                choices = tuple(dict.fromkeys(SpokenChoice(one.field, one.value, one.label) for one in every))
                words, start = " … ".join(one.words for one in every), min(one.start for one in every)
                asked = "Two things are said. Which holds?"
                doubts.append(SpokenDoubt(words, start, max(one.end for one in every), asked, choices))
        return sorted(kept.values(), key=lambda one: (one.start, one.field)), sorted(doubts, key=lambda one: one.start)


def _contradict(one: SpokenChip, other: SpokenChip) -> bool:
    if {one.field, other.field} == {AVOID, OWN}:
        return one.value == other.value
    several = one.field in ("own", "avoid", "features", "demands") or one.value == YES
    return one.field == other.field and one.value != other.value and not several
