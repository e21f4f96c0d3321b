"""A unit's sheet as its form: every place as it stands, as it was typed, and what is meant by that.

A place says a part that is known, found by words; a new part; one of a published standard; or that there is none. Left
empty it is not known. Who says so and how it is known are the sheet's, unless the place says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from api.pages.new_part import name_problems, price_of, said_problems
from api.pages.part_view import Other, other_of
from api.pages.sheet_parts import beside_known, find_part_of, named_so, of_number
from graph.catalogue.model import Assembly, Catalogue, EvidenceLevel, Part, PositionKind, Term
from graph.catalogue.names import KIND
from graph.errors import InvalidInput, Problem
from graph.fits.standard_parts import ASKED, StandardPart, family_of, find_standard, looks_standard, read_standard
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.ledger.things import NewPart, id_from, kind_iri, stated_parts
from graph.ledger.unit_sheets import MADE_FOR, NOTHING, PlaceSaid, Said, restated, said_in_sheet
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, chosen_of

UNKNOWN_CONDITION = "unknown"  # what a part is in while nothing is said
MINE, THEIRS = "mine", "theirs"


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the sheet. `words`: as typed; `was`: the part that stood there when the page was made, with `label`.

    `none`: "yes" where the unit has none there. `new`: "yes" for a new part of that name, with its `kind`, `number` and
    `price`; `condition`: as found; `evidence`, `author`: where they are not the sheet's; `elsewhere`: what other notes
    and facts say is there; `stands`: what it says now and by whom, in words; `sizes`: of a standard part, as read;
    `stored`: what somebody else has written meanwhile, `keep`: which of both holds; `kinds`: what fits in here;
    `family`: the standard that parts here follow; `said`: what stood there; `stood`: the condition shown when the page
    was made, `condition_for`: the words beside which a page showed it.
    """

    position: PositionKind
    kinds: tuple[Term, ...]
    iri: str
    elsewhere: tuple[Other, ...] = ()
    words: str = ""
    was: str = ""
    label: str = ""
    new: str = ""
    kind: str = ""
    number: str = ""
    condition: str = ""
    price: str = ""
    none: str = ""
    evidence: str = ""
    author: str = ""
    choices: tuple[Choice, ...] = ()
    stands: str = ""
    sizes: str = ""
    stored: str = ""
    keep: str = ""
    family: str = ""
    said: PlaceSaid = NOTHING
    stood: str = ""
    condition_for: str = ""

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"at.{self.position.id}"

    @property
    def held(self) -> frozenset[str]:
        """The ids of the kinds of part that it holds."""
        return frozenset(kind.id for kind in self.kinds)

    @property
    def carried(self) -> bool:
        """Whether a page showed the condition of the part that stood here, and nobody has chosen it for another."""
        left = bool(self.condition) and self.condition == self.stood
        return left and bool(self.label) and self.condition_for == self.label != self.words

    @property
    def hint(self) -> str:
        """What belongs here, and how a standard part is written."""
        asked = ASKED.get(self.family, "")
        return " ".join(filter(None, (self.position.definition, f"Or a standard one by {asked}." if asked else "")))

    @property
    def says(self) -> bool:
        """Whether anything stands here or was typed here."""
        return bool(self.was or self.none or self.words or self.stored)

    @property
    def opened(self) -> bool:
        """Whether anything is said in the part of the form that is folded away."""
        return bool(self.number or self.condition or self.price or self.evidence or self.author)


@dataclass(frozen=True, slots=True)
class SheetTurn:
    """One writing: its `revision` of the sheet, who, when, how known, and what it changed, in words.

    `way`: the workbook that was taken in or back with it; `note`: the id of the note beside the sheet.
    """

    revision: int
    who: str
    when: str
    evidence: str
    changes: tuple[str, ...]
    way: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class SheetView:
    """The sheet of a unit. `revision`: of its note, 0 before the first; `note`: its id; `saved`: just written.

    `assembly`: the kind of job whose places are shown, of `assemblies`; empty: every place that such a unit can have.
    `made_for`: the kind of job that the sheet says the unit was made for; `made_elsewhere`: what others say of that.
    `missing`: which units a question needs that are not known yet. `met`: somebody else's writing was merged in.
    `undo_author`: who is likely to take a writing back.
    """

    unit: Part
    places: tuple[Place, ...]
    evidence_levels: tuple[EvidenceLevel, ...]
    conditions: tuple[Term, ...]
    currency: str
    revision: int = 0
    note: str = ""
    evidence: str = ""
    author: str = ""
    text: str = ""
    assembly: str = ""
    assemblies: tuple[Assembly, ...] = ()
    made_for: str = ""
    made_elsewhere: tuple[str, ...] = ()
    saved: bool = False
    met: bool = False
    missing: tuple[str, ...] = ()
    history: tuple[SheetTurn, ...] = ()
    undo_author: str = ""
    problems: tuple[Problem, ...] = ()
    said: Said = field(default_factory=dict)

    @property
    def told(self) -> tuple[Place, ...]:
        """The places of which something is known or typed."""
        return tuple(one for one in self.places if one.says or one.elsewhere or one.opened or self._is_wrong(one))

    @property
    def untold(self) -> tuple[Place, ...]:
        """The others, folded away."""
        told = {one.name for one in self.told}
        return tuple(one for one in self.places if one.name not in told)

    @property
    def unfold(self) -> bool:
        """Whether these show at once: those of one kind of job, and where nothing is known of any."""
        return bool(self.assembly) or not self.told

    def _is_wrong(self, place: Place) -> bool:
        return any(one.path.partition("/")[0] == place.name for one in self.problems)

    def fault(self, name: str) -> str:
        """What is wrong with a field."""
        return "; ".join(problem.message for problem in self.problems if problem.path == name)

    def label(self, name: str) -> str:
        """The words beside a field."""
        position = next((place.position for place in self.places if place.name == name.partition("/")[0]), None)
        named = {"evidence": "How it is known", "author": "Who says so", "made_for": "Made for",
                 "undo_author": "Who takes it back"}  # fmt: skip
        return position.label if position else named.get(name, name)

    def first(self) -> str:
        """The first field that is to be mended, which gets the focus."""
        return self.problems[0].path if self.problems else ""


@dataclass(frozen=True, slots=True)
class SheetReading:
    """A sheet as typed: its `view` with its faults, the new parts, and what it `said`, place by place."""

    view: SheetView
    parts: tuple[NewPart, ...]
    said: Said


def standing_sheet(index: CatalogueIndex, notebook: Notebook, unit: Part, sheet: Entry | None) -> SheetView:
    """The sheet as it stands, every place that such a unit can have."""
    known, base = index.catalogue, notebook.ledger.base
    said, kinds, inside = said_in_sheet(sheet, base), set(index.kinds_of(unit.kind)), index.contains(unit.id)
    places = []
    for position in sorted(known.position_kinds.values(), key=lambda one: one.label):
        if position.owner not in kinds:
            continue
        iri = kind_iri(position.id, base, notebook.kinds.position_kinds)
        others = tuple(edge.target for edge in inside.get(position.id, ()))
        places.append(_standing(known, Place(position, _held(known, position), iri), said.get(iri, NOTHING), others))
    made = said.get(MADE_FOR, NOTHING).part.removeprefix(KIND).removeprefix(base)
    elsewhere = tuple(known.assemblies[one].label for one in index.made_for(unit.id)
                      if one != made and one in known.assemblies)  # fmt: skip
    return SheetView(
        unit, tuple(places), tuple(sorted(known.evidence_levels.values(), key=lambda level: level.rank)),
        tuple(sorted(known.part_conditions.values(), key=lambda one: one.label)), known.currency,
        sheet.revision if sheet else 0, sheet.note_id if sheet else "", sheet.evidence if sheet else "",
        sheet.author if sheet else "", sheet.text if sheet else "", made_for=made, made_elsewhere=elsewhere,
        assemblies=tuple(sorted(known.assemblies.values(), key=lambda one: one.label)), said=said,
    )  # fmt: skip


def _held(known: Catalogue, position: PositionKind) -> tuple[Term, ...]:
    return tuple(known.part_kinds[kind] for kind in position.part_kinds if kind in known.part_kinds)


def _standing(known: Catalogue, place: Place, said: PlaceSaid, others: Sequence[str]) -> Place:
    part = known.parts.get(said.part)
    label = part.label if part else said.part
    family = family_of([kind.id for kind in place.kinds])
    standard = find_standard(family, part.number) if part else None
    return replace(
        place, elsewhere=tuple(other_of(known, other) for other in others if other != said.part), words=label,
        was=said.part, label=label, none="yes" if said.none else "", kind=_usual(place.position, place.kinds),
        condition=_condition(part, said), stands=told(known, said), family=family, said=said,
        sizes=standard.told if standard else "",
    )  # fmt: skip


def _condition(part: Part | None, said: PlaceSaid) -> str:
    """The condition that the field shows: as the sheet found it, or as the part is known; empty where nobody knows."""
    known = part.condition if part and part.condition != UNKNOWN_CONDITION else ""
    return said.condition.removeprefix(KIND) or known


def told(known: Catalogue, said: PlaceSaid, new: Mapping[str, str] | None = None) -> str:
    """What is said of a place, by whom and how known, in words. `new`: names of parts that are not written yet."""
    words = what(known, said, new)
    level = known.evidence_levels.get(said.evidence)
    by = ", ".join(filter(None, (said.author, level.label if level else "")))
    return f"{words} ({by})" if by and not said.same(NOTHING) else words


def what(known: Catalogue, said: PlaceSaid, new: Mapping[str, str] | None = None) -> str:
    """The same without who says so."""
    if said.none:
        return "it has none"
    if not said.part:
        return "not known"
    local = said.part.removeprefix(KIND)
    if local in known.assemblies:
        return known.assemblies[local].label
    part = known.parts.get(said.part)
    state = known.part_conditions.get(said.condition.removeprefix(KIND))
    name = part.label if part else (new or {}).get(said.part, said.part)
    return f"{name}, {state.label}" if state and state.label not in name else name


def _usual(position: PositionKind, held: tuple[Term, ...]) -> str:
    """The kind of part that a new one is, unless another is chosen: the only one, or that named like the place."""
    named = [kind.id for kind in held if len(held) == 1 or kind.label == position.label]
    return named[0] if named else ""


class _Reader:
    """Reads one form: what it says at each place, against what stood there when the page was made."""

    def __init__(
        self, index: CatalogueIndex, notebook: Notebook, standing: SheetView, sent: Mapping[str, str],
        now: Entry | None,
    ):  # fmt: skip
        self.index, self.known, self.notebook, self.sent = index, index.catalogue, notebook, sent
        self.base, self.standing = notebook.ledger.base, standing
        self.evidence, self.author = sent.get("evidence", ""), sent.get("author", "")
        self.problems: list[Problem] = []
        self.parts: list[NewPart] = []
        self.now = said_in_sheet(now, self.base)
        self.own = {str(one.subject.value).removeprefix(self.base)  # type: ignore[union-attr]
                    for one in (stated_parts(now.statements) if now else ())}  # fmt: skip

    def read(self) -> SheetReading:
        places, said = [], dict[str, PlaceSaid]()
        for standing in self.standing.places:
            place = _typed(standing, self.sent)
            choices: dict[str, tuple[Choice, ...]] = {}
            said[place.iri] = self._place(place, choices)
            places.append(replace(place, choices=choices.get(place.name, ())))
        said[MADE_FOR] = self._made_for()
        self._leftovers(places)
        said = self._restated(said)
        if not self.problems and not self.standing.note and all(one.same(NOTHING) for one in said.values()):
            self.problems.append(Problem("", "nothing is filled in yet"))
        view = replace(
            self.standing, places=tuple(places), problems=tuple(self.problems), evidence=self.evidence,
            author=self.author, text=self.sent.get("text", self.standing.text),
            made_for=self.sent.get("made_for", self.standing.made_for),
        )  # fmt: skip
        return SheetReading(view, tuple(self.parts), said)

    def _restated(self, said: dict[str, PlaceSaid]) -> dict[str, PlaceSaid]:
        """Where nothing but how it is known was changed, that is meant of the whole sheet."""
        untouched = all(one == self.standing.said.get(place, NOTHING) for place, one in said.items())
        if untouched and self.standing.note and self.evidence != self.standing.evidence:
            return restated({place: one for place, one in said.items() if not one.same(NOTHING)},
                            self.evidence, self.author)  # fmt: skip
        return said

    def _leftovers(self, places: Sequence[Place]) -> None:
        """What was typed for places that this unit does not have; who says so, and how it is known."""
        names = {place.name for place in places}
        for name, value in self.sent.items():
            if (
                name.startswith("at.")
                and value
                and name.partition("/")[0].removesuffix("_chosen").removesuffix("_for") not in names
            ):
                told = f"{value[:80]!r} was typed for {name[3:]!r}, which is no place of this unit"
                self.problems.append(Problem("", told))
        self.problems += said_problems(self.known, self.evidence, self.author)

    def _made_for(self) -> PlaceSaid:
        before = self.standing.said.get(MADE_FOR, NOTHING)
        typed = self.sent.get("made_for", self.standing.made_for)
        if typed == self.standing.made_for:
            return before
        if typed and typed not in self.known.assemblies:
            self.problems.append(Problem("made_for", f"{typed[:80]!r} is no kind of job; choose one"))
            return before
        iri = kind_iri(typed, self.base, self.notebook.kinds.assemblies) if typed else ""
        return PlaceSaid(iri, evidence=self.evidence, author=self.author) if iri else NOTHING

    def _place(self, place: Place, choices: dict[str, tuple[Choice, ...]]) -> PlaceSaid:
        if place.stored and place.keep not in (MINE, THEIRS):
            self.problems.append(Problem(place.name, "both of you wrote here: choose which holds"))
            return place.said
        if place.keep == THEIRS:
            return place.said
        before, faults = place.said, len(self.problems)
        if place.evidence and place.evidence not in self.known.evidence_levels:
            self.problems.append(Problem(f"{place.name}/evidence", f"{place.evidence[:80]!r} is no way of knowing"))
        if place.condition and place.condition not in self.known.part_conditions:
            self.problems.append(Problem(f"{place.name}/condition", "choose one of the conditions"))
        found, condition = self._part(place, choices)
        if len(self.problems) > faults:
            return before
        said = PlaceSaid(found, place.none == "yes", condition)
        if said.part and said.none:
            told = f"{place.words[:80]!r} was typed, and that it has none; leave one of them"
            self.problems.append(Problem(place.name, told))
        if said.same(NOTHING):
            if place.evidence or place.author:
                self.problems.append(Problem(place.name, "who says so is told, but not what is here"))
            return NOTHING
        if said.same(before):
            return replace(before, evidence=place.evidence or before.evidence, author=place.author or before.author)
        return replace(said, evidence=place.evidence or self.evidence, author=place.author or self.author)

    def _part(self, place: Place, choices: dict[str, tuple[Choice, ...]]) -> tuple[str, str]:
        """The id of the part that stands at the place, and the condition that the sheet says it was found in."""
        name, chosen = place.name, self.sent.get(f"{place.name}_chosen", "")
        beside = [value for value in (place.number, place.price) if value]
        if not place.words and not chosen:
            if beside or place.new or (place.condition and place.condition != place.stood):
                self.problems.append(Problem(name, "a new part needs its name"))
            return "", ""
        if place.new != "yes" and place.words == place.label and place.was and not chosen:
            return self._as_found(place, place.was, place.label)
        if place.carried and not (place.words == place.was and not place.new):
            state = self.known.part_conditions[place.condition].label
            told = f"{state} was shown for {place.label}: choose in what condition this one is, or send it again so"
            self.problems.append(Problem(f"{name}/condition", told))
        standard = self._standard(place) if not chosen else None
        if standard or place.new == "yes":
            return self._new(place, standard)
        faults = list[Problem]()
        meant = chosen_of(name, place.words, self.sent.get(f"{name}_for", ""), chosen, faults)
        found = find_part_of(self.index, name, meant, place.held, faults, choices) if meant else None
        if found is None and beside:
            told = f"{beside[0][:60]!r} was typed for a new part: tick that it is new, or clear it"
            faults = [Problem(name, told)]
        self.problems += faults
        return self._as_found(place, found.id, found.label) if found else ("", "")

    def _as_found(self, place: Place, part: str, label: str) -> tuple[str, str]:
        """A known part in the condition that was typed: one that others know otherwise becomes a variant of its own."""
        if part in self.known.parts:
            self.problems += beside_known(place.name, place.number, place.price, self.known.parts[part], self.known)
        before = place.said.condition if part == place.was else ""
        state = self.known.part_conditions.get(place.condition)
        if part in self.own:
            return part, kind_iri(state.id, self.base, self.notebook.kinds.part_conditions) if state else ""
        known = self.known.parts.get(part)
        if state is None or known is None or known.condition == state.id:
            return part, before
        again = self.now.get(place.iri, NOTHING)
        variant = self.known.parts.get(again.part) if again.part in self.own else None
        if variant and (variant.variant_of, variant.condition) == (part, state.id):
            return again.part, again.condition  # the same form sent again
        iri = kind_iri(state.id, self.base, self.notebook.kinds.part_conditions)
        made = NewPart(
            id=self._id(f"{label}, {state.label}"), label=f"{label}, {state.label}", condition=iri, like=part,
            kind=kind_iri(known.kind, self.base, self.notebook.kinds.part_kinds),
        )  # fmt: skip
        self.parts.append(made)
        return made.id, iri

    def _id(self, label: str) -> str:
        return id_from(label, self.known, frozenset(one.id for one in self.parts))

    def _standard(self, place: Place) -> StandardPart | None:
        if not looks_standard(place.family, place.words):
            return None
        if place.new != "yes" and named_so(self.index, place.words, place.held):
            return None  # a part of the shop's own is named so
        try:
            return read_standard(place.family, place.words, place.name)
        except InvalidInput as error:
            self.problems += error.problems
            return None

    def _new(self, place: Place, standard: StandardPart | None) -> tuple[str, str]:
        name = standard.label if standard else place.words
        again = self.now.get(place.iri, NOTHING)
        if again.part in self.own and self.known.parts[again.part].label.casefold() == name.casefold():
            self.problems += beside_known(
                place.name, place.number, place.price, self.known.parts[again.part], self.known
            )
            return again.part, again.condition  # the same form sent again
        known = of_number(self.index, standard.number, standard.label, place.held) if standard else None
        if known and standard and (known.label == standard.label or not standard.rest):
            return self._as_found(place, known.id, known.label)
        found = name_problems(name, self.known, False, place.name)
        if place.kind not in {one.id for one in place.kinds}:
            found.append(Problem(f"{place.name}/kind", "choose what the new part is"))
        cash = price_of(place.price, f"{place.name}/price", self.known, found)
        self.problems += found
        if found:
            return "", ""
        state = place.condition
        condition = kind_iri(state, self.base, self.notebook.kinds.part_conditions) if state else ""
        number = place.number or (standard.number if standard else "")
        kind = kind_iri(place.kind, self.base, self.notebook.kinds.part_kinds)
        part = NewPart(id=self._id(name), label=name, number=number, kind=kind, cash=cash,
                       currency=self.known.currency, condition=condition, like=known.id if known else "")  # fmt: skip
        self.parts.append(part)
        return part.id, condition


def read_sheet(
    index: CatalogueIndex, notebook: Notebook, standing: SheetView, sent: Mapping[str, str], now: Entry | None
) -> SheetReading:  # fmt: skip
    """The sheet as typed. `standing`: as it was read before; `now`: the note that stands."""
    return _Reader(index, notebook, standing, sent, now).read()


def _typed(place: Place, sent: Mapping[str, str]) -> Place:
    if not any(name.partition("/")[0] in (place.name, f"{place.name}_chosen") for name in sent):
        return place  # it was not on the page that was sent: it stays as it stands

    def of(end: str) -> str:
        return sent.get(f"{place.name}/{end}", "")

    words = sent.get(place.name, "")
    stays = place.condition if words == place.label and not sent.get(f"{place.name}_chosen") else ""
    return replace(
        place, words=words, new=of("new"), none=of("none"), kind=of("kind") or place.kind, number=of("number"),
        condition=sent.get(f"{place.name}/condition", stays), stood=place.condition, condition_for=of("condition_for"),
        price=of("price"), evidence=of("evidence"), author=of("author"), keep=of("keep"), stored=of("against"),
    )  # fmt: skip
