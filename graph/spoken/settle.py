"""What the names in a question mean for it: units asked about, parts in hand or left out, offers. No I/O."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from graph.catalogue.model import UNIT_KINDS
from graph.spoken.found import AVOID, LACK, MOST_CHOICES, OWN, FoundInWords
from graph.spoken.model import SpokenChoice, SpokenDoubt
from graph.spoken.names import Mention, label_of
from graph.spoken.phrases import NOT_TAKEN
from graph.spoken.sayings import SaidOfName

FIELD_WORDS = {"gearbox": "Gearbox", "engine": "Engine", "vehicle": "Vehicle"}
ONE_OF_EACH = (
    "a question is about one gearbox and one engine, so others need not be left out; "
    "which of them would do is answered under Where to"
)
UNASKED = (OWN, LACK, AVOID, *NOT_TAKEN)  # what is said so of a unit, it is not the one that is asked about


def settle(found: FoundInWords, every: Sequence[SaidOfName]) -> None:
    """Every mention as a chip, a doubt, or with the reason why it is no part of a question."""
    for said in every:
        if not said.mention.units or said.mode in UNASKED:
            _settle_part(found, said)
    for sort in UNIT_KINDS:
        _settle_unit(found, every, sort)


def _settle_part(found: FoundInWords, said: SaidOfName) -> None:
    mention, first, stop = said.mention, said.begun, said.mention.stop
    if said.mode in NOT_TAKEN:
        found.heard.refuse(first, stop, NOT_TAKEN[said.mode])
    elif said.mode == LACK:
        found.heard.refuse(first, stop, "a part counts as not in hand until it is said to be")
    elif mention.features:
        _settle_features(found, said)
    elif mention.units and said.mode == AVOID:
        found.heard.refuse(first, stop, ONE_OF_EACH)
    elif mention.units or (mention.parts and said.mode == OWN):
        ids = mention.units or mention.parts
        _one_of(found, said, [_part_choice(found, OWN, id) for id in ids], "Which one is in hand?")
    elif mention.kinds:
        _settle_kinds(found, said)
    elif said.mode == AVOID:
        _settle_left_out(found, said)
    else:
        both = [_part_choice(found, mode, id) for id in mention.parts[: MOST_CHOICES // 2] for mode in (OWN, AVOID)]
        found.doubt(first, stop, "Is it in hand, or to be left out?", both, several=True)


def _settle_left_out(found: FoundInWords, said: SaidOfName) -> None:
    """Whoever leaves one out may mean all of the name: one that is called just so is offered first, with the others."""
    mention = said.mention
    choices = [_part_choice(found, AVOID, id) for id in mention.parts]
    meant = _meant(found, mention, choices)
    if len(choices) == 1 or len(meant) > 1 or not mention.sure:
        _one_of(found, said, choices, "Which one is to be left out?")
        return
    label = label_of(found.names.known.parts.get(meant[0].value), meant[0].value)
    asked = f"Understood as {label}, which is called just so; others have the name too. Which are to be left out?"
    found.doubt(said.begun, mention.stop, asked, [*meant, *(one for one in choices if one not in meant)], several=True)


def _settle_features(found: FoundInWords, said: SaidOfName) -> None:
    mention = said.mention
    if said.mode == AVOID:
        found.heard.refuse(said.begun, mention.stop, "what the finished job may not offer is no part of a question")
        return
    known = found.names.known.features
    choices = [SpokenChoice("features", id, f"Must offer: {known[id].label}") for id in mention.features]
    _one_of(found, said, choices, "What must it offer?")


def _settle_kinds(found: FoundInWords, said: SaidOfName) -> None:
    mention, known = said.mention, found.names.known.part_kinds
    between = tuple(id for id in mention.kinds if known[id].intermediate)
    kinds = tuple(mention.whole & set(mention.kinds)) or between or mention.kinds
    left_out = [SpokenChoice(AVOID, id, f"Without {known[id].label}") for id in sorted(kinds)]
    if said.mode == AVOID:
        _one_of(found, said, left_out, "Which kind is to be left out?")
        return
    parts = [id for kind in sorted(kinds) for id in found.names.index.parts_of_kind(kind)[:MOST_CHOICES]]
    own = [_part_choice(found, OWN, id) for id in parts if not found.names.known.parts[id].abstract]
    choices = own if said.mode == OWN else [*left_out, *own]
    if choices:
        asked = "Which one is in hand?" if said.mode == OWN else "Is it to be left out, or in hand?"
        found.doubt(said.begun, mention.stop, asked, choices, several=True)
    else:
        found.heard.refuse(said.begun, mention.stop, "no part of this kind is known")


def _part_choice(found: FoundInWords, mode: str, id: str) -> SpokenChoice:
    label = label_of(found.names.known.parts.get(id), id)
    return SpokenChoice(mode, id, f"{label} in hand" if mode == OWN else f"Without {label}")


def _one_of(found: FoundInWords, said: SaidOfName, choices: list[SpokenChoice], asked: str) -> None:
    """A chip where just one thing is meant and surely, or one is called just so; else a doubt."""
    meant = _meant(found, said.mention, choices)
    if len(meant) == 1 and said.mention.sure:
        found.chip(said.begun, said.mention.stop, *meant)
    else:
        found.doubt(said.begun, said.mention.stop, asked, choices, several=True)


def _meant(found: FoundInWords, mention: Mention, choices: list[SpokenChoice]) -> list[SpokenChoice]:
    """The one that is called just so; else all."""
    whole = [one for one in choices if one.value in mention.whole]
    return whole if len(whole) == 1 and not mention.gears else choices


def _settle_unit(found: FoundInWords, every: Sequence[SaidOfName], sort: str) -> None:
    own = {chip.value for chip in found.chips if chip.field == OWN}
    named = [said for said in every if said.mode not in UNASKED
             and any(found.names.sort_of(id) == sort for id in said.mention.units)]  # fmt: skip
    if any(not said.mention.gears or said.mention.sure for said in named):
        for counted in [said for said in named if said.mention.gears and not said.mention.sure]:
            found.heard.refuse(counted.begun, counted.mention.stop, "a gearbox is named already")
            named.remove(counted)
    if not named:
        _settle_in_hand(found, sort, own)
        return
    if len(named) == 1:
        _one_unit(found, named[0], _unit_choices(found, named[0].mention, sort), sort)
        return
    both = [one for said in named for one in _meant(found, said.mention, _unit_choices(found, said.mention, sort))]
    _one_doubt(found, named, f"Which {sort} is asked about?", both)


def _one_doubt(found: FoundInWords, named: Sequence[SaidOfName], asked: str, choices: Iterable[SpokenChoice]) -> None:
    """Several mentions of which one counts, as one doubt."""
    places = [found.heard.words(said.begun, said.mention.stop) for said in named]
    kept = tuple(dict.fromkeys(choices))[:MOST_CHOICES]
    words, start, end = " … ".join(words for words, _, _ in places), places[0][1], places[-1][2]
    found.doubts.append(SpokenDoubt(words, start, end, asked, kept))


def _unit_choices(found: FoundInWords, mention: Mention, sort: str) -> list[SpokenChoice]:
    parts = found.names.known.parts
    units = [id for id in mention.units if found.names.sort_of(id) == sort]
    return [SpokenChoice(sort, id, f"{FIELD_WORDS[sort]}: {label_of(parts.get(id), id)}") for id in sorted(units)]


def _one_unit(found: FoundInWords, said: SaidOfName, choices: list[SpokenChoice], sort: str) -> None:
    meant = _meant(found, said.mention, choices)
    if len(meant) == 1 and said.mention.sure:
        found.chip(said.begun, said.mention.stop, *meant)
    else:
        found.doubt(said.begun, said.mention.stop, f"Which {sort} is meant?", choices)


def _settle_in_hand(found: FoundInWords, sort: str, own: set[str]) -> None:
    """The one unit in hand is the one asked about where no other is named."""
    mine = [chip for chip in found.chips if chip.field == OWN and found.names.sort_of(chip.value) == sort]
    if len(mine) == 1:
        label = label_of(found.names.known.parts.get(mine[0].value), mine[0].value)
        found.chips.append(replace(mine[0], field=sort, label=f"{FIELD_WORDS[sort]}: {label}"))
