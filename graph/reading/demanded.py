"""Demands of a question that are computed for each route: as rules that rule routes out, and doubts where facts lack.

Every combination of what may stand at the places that bear on a demand is judged before the search. What fails becomes
a rule, so the search never picks it and its proof stays whole. What cannot be judged is uncertain like a condition that
nobody has settled: it is not passed, and what to find out is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import groupby, islice, product
from typing import TYPE_CHECKING

from graph.conversion.document import Position, Rule
from graph.errors import InvalidQuestion, Problem
from graph.fits.model import CheckResult, Verdict, show_number
from graph.fits.wanted import (
    CIRCUMFERENCE,
    CONSTANT_DRIVEN,
    CONSTANT_DRIVING,
    ENGINE_HAND,
    FINAL_DRIVE,
    FORWARD_GEARS,
    GEARS,
    OUTPUT_TURNS,
    RATIO,
    TRANSFER,
    TURNS,
    DemandFigure,
    Wanted,
    judge,
    lacking,
    quantities_of,
    ratio_of,
    read_wanted,
    teeth_of,
)
from graph.reading.assumed import is_empty
from graph.reading.found import Neighbourhood
from graph.reading.question import Question

if TYPE_CHECKING:
    from graph.derive.measured import Measured

INPUT_SHAFT, LAYSHAFT, MAINSHAFT = SHAFTS = ("at-input-shaft", "at-layshaft", "at-mainshaft")
TRANSFER_BOX, FINAL, ANGLE_DRIVE = "at-transfer-box", "at-final-drive", "at-angle-drive"
GEARBOX, ENGINE, VEHICLE = "gearbox", "engine", "vehicle"
MOST_COMBINATIONS, MOST_RULES, MOST_NEAR = 20_000, 1_500, 2_000
NM_PER_M = 1_000_000_000

_READ_AT = {
    INPUT_SHAFT: (CONSTANT_DRIVING,), LAYSHAFT: (CONSTANT_DRIVEN, *(teeth_of(gear)[0] for gear in GEARS)),
    MAINSHAFT: tuple(teeth_of(gear)[1] for gear in GEARS), TRANSFER_BOX: (TRANSFER, OUTPUT_TURNS),
    FINAL: (FINAL_DRIVE,), ANGLE_DRIVE: (OUTPUT_TURNS,),
}  # fmt: skip

Values = Mapping[tuple[str, str], DemandFigure | str]  # by part and quantity
Missing = tuple[str, str, str]  # place ("" for a unit's own), part, quantity


@dataclass(frozen=True, slots=True)
class DemandCell:
    """What a choice puts at its place. `part`: "" for none. `own`: it is the asked gearbox's own."""

    choice: str
    part: str
    own: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """A demand with all that it may be computed from. `units`: the asked units by sort. `places`: what bears on it."""

    wanted: Wanted
    units: Mapping[str, str]
    places: Mapping[str, Mapping[str, DemandCell]]
    values: Values
    names: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def judge(self, picks: Mapping[str, str]) -> CheckResult:
        """The verdict on a route, by its picks (choice by place)."""
        known, sources = self._known(picks)
        names = {one: self._name(part, one) for one, (_, part) in sources.items()}
        return judge(self.wanted, known, names)

    def missing(self, picks: Mapping[str, str]) -> tuple[Missing, ...]:
        """What keeps it from being computed on a route."""
        known, sources = self._known(picks)
        return tuple((*sources.get(one, ("", "")), one) for one in lacking(self.wanted, known))

    def nearest(self) -> CheckResult | None:
        """The verdict on the combination that comes nearest to it, whether its parts mate or not; None for none."""
        picks = ({cell.choice for cell in held.values()} for held in self.places.values())
        found = [self.judge(dict(zip(self.places, one, strict=True))) for one in islice(product(*picks), MOST_NEAR)]
        return max((one for one in found if one.margin is not None), key=_margin, default=None)

    def _name(self, part: str, quantity: str) -> str:
        return self.names.get((part, quantity)) or quantity.replace("-", " ")

    def _known(self, picks: Mapping[str, str]) -> tuple[dict[str, DemandFigure | str], dict[str, tuple[str, str]]]:
        """The figures by quantity, and of each place and part it is read from."""
        cells = {place: held[picks[place]] for place, held in self.places.items() if picks.get(place) in held}
        sources = dict(self._turning(cells)) if self.wanted.what == TURNS else dict(self._gearing(cells))
        known = {one: self.values.get((part, one), "") for one, (_, part) in sources.items()}
        if self.wanted.what == TURNS:
            boxes = [self.values.get((part, OUTPUT_TURNS), "") for part in self._boxes(cells)]
            known[OUTPUT_TURNS] = ", ".join(map(str, boxes)) if all(boxes) else ""
        else:
            self._put_stated(cells, known, sources)
        return known, sources

    def _boxes(self, cells: Mapping[str, DemandCell]) -> Iterator[str]:
        yield self.units[GEARBOX]
        yield from (cell.part for cell in cells.values() if cell.part)

    def _turning(self, cells: Mapping[str, DemandCell]) -> Iterator[tuple[str, tuple[str, str]]]:
        places = [("", self.units[GEARBOX]), *((place, cell.part) for place, cell in cells.items() if cell.part)]
        unread = [one for one in places if (one[1], OUTPUT_TURNS) not in self.values]
        yield OUTPUT_TURNS, (unread or places)[0]
        yield ENGINE_HAND, ("", self.units[ENGINE])

    def _gearing(self, cells: Mapping[str, DemandCell]) -> Iterator[tuple[str, tuple[str, str]]]:
        """Where each figure comes from on a route; what has no place there comes from nowhere."""
        homes = [(CONSTANT_DRIVING, INPUT_SHAFT), (CONSTANT_DRIVEN, LAYSHAFT)]
        for gear in GEARS:
            driving, driven = teeth_of(gear)
            homes += [(driving, LAYSHAFT), (driven, MAINSHAFT)]
        yield from ((one, (place, cells[place].part)) for one, place in homes if place in cells)
        yield FORWARD_GEARS, ("", self.units[GEARBOX])
        if self.wanted.what != RATIO:
            yield CIRCUMFERENCE, ("", self.units[VEHICLE])
            final = cells.get(FINAL)
            yield FINAL_DRIVE, (FINAL, final.part) if final and final.part else ("", self.units[VEHICLE])
            if (box := cells.get(TRANSFER_BOX)) and box.part:
                yield TRANSFER, (TRANSFER_BOX, box.part)

    def _put_stated(
        self, cells: Mapping[str, DemandCell], known: dict[str, DemandFigure | str], sources: dict[str, tuple[str, str]]
    ) -> None:
        """What a data sheet states holds for the gearbox's own gears; a direct gear, whatever the others are."""
        own = all(cells[place].own for place in SHAFTS if place in cells)
        for gear in GEARS:
            stated = self.values.get((self.units[GEARBOX], ratio_of(gear)), "")
            if own or (isinstance(stated, DemandFigure) and stated.value == 1):
                known[ratio_of(gear)] = stated
                sources[ratio_of(gear)] = ("", self.units[GEARBOX])


def _margin(result: CheckResult) -> tuple[Fraction, str]:
    assert result.margin is not None
    return result.margin.value, result.summary


@dataclass(slots=True)
class Judged:
    """What demands come to: rules for the search; by demand, the choices it is not known on, and what to read."""

    demands: list[Demand] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    unsettled: dict[str, dict[str, None]] = field(default_factory=dict)
    readings: dict[str, dict[tuple[str, str], None]] = field(default_factory=dict)

    def marked(self, position: Position) -> Position:
        """The position with the choices marked as assumed on which a demand is not known."""
        open_ = {choice for choices in self.unsettled.values() for choice in choices}
        candidates = tuple(replace(one, assumed=True) if one.id in open_ else one for one in position.candidates)
        return replace(position, candidates=candidates)


def read_demands(
    question: Question, around: Neighbourhood, positions: Sequence[Position], measured: Measured
) -> Judged:
    """The question's demands on these positions. Raises InvalidQuestion where too many combinations bear on one."""
    judged = Judged()
    for number, text in enumerate(question.demands):
        demand = _demand(read_wanted(text, f"demands[{number}]"), question, around, positions, measured)
        judged.demands.append(demand)
        _Judging(demand, positions, judged, f"demands[{number}]").run()
    return judged


def _demand(
    wanted: Wanted, question: Question, around: Neighbourhood, positions: Sequence[Position], measured: Measured
) -> Demand:
    bearing = {TURNS: (TRANSFER_BOX, ANGLE_DRIVE), RATIO: SHAFTS}.get(wanted.what, (*SHAFTS, TRANSFER_BOX, FINAL))
    places: dict[str, dict[str, DemandCell]] = {}
    for position in positions:
        if position.id in bearing:
            found = around.positions[position.id]
            cells = [(one.id, one.part, found.get(one.part)) for one in position.candidates]
            places[position.id] = {
                id_: DemandCell(id_, "" if is_empty(held) else part, held.unit == question.gearbox)
                for id_, part, held in cells if held is not None
            }  # fmt: skip
    units = {sort: question.unit_of(sort) for sort in (GEARBOX, ENGINE, VEHICLE)}
    parts = {*units.values(), *(cell.part for held in places.values() for cell in held.values())} - {""}
    values, names = {}, {}
    known = measured.catalogue
    for part in sorted(part for part in parts if part in known.parts):
        for quantity in quantities_of(wanted):
            label = known.quantities[quantity].label if quantity in known.quantities else quantity.replace("-", " ")
            names[part, quantity] = f"{label} of {known.parts[part].label}"
            value = _value(measured, part, quantity)
            if value is not None:
                values[part, quantity] = value
    names |= {("", one): f"{one.replace('-', ' ')} (name the vehicle)" for one in (FINAL_DRIVE, CIRCUMFERENCE)}
    return Demand(wanted, units, {place: held for place, held in places.items() if held}, values, names)


def _value(measured: Measured, part: str, quantity: str) -> DemandFigure | str | None:
    known = measured.catalogue.quantities.get(quantity)
    if known is None or not measured.facts(part, quantity):
        return None
    if known.dimension == "word":
        word = measured.word(part, quantity)
        return word.text if word else None
    settled = measured.settled(part, quantity)
    if settled is None or settled.best is None:
        return None
    scale = NM_PER_M if known.dimension == "length" else 1
    amount, spread = settled.best.reading.amount / scale, settled.best.uncertainty.amount / scale
    low, name = max(amount - spread, amount / 2), show_number(amount, 6)
    return DemandFigure(low, amount, amount + spread, name, settled.best.evidence_rank)


class _Judging:
    """One demand over all combinations. Choices alike in all that bears on it stand together as one group."""

    def __init__(self, demand: Demand, positions: Sequence[Position], judged: Judged, path: str):
        self._demand, self._positions, self._judged, self._path = demand, positions, judged, path
        self._text = demand.wanted.text
        self._places = list(demand.places)
        self._groups = [self._grouped(place, demand.places[place].values()) for place in self._places]

    def _grouped(self, place: str, cells: Iterable[DemandCell]) -> list[list[DemandCell]]:
        """Those of which something is missing stand alone, lest one be named for the other."""
        read_here = [one for one in quantities_of(self._demand.wanted) if one in _READ_AT[place]]

        def alike(cell: DemandCell) -> tuple[object, ...]:
            values = tuple(self._demand.values.get((cell.part, one)) for one in read_here)
            return (cell.own, not cell.part, cell.part if None in values else "", repr(values))

        return [list(group) for _, group in groupby(sorted(cells, key=alike), key=alike)]

    def run(self) -> None:
        count = 1
        for groups in self._groups:
            count *= len(groups)
        if count > MOST_COMBINATIONS:
            text = (
                f"{count} combinations of parts bear on {self._text!r}; avoid some of them, at most {MOST_COMBINATIONS}"
            )
            raise InvalidQuestion([Problem(self._path, text)])
        verdicts = {
            combination: self._demand.judge(self._picks(combination)).verdict
            for combination in product(*(range(len(groups)) for groups in self._groups))
        }
        failing = {one for one, verdict in verdicts.items() if verdict is Verdict.FAILS}
        self._rule_out(failing, verdicts)
        if len(self._judged.rules) > MOST_RULES:
            text = f"too many combinations of parts fail {self._text!r} to rule out one by one; avoid some parts"
            raise InvalidQuestion([Problem(self._path, text)])
        self._note_unknown(verdicts)

    def _picks(self, combination: Sequence[int]) -> dict[str, str]:
        return {
            place: groups[number][0].choice
            for place, groups, number in zip(self._places, self._groups, combination, strict=True)
        }

    def _rule_out(self, failing: set[tuple[int, ...]], verdicts: Mapping[tuple[int, ...], Verdict]) -> None:
        if failing and len(failing) == len(verdicts):
            first = self._groups[0] if self._groups else []
            self._forbid([cell.choice for group in first for cell in group] or self._anything())
            return
        dead = {
            (place, number)
            for place, groups in enumerate(self._groups) for number in range(len(groups))
            if all(one in failing for one in verdicts if one[place] == number)
        }  # fmt: skip
        for place, number in sorted(dead):
            self._forbid([cell.choice for cell in self._groups[place][number]])
        self._forbid_together(sorted(one for one in failing if dead.isdisjoint(enumerate(one))), dead)

    def _forbid_together(self, failing: Sequence[tuple[int, ...]], dead: set[tuple[int, int]]) -> None:
        """Combinations of parts of which each could stand with others: one rule for all last parts of a beginning."""
        varying = [
            place for place, groups in enumerate(self._groups)
            if sum((place, number) not in dead for number in range(len(groups))) > 1
        ]  # fmt: skip
        if len(varying) < 2:
            return
        *begin, last = varying
        barred: dict[tuple[int, ...], list[str]] = {}
        for one in failing:
            cells = self._groups[last][one[last]]
            barred.setdefault(tuple(one[place] for place in begin), []).extend(cell.choice for cell in cells)
        for numbers, excludes in sorted(barred.items()):
            held = [self._groups[place][number] for place, number in zip(begin, numbers, strict=True)]
            for first, *rest in product(*held):
                also = tuple(cell.choice for cell in rest)
                out = tuple(sorted(set(excludes)))
                self._judged.rules.append(Rule(first.choice, excludes=out, also=also, demand=self._text))

    def _forbid(self, choices: Iterable[str]) -> None:
        self._judged.rules += (Rule(choice, excludes=(choice,), demand=self._text) for choice in choices)

    def _anything(self) -> list[str]:
        """All that can be picked at one place, where no place bears on the demand."""
        return [one.id for one in self._positions[0].candidates] if self._positions else []

    def _note_unknown(self, verdicts: Mapping[tuple[int, ...], Verdict]) -> None:
        """Marks a part in each combination that is not known, one that is in none that holds where there is such."""
        holding = {
            (place, number)
            for one, verdict in verdicts.items() if verdict is Verdict.HOLDS for place, number in enumerate(one)
        }  # fmt: skip
        for one, verdict in verdicts.items():
            if verdict is not Verdict.UNKNOWN:
                continue
            missing = self._demand.missing(self._picks(one))
            at = [self._places.index(place) for place, _, _ in missing if place] or range(len(self._places))
            carriers = sorted(((place, one[place]) in holding, place) for place in at)
            unsettled = self._judged.unsettled.setdefault(self._text, {})
            if carriers:
                place = carriers[0][1]
                unsettled.update((cell.choice, None) for cell in self._groups[place][one[place]])
            else:
                unsettled.update(dict.fromkeys(self._anything()))
            wanted = dict.fromkeys((part, quantity) for _, part, quantity in missing if part)
            self._judged.readings.setdefault(self._text, {}).update(wanted)
