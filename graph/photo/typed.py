"""What is typed about photos, choices and readings by hand, as the core takes it: the same at every door.

Lengths carry their unit; a bare number is millimetres. Every fault is told at its field or line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import read_nm
from graph.fits.measurement import TOOL_UNCERTAINTY
from graph.fits.model import NM_PER_MM
from graph.fits.numbers import read_number
from graph.photo.chosen import ROLES, HoleChoice
from graph.photo.hand import ANGLE, AXIS, CENTRE, DISTANCE, HOWS, RADIUS, HandEntry, HandHole
from graph.photo.model import Printed
from graph.photo.sheet import ACROSS_MM, ALONG_MM

LINE_TOOLS = ("calliper", "rule")
MOST_SCALED = 0.1  # a print further off than that is of something else, or in another unit
MOST_UNDER_MM = 20.0
PAPER_MM = 0.1  # plain paper of 80 g/m2 (common practice)
ANGLE_U_DEG = 0.5  # a protractor or a dividing head read by eye (common practice)
MOST_LINES = 1_000


def read_printed(across: str, along: str, tool: str = "calliper", under: str = "") -> Printed:
    """What the check lines measure. Raises InvalidInput; never guesses what a printer made of a millimetre."""
    problems: list[Problem] = []
    found = {}
    for name, text, drawn in (("across", across, ACROSS_MM), ("along", along, ALONG_MM)):
        if not text.strip():
            said = f"say what the check line {name} measures on your print (drawn {drawn:g} mm); sizes follow from it"
            problems.append(Problem(name, said))
            continue
        value = _mm(text, name, problems)
        if value is not None and abs(value / drawn - 1) > MOST_SCALED:
            said = f"{value:g} mm is far from the {drawn:g} mm drawn: print at 100 %, measure between the end ticks"
            problems.append(Problem(name, said))
        found[name] = value or drawn
    if tool not in LINE_TOOLS:
        problems.append(Problem("tool", f"expected {' or '.join(LINE_TOOLS)}, found {tool[:40]!r}"))
    beneath = _mm(under, "under", problems) if under.strip() else PAPER_MM
    if beneath is not None and not 0 <= beneath <= MOST_UNDER_MM:
        problems.append(Problem("under", f"expected 0 to {MOST_UNDER_MM:g} mm between the sheet and the face"))
    if problems:
        raise InvalidInput(problems)
    u_mm = read_nm(TOOL_UNCERTAINTY[tool], "tool") / NM_PER_MM
    return Printed(across_mm=found["across"], along_mm=found["along"], line_u_mm=u_mm, under_mm=beneath or 0.0)


def read_choices(lines: Sequence[str]) -> tuple[HoleChoice, ...]:
    """Choices as `HOLE = ROLE [SIZE]`: `3 = thread M10x1.5`, `1 = bore`, `4 = clearance 11 mm`. Raises InvalidInput."""
    problems, found = [], []
    for line in lines:
        hole, equals, said = line.partition("=")
        role, _, size = said.strip().partition(" ")
        if not equals or role not in ROLES:
            told = f"expected HOLE = ROLE [SIZE], the role one of {', '.join(ROLES)}; found {line[:60]!r}"
            problems.append(Problem("hole", told))
        else:
            found.append(HoleChoice(hole=hole.strip(), role=role, size=size.strip()))
    twice = {one.hole for one in found if sum(other.hole == one.hole for other in found) > 1}
    problems += [Problem("hole", f"{name} is chosen twice") for name in sorted(twice)]
    if problems:
        raise InvalidInput(problems)
    return tuple(found)


def read_level(text: str) -> tuple[str, str] | None:
    """Two holes that lie level, left and right: `3, 5`. None for nothing. Raises InvalidInput."""
    names = _names(text)
    if not names:
        return None
    if len(names) != 2:
        raise InvalidInput([Problem("level", f"name two holes, left then right, such as 3, 5; found {text[:60]!r}")])
    return names[0], names[1]


def read_clockwise(text: str) -> tuple[str, str, str] | None:
    """Three holes in clockwise order: `1, 2, 5`. None for nothing. Raises InvalidInput."""
    names = _names(text)
    if not names:
        return None
    if len(names) != 3:
        said = f"name three holes that follow each other clockwise, such as 1, 2, 5; found {text[:60]!r}"
        raise InvalidInput([Problem("clockwise", said)])
    return names[0], names[1], names[2]


def read_hand(holes: str, entries: str, uncertainty: str = "") -> tuple[tuple[HandHole, ...], tuple[HandEntry, ...]]:
    """Holes (`1; 11 mm`, a line each, the diameter may be left out) and what was measured, a line each.

    `1; 2; 118.3 mm` centre to centre; `1; 2; outside; 129.3 mm`; `1; 2; inside; 107.3 mm`; `1; axis; 168 mm` or
    `1; radius; 168 mm`; `1; angle; 90 deg`. `uncertainty`: of every length, either way. Raises InvalidInput.
    """
    problems: list[Problem] = []
    text = uncertainty.strip() or TOOL_UNCERTAINTY["calliper"]
    u_mm = _mm(text, "uncertainty", problems) or 0.05
    if u_mm <= 0:
        problems.append(Problem("uncertainty", f"no reading is exact; found {text[:40]!r}"))
    known = tuple(_hand_holes(holes, problems))
    read = tuple(_entries(entries, u_mm, problems))
    if not problems and not known:
        problems.append(Problem("holes", "name the holes, one a line: a name; and its diameter if it is known"))
    if not problems and not read:
        problems.append(Problem("entries", "say what was measured, one a line, such as 1; 2; 118.3 mm"))
    if problems:
        raise InvalidInput(problems)
    return known, read


def _hand_holes(text: str, problems: list[Problem]) -> Iterator[HandHole]:
    for where, cells in _lines(text, "holes", problems):
        if len(cells) > 2:
            problems.append(
                Problem(where, f"expected a name and a diameter, such as 1; 11 mm; found {'; '.join(cells)[:60]!r}")
            )
            continue
        across = _mm(cells[1], where, problems) if len(cells) == 2 and cells[1] else None
        if across is not None and across <= 0:
            problems.append(Problem(where, "expected a diameter above zero"))
        yield HandHole(name=cells[0], diameter_mm=across)


def _entries(text: str, u_mm: float, problems: list[Problem]) -> Iterator[HandEntry]:
    for where, cells in _lines(text, "entries", problems):
        if len(cells) == 3 and cells[1] == ANGLE:
            if (degrees := _degrees(cells[2], where, problems)) is not None:
                yield HandEntry(kind=ANGLE, a=cells[0], value=degrees, u=ANGLE_U_DEG)
            continue
        how = CENTRE
        if len(cells) == 4 and cells[2] in HOWS:
            how = cells.pop(2)
        if len(cells) != 3:
            said = "expected two holes and a length, such as 1; 2; 118.3 mm, or 1; angle; 90 deg"
            problems.append(Problem(where, f"{said}; found {'; '.join(cells)[:60]!r}"))
            continue
        value = _mm(cells[2], where, problems)
        if value is None:
            continue
        if cells[1] == RADIUS or AXIS in cells[:2]:
            hole = cells[1] if cells[0] == AXIS else cells[0]
            yield HandEntry(kind=RADIUS, a=hole, value=value, u=u_mm)
        else:
            yield HandEntry(kind=DISTANCE, a=cells[0], b=cells[1], value=value, u=u_mm, how=how)


def _lines(text: str, field: str, problems: list[Problem]) -> Iterator[tuple[str, list[str]]]:
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        problems.append(Problem(field, f"at most {MOST_LINES} lines, found {len(lines)}"))
        return
    for number, line in enumerate(lines, start=1):
        yield f"{field} line {number}", [cell.strip() for cell in line.split(";")]


def _names(text: str) -> list[str]:
    return [name.strip() for name in text.replace(";", ",").split(",") if name.strip()]


def _mm(text: str, path: str, problems: list[Problem]) -> float | None:
    plain = text.strip()
    try:
        return read_nm(f"{plain} mm" if plain[-1:].isdigit() else plain, path) / NM_PER_MM
    except InvalidInput as error:
        problems += error.problems
        return None


def _degrees(text: str, path: str, problems: list[Problem]) -> float | None:
    try:
        number = read_number(text, path, "90 deg")
    except InvalidInput as error:
        problems += error.problems
        return None
    if number.rest not in ("", "deg", "degrees", "°") or abs(number.value) > 360:
        problems.append(Problem(path, f"expected degrees, -360 to 360, found {text[:40]!r}"))
        return None
    return float(number.value)
