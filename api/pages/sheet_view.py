"""A unit's sheet as it is shown: every place as it stands, and what is said of it in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from api.pages.form_faults import FormFaults
from api.pages.part_view import Other, other_of
from graph.catalogue.model import Catalogue, Part
from graph.catalogue.names import KIND
from graph.catalogue.terms import Assembly, EvidenceLevel, PositionKind, Term
from graph.errors import Problem
from graph.fits.standard_parts import ASKED, family_of, find_standard
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.ledger.things import kind_iri
from graph.ledger.unit_sheets import MADE_FOR, NOTHING, PlaceSaid, Said, said_in_sheet
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice

UNKNOWN_CONDITION = "unknown"  # what a part is in while nothing is said


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
class SheetView(FormFaults):
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

    def label(self, name: str) -> str:
        """The words beside a field."""
        position = next((place.position for place in self.places if place.name == name.partition("/")[0]), None)
        named = {"evidence": "How it is known", "author": "Who says so", "made_for": "Made for",
                 "undo_author": "Who takes it back"}  # fmt: skip
        return position.label if position else named.get(name, name)

    def first(self) -> str:
        """The first field that is to be mended, which gets the focus."""
        return self.problems[0].path if self.problems else ""


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
