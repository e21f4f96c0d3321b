"""Which holes belong and what each is: seen or solved holes become a bolt face about its axis.

The axis is the middle of a bore or register among them, or of the circle through the bolts where none was seen. A
face's uncertainty is that of its least sure hole together with the axis's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, hypot

import numpy as np

from graph.errors import InvalidInput, LayshaftError, Problem
from graph.fits.lengths import read_nm
from graph.fits.model import NM_PER_MM
from graph.fits.pattern import DOWEL, THREAD, USES, Face, Hole
from graph.fits.tables import load_tables
from graph.fits.threads import get_thread
from graph.photo.rounds import circle_through

BORE = "bore"  # its middle is the axis; it is no hole of the pattern
ROLES = {
    "thread": "thread", "clearance": "clearance hole", "dowel": "dowel hole", BORE: "bore or register: the axis",
    "other": "oil, water or inspection hole",
}  # fmt: skip
LEAST_HOLES = 3
BOLT_CIRCLE = "centre of the circle through the bolts"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedHole:
    """A hole where it was found, mm in whatever frame: by photo or solved by hand. `u_mm`: either way."""

    name: str
    x_mm: float
    y_mm: float
    u_mm: float
    diameter_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleChoice:
    """What the user says of a hole: its `role`, its `size` (a thread's name, or a diameter), its name on the face."""

    hole: str
    role: str
    size: str = ""
    name: str = ""


def place_words(x_mm: float, y_mm: float) -> str:
    """A place in words.

    >>> place_words(-70.0, 12.5)
    '70.00 mm left, 12.50 mm up'
    """
    across, high = f"{abs(x_mm):.2f} mm", f"{abs(y_mm):.2f} mm"
    return f"{across} {'left' if x_mm < 0 else 'right'}, {high} {'down' if y_mm < 0 else 'up'}"


def face_from(
    placed: Sequence[PlacedHole], choices: Sequence[HoleChoice], *, label: str, seen_from: str, datum: str = "",
    by_bolts: bool = False, level: tuple[str, str] | None = None, identity: str = "measured",
) -> Face:  # fmt: skip
    """The face of the chosen holes about its axis, its evidence that of these parts. Raises InvalidInput.

    `by_bolts`: without a bore, the axis is taken as the centre of the circle through the bolts. `level`: two holes,
    left and right, that lie level when the part stands; without, up is as in the frame.
    """
    known = {hole.name: hole for hole in placed}
    problems = [Problem(f"hole {one.hole}", "is not among the holes found") for one in choices if one.hole not in known]
    problems += [
        Problem(f"hole {one.hole}", f"say what it is: {', '.join(ROLES)}") for one in choices if one.role not in ROLES
    ]
    if problems:
        raise InvalidInput(problems)
    bores = [one for one in choices if one.role == BORE]
    others = [one for one in choices if one.role != BORE]
    if len(others) < LEAST_HOLES:
        said = f"{LEAST_HOLES} holes at least make a pattern, {len(others)} are chosen beside the axis; choose more"
        raise InvalidInput([Problem("holes", said)])
    x, y, u_mm = _axis(known, bores, others, by_bolts=by_bolts)
    turn = _turn(known, level)
    holes, unsure = [], 0.0
    for choice in others:
        hole = known[choice.hole]
        try:
            thread, across = _size(choice, hole)
        except InvalidInput as error:
            problems += error.problems
            continue
        right, up = hole.x_mm - x, hole.y_mm - y
        right, up = right * np.cos(turn) + up * np.sin(turn), up * np.cos(turn) - right * np.sin(turn)
        unsure = max(unsure, hypot(hole.u_mm, u_mm))
        holes.append(Hole(id=choice.name or choice.hole, x_nm=_nm(right), y_nm=_nm(up), diameter_nm=across,
                          use=choice.role, thread=thread))  # fmt: skip
    if problems:
        raise InvalidInput(problems)
    named = datum or (BOLT_CIRCLE if not bores else "")
    return Face(id=identity, label=label, holes=tuple(holes), axis=named, seen_from=seen_from,
                uncertainty_nm=ceil(unsure * 100) * NM_PER_MM // 100)  # fmt: skip


def _nm(mm: float) -> int:
    """Whole hundredths of a millimetre: more than that no photo and no calliper says."""
    return round(mm * 100) * NM_PER_MM // 100


def _axis(
    known: dict[str, PlacedHole], bores: Sequence[HoleChoice], others: Sequence[HoleChoice], *, by_bolts: bool
) -> tuple[float, float, float]:
    """Where the axis lies and how surely."""
    if len(bores) > 1:
        said = f"holes {', '.join(one.hole for one in bores)} are all called the axis; one is"
        raise InvalidInput([Problem("holes", said)])
    if bores:
        bore = known[bores[0].hole]
        return bore.x_mm, bore.y_mm, bore.u_mm
    bolts = [known[one.hole] for one in others if one.role not in (DOWEL, "other")]
    if not by_bolts:
        said = (
            "the axis is not known: call one hole the bore or register (with a second photo that shows it, if the sheet"
            " hides it), or say that the bolts stand on a circle about the axis"
        )
        raise InvalidInput([Problem("axis", said)])
    if len(bolts) < LEAST_HOLES:
        raise InvalidInput(
            [Problem("axis", f"a circle through the bolts needs {LEAST_HOLES} bolts, found {len(bolts)}")]
        )
    x, y, radius, rough = circle_through(np.array([[hole.x_mm, hole.y_mm] for hole in bolts]))
    unsure = max(hole.u_mm for hole in bolts)
    if not np.isfinite(radius) or rough > 2 * unsure + 0.2:
        said = f"the bolts do not stand on one circle (they lie {rough:.2f} mm off it)"
        raise InvalidInput([Problem("axis", f"{said}: the axis must be a bore or register")])
    return x, y, max(unsure, 2 * rough)


def _turn(known: dict[str, PlacedHole], level: tuple[str, str] | None) -> float:
    """By how much the frame leans, radians: from the left one of two holes that lie level to the right one."""
    if level is None:
        return 0.0
    missing = [name for name in level if name not in known]
    if missing or level[0] == level[1]:
        raise InvalidInput(
            [Problem("level", f"name two holes that were found, left and right; found {' and '.join(level)}")]
        )
    left, right = known[level[0]], known[level[1]]
    return float(np.arctan2(right.y_mm - left.y_mm, right.x_mm - left.x_mm))


def _size(choice: HoleChoice, hole: PlacedHole) -> tuple[str, int]:
    """The thread's name, and the diameter: a thread's nominal one, else as typed or as found."""
    where, text = f"hole {choice.hole}", choice.size.strip()
    assert choice.role in USES
    if choice.role == THREAD:
        if not text:
            raise InvalidInput([Problem(where, "name its thread, such as M10x1.5: its edge does not tell")])
        try:
            thread = get_thread(load_tables(), text)
        except InvalidInput as error:
            raise InvalidInput([Problem(where, one.message) for one in error.problems]) from None
        except LayshaftError as error:
            raise InvalidInput([Problem(where, str(error))]) from None
        return thread.name, thread.thread.diameter_nm
    if text:
        return "", read_nm(f"{text} mm" if text[-1].isdigit() else text, where)
    if hole.diameter_mm is None:
        raise InvalidInput([Problem(where, "say its diameter, such as 11 mm")])
    return "", _nm(hole.diameter_mm)
