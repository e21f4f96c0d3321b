"""Words as pieces with their places: letters, numbers and signs apart, slips of the pen in words of the grammar put
right, numbers in words as digits. What a piece was taken for is kept, so that nothing gets lost. No I/O.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from graph.errors import InvalidInput, Problem
from graph.lookups.near import slips_of
from graph.spoken.phrases import CORRECTED, FILLERS, NEGATORS, NO_SLIPS

LONGEST_TEXT = 1_000  # characters; a question is a sentence or two
_PIECE = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+(?:['\u2019][^\W\d_]+)*|\S")
_ORDINALS = {"1": "first", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth"}
_WORDS = (
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety"
)
NUMBER_WORDS = dict(zip(_WORDS.split(" "), map(str, (*range(1, 21), *range(30, 100, 10))), strict=True))
_TIMES = {"hundred": 100, "thousand": 1_000, "k": 1_000}
_HOW_MANY = ("of", "couple", "few", "several", "some", "many", "half")
_CONTENT = ("Sc", "So", "No")  # signs that say something: of a currency, a picture, a fraction


@dataclass(frozen=True, slots=True)
class Piece:
    """A word, number or sign: `text` at `start` to `end`; `plain`: what it was taken for; `glued`: no space before."""

    text: str
    start: int
    end: int
    plain: str
    glued: bool

    @property
    def is_number(self) -> bool:
        """Digits, with or without a decimal mark."""
        return self.plain[:1].isdigit()

    @property
    def says(self) -> bool:
        """Whether it is more than punctuation."""
        return any(one.isalnum() or unicodedata.category(one) in _CONTENT for one in self.text)


def fold(word: str) -> str:
    """A word without the ending of its plural.

    >>> fold("plates"), fold("bushes"), fold("press"), fold("series")
    ('plate', 'bush', 'press', 'series')
    """
    if len(word) <= 3 or word.endswith(("ss", "us", "is", "series")) or not word.endswith("s"):
        return word
    return word[:-2] if word.endswith(("shes", "ches", "xes", "sses")) else word[:-1]


def pieces_of(text: str, known: Callable[[str], bool] = lambda _: False) -> tuple[str, list[Piece]]:
    """The text without invisible marks, and its pieces. `known`: words that no slip is looked for in.

    Raises InvalidInput for a text that is too long.

    >>> [piece.plain for piece in pieces_of("withuot a 5th gear, nine hundred EUR")[1]]
    ['without', 'a', 'fifth', 'gear', ',', '900', 'eur']
    """
    if len(text) > LONGEST_TEXT:
        told = f"a question in words has at most {LONGEST_TEXT:,} characters; found {len(text):,}"
        raise InvalidInput([Problem("words", told)])
    clean = _visible(text)
    found = [_piece(clean, match) for match in _PIECE.finditer(clean)]
    return clean, [_put_right(piece, known) for piece in _joined(_spelled(found, clean), clean)]


def _visible(text: str) -> str:
    """Without marks that nobody sees (directions of writing, joiners); control characters as spaces."""
    seen = (one for one in unicodedata.normalize("NFC", text) if unicodedata.category(one) not in ("Cf", "Cs", "Co"))
    plain = "".join(" " if unicodedata.category(one) == "Cc" or one.isspace() else one for one in seen)
    return "".join(
        unicodedata.normalize("NFKC", one) if unicodedata.category(one) in ("Nd", "Lu", "Ll") else one for one in plain
    ).strip()


def _piece(text: str, match: re.Match[str]) -> Piece:
    word, start = match[0], match.start()
    plain = re.sub("['\u2019]", "", word.casefold())
    if len(word) == 1 and unicodedata.category(word) == "No":  # a fraction or a power as one sign
        plain = unicodedata.normalize("NFKC", word).replace("\u2044", "/")
    plain = NUMBER_WORDS.get(plain, plain)
    return Piece(word, start, match.end(), plain, start > 0 and not text[start - 1].isspace())


def _spelled(pieces: list[Piece], text: str) -> list[Piece]:
    """Numbers of several words as one piece: `a hundred and eighty`, `twenty-five`, `two thousand five hundred`."""
    made, at = list[Piece](), 0
    while at < len(pieces):
        value, stop = _number_at(pieces, at)
        if stop > at + 1 or (stop > at and pieces[at].plain in ("hundred", "thousand")):
            first, last = pieces[at], pieces[stop - 1]
            made.append(replace(first, text=text[first.start : last.end], end=last.end, plain=str(value)))
        else:
            made.append(pieces[at])
        at = max(stop, at + 1)
    return made


def _number_at(pieces: list[Piece], first: int) -> tuple[int, int]:
    """The number that begins there in words, and the piece after it."""
    total, held, last, at, stop = 0, 0, "", first, first
    while at < len(pieces):
        word = pieces[at].text.casefold()
        small = NUMBER_WORDS.get(word) or _digits_among_words(pieces, at, last)
        if word in ("a", "an") and at == first:
            last, held = "one", 1
        elif word in _TIMES and at == first and len(word) > 1 and not _is_counted(pieces, at):
            held, last, stop = _TIMES[word], word, at + 1
        elif small and (last in ("", "hundred", "thousand") or (last == "tens" and int(small) < 10)):
            held, last, stop = held + int(small), "tens" if int(small) >= 20 else "one", at + 1
        elif word == "hundred" and 0 < held < 100 and last in ("one", "tens"):
            held, last, stop = held * 100, "hundred", at + 1
        elif word == "thousand" and held and last != "thousand":
            total, held, last, stop = held * 1_000, 0, "thousand", at + 1
        elif not ((word == "and" and last in ("hundred", "thousand")) or (word == "-" and last == "tens")):
            break
        at += 1
    return total + held, stop


def _is_counted(pieces: list[Piece], at: int) -> bool:
    """Whether a number, or a word for how many, stands before a hundred: `1.5 hundred`, `a couple of hundred`."""
    return at > 0 and (pieces[at - 1].is_number or pieces[at - 1].plain in _HOW_MANY)


def _digits_among_words(pieces: list[Piece], at: int, last: str) -> str:
    """A number in digits before or after a word such as hundred: `9 hundred and 80`."""
    if not re.fullmatch(r"[1-9]\d?", pieces[at].plain) or pieces[at].glued:
        return ""
    beside = last or (pieces[at + 1].plain if at + 1 < len(pieces) else "")
    return pieces[at].plain if beside in ("hundred", "thousand") else ""


def _joined(pieces: list[Piece], text: str) -> Iterator[Piece]:
    """Ordinals, multiples and `gear box` as one piece: `5th`, `9 hundred`, `1.2k`."""
    held: Piece | None = None
    for piece in pieces:
        plain = _with_next(held, piece) if held is not None else ""
        if held is not None and plain:
            held = replace(held, text=text[held.start : piece.end], end=piece.end, plain=plain)
            continue
        if held is not None:
            yield held
        held = piece
    if held is not None:
        yield held


def _with_next(number: Piece, piece: Piece) -> str:
    if number.plain == "gear" and piece.plain == "box" and not piece.glued:
        return "gearbox"
    if not number.is_number:
        return ""
    if piece.glued and piece.plain in ("st", "nd", "rd", "th"):
        return _ORDINALS.get(number.plain, number.plain)
    if re.fullmatch(r"\d+/\d+", piece.plain) and number.plain.isdigit():
        return f"{number.plain} {piece.plain}"
    times = _TIMES.get(piece.plain)
    whole = re.fullmatch(r"(\d{1,4})(?:[.,](\d{1,2}))?", number.plain)
    if times is None or whole is None or (piece.plain == "k") != piece.glued:
        return ""
    value = int(whole[1]) * times + int((whole[2] or "0").ljust(3, "0")) * times // 1_000
    return str(value)


def _put_right(piece: Piece, known: Callable[[str], bool]) -> Piece:
    """A slip in a word of the grammar; words that are known otherwise are left alone."""
    word = piece.plain
    if len(word) < 4 or not word.isalpha() or word in (*CORRECTED, *FILLERS, *NO_SLIPS) or known(word):
        return piece
    near = [slip for slip in slips_of(word, CORRECTED) if slip.sure]
    return replace(piece, plain=near[0].word) if len(near) == 1 else piece


@dataclass(slots=True)
class Heard:
    """The pieces while they are being understood. `taken`: which already are; `line`: their plain forms as one text;
    `starts`: where each begins in it."""

    text: str
    pieces: list[Piece]
    taken: list[bool] = field(default_factory=list)
    line: str = ""
    starts: list[int] = field(default_factory=list)
    reasons: dict[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.taken = [False] * len(self.pieces)
        for piece in self.pieces:
            self.line += "" if piece.glued or not self.line else " "
            self.starts.append(len(self.line))
            self.line += piece.plain

    def span(self, match: re.Match[str]) -> tuple[int, int] | None:
        """The pieces of a match in the line, from and up to; None where it cuts through a piece or one is taken."""
        touched = [
            number for number, start in enumerate(self.starts)
            if start < match.end() and start + len(self.pieces[number].plain) > match.start()
        ]  # fmt: skip
        if not touched or any(self.taken[one] for one in touched):
            return None
        first, last = touched[0], touched[-1]
        whole = self.starts[first] >= match.start() and self.starts[last] + len(self.pieces[last].plain) <= match.end()
        return (first, last + 1) if whole else None

    def take(self, first: int, stop: int) -> None:
        """These pieces are understood."""
        for number in range(first, stop):
            self.taken[number] = True

    def words(self, first: int, stop: int) -> tuple[str, int, int]:
        """The words of these pieces as they were written, and their place."""
        start, end = self.pieces[first].start, self.pieces[stop - 1].end
        return self.text[start:end], start, end

    def refuse(self, first: int, stop: int, reason: str) -> None:
        """These pieces are no part of a question, and why."""
        for number in range(first, stop):
            self.taken[number] = False
            self.reasons.setdefault(number, reason)

    def before(self, number: int) -> int:
        """The piece before that is more than an article; -1 where there is none."""
        at = number - 1
        while at >= 0 and self.pieces[at].plain in ("a", "an", "the", "any", "my", "to", "be", ":"):
            at -= 1
        return at

    def is_denied(self, number: int) -> bool:
        """Whether a "not" or "no" stands before the piece."""
        at = self.before(number)
        while at >= 0 and self.pieces[at].plain in ("for", "make", "have", "exactly", "as", "is", "really"):
            at = self.before(at)
        return at >= 0 and not self.taken[at] and self.pieces[at].plain in NEGATORS
