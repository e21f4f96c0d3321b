"""What cures a bearing seat: bore the housing, grind the journal, or close the gap with a pressed ring (sleeve).

Limits of what a machinist will do are workshop practice: a pressed ring has at least 1.5 mm of wall, one that is bored
for has 2.5 mm. The ring's press fit and the finished seat are chosen for the running temperature: in light alloy a
steel ring loses its cold interference (`graph.fits.press`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from graph.fits.limits import Material, get_deviation, heat_change_nm
from graph.fits.model import (
    NM_PER_MM,
    NM_PER_UM,
    Amount,
    CheckResult,
    Dimension,
    FinishedSize,
    Line,
    Work,
    Working,
    show_nm,
    show_number,
    with_choices,
)
from graph.fits.press import PressClass, choose_press_class, signed_um
from graph.fits.seats import Seat
from graph.fits.tables import Tables
from graph.fits.tables_drive import DriveTables, SeatClasses, get_material

THINNEST_RING_NM = 1_500_000  # wall of a pressed ring, common practice
BORED_RING_NM = 2_500_000  # wall aimed at where metal is taken out first, common practice
FREE_NM = 20 * NM_PER_UM  # clearance wanted while a warmed part goes together, common practice
SLEEVE_STEEL = "plain carbon steel 1020 (1018)"
BORED_FOR = "H7"  # of the bore that takes a ring, common practice
PRESSED_ON = "P7"  # of a ring's bore on a journal as it is, common practice
CUTS = ("bore-housing", "grind-journal")
BORE, OUTSIDE, INSIDE = "bore diameter", "outside diameter", "inside diameter"
CREEP_SOURCE = "an outer ring that is looser hot than an H7 housing is cold can creep, common practice"


@dataclass(frozen=True, slots=True)
class _Bench:
    """What every remedy needs: tables, the seat, the ring's size, and the state it runs in."""

    tables: Tables
    seat: Seat
    measured: Dimension
    ring: Dimension
    classes: SeatClasses
    running_c: Fraction | int
    steel: Material
    bearing_steel: Material

    def size(self, place: str, size_nm: int, cls: str) -> FinishedSize:
        """A size finished to an ISO 286 class."""
        row = get_deviation(self.tables, cls, size_nm)
        return FinishedSize(place, size_nm, row.lower_nm, row.upper_nm, cls)


def remedied(
    tables: Tables,
    drive: DriveTables,
    result: CheckResult,
    seat: Seat,
    ring: Dimension,
    classes: SeatClasses,
    running_c: Fraction | int,
    bearing_steel: Material,
) -> CheckResult:
    """The result of a seat that fails with what cures it; still failing where the wall that may go is too thin."""
    measured = seat.measured
    assert measured is not None
    steel = get_material(drive, SLEEVE_STEEL)
    bench = _Bench(tables, seat, measured, ring, classes, running_c, steel, bearing_steel)
    rows = [get_deviation(tables, cls, ring.nominal_nm) for cls in classes.classes]
    middle = ring.nominal_nm + Fraction(min(r.lower_nm for r in rows) + max(r.upper_nm for r in rows), 2)
    cut_first = (measured.middle_nm > middle) == (seat.side == "shaft")  # metal in the way, not metal missing
    works, lines, cautions = _cut(bench) if cut_first else _fill(bench)
    result = replace(result, working=result.working + Working(lines))
    if not _within_stock(seat, works):
        return replace(result, summary=f"{result.summary}; the wall is too thin: {works[0].text}", binding="wall left")
    if seat.stock is None and any(work.irreversible for work in works):
        cautions = (*cautions, f"Nobody has measured the metal left behind the {seat.side}.")
    result = replace(result, cautions=(*result.cautions, *cautions))
    return with_choices(result, [works], f"{result.summary}; {works[-1].text}")


_Remedy = tuple[tuple[Work, ...], tuple[Line, ...], tuple[str, ...]]


def hot_class(
    tables: Tables,
    classes: SeatClasses,
    seat: Seat,
    ring: Dimension,
    running_c: Fraction | int,
    bearing_steel: Material,
) -> tuple[str, tuple[Line, ...], tuple[str, ...]]:
    """The class to finish a seat to, the lines that say why, and a caution where none is tight enough hot.

    A journal takes the first usual class. A housing takes the first whose ring is, hot, no looser than in an H7
    housing cold; where none is, the tightest.
    """
    if seat.side == "shaft":
        return classes.classes[0], (), ()
    size = ring.nominal_nm
    change = heat_change_nm(size, seat.material, bearing_steel, running_c)
    loosest = get_deviation(tables, BORED_FOR, size).upper_nm + size - ring.low_nm
    lines: list[Line] = []
    for cls in sorted(classes.classes, key=lambda cls: -get_deviation(tables, cls, size).upper_nm):
        upper = get_deviation(tables, cls, size).upper_nm
        hot = upper + size - ring.low_nm + change
        numbers = f"{_um(upper)} + {_um(size - ring.low_nm)} {signed_um(change)} um"
        words = f"{_um(hot)} um, H7 cold {_um(loosest)} um"
        symbol = f"most clearance in {cls} at {show_number(Fraction(running_c))} C"
        lines.append(Line(symbol, "ES + ring's lower deviation + change", numbers, words, CREEP_SOURCE))
        if hot <= loosest:
            return cls, tuple(lines), ()
    caution = (
        f"Hot, even {cls} may leave {_um(hot)} um round the outer ring, more than an H7 housing cold: secure the ring."
    )
    return cls, tuple(lines), (caution,)


def _cut(bench: _Bench) -> _Remedy:
    seat, measured, ring = bench.seat, bench.measured, bench.ring
    cls, lines, loose = hot_class(bench.tables, bench.classes, seat, ring, bench.running_c, bench.bearing_steel)
    if seat.side == "housing":
        size = bench.size(BORE, ring.nominal_nm, cls)
        amount = ring.nominal_nm + size.lower_nm - measured.nominal_nm
        text = f"bore the housing to {size.text()}, {show_nm(amount)} on diameter"
        work = Work("bore-housing", "housing", text, Amount.of_nm(amount), irreversible=True, sizes=(size,))
        return (work,), lines, loose
    size = bench.size("seat diameter", ring.nominal_nm, cls)
    amount = measured.nominal_nm - ring.nominal_nm - size.upper_nm
    text = f"grind the journal to {size.text()}, {show_nm(amount)} on diameter; keep the fillet radius"
    work = Work("grind-journal", "shaft", text, Amount.of_nm(amount), irreversible=True, sizes=(size,))
    return (work,), lines, loose


def _fill(bench: _Bench) -> _Remedy:
    seat, measured, ring = bench.seat, bench.measured, bench.ring
    if seat.side == "shaft":
        return _on_journal(bench)
    wall = (measured.nominal_nm - ring.nominal_nm) // 2
    if wall >= THINNEST_RING_NM:  # pressed into the bore as it is: the reading's doubt counts as the hole's tolerance
        spread = max(measured.high_nm - measured.nominal_nm, measured.nominal_nm - measured.low_nm)
        hole = FinishedSize("bore as it is", measured.nominal_nm, -spread, spread)
        sleeve, lines, cautions = _in_housing(bench, hole)
        return (sleeve,), lines, cautions
    hole = bench.size(BORE, ring.nominal_nm + 2 * BORED_RING_NM, BORED_FOR)
    amount = hole.nominal_nm - measured.nominal_nm
    text = f"bore the housing to {hole.text()} for a ring, {show_nm(amount)} on diameter"
    bore = Work("bore-housing", "housing", text, Amount.of_nm(amount), irreversible=True, sizes=(hole,))
    sleeve, lines, cautions = _in_housing(bench, hole)
    return (bore, sleeve), lines, cautions


def _in_housing(bench: _Bench, hole: FinishedSize) -> tuple[Work, tuple[Line, ...], tuple[str, ...]]:
    seat, ring = bench.seat, bench.ring
    chosen = choose_press_class(
        bench.tables, hole.nominal_nm, hole.upper_nm, hole.lower_nm, seat.material, bench.steel, bench.running_c
    )
    cls, lines, loose = hot_class(bench.tables, bench.classes, seat, ring, bench.running_c, bench.bearing_steel)
    outside = FinishedSize(OUTSIDE, hole.nominal_nm, chosen.lower_nm, chosen.upper_nm, chosen.cls)
    inside = bench.size(INSIDE, ring.nominal_nm, cls)
    wall = (hole.nominal_nm - ring.nominal_nm) // 2
    text = (
        f"press a sleeve of {show_number(Fraction(wall, NM_PER_MM))} mm wall in the housing ({outside.text()}, "
        f"{inside.text()} finished in place)"
    )
    work = Work("fit-sleeve", "housing", text, Amount.of_nm(wall), remedy="sleeve", sizes=(outside, inside))
    return work, (*chosen.lines, *lines), (*_press_cautions(bench, hole, chosen), *loose)


def _press_cautions(bench: _Bench, hole: FinishedSize, chosen: PressClass) -> tuple[str, ...]:
    grip = (
        f"The sleeve's interference is {_um(chosen.cold_least_nm)} to {_um(chosen.cold_most_nm)} um cold, at least "
        f"{_um(chosen.hot_least_nm)} um at {show_number(Fraction(bench.running_c))} C."
    )
    if not chosen.holds:
        return (f"{grip} No press fit keeps its grip: secure the sleeve with a flange, pins or screws.",)
    alpha = bench.seat.material.alpha_um_per_m_k
    rise = Fraction(chosen.cold_most_nm + FREE_NM) * 1_000_000 / (alpha * hole.nominal_nm)
    warm = f"To go in free the case is warmed by about {ceil(rise)} C; a thin wall round the bore can crack."
    return grip, warm


def _on_journal(bench: _Bench) -> _Remedy:
    measured, ring = bench.measured, bench.ring
    gap = ring.nominal_nm - measured.nominal_nm
    wall = gap // 2
    if wall < THINNEST_RING_NM:
        # a gap too thin for a ring: built up and ground, which asks for a shop that knows shafts
        text = f"build up the journal (sprayed or plated) and grind to fit, {show_nm(gap)} on diameter is missing"
        size = bench.size("seat diameter", ring.nominal_nm, bench.classes.classes[0])
        return (Work("build-up-journal", "shaft", text, Amount.of_nm(gap), weak=True, sizes=(size,)),), (), ()
    outside = bench.size(OUTSIDE, ring.nominal_nm, bench.classes.classes[0])
    inside = bench.size(INSIDE, measured.nominal_nm, PRESSED_ON)
    text = (
        f"press a sleeve of {show_number(Fraction(wall, NM_PER_MM))} mm wall on the shaft ({outside.text()} finished "
        f"in place, {inside.text()})"
    )
    work = Work("fit-sleeve", "shaft", text, Amount.of_nm(wall), remedy="sleeve", sizes=(outside, inside))
    return (work,), (), ()


def _within_stock(seat: Seat, works: tuple[Work, ...]) -> bool:
    removed = [work.amount for work in works if work.operation in CUTS and work.amount is not None]
    if seat.stock is None or not removed:
        return True
    return max(amount.value for amount in removed) * NM_PER_MM / 2 <= seat.stock.low_nm


def _um(nm: int | Fraction) -> str:
    return show_number(Fraction(nm) / NM_PER_UM, 1)
