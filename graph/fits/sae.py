"""Flywheel housings of SAE J617 (ISO 7648) and flywheels of SAE J620: which size is this, and is it in order?

Sizes: facts/standards/sae_j617_flywheel_housings.csv and sae_j620_flywheels.csv. The register's limits are tabled;
what the tables do not limit (bolt circle, depth, bores of the flywheel) is compared within a give or take of common
practice, and said so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.limits import check_fit
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    combine,
    show_nm,
    unknown,
)
from graph.fits.stack import judge, stack_up
from graph.fits.tables_drive import Flywheel, FlywheelHousing

J617, J620 = "SAE J617 / ISO 7648", "SAE J620"
CIRCLE_NM, DEPTH_NM, BORE_NM = 250_000, 500_000, 50_000  # give or take of a reading, common practice
SPIGOT_MOST_NM = 250_000  # more play than this and the register centres nothing, common practice
USUAL = "give or take of common practice"
Row = TypeVar("Row", FlywheelHousing, Flywheel)
NOT_AN_ALIGNMENT = "The size alone centres nothing: read the housing's run-out with a dial before bolting up."


@dataclass(frozen=True, slots=True)
class HousingReadings:
    """What was measured of a flywheel housing, and of the spigot that is to go into it."""

    register: Dimension | None = None
    circle: Dimension | None = None
    holes: int | None = None
    spigot: Dimension | None = None


@dataclass(frozen=True, slots=True)
class FlywheelReadings:
    """What was measured of a flywheel: the recess for the clutch, its bolts, its depth, the pilot bearing's bore."""

    pilot: Dimension | None = None
    circle: Dimension | None = None
    holes: int | None = None
    depth: Dimension | None = None
    bore: Dimension | None = None


def check_housing(housings: Sequence[FlywheelHousing], number: str, readings: HousingReadings) -> CheckResult:
    """A housing against its SAE number, or with an empty number against all of them: which one is it?

    Raises NotFound for a number, InvalidInput for a spigot or hole count out of reason.
    """
    if (readings.register, readings.circle) == (None, None):
        return unknown("flywheel housing", [Missing("the register's diameter", "with an inside micrometer")])
    return _sized(
        "flywheel housing",
        "SAE No.",
        number,
        {row.number: row for row in housings},
        lambda row: _housing(row, readings),
    )


def check_flywheel(flywheels: Sequence[Flywheel], size: str, readings: FlywheelReadings) -> CheckResult:
    """A flywheel against its SAE clutch size, or with an empty size against all of them. Raises NotFound."""
    if (readings.pilot, readings.circle) == (None, None):
        return unknown("flywheel", [Missing("the diameter of the clutch's recess", "with an inside micrometer")])
    return _sized(
        "flywheel", "SAE size", size, {row.clutch_size: row for row in flywheels}, lambda row: _flywheel(row, readings)
    )


def _sized(joint: str, words: str, name: str, rows: dict[str, Row], check: Callable[[Row], CheckResult]) -> CheckResult:
    if name:
        if name not in rows:
            raise NotFound(words, name, list(rows))
        return _named(check(rows[name]), words, name)
    results = {each: check(row) for each, row in rows.items()}
    fitting = {each: result for each, result in results.items() if result.verdict is not Verdict.FAILS}
    if len(fitting) == 1:
        ((found, result),) = fitting.items()
        return _named(result, words, found)
    if fitting:
        told = ", ".join(fitting)
        return unknown(joint, [Missing("the diameter of the register", f"it may be {words} {told}")])
    nearest = max(results, key=lambda each: _closeness(results[each]))
    failed = _named(results[nearest], words, nearest)
    return replace(failed, summary=f"no {words} has these sizes; nearest: {failed.summary}")


def _named(result: CheckResult, words: str, name: str) -> CheckResult:
    cautions = tuple(dict.fromkeys((*result.cautions, NOT_AN_ALIGNMENT)))
    return replace(result, summary=f"{words} {name}: {result.summary}", cautions=cautions)


def _closeness(result: CheckResult) -> tuple[int, float]:
    parts = result.parts or (result,)
    worst = min((float(part.margin.value) for part in parts if part.margin is not None), default=0.0)
    return -sum(part.verdict is Verdict.FAILS for part in parts), worst


def _housing(row: FlywheelHousing, readings: HousingReadings) -> CheckResult:
    limits = (row.register_nm, row.register_upper_nm)
    parts = _parts(
        [
            ("register", readings.register, limits, J617),
            ("bolt circle", readings.circle, _about(row.bolt_circle_nm, CIRCLE_NM), f"{J617}; {USUAL}"),
        ]
    )
    parts += _count(readings.holes, row.holes)
    if readings.spigot is not None:
        register = readings.register or Dimension(
            name="register", nominal_nm=limits[0], low_nm=limits[0], high_nm=limits[1], source=J617
        )
        why = "it must go in, and still centre (common practice)"
        parts.append(
            check_fit("spigot in the register", register, readings.spigot, low_nm=0, high_nm=SPIGOT_MOST_NM, why=why)
        )
    return combine("flywheel housing", parts)


def _flywheel(row: Flywheel, readings: FlywheelReadings) -> CheckResult:
    wanted = [
        ("clutch recess", readings.pilot, _about(row.pilot_nm, CIRCLE_NM), f"{J620}; {USUAL}"),
        ("bolt circle", readings.circle, _about(row.bolt_circle_nm, CIRCLE_NM), f"{J620}; {USUAL}"),
    ]
    if row.depth_nm is not None:
        wanted.append(("depth of the recess", readings.depth, _about(row.depth_nm, DEPTH_NM), f"{J620}; {USUAL}"))
    if row.pilot_bore_nm is not None:
        wanted.append(("pilot bearing bore", readings.bore, _about(row.pilot_bore_nm, BORE_NM), f"{J620}; {USUAL}"))
    parts = _parts(wanted)
    parts += _count(readings.holes, row.holes) if row.holes is not None else []
    return combine("flywheel", parts)


def _about(nm: int, give: int) -> tuple[int, int]:
    return nm - give, nm + give


def _parts(wanted: Sequence[tuple[str, Dimension | None, tuple[int, int], str]]) -> list[CheckResult]:
    return [_size(name, read, limits, source) for name, read, limits, source in wanted if read is not None]


def _size(name: str, read: Dimension, limits: tuple[int, int], source: str) -> CheckResult:
    if read.low_nm <= 0:
        raise InvalidInput([Problem(read.name, f"{show_nm(read.low_nm)} is no diameter; write it such as 409.6 mm")])
    verdict, margin, missing = judge(stack_up(name, [(1, read)]), *limits)
    wanted = f"{bare_mm(limits[0])} to {show_nm(limits[1])}"
    return CheckResult(
        joint=name, verdict=verdict, summary=f"{show_nm(read.nominal_nm)}, wanted {wanted}",
        margin=Amount.of_nm(margin), binding=name, measure=missing,
        working=Working((Line(f"{name} wanted", wanted, "", "", source),)), evidence_rank=read.evidence_rank,
    )  # fmt: skip


def _count(holes: int | None, wanted: int) -> list[CheckResult]:
    if holes is None:
        return []
    verdict = Verdict.HOLDS if holes == wanted else Verdict.FAILS
    return [CheckResult(joint="holes", verdict=verdict, summary=f"{holes}, wanted {wanted}", binding="holes")]
