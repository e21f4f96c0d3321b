"""What a part's page shows, as plain objects: the template only lays them out, a test reads them.

Everything is put into words here (money, hours, joints, evidence), so that page, Turtle and JSON-LD say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from graph.answer import words
from graph.answer.browse import edges_by_sort
from graph.catalogue.model import (
    ADDS_FEATURE,
    CONTAINS,
    DOES_NOT_FIT,
    EXCLUDES,
    FITS,
    HAS_NONE,
    LAYS_OPEN,
    NEEDS,
    REPLACES,
    REQUIRES_MACHINING,
    SHIFTS,
    Catalogue,
    Edge,
    Part,
)
from graph.catalogue.relations import answers_in_one_note
from graph.lookups.index import CatalogueIndex
from graph.lookups.sequences import Each
from graph.reading.untold import fitting_hours

ROWS_SHOWN = 20  # of each group, until the reader asks for the group alone
ROWS_PER_PAGE = 100
MOST_DENIED = 500  # statements that parts do not fit, looked through for disputes

# (kind, does the edge start here?) -> key, heading. Mating edges have no direction.
GROUPS: dict[tuple[str, bool], tuple[str, str]] = {
    (FITS, True): ("fits", "Fits"),
    (REQUIRES_MACHINING, True): ("machining", "Fits after machining"),
    (DOES_NOT_FIT, True): ("does-not-fit", "Does not fit"),
    (NEEDS, True): ("needs", "Needs"),
    (NEEDS, False): ("needed-by", "Is needed by"),
    (EXCLUDES, True): ("excludes", "Cannot go together with"),
    (REPLACES, True): ("replaces", "Replaces"),
    (REPLACES, False): ("replaced-by", "Is replaced by"),
    (CONTAINS, True): ("contains", "Contains"),
    (CONTAINS, False): ("used-in", "Is used in"),
    (ADDS_FEATURE, True): ("adds", "Adds"),
    (ADDS_FEATURE, False): ("added-by", "Comes with"),
    (SHIFTS, True): ("moves", "Moves"),
    (SHIFTS, False): ("moved-by", "Is moved by"),
    (LAYS_OPEN, True): ("lays-open", "Lays open"),
    (LAYS_OPEN, False): ("laid-open-by", "Is laid open by"),
    (HAS_NONE, True): ("has-none", "Has none"),
}
VERBS = {
    FITS: "fits", REQUIRES_MACHINING: "fits after machining", DOES_NOT_FIT: "does not fit", NEEDS: "needs",
    EXCLUDES: "not together with", REPLACES: "replaces", CONTAINS: "contains", ADDS_FEATURE: "adds", SHIFTS: "moves",
    LAYS_OPEN: "lays open", HAS_NONE: "has no part at",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Other:
    """What stands at the other end of an edge. `href` is empty for what has no page of its own."""

    id: str
    label: str
    href: str


@dataclass(frozen=True, slots=True)
class EdgeRow:
    """One statement about the part. `said_of`: the family that it is stated of, where that is not the part itself."""

    id: str
    kind: str
    verb: str
    outward: bool
    other: Other
    place: str  # the joint or position, in words
    cost: str
    details: tuple[str, ...]
    evidence: str
    note: str  # the note's id
    said_of: str


@dataclass(frozen=True, slots=True)
class Group:
    """The statements of one sort. `total`: how many there are; `rows` may be the first of them only."""

    key: str
    heading: str
    rows: Sequence[EdgeRow]
    total: int


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of what the part is."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class PartView:
    """A part's page. `groups` in the order of GROUPS, empty ones left out."""

    part: Part
    kind_label: str
    kind_definition: str
    caution: str
    facts: tuple[Fact, ...]
    families: tuple[Other, ...]
    variants: tuple[Other, ...]
    groups: tuple[Group, ...]
    disputes: tuple[str, ...]

    def group(self, key: str) -> Group | None:
        """The group with this key, if it has any rows."""
        return next((group for group in self.groups if group.key == key), None)


def part_href(part_id: str) -> str:
    """The address of a part's page."""
    from urllib.parse import quote

    return f"/part/{quote(part_id, safe='')}"


def view_of(index: CatalogueIndex, part: Part) -> PartView:
    """Everything that is known of the part, in words; rows are made when they are looked at."""
    kind = index.catalogue.part_kinds.get(part.kind)
    return PartView(
        part=part, kind_label=kind.label if kind else part.kind, kind_definition=kind.definition if kind else "",
        caution=kind.caution if kind else "", facts=tuple(_facts(index, part)),
        families=tuple(other_of(index.catalogue, one) for one in index.lineage(part.id)[1:]),
        variants=tuple(other_of(index.catalogue, one) for one in index.variants_of(part.id)),
        groups=_groups(index, part.id), disputes=_disputes(index, part.id),
    )  # fmt: skip


def _disputes(index: CatalogueIndex, part_id: str) -> tuple[str, ...]:
    """Where one statement says that two parts meet and another that they do not."""
    said: dict[tuple[str, str], dict[bool, EdgeRow]] = {}
    for edge in islice(edges_by_sort(index, part_id).get((DOES_NOT_FIT, True), ()), MOST_DENIED):
        row = row_of(index, part_id, edge)
        sides = said.setdefault((row.other.id, row.place), {})
        sides[True] = row
        if False not in sides:
            meet = (fit for one in index.lineage(part_id) for fit in index.edges_between(one, row.other.id, edge.joint))
            sides.update((False, row_of(index, part_id, fit)) for fit in meet if _contradicts(fit, edge))
    return tuple(
        f'{sides[False].other.label} {place}: "{sides[False].verb}" ({sides[False].evidence or "nothing noted"}) '
        f'against "{sides[True].verb}" ({sides[True].evidence or "nothing noted"})'
        for (_, place), sides in said.items()
        if len(sides) == 2
    )


def _contradicts(fit: Edge, misfit: Edge) -> bool:
    """Does the one statement deny the other? Not where it answers it by name, nor where one note says both that the two
    do not fit as they are and what makes them fit."""
    if fit.kind == DOES_NOT_FIT or misfit.id in fit.overrules:
        return False
    return not answers_in_one_note(fit, misfit)


def _groups(index: CatalogueIndex, part_id: str) -> tuple[Group, ...]:
    found = edges_by_sort(index, part_id)
    return tuple(
        Group(*GROUPS[sort], Each(found[sort], lambda edge: row_of(index, part_id, edge)), len(found[sort]))
        for sort in GROUPS
        if sort in found
    )


def row_of(index: CatalogueIndex, part_id: str, edge: Edge) -> EdgeRow:
    """An edge at the part (or at one of its families) as a row."""
    lineage = index.lineage(part_id)
    outward = edge.source in lineage
    here, there = (edge.source, edge.target or edge.position) if outward else (edge.target, edge.source)
    known = index.catalogue
    level = known.evidence_levels.get(edge.evidence)
    return EdgeRow(
        id=edge.id, kind=edge.kind, verb=VERBS[edge.kind], outward=outward, other=other_of(known, there),
        place=_place(known, edge), cost=_cost(known, edge), details=tuple(_details(known, edge)),
        evidence=level.label if level else edge.evidence, note=edge.note,
        said_of="" if here == part_id else _label(known, here),
    )  # fmt: skip


def other_of(known: Catalogue, thing: str) -> Other:
    """A thing of the graph by what it is called, with its page where it has one."""
    if thing in known.edges and thing not in known.parts:
        edge = known.edges[thing]
        label = f"{_label(known, edge.source)} {VERBS[edge.kind]} {_label(known, edge.target or edge.position)}"
        return Other(thing, label, part_href(edge.source) if edge.source in known.parts else "")
    return Other(thing, _label(known, thing), part_href(thing) if thing in known.parts else "")


def _label(known: Catalogue, thing: str) -> str:
    for table in (known.parts, known.features, known.chain_kinds, known.tasks, known.faults, known.position_kinds):
        if thing in table:
            return table[thing].label
    return thing


def _place(known: Catalogue, edge: Edge) -> str:
    if edge.joint:
        joint = known.joint_kinds.get(edge.joint)
        return f"at {joint.label if joint else edge.joint}"
    if edge.position:
        position = known.position_kinds.get(edge.position)
        return f"as {position.label if position else edge.position}"
    return f"any one of the group {edge.group} will do" if edge.group else ""


def _cost(known: Catalogue, edge: Edge) -> str:
    parts = [words.cash(edge.cash_hundredths, known.currency)] if edge.cash_hundredths else []
    parts += [words.hours(edge.hours_hundredths)] if edge.hours_hundredths else []
    parts += [words.days(edge.days)] if edge.days else []
    return ", ".join(parts)


def _details(known: Catalogue, edge: Edge) -> Iterable[str]:
    if edge.shift_um:
        yield f"by {both_units(edge.shift_um, signed=True)}"
    if edge.reason:
        yield edge.reason
    if edge.miss_um is not None:
        yield f"misses by {both_units(edge.miss_um)}"
    yield from edge.operations
    if edge.irreversible:
        yield "cannot be undone"
    yield from (f"only if {condition.text}" for condition in edge.conditions)
    yield from (f"to confirm: {text}" for text in edge.to_confirm)
    yield from (f"needs {known.tasks[task].label}" for task in edge.tasks if task in known.tasks)
    if edge.caution:
        yield f"Caution: {edge.caution}"


def both_units(um: int, *, signed: bool = False) -> str:
    """A length in mm and inch.

    >>> both_units(25_400)
    '25.4 mm (1.0000 in)'
    """
    from decimal import Decimal

    inch = Decimal(um) / Decimal(25_400)
    return f"{words.millimetres(um, signed=signed)} ({inch:{'+' if signed else ''}.4f} in)"


def _facts(index: CatalogueIndex, part: Part) -> Iterable[Fact]:
    known = index.catalogue
    if part.number:
        yield Fact("Number", part.number)
    if part.abstract:
        yield Fact("Family", "a family, never fitted itself: its variants are")
    condition = known.part_conditions.get(part.condition)
    if part.condition != "unknown":
        yield Fact("Condition", condition.label if condition else part.condition)
    if part.cash_hundredths is not None:
        price = words.cash(part.cash_hundredths, part.currency or known.currency)
        yield Fact("Price", f"{price}, in stock (book value)" if part.in_stock else price)
    elif part.in_stock:
        yield Fact("Price", "in stock")
    if part.days:
        yield Fact("Lead time", words.days(part.days))
    hours, whose = fitting_hours(index, part)
    if hours is not None:
        said = f"{words.hours(hours)}, {whose}" if whose else words.hours(hours)
        yield Fact("Fitting, once its place is open", said)
    elif part.cash_hundredths is not None:
        yield Fact("Fitting, once its place is open", "hours not stated")
    for condition_of_use in part.conditions:
        yield Fact("Only if", condition_of_use.text)
    for text in part.to_confirm:
        yield Fact("To confirm", text)
