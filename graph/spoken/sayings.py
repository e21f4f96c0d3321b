"""Names from left to right, each under the last words that say no, have or must: what is said of which name. No I/O."""

from __future__ import annotations

from dataclasses import dataclass, replace

from graph.spoken.found import AVOID, LACK, OWN, FoundInWords
from graph.spoken.names import NO_NAMES, Mention
from graph.spoken.phrases import (
    ALREADY_DENIED,
    EXCEPTING,
    FILLERS,
    GEAR_WORDS,
    HAVING,
    IN_HAND,
    INSIST,
    LEAVE,
    LEAVING_OUT,
    MARKERS,
    NEGATORS,
    OF_ALL,
    PLACES,
    RESET,
    TAKEN_OUT,
    UNIT_WORDS,
    WISHING,
)

WITH = "with"
FURTHEST_ALL = 6  # words between `any` and `but`: `any five speed gearbox but`
USUAL_FILLED = GEAR_WORDS | WISHING | LEAVING_OUT


@dataclass(frozen=True, slots=True)
class SaidOfName:
    """A mention with what was said of it: left out, in hand, not in hand, wished, why it is not taken, or nothing."""

    mention: Mention
    mode: str
    begun: int


@dataclass(slots=True)
class _Sayer:
    """What holds for the names that follow.

    `mode`; `marked`: where the words that say so begin, -1 once a name came after them; `article`: whether a list under
    it may go on with one (`without a plate, a shim`; `no plate, shim`); `comma`: whether one came since; `denied`:
    whether something was denied already in this part of the sentence, `denied_before`: in one before.
    """

    found: FoundInWords
    mode: str = ""
    marked: int = -1
    article: bool = True
    comma: bool = False
    denied: bool = False
    denied_before: bool = False

    def hear(self, at: int) -> int:
        """Takes in the piece, or the several that say one thing; the next piece to look at."""
        plain = self.found.heard.pieces[at].plain
        if plain in (",", ";", ".", "!", "?"):
            self.mode, self.marked = self.mode if plain == "," else "", -1
            self.comma, self.denied, self.denied_before = (
                True,
                False,
                self.denied or (plain == "," and self.denied_before),
            )
            return at + 1
        if plain in TAKEN_OUT and not self.denied and self._is_of_all(at):
            self._deny(at)
            return at + 1
        for held in IN_HAND:  # `in hand: plate, bolts`: of what follows, not of what stands before
            if self._is_said(at, (*held, ":")):
                self._set(OWN, at)
                return at + len(held) + 1
        for words, mode in MARKERS:
            if mode and self._is_said(at, words):
                self._mark(at, mode)
                return at + len(words)
        turned = plain in EXCEPTING and (self.denied or (self.denied_before and self.comma))
        if plain in NEGATORS and not turned:
            self._deny(at)
        elif turned:
            self._set(INSIST, at)
        else:
            self._other(at, plain)
        return at + 1

    def _is_of_all(self, at: int) -> bool:
        """Whether it takes something out of all: `any gearbox but`, and no `but not`, which says so itself."""
        pieces = self.found.heard.pieces
        if at + 1 < len(pieces) and pieces[at + 1].plain in NEGATORS:
            return False
        for piece in reversed(pieces[max(at - FURTHEST_ALL, 0) : at]):
            if not piece.says or piece.plain in PLACES:
                return False
            if piece.plain in OF_ALL:
                return True
        return False

    def _is_said(self, at: int, words: tuple[str, ...]) -> bool:
        pieces = self.found.heard.pieces[at : at + len(words)]
        return tuple(one.plain for one in pieces) == words and not any(self.found.heard.taken[at : at + len(words)])

    def _mark(self, at: int, mode: str) -> None:
        if mode == RESET:
            self._set("", -1)
        elif mode == LEAVE and self.denied and self.found.heard.pieces[at].plain in EXCEPTING:
            self._set(INSIST, at)
        elif mode == LEAVE:
            self._deny(at)
        else:
            self._set(mode, at)
            self.denied = True

    def _set(self, mode: str, marked: int) -> None:
        self.mode, self.marked, self.comma, self.article = mode, marked, False, True

    def _deny(self, at: int) -> None:
        """A no; a second one directly after the first turns it round, or nobody knows."""
        has_none = self.mode == OWN and self.marked == at - 1
        doubled = self.mode in (AVOID, INSIST, LACK) and self._is_fresh(at)
        if has_none:
            self._set(LACK, self.marked)
        elif doubled:
            self._set(LACK if self.mode == LACK else INSIST, self.marked)
        else:
            self._set(AVOID, at)
        self.article, self.denied = self.found.heard.pieces[at].plain != "no", True

    def _is_fresh(self, at: int) -> bool:
        """Whether no name has come since what holds was said, and nothing that ends it."""
        return self.marked >= 0 and leads_to(self.found, self.marked, at)

    def _other(self, at: int, plain: str) -> None:
        heard = self.found.heard
        if plain in HAVING:
            fresh = self.mode in (AVOID, LACK, OWN, INSIST) and self._is_fresh(at)
            before = self.mode if fresh else OWN
            self.mode, self.marked = LACK if before == AVOID else before, self.marked if fresh else at
            self.comma = False
        elif plain in WISHING and self.mode in (AVOID, INSIST) and self.marked == at - 1:
            return
        elif plain in WISHING:
            self._set(WITH, -1)
        elif plain in PLACES:
            if heard.before(at) < 0 or heard.pieces[heard.before(at)].plain not in NEGATORS:
                self.mode, self.marked = "", -1
        elif plain in ("a", "an", "my", "our") and self.mode == AVOID and self.marked < 0 and not self.article:
            self.mode = ""
        elif not (plain in FILLERS or plain in NO_NAMES or heard.pieces[at].is_number or not heard.pieces[at].says):
            self.denied = self.denied or plain in ALREADY_DENIED
            self.mode, self.marked = "", -1


def find_said(found: FoundInWords) -> list[SaidOfName]:
    """Every name, from left to right, under the last words that say no, have or must. They are taken."""
    every: list[SaidOfName] = []
    sayer, at, pieces = _Sayer(found), 0, found.heard.pieces
    while at < len(pieces):
        if found.heard.taken[at]:
            sayer.mode, sayer.marked = "", -1
            sayer.denied = sayer.denied or pieces[at].plain in ALREADY_DENIED
            at += 1
            continue
        mention = _mention(found, at)
        if mention is None:
            at = sayer.hear(at)
            continue
        if sayer.comma and mention.units:
            sayer.mode, sayer.marked = "", -1
        begun = sayer.marked if sayer.marked >= 0 and leads_to(found, sayer.marked, mention.first) else mention.first
        stop, mode = _with_afterwards(found, mention, sayer.mode)
        every.append(SaidOfName(replace(mention, stop=stop), mode, begun))
        found.heard.take(begun, stop)
        at, sayer.marked, sayer.comma = stop, -1, False
    return every


def leads_to(found: FoundInWords, marked: int, first: int) -> bool:
    """Whether only words that say no, have or nothing of their own stand between."""
    several = {word for words, mode in (*MARKERS, *((words, OWN) for words in IN_HAND)) if mode for word in words}
    return all(
        not found.heard.pieces[at].says or found.heard.pieces[at].plain in FILLERS | NEGATORS | HAVING | several
        for at in range(marked, first)
    )


def _mention(found: FoundInWords, at: int) -> Mention | None:
    piece = found.heard.pieces[at]
    counted = _gears_at(found, at)
    if counted is not None:
        return counted
    if piece.plain in NEGATORS | HAVING | PLACES | FILLERS | USUAL_FILLED and not _begins_a_name(found, at):
        return None
    return found.names.mention_at(found.heard, at)


def _begins_a_name(found: FoundInWords, at: int) -> bool:
    """`gearbox mount`, `engine block`: words that are passed over alone and begin the name of a kind."""
    plain = found.heard.pieces[at].plain
    if plain not in ("gearbox", "engine", "box", "motor", *GEAR_WORDS):
        return False
    mention = found.names.mention_at(found.heard, at)
    return mention is not None and mention.stop > at + 1 and bool(mention.whole or mention.kinds or mention.features)


def _gears_at(found: FoundInWords, at: int) -> Mention | None:
    """`five speed` before or without a name."""
    pieces = found.heard.pieces
    if not pieces[at].is_number or not (stop := found.names.gear_word(found.heard, at + 1)):
        return None
    number = pieces[at].plain
    nxt = stop
    while nxt < len(pieces) and pieces[nxt].plain in ("gearbox", "box", "transmission"):
        nxt += 1
    named = found.names.mention_at(found.heard, nxt) if nxt < len(pieces) and not found.heard.taken[nxt] else None
    if named is not None and any(found.names.sort_of(id) == "gearbox" for id in named.units):
        left = tuple(id for id in named.units if number in found.names.tokens(id))
        if left:
            return Mention(at, named.stop, units=left, sure=named.sure, gears=True, whole=named.whole)
    boxes = tuple(id for id in found.names.having(number) if found.names.sort_of(id) == "gearbox")
    return Mention(at, stop, units=boxes, sure=False, gears=True) if boxes else None


def _with_afterwards(found: FoundInWords, mention: Mention, mode: str) -> tuple[int, str]:
    """Up to where the mention goes with `in hand` or `gearbox` after it, and what is said of it then."""
    pieces, stop = found.heard.pieces, mention.stop
    sorts = {found.names.sort_of(id) for id in mention.units}
    while stop < len(pieces) and not found.heard.taken[stop] and any(
        pieces[stop].plain in UNIT_WORDS.get(sort, ()) for sort in sorts
    ) and _mention(found, stop) is None:  # fmt: skip
        stop += 1
    for words in IN_HAND:
        at = stop + (1 if stop < len(pieces) and pieces[stop].plain in ("is", "are") else 0)
        denied = at < len(pieces) and pieces[at].plain in ("not", "isnt", "arent")
        at += denied
        said = tuple(one.plain for one in pieces[at : at + len(words) + 1])
        if said[: len(words)] == words and said[len(words) :] != (":",):
            return at + len(words), LACK if denied else OWN
    return stop, mode
