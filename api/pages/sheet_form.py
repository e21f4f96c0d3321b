"""A unit's sheet as it was typed, and what is meant by that.

A place says a part that is known, found by words; a new part; one of a published standard; or that there is none. Left
empty it is not known. Who says so and how it is known are the sheet's, unless the place says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from api.pages.new_part import name_problems, price_of, said_problems
from api.pages.sheet_parts import beside_known, find_part_of, named_so, of_number
from api.pages.sheet_view import Place, SheetView
from graph.errors import InvalidInput, Problem
from graph.fits.standard_parts import StandardPart, looks_standard, read_standard
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.ledger.things import NewPart, id_from, kind_iri, stated_parts
from graph.ledger.unit_sheets import MADE_FOR, NOTHING, PlaceSaid, Said, restated, said_in_sheet
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, chosen_of

MINE, THEIRS = "mine", "theirs"


@dataclass(frozen=True, slots=True)
class SheetReading:
    """A sheet as typed: its `view` with its faults, the new parts, and what it `said`, place by place."""

    view: SheetView
    parts: tuple[NewPart, ...]
    said: Said


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
