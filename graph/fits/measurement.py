"""Measurements as facts: what was read, on what, from which datum, with which tool, how surely.

Two measurements of one thing that lie further apart than their joint uncertainty are a dispute: both stay,
neither is averaged away. Joint uncertainty is the root of the sum of squares of the two (JCGM 100, law of
propagation for independent inputs, each stated as +/-). All comparisons are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import isqrt

from graph.errors import InvalidInput, Problem
from graph.fits.contradictions import strongest_against
from graph.fits.model import Dimension
from graph.fits.quantity import ReadQuantity, quantity_of

POSITION = "position"  # an axial or radial distance: means nothing without the face or axis it is taken from
SIZE = "size"  # a diameter, width, thickness, count: stands alone
FORMS = (POSITION, SIZE)
SUBJECTS = ("variant", "unit")  # true of every one built so, or read on this one
REFERENCE_TEMPERATURE = "20 C"  # ISO 1: reference temperature for lengths

FULL_TURN_DEG = 360
FEW_READINGS = 12  # of one thing: so many are compared pair by pair, and every pair that disputes is named

# Uncertainty to assume where a reading names only its tool. Common practice, except the first two, which are
# the worked example's figures (straight-edge and depth micrometer 0.05 mm, tape 1.0 mm).
TOOL_UNCERTAINTY = {
    "straight-edge and depth micrometer": "0.05 mm",
    "tape": "1.0 mm",
    "micrometer": "0.01 mm",
    "bore gauge": "0.01 mm",
    "dial gauge": "0.01 mm",
    "calliper": "0.05 mm",
    "rule": "0.5 mm",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedMeasurement:
    """One reading. Build it with `measurement_of`, which checks it; the values stay as read.

    `quantity` is what was measured ("stick-out"), `of` the id of the variant or unit, `of_kind` which of both.
    """

    id: str
    quantity: str
    reading: ReadQuantity
    uncertainty: ReadQuantity
    of: str
    of_kind: str = "unit"
    form: str = POSITION
    datum: str = ""
    method: str = ""
    temperature: ReadQuantity
    evidence_rank: int = 1
    note: str = ""

    def dimension(self) -> Dimension:
        """The reading of a length as a Dimension: reading +/- uncertainty. Raises InvalidInput for other things."""
        nominal, spread = self.reading.nm, self.uncertainty.nm
        return Dimension(
            name=self.quantity, nominal_nm=nominal, low_nm=nominal - spread, high_nm=nominal + spread,
            as_read=self.reading.text, uncertainty_nm=spread, datum=self.datum,
            source=f"measured: {self.method}" if self.method else "measured",
            evidence_rank=self.evidence_rank, part=self.of, temperature_c=self.temperature.in_unit("C"),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReadingDispute:
    """Two measurements of one thing, further apart than they may be. Amounts in the dimension's base unit."""

    first: CheckedMeasurement
    second: CheckedMeasurement
    difference: Fraction
    joint_uncertainty: Fraction

    def text(self) -> str:
        """What stands against what, in the units that were read."""
        one, two = self.first, self.second
        return (
            f"{one.quantity} of {one.of}: {one.reading} +/- {one.uncertainty} ({one.id}) against "
            f"{two.reading} +/- {two.uncertainty} ({two.id}); measure again before relying on either"
        )


@dataclass(frozen=True, slots=True)
class SettledReadings:
    """What the measurements of one thing come to. `best` is the surest of them; None where they dispute."""

    best: CheckedMeasurement | None
    disputes: tuple[ReadingDispute, ...]
    measurements: tuple[CheckedMeasurement, ...]


def measurement_of(
    *,
    id: str,
    quantity: str,
    reading: str,
    of: str,
    dimension: str = "length",
    of_kind: str = "unit",
    uncertainty: str = "",
    form: str = POSITION,
    datum: str = "",
    method: str = "",
    temperature: str = REFERENCE_TEMPERATURE,
    evidence_rank: int = 1,
    note: str = "",
) -> CheckedMeasurement:
    """A checked measurement from what was written down.

    Without an uncertainty, the one usual for the tool in `method` is taken (TOOL_UNCERTAINTY). Raises
    InvalidInput with every fault: no unit, no datum for a position, no or zero uncertainty, a size not above
    zero, an unknown kind.
    """
    problems: list[Problem] = []
    spread = uncertainty or (TOOL_UNCERTAINTY.get(method, "") if dimension == "length" else "")
    if not spread:
        tools = ", ".join(TOOL_UNCERTAINTY)
        problems.append(Problem("uncertainty", f"state it (such as 0.05 mm), or name the tool: {tools}"))
    for path, text in (("id", id), ("quantity", quantity), ("of", of)):
        if not text.strip():
            problems.append(Problem(path, "is empty; say what was measured, on which variant or unit"))
    if of_kind not in SUBJECTS:
        problems.append(Problem("of_kind", f"expected variant or unit, found {of_kind!r}"))
    if form not in FORMS:
        problems.append(Problem("form", f"expected position or size, found {form!r}"))
    elif form == POSITION and not datum.strip():
        problems.append(Problem("datum", "no datum; say from which face or axis it was taken, or call it a size"))
    read = _quantity(reading, dimension, "reading", problems)
    joint = _quantity(spread, dimension, "uncertainty", problems) if spread else None
    heat = _quantity(temperature, "temperature", "temperature", problems)
    if read is not None and form == SIZE:
        problems += _size_problems(read, reading)
    if joint is not None and joint.amount <= 0 and dimension != "count":
        problems.append(Problem("uncertainty", f"no reading is exact; state the tool's uncertainty, found {spread!r}"))
    if problems or read is None or joint is None or heat is None:
        raise InvalidInput(problems)
    return CheckedMeasurement(
        id=id, quantity=quantity, reading=read, uncertainty=joint, of=of, of_kind=of_kind, form=form, datum=datum,
        method=method, temperature=heat, evidence_rank=evidence_rank, note=note,
    )  # fmt: skip


def _size_problems(read: ReadQuantity, reading: str) -> Iterable[Problem]:
    """What no size can be, by what it is a size of: a spur gear's helix has 0 deg, which way it leans is a word."""
    if read.dimension == "angle":
        if not 0 <= read.amount < FULL_TURN_DEG:
            yield Problem("reading", f"an angle is from 0 to below {FULL_TURN_DEG} deg, found {reading!r}")
    elif read.amount <= 0:
        yield Problem("reading", f"a size is above zero, found {reading!r}")


def find_dispute(first: CheckedMeasurement, second: CheckedMeasurement) -> ReadingDispute | None:
    """The dispute between two measurements of one thing, or None where they agree.

    Raises InvalidInput where they are not of one thing: other quantity, part, datum or dimension.
    """
    _check_one_thing(first, second)
    difference = abs(first.reading.amount - second.reading.amount)
    squares = first.uncertainty.amount**2 + second.uncertainty.amount**2
    if difference**2 <= squares:
        return None
    return ReadingDispute(first, second, difference, _root(squares))


def _check_one_thing(first: CheckedMeasurement, second: CheckedMeasurement) -> None:
    problems = [
        Problem(name, f"not the same thing: {left!r} and {right!r}")
        for name, left, right in (
            ("quantity", first.quantity, second.quantity),
            ("of", first.of, second.of),
            ("datum", first.datum, second.datum),
            ("dimension", first.reading.dimension, second.reading.dimension),
        )
        if left != right
    ]
    if problems:
        raise InvalidInput(problems)


def settle(measurements: Sequence[CheckedMeasurement]) -> SettledReadings:
    """The surest of several measurements of one thing, or their disputes.

    Surest: best evidence, then smallest uncertainty, then id. Of more than FEW_READINGS each is named only with the
    one that contradicts it most, so that the time grows with their number. Raises InvalidInput for none at all, or
    for measurements of different things.
    """
    if not measurements:
        raise InvalidInput([Problem("measurements", "none to settle; measure first")])
    disputes = tuple(_disputes(measurements))
    surest = min(measurements, key=lambda item: (item.evidence_rank, item.uncertainty.amount, item.id))
    return SettledReadings(None if disputes else surest, disputes, tuple(measurements))


def _disputes(measurements: Sequence[CheckedMeasurement]) -> Iterable[ReadingDispute]:
    few = len(measurements) <= FEW_READINGS
    for first, second in combinations(measurements, 2) if few else _most_apart(measurements):
        dispute = find_dispute(first, second)
        if dispute is not None:
            yield dispute


def _most_apart(measurements: Sequence[CheckedMeasurement]) -> Iterable[tuple[CheckedMeasurement, CheckedMeasurement]]:
    """Each with the one that contradicts it most, in order; a pair once."""
    for other in measurements:
        _check_one_thing(measurements[0], other)
    pairs = {
        (min(place, worst), max(place, worst)): None
        for place, worst in enumerate(strongest_contradictions(measurements))
        if worst is not None
    }
    return ((measurements[first], measurements[second]) for first, second in sorted(pairs))


def strongest_contradictions(measurements: Sequence[CheckedMeasurement]) -> tuple[int | None, ...]:
    """For each measurement of one thing the place of one that contradicts it most; None where none does."""
    return strongest_against(
        [one.reading.amount for one in measurements], [one.uncertainty.amount for one in measurements]
    )


def _root(squares: Fraction) -> Fraction:
    """The square root to a thousandth of the base unit; only shown, never compared."""
    return Fraction(isqrt(int(squares * 1_000_000)), 1_000)


def _quantity(text: str, dimension: str, path: str, problems: list[Problem]) -> ReadQuantity | None:
    try:
        return quantity_of(text, dimension, path)
    except InvalidInput as error:
        problems.extend(error.problems)
        return None
