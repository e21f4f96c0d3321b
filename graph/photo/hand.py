"""Holes, entries and residuals of a pattern that is read by hand, and what is wrong with them before it is solved."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from graph.errors import InvalidInput, Problem
from graph.photo.chosen import PlacedHole

AXIS = "axis"
CENTRE, OUTSIDE, INSIDE = "centre", "outside", "inside"
HOWS = {CENTRE: "centre to centre", OUTSIDE: "over the outer edges", INSIDE: "between the inner edges"}
DISTANCE, RADIUS, ANGLE = "distance", "radius", "angle"
MOST_HOLES, MOST_ENTRIES, LEAST_HOLES = 40, 800, 3
MOST_MM = 4_000.0
_NAME = re.compile(r"[\w.+-]{1,20}")


@dataclass(frozen=True, slots=True, kw_only=True)
class HandHole:
    """A hole by name; its diameter where edges were measured or it is to be saved, mm."""

    name: str
    diameter_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HandEntry:
    """What was measured: a `distance` of `a` and `b` (either may be `axis`), a `radius` of `a` from the axis (both mm),
    or the `angle` of `a` about the axis in degrees, anticlockwise from the right. `u`: either way, in the same unit."""

    kind: str
    a: str
    b: str = ""
    value: float
    u: float
    how: str = CENTRE


@dataclass(frozen=True, slots=True)
class Residual:
    """An entry against the answer: `off` (answer less entry, mm or degrees), how far it is `checked` by the
    others (0 to 1), whether it looks like a slip (`odd`) and then what it `should_be`."""

    entry: HandEntry
    off: float
    checked: float
    odd: bool = False
    should_be: float | None = None


@dataclass(frozen=True, slots=True)
class Solved:
    """The pattern: `holes` about the axis if `has_axis` (else about their middle), residuals, and what to know.

    `mirror_open`: nothing says which of two mirror images it is; `twins`: holes that may lie at another place as well;
    `missing`: pairs whose distance would settle what is not determined: nothing is saved until there are none.
    """

    holes: tuple[PlacedHole, ...]
    residuals: tuple[Residual, ...]
    has_axis: bool
    mirror_open: bool
    twins: tuple[str, ...]
    missing: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    rms_mm: float

    @property
    def settled(self) -> bool:
        """Is every hole's place determined?"""
        return not (self.missing or self.twins or self.mirror_open)


def words_of(entry: HandEntry) -> str:
    """An entry in words.

    >>> words_of(HandEntry(kind="distance", a="1", b="2", value=118.3, u=0.1))
    '1 to 2, 118.3 mm centre to centre'
    """
    if entry.kind == DISTANCE:
        return f"{entry.a} to {entry.b}, {entry.value:g} mm {HOWS[entry.how]}"
    if entry.kind == ANGLE:
        return f"angle of {entry.a}, {entry.value:g} degrees within {entry.u:g}"
    return f"{entry.kind} of {entry.a}, {entry.value:g} mm"


def check_readings(
    holes: Sequence[HandHole], entries: Sequence[HandEntry], clockwise: tuple[str, str, str] | None
) -> None:
    """Raises InvalidInput naming every hole and entry that cannot be."""
    problems: list[Problem] = []
    names = [hole.name for hole in holes]
    if not LEAST_HOLES <= len(holes) <= MOST_HOLES:
        problems.append(Problem("holes", f"expected {LEAST_HOLES} to {MOST_HOLES} holes, found {len(holes)}"))
    problems += [Problem("holes", f"{name!r} is named twice") for name in dict.fromkeys(names) if names.count(name) > 1]
    told = "expected a short name of letters, digits, dots and dashes (axis is taken)"
    problems += [Problem("holes", f"{told}, found {n[:40]!r}") for n in names if n == AXIS or not _NAME.fullmatch(n)]
    if len(entries) > MOST_ENTRIES:
        problems.append(Problem("entries", f"at most {MOST_ENTRIES} entries, found {len(entries)}"))
    across = {hole.name: hole.diameter_mm for hole in holes}
    for number, one in enumerate(entries, start=1):
        where = f"entry {number}"
        ends = (one.a, one.b) if one.kind == DISTANCE else (one.a,)
        problems += [Problem(where, f"no hole is called {name!r}") for name in ends if name not in (*names, AXIS)]
        if one.a == (one.b if one.kind == DISTANCE else AXIS):
            problems.append(Problem(where, "name two different holes, or a hole and the axis"))
        if one.u <= 0:
            problems.append(Problem(where, "no reading is exact: state how surely it was read"))
        if one.kind != ANGLE and not 0 < one.value <= MOST_MM:
            problems.append(Problem(where, f"expected above 0 and at most {MOST_MM:g} mm, found {one.value:g}"))
        if one.how not in HOWS:
            problems.append(Problem(where, f"expected {', '.join(HOWS)}, found {one.how!r}"))
        elif one.how != CENTRE:
            for name in ends:
                if name == AXIS or (name in across and across[name] is None):
                    problems.append(Problem(where, f"measured by its edges, {name} needs a diameter"))
    if clockwise is not None and (len(set(clockwise)) < 3 or not set(clockwise) <= {*names, AXIS}):
        problems.append(Problem("clockwise", f"name three different holes, found {', '.join(clockwise)}"))
    if problems:
        raise InvalidInput(problems)
