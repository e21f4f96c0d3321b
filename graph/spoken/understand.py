"""From words to a question: numbers first, then names under what says no, have or must, then what is left over.

Nothing is guessed in silence: every word ends in a chip, a doubt with choices, the words not understood, or the fixed
list of words that are passed over (`graph.spoken.phrases`). No I/O.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from graph.catalogue.model import UNIT_KINDS
from graph.lookups.index import CatalogueIndex
from graph.reading.job_keys import KEY_WORDS, USUAL_DUTIES
from graph.spoken.amounts import Circumstances, Meant, find_amounts
from graph.spoken.model import CONTEXT, YES, InWords, SpokenChip, SpokenChoice, SpokenDoubt, SpokenWord
from graph.spoken.names import NO_NAMES, Mention, Names, label_of
from graph.spoken.phrases import (
    FILLERS,
    GEAR_WORDS,
    HAVING,
    IN_HAND,
    LEAVING_OUT,
    NEGATORS,
    NO_SUCH_WISH,
    PLACES,
    UNIT_WORDS,
    WISHING,
)
from graph.spoken.pieces import Heard, pieces_of

MOST_CHOICES = 12
FIELD_WORDS = {"gearbox": "Gearbox", "engine": "Engine", "vehicle": "Vehicle"}
AVOID, OWN, LACK, WITH = "avoid", "own", "lack", "with"


def understand(index: CatalogueIndex, text: str, today: date) -> InWords:
    """What the words ask. `today`: dates and weekdays are counted from it. Raises InvalidInput for a text too long."""
    names = Names(index)
    clean, pieces = pieces_of(text, names.knows)
    heard = Heard(clean, pieces)
    known = index.catalogue
    found = _Found(heard, names)
    found.take_job()
    for first, stop, meant in find_amounts(heard, Circumstances(known.currency, known.day_hours, today)):
        found.add_meant(first, stop, meant)
    found.take_names()
    found.take_duties()
    return found.in_words()


@dataclass(slots=True)
class _Said:
    """A mention with what was said of it: left out, in hand, not in hand, wished, or nothing."""

    mention: Mention
    mode: str
    begun: int


@dataclass(slots=True)
class _Found:
    """What was found so far."""

    heard: Heard
    names: Names
    chips: list[SpokenChip] = field(default_factory=list)
    doubts: list[SpokenDoubt] = field(default_factory=list)
    said: list[_Said] = field(default_factory=list)

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
        if meant.asked:
            self.doubt(first, stop, meant.asked, meant.choices)
        else:
            self.chip(first, stop, *meant.choices)

    # What is known of the job

    def take_job(self) -> None:
        """Keys of what is known of a job beside a value that the facts ask for: `late engine management`, `a press`."""
        values: dict[str, list[tuple[str, str]]] = {}
        for key, op, value in self.names.index.listing.asked:
            if op in ("=", "has", "!=") and key != "state of the part" and value.isalpha():
                values.setdefault(value.casefold(), []).append((key, value))
        for at, piece in enumerate(self.heard.pieces):
            for key, value in values.get(piece.plain, ()):
                self._take_known(at, key, value)
            if piece.plain in USUAL_DUTIES:
                self._take_duty(at)

    def _take_known(self, at: int, key: str, value: str) -> None:
        pieces = self.heard.pieces
        words = {key, *KEY_WORDS.get(key, "").casefold().split()}
        first = stop = at
        if at + 1 < len(pieces) and pieces[at + 1].plain in words:
            stop = at + 1
            while stop + 1 < len(pieces) and pieces[stop + 1].plain in words:
                stop += 1
        elif at > 0 and (before := self.heard.before(at)) >= 0 and pieces[before].plain in words | {"is", "="}:
            first = before
            while first > 0 and pieces[first - 1].plain in words:
                first -= 1
        elif key == "tools" and (before := self.heard.before(at)) >= 0 and pieces[before].plain in HAVING:
            first = before
        else:
            return
        if self.heard.is_denied(first) or any(self.heard.taken[first : stop + 1]):
            return
        label = f"{KEY_WORDS.get(key, key)}: {value}"
        self.chip(first, stop + 1, SpokenChoice(f"{CONTEXT}{key}", value, label))

    def _take_duty(self, at: int) -> None:
        pieces = self.heard.pieces
        before = self.heard.before(at)
        after = pieces[at + 1].plain if at + 1 < len(pieces) else ""
        follows = after in ("use", "duty", "work", "only")
        leads = before >= 0 and pieces[before].plain in ("for", "duty", "on")
        if (follows or leads) and not self.heard.is_denied(before if leads else at):
            self._duty(before if leads else at, at + 2 if follows else at + 1, pieces[at].plain)

    def _duty(self, first: int, stop: int, duty: str) -> None:
        if not any(self.heard.taken[first:stop]):
            self.chip(first, stop, SpokenChoice(f"{CONTEXT}duty", duty, f"Duty: {duty}"))

    def take_duties(self) -> None:
        """Words of duty that nothing else has used."""
        for at, piece in enumerate(self.heard.pieces):
            if piece.plain in USUAL_DUTIES and not self.heard.taken[at] and not self.heard.is_denied(at):
                self._duty(at, at + 1, piece.plain)

    # Names

    def take_names(self) -> None:
        """Every name, from left to right, under the last word that says no, have or must."""
        at, mode, marked, comma = 0, "", -1, False
        pieces = self.heard.pieces
        while at < len(pieces):
            if self.heard.taken[at]:
                at, mode, marked = at + 1, "", -1
                continue
            mention = self._mention(at)
            if mention is None:
                mode, marked, comma = self._mode(at, mode, marked, comma)
                at += 1
                continue
            if comma and mention.units:
                mode, marked = "", -1
            begun = marked if marked >= 0 and self._leads_to(marked, mention.first) else mention.first
            stop, mode_here = self._with_afterwards(mention, mode)
            self.said.append(_Said(replace(mention, stop=stop), mode_here, begun))
            self.heard.take(begun, stop)
            at, marked, comma = stop, -1, False
        self._settle()

    def _mention(self, at: int) -> Mention | None:
        piece = self.heard.pieces[at]
        counted = self._gears_at(at)
        if counted is not None:
            return counted
        if piece.plain in NEGATORS | HAVING | PLACES | FILLERS | USUAL_FILLED and not self._begins_a_name(at):
            return None
        return self.names.mention_at(self.heard, at)

    def _begins_a_name(self, at: int) -> bool:
        """`gearbox mount`, `engine block`: words that are passed over alone and begin the name of a kind."""
        plain = self.heard.pieces[at].plain
        if plain not in ("gearbox", "engine", "box", "motor", *GEAR_WORDS):
            return False
        mention = self.names.mention_at(self.heard, at)
        return (
            mention is not None and mention.stop > at + 1 and bool(mention.whole or mention.kinds or mention.features)
        )

    def _gears_at(self, at: int) -> Mention | None:
        """`five speed` before or without a name."""
        pieces = self.heard.pieces
        if not pieces[at].is_number or not (stop := self.names._gear_word(self.heard, at + 1)):
            return None
        number = pieces[at].plain
        nxt = stop
        while nxt < len(pieces) and pieces[nxt].plain in ("gearbox", "box", "transmission"):
            nxt += 1
        named = self.names.mention_at(self.heard, nxt) if nxt < len(pieces) and not self.heard.taken[nxt] else None
        if named is not None and any(self.names.sort_of(id) == "gearbox" for id in named.units):
            left = tuple(id for id in named.units if number in self.names.tokens(id))
            if left:
                return Mention(at, named.stop, units=left, sure=named.sure, gears=True, whole=named.whole)
        boxes = tuple(id for id in self.names.having(number) if self.names.sort_of(id) == "gearbox")
        return Mention(at, stop, units=boxes, sure=False, gears=True) if boxes else None

    def _mode(self, at: int, mode: str, marked: int, comma: bool) -> tuple[str, int, bool]:
        """What holds for the names that follow, where the word that says so stands, and whether a comma came since."""
        plain = self.heard.pieces[at].plain
        if plain in (",", ";", "."):
            return mode if plain == "," else "", -1, True
        if plain in HAVING:
            return (LACK if mode in (AVOID, LACK) else OWN), (marked if mode and marked >= 0 else at), False
        if plain in NEGATORS:
            has_none = mode == OWN and marked == at - 1
            return (LACK if has_none else AVOID), (marked if has_none else at), False
        if plain in WISHING and mode == AVOID and marked == at - 1:
            return AVOID, marked, False
        if plain in WISHING:
            return WITH, -1, False
        if plain in PLACES:
            return "", -1, False
        held = (
            plain in FILLERS or plain in NO_NAMES or self.heard.pieces[at].is_number or not self.heard.pieces[at].says
        )
        return (mode, marked, comma) if held else ("", -1, comma)

    def _leads_to(self, marked: int, first: int) -> bool:
        return all(
            not self.heard.pieces[at].says or self.heard.pieces[at].plain in FILLERS | NEGATORS | HAVING
            for at in range(marked, first)
        )

    def _with_afterwards(self, mention: Mention, mode: str) -> tuple[int, str]:
        """Up to where the mention goes with `in hand` or `gearbox` after it, and what is said of it then."""
        pieces, stop = self.heard.pieces, mention.stop
        sorts = {self.names.sort_of(id) for id in mention.units}
        while stop < len(pieces) and not self.heard.taken[stop] and any(
            pieces[stop].plain in UNIT_WORDS.get(sort, ()) for sort in sorts
        ) and self._mention(stop) is None:  # fmt: skip
            stop += 1
        for words in IN_HAND:
            at = stop + (1 if stop < len(pieces) and pieces[stop].plain in ("is", "are") else 0)
            if tuple(one.plain for one in pieces[at : at + len(words)]) == words:
                return at + len(words), OWN
        return stop, mode

    # What the names mean for the question

    def _settle(self) -> None:
        for said in self.said:
            if not said.mention.units or said.mode in (OWN, LACK, AVOID):
                self._settle_part(said)
        for sort in UNIT_KINDS:
            self._settle_unit(sort)

    def _settle_part(self, said: _Said) -> None:
        mention, first, stop = said.mention, said.begun, said.mention.stop
        if said.mode == LACK:
            self.heard.refuse(first, stop, "a part counts as not in hand until it is said to be")
        elif mention.features:
            self._settle_features(said)
        elif mention.units and said.mode == AVOID:
            self.heard.refuse(first, stop, "a question is about one gearbox and one engine; others need not be named")
        elif mention.units or (mention.parts and said.mode == OWN):
            ids = mention.units or mention.parts
            self._one_of(said, [self._part_choice(OWN, id) for id in ids], "Which one is in hand?")
        elif mention.kinds:
            self._settle_kinds(said)
        elif said.mode == AVOID:
            self._one_of(said, [self._part_choice(AVOID, id) for id in mention.parts], "Which one is to be left out?")
        else:
            both = [self._part_choice(mode, id) for id in mention.parts[: MOST_CHOICES // 2] for mode in (OWN, AVOID)]
            self.doubt(first, stop, "Is it in hand, or to be left out?", both, several=True)

    def _settle_features(self, said: _Said) -> None:
        mention = said.mention
        if said.mode == AVOID:
            self.heard.refuse(said.begun, mention.stop, "what the finished job may not offer is no part of a question")
            return
        known = self.names.known.features
        choices = [SpokenChoice("features", id, f"Must offer: {known[id].label}") for id in mention.features]
        self._one_of(said, choices, "What must it offer?")

    def _settle_kinds(self, said: _Said) -> None:
        mention, known = said.mention, self.names.known.part_kinds
        between = tuple(id for id in mention.kinds if known[id].intermediate)
        kinds = tuple(mention.whole & set(mention.kinds)) or between or mention.kinds
        left_out = [SpokenChoice(AVOID, id, f"Without {known[id].label}") for id in sorted(kinds)]
        if said.mode == AVOID:
            self._one_of(said, left_out, "Which kind is to be left out?")
            return
        parts = [id for kind in sorted(kinds) for id in self.names.index.parts_of_kind(kind)[:MOST_CHOICES]]
        own = [self._part_choice(OWN, id) for id in parts if not self.names.known.parts[id].abstract]
        choices = own if said.mode == OWN else [*left_out, *own]
        if choices:
            asked = "Which one is in hand?" if said.mode == OWN else "Is it to be left out, or in hand?"
            self.doubt(said.begun, mention.stop, asked, choices, several=True)
        else:
            self.heard.refuse(said.begun, mention.stop, "no part of this kind is known")

    def _part_choice(self, mode: str, id: str) -> SpokenChoice:
        label = label_of(self.names.known.parts.get(id), id)
        return SpokenChoice(mode, id, f"{label} in hand" if mode == OWN else f"Without {label}")

    def _one_of(self, said: _Said, choices: list[SpokenChoice], asked: str) -> None:
        """A chip where just one thing is meant and surely, or one is called just so; else a doubt."""
        meant = self._meant(said.mention, choices)
        if len(meant) == 1 and said.mention.sure:
            self.chip(said.begun, said.mention.stop, *meant)
        else:
            self.doubt(said.begun, said.mention.stop, asked, choices, several=True)

    def _meant(self, mention: Mention, choices: list[SpokenChoice]) -> list[SpokenChoice]:
        """The one that is called just so; else all."""
        whole = [one for one in choices if one.value in mention.whole]
        return whole if len(whole) == 1 and not mention.gears else choices

    def _settle_unit(self, sort: str) -> None:
        own = {chip.value for chip in self.chips if chip.field == OWN}
        named = [said for said in self.said if said.mode not in (OWN, LACK, AVOID)
                 and any(self.names.sort_of(id) == sort for id in said.mention.units)]  # fmt: skip
        if any(not said.mention.gears or said.mention.sure for said in named):
            for counted in [said for said in named if said.mention.gears and not said.mention.sure]:
                self.heard.refuse(counted.begun, counted.mention.stop, "a gearbox is named already")
                named.remove(counted)
        if not named:
            self._settle_in_hand(sort, own)
            return
        if len(named) == 1:
            self._one_unit(named[0], self._unit_choices(named[0].mention, sort), sort)
            return
        both = [one for said in named for one in self._meant(said.mention, self._unit_choices(said.mention, sort))]
        self._one_doubt(named, f"Which {sort} is asked about?", both)

    def _one_doubt(self, named: Sequence[_Said], asked: str, choices: Iterable[SpokenChoice]) -> None:
        """Several mentions of which one counts, as one doubt."""
        places = [self.heard.words(said.begun, said.mention.stop) for said in named]
        kept = tuple(dict.fromkeys(choices))[:MOST_CHOICES]
        words, start, end = " … ".join(words for words, _, _ in places), places[0][1], places[-1][2]
        self.doubts.append(SpokenDoubt(words, start, end, asked, kept))

    def _unit_choices(self, mention: Mention, sort: str) -> list[SpokenChoice]:
        parts = self.names.known.parts
        units = [id for id in mention.units if self.names.sort_of(id) == sort]
        return [SpokenChoice(sort, id, f"{FIELD_WORDS[sort]}: {label_of(parts.get(id), id)}") for id in sorted(units)]

    def _one_unit(self, said: _Said, choices: list[SpokenChoice], sort: str) -> None:
        meant = self._meant(said.mention, choices)
        if len(meant) == 1 and said.mention.sure:
            self.chip(said.begun, said.mention.stop, *meant)
        else:
            self.doubt(said.begun, said.mention.stop, f"Which {sort} is meant?", choices)

    def _settle_in_hand(self, sort: str, own: set[str]) -> None:
        """The one unit in hand is the one asked about where no other is named."""
        mine = [chip for chip in self.chips if chip.field == OWN and self.names.sort_of(chip.value) == sort]
        if len(mine) == 1:
            label = label_of(self.names.known.parts.get(mine[0].value), mine[0].value)
            self.chips.append(replace(mine[0], field=sort, label=f"{FIELD_WORDS[sort]}: {label}"))

    # All of it

    def in_words(self) -> InWords:
        """Everything, and what is left over."""
        left: list[SpokenWord] = []
        passed: list[SpokenWord] = []
        for number, piece in enumerate(self.heard.pieces):
            if (self.heard.taken[number] and number not in self.heard.reasons) or not piece.says:
                continue
            reason = self.heard.reasons.get(number, "") or NO_SUCH_WISH.get(piece.plain, "")
            passes = piece.plain in FILLERS and not reason
            near = () if passes or reason else self.names.near(piece)
            word = SpokenWord(piece.text, piece.start, piece.end, reason, near)
            (passed if passes else left).append(word)
        chips, doubts = self._without_contradictions()
        return InWords(self.heard.text, tuple(chips), tuple(doubts), tuple(left), tuple(passed))

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


USUAL_FILLED = GEAR_WORDS | WISHING | LEAVING_OUT
