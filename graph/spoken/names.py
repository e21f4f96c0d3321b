"""Names in a question: units, parts, kinds and features by the words of their labels, ids and numbers.

Parts are looked up by words (`graph.lookups.listing`), so that a trade of a million parts is not walked. No I/O.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import islice

from graph.catalogue.model import UNIT_KINDS, Part
from graph.lookups.index import CatalogueIndex
from graph.lookups.near import SHOWN, slips_of
from graph.spoken.phrases import CORRECTED, GEAR_WORDS, LINKS, NEGATORS, NO_SLIPS, PLACES
from graph.spoken.pieces import NUMBER_WORDS, Heard, Piece, fold, pieces_of

BEFORE_A_NAME = "(\"'[<,;:"
LONGEST_ID = 16  # pieces of an id or a number that is typed as it stands
MOST_LOOKED_AT = 2_000  # parts with one word; of more, the first by id
_WORD = re.compile(r"[^\W_]+")
_SPELLINGS = {"litre": "litre", "liter": "litre", "ltr": "litre", "adaptor": "adapter"}
NO_NAMES = frozenset({"mm", "cm", "inch", "litre", "part", "number", "no"})  # in names, and never where one begins


@dataclass(frozen=True, slots=True)
class Mention:
    """Pieces, from and up to, that name something: ids of `units`, `parts`, `kinds` or `features`.

    `sure`: named as it is called, without a slip that could be another word. `gears`: a count of gears was said.
    `whole`: ids of which every word of the name was said.
    """

    first: int
    stop: int
    units: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    sure: bool = True
    gears: bool = False
    whole: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Walk:
    """How far a name has been followed: what can still be meant, and which words were said of it."""

    stop: int
    left: tuple[str, ...]
    said: frozenset[str]
    sure: bool = True
    gears: bool = False


@lru_cache(4096)
def tokens_of(text: str) -> frozenset[str]:
    """The words of a name as they are compared: plurals as one, numbers by their value.

    >>> sorted(tokens_of("Pipit 16, two litres"))
    ['16', '2', 'litre', 'pipit']
    """
    return frozenset(_token(piece) for piece in pieces_of(text[:900])[1] if piece.says)


def _token(piece: Piece) -> str:
    if piece.is_number and re.fullmatch(r"\d+(?:[.,]\d+)?", piece.plain):
        value = Fraction(piece.plain.replace(",", "."))
        return str(value.numerator) if value.denominator == 1 else str(float(value))
    folded = fold(piece.plain)
    return _SPELLINGS.get(folded, folded)


class Names:
    """The names that an index knows. Made for one question; keeps what it has looked up."""

    def __init__(self, index: CatalogueIndex):
        self.index, self.known = index, index.catalogue
        self._tokens: dict[str, frozenset[str]] = {}
        self._having: dict[str, tuple[str, ...]] = {}

    def knows(self, word: str) -> bool:
        """Whether the word stands in the name of a part, kind or feature."""
        token = _SPELLINGS.get(fold(word), fold(word))
        return token in self._short_words or bool(self.having(token))

    def near(self, piece: Piece) -> tuple[str, ...]:
        """Words of the grammar and of the names of kinds, features and parts that are a slip away from this one."""
        if not piece.plain.isalpha():
            return ()
        known = {*CORRECTED, *self._short_words, *self.index.listing.near_words(piece.plain)} - {piece.plain}
        return tuple(slip.word for slip in slips_of(piece.plain, known))[:SHOWN]

    @cached_property
    def _kinds(self) -> Mapping[str, frozenset[str]]:
        return {one.id: tokens_of(one.label) for one in self.known.part_kinds.values() if one.id not in UNIT_KINDS}

    @cached_property
    def _features(self) -> Mapping[str, frozenset[str]]:
        return {one.id: tokens_of(one.label) for one in self.known.features.values()}

    @cached_property
    def _short_words(self) -> frozenset[str]:
        return frozenset().union(*self._kinds.values(), *self._features.values())

    def tokens(self, part: str) -> frozenset[str]:
        """The words of a part's id, label and number, and of the families it is a variant of."""
        if part not in self._tokens:
            parts = (self.known.parts[one] for one in self.index.lineage(part))
            self._tokens[part] = tokens_of(" ".join(f"{one.id} {one.label} {one.number}" for one in parts))
        return self._tokens[part]

    def having(self, token: str) -> tuple[str, ...]:
        """The parts with the word in their names, a family's variants in place of the family."""
        if token not in self._having:
            found = dict[str, None]()
            spellings = {token, *(word for word, to in _SPELLINGS.items() if to == token)}
            digits = [word for word, number in NUMBER_WORDS.items() if number == token]
            for id in islice(self.index.listing.find_ids([[*sorted(spellings), *digits]]), MOST_LOOKED_AT):
                if token in self.tokens(id):
                    found.update(dict.fromkeys(self._variants(id)))
            self._having[token] = tuple(found)
        return self._having[token]

    def _variants(self, part: str) -> Iterable[str]:
        if not self.known.parts[part].abstract:
            return (part,)
        return (one for each in self.index.variants_of(part) for one in self._variants(each))

    def is_unit(self, part: str) -> bool:
        """Is it a gearbox, engine or vehicle?"""
        return bool(self.sort_of(part))

    def sort_of(self, part: str) -> str:
        """gearbox, engine or vehicle; "" for a part."""
        return next((what for what in UNIT_KINDS if self.index.is_unit(part, what)), "")

    def begins_a_unit(self, piece: Piece) -> bool:
        """Whether the word is the first one of a unit's name: its own name among all that describe it."""
        return self._begins(_token(piece))

    def _begins(self, token: str) -> bool:
        return token.isalpha() and any(
            self.is_unit(id) and token in tokens_of(self.known.parts[id].label.split(" ")[0])
            for id in self.having(token)
        )

    def mention_at(self, heard: Heard, first: int) -> Mention | None:
        """The longest name that begins at the piece; of names equally long a kind's or a unit's before a part's."""
        exact = self._exact_at(heard, first)
        if exact is not None:
            return exact
        piece = heard.pieces[first]
        if piece.is_number or len(piece.plain) < 2 or not piece.says or _token(piece) in NO_NAMES:
            return None
        found = [
            self._kind_at(heard, first, self._kinds, "kinds"),
            self._part_at(heard, first),
            self._kind_at(heard, first, self._features, "features"),
        ]
        return max((one for one in found if one is not None), key=_likeliness, default=None)

    def _exact_at(self, heard: Heard, first: int) -> Mention | None:
        """An id or an own number, typed as it stands."""
        if heard.pieces[first].glued and heard.pieces[first - 1].plain not in BEFORE_A_NAME:
            return None
        stop = first + 1
        while stop < len(heard.pieces) and heard.pieces[stop].glued and not heard.taken[stop]:
            stop += 1
        if stop - first > LONGEST_ID:
            return None
        while stop > first:
            typed = heard.words(first, stop)[0].casefold()
            parts = () if len(typed) < 3 else tuple(self._called(typed))
            if len(parts) == 1 and not (stop < len(heard.pieces) and heard.pieces[stop].plain in GEAR_WORDS):
                part = parts[0]
                whole = frozenset(parts)
                if self.is_unit(part):
                    return Mention(first, stop, units=parts, whole=whole)
                return Mention(first, stop, parts=parts, whole=whole)
            if stop - first == 1:  # one word may begin a longer name
                return None
            if typed in self.known.part_kinds and typed not in UNIT_KINDS:
                return Mention(first, stop, kinds=(typed,))
            if typed in self.known.features:
                return Mention(first, stop, features=(typed,))
            stop -= 1
        return None

    def _called(self, typed: str) -> Iterable[str]:
        if typed in self.known.parts and not self.known.parts[typed].abstract:
            return (typed,)
        if not any(one.isdigit() for one in typed) and "-" not in typed:
            return ()
        found = islice(self.index.listing.find_ids([[typed]]), MOST_LOOKED_AT)
        return [id for id in found if self.known.parts[id].number.casefold() == typed]

    def _kind_at(self, heard: Heard, first: int, named: Mapping[str, frozenset[str]], sort: str) -> Mention | None:
        vocabulary = frozenset().union(*named.values())
        walk = _Walk(first, tuple(named), frozenset())
        while (step := self._step(heard, walk, vocabulary)) is not None:
            said, sure, at = step
            left = tuple(id for id in walk.left if not named[id].isdisjoint(said))
            if not left:
                break
            walk = _Walk(at + 1, left, walk.said | (said & frozenset().union(*(named[id] for id in left))),
                         walk.sure and sure)  # fmt: skip
        if walk.stop == first:
            return None
        whole = tuple(id for id in walk.left if named[id] <= walk.said)
        left = whole or walk.left
        return replace(Mention(first, walk.stop, sure=walk.sure, whole=frozenset(whole)), **{sort: left})  # type: ignore[arg-type]

    def _step(self, heard: Heard, walk: _Walk, vocabulary: frozenset[str]) -> tuple[frozenset[str], bool, int] | None:
        """The next word that is in the vocabulary: what it may be, whether surely, and at which piece."""
        at = self._next(heard, walk.stop, linked=bool(walk.said))
        if at is None:
            return None
        token = _token(heard.pieces[at])
        if token in vocabulary:
            return frozenset({token}), True, at
        slips = () if token in NO_SLIPS or self.having(token) else slips_of(token, vocabulary)
        sure = bool(slips) and all(slip.sure for slip in slips)
        if not slips or not (sure or walk.said):
            return None
        return frozenset(slip.word for slip in slips), sure, at

    def _next(self, heard: Heard, at: int, linked: bool) -> int | None:
        """The next piece of a name, over hyphens and, inside of one, over "of the"."""
        skipped = 0
        while at < len(heard.pieces) and not heard.taken[at]:
            piece = heard.pieces[at]
            if self._ends_a_name(heard, at):
                return at
            if piece.plain in "-/" or (linked and piece.plain in LINKS and skipped < 3):
                if not linked:
                    return None
                skipped += 1
                at += 1
                continue
            return at if piece.says and piece.plain not in PLACES | LINKS | NEGATORS else None
        return None

    def _ends_a_name(self, heard: Heard, at: int) -> bool:
        """A letter that is written onto a number: the `a` of `4a`."""
        piece = heard.pieces[at]
        return piece.glued and at > 0 and heard.pieces[at - 1].is_number and piece.plain.isalpha()

    def _part_at(self, heard: Heard, first: int) -> Mention | None:
        walk = _Walk(first, (), frozenset())
        while (further := self._further(heard, walk)) is not None:
            walk = further
        if walk.stop == first:
            return None
        begun, walk = self._leftwards(heard, first, walk)
        walk = replace(walk, left=self._nearest(walk))
        units = tuple(id for id in walk.left if self.is_unit(id))
        parts = () if units else walk.left
        whole = frozenset(id for id in walk.left if self._is_whole(id, walk.said))
        named = any(walk.said & tokens_of(self.known.parts[id].label.split(" ")[0]) for id in units)
        describes = not units and walk.stop - begun == 1 and heard.pieces[begun].plain.isalpha() and not whole
        sure = walk.sure and (named or not units) and not describes
        return Mention(begun, walk.stop, units=units, parts=parts, sure=sure, gears=walk.gears, whole=whole)

    def _nearest(self, walk: _Walk) -> tuple[str, ...]:
        """Those that have the most of the words in what they are called, before what describes them."""
        often = {id: len(walk.said & self._head(id)) for id in walk.left}
        most = max(often.values(), default=0)
        return tuple(id for id in walk.left if often[id] == most)

    def _head(self, part: str) -> frozenset[str]:
        found = self.known.parts[part]
        called = tokens_of(f"{found.label.split(',')[0]} {found.number}")
        return called | tokens_of(found.id) if self.is_unit(part) else called

    def _is_whole(self, part: str, said: frozenset[str]) -> bool:
        found = self.known.parts[part]
        return tokens_of(found.label.split(",")[0]) <= said or (self.is_unit(part) and tokens_of(found.id) <= said)

    def _further(self, heard: Heard, walk: _Walk) -> _Walk | None:
        at = self._next(heard, walk.stop, linked=bool(walk.said))
        if at is None:
            return None
        piece = heard.pieces[at]
        said, sure = self._may_be(piece)
        if not sure and not walk.said and not any(self._begins(one) for one in said):
            return None
        left = self._narrowed(walk, said)
        if piece.is_number and self.gear_word(heard, at + 1):
            left = tuple(id for id in left if self.is_unit(id))
        if not left or (walk.said and self._is_another(heard, walk, at, left)):
            return None
        stop = at + 1
        gears = piece.is_number and self.gear_word(heard, stop)
        said = said & frozenset().union(*(self.tokens(id) for id in left))
        return _Walk(gears or stop, left, walk.said | said, walk.sure and sure, walk.gears or bool(gears))

    def gear_word(self, heard: Heard, at: int) -> int:
        """Behind the word that says that a number counts gears; 0 where none stands there."""
        if at < len(heard.pieces) and heard.pieces[at].plain == "-":
            at += 1
        return at + 1 if at < len(heard.pieces) and heard.pieces[at].plain in GEAR_WORDS else 0

    def _may_be(self, piece: Piece) -> tuple[frozenset[str], bool]:
        token = _token(piece)
        if self.having(token):
            return frozenset({token}), True
        if token in NO_SLIPS:
            return frozenset(), False
        near = {fold(word) for word, _ in self.index.listing.scored_words(token)} | self._short_words
        slips = [slip for slip in slips_of(token, near) if self.having(slip.word)]
        return frozenset(slip.word for slip in slips), all(slip.sure for slip in slips)

    def _narrowed(self, walk: _Walk, said: frozenset[str]) -> tuple[str, ...]:
        if not walk.said:
            return tuple(dict.fromkeys(id for token in sorted(said) for id in self.having(token)))
        return tuple(id for id in walk.left if not self.tokens(id).isdisjoint(said))

    def _is_another(self, heard: Heard, walk: _Walk, at: int, left: Sequence[str]) -> bool:
        """Whether a unit's own name at the piece begins a mention of its own, and does not tell more of a part."""
        if not self.begins_a_unit(heard.pieces[at]) or any(self.is_unit(id) for id in left):
            return False
        after = self._next(heard, at + 1, linked=False)
        if after is None or heard.pieces[after].is_number:
            return heard.pieces[at - 1].plain not in ("of", "the") or heard.pieces[at - 2].plain != "of"
        token = _token(heard.pieces[after])
        return not any(token in self.tokens(id) for id in left)

    def _leftwards(self, heard: Heard, first: int, walk: _Walk) -> tuple[int, _Walk]:
        """Numbers that stand before the name and are in it: `the 20 mm plate`, `2 litre Ouzel`."""
        while first > 0 and not heard.taken[first - 1]:
            piece = heard.pieces[first - 1]
            token = _token(piece)
            near = piece.is_number or token in ("mm", "litre", "inch")
            left = tuple(id for id in walk.left if token in self.tokens(id)) if near else ()
            if not left:
                break
            first, walk = first - 1, replace(walk, left=left, said=walk.said | {token})
        return first, walk


def _likeliness(mention: Mention) -> tuple[bool, int, bool]:
    return mention.sure, mention.stop - mention.first, bool(mention.whole)


def label_of(part: Part | None, id: str) -> str:
    """What a part is called; its id where it has no label."""
    return (part.label if part else "") or id
