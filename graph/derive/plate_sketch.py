"""The sublet sketch of an adapter plate: every hole with its thread or clearance size, counterbore and engagement.

Sizes by `graph.fits.threads` (ISO 261, 273, 4762, DIN 974-1). The plate takes clearance holes with flush heads where
the block has threads, and threads where the bell housing has clearance holes. What no table has (an inch thread, an
odd hole) is asked for in words, never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from graph.fits.model import show_nm
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole, as_seen_from
from graph.fits.sketch import PLATE, Sketch, SketchDimension
from graph.fits.tables import Tables
from graph.fits.threads import (
    NamedThread,
    clearance_words,
    get_clearance_hole,
    is_inch,
    least_plate_nm,
    list_engagements,
)
from graph.plates.metric import named_thread_of

HOLE_PLACE_NM = 100_000


def plate_sketch(
    tables: Tables,
    block: Face,
    bell: Face,
    thickness_nm: int,
    operation: str,
    tolerance_nm: int,
    mates: Sequence[str],
) -> Sketch:
    """The plate between two measured faces, `thickness_nm` thick within `tolerance_nm`."""
    bell = as_seen_from(bell, block.seen_from)
    notes: dict[str, None] = {}
    holes = []
    for letter, face, use in (("A", block, CLEARANCE), ("B", bell, THREAD)):
        for hole in face.holes:
            if hole.use != DOWEL:
                made, note = _plate_hole(tables, letter, hole, use, thickness_nm)
                holes.append(made)
                notes[note] = None
    face = Face(
        id="plate", label="adapter plate", holes=tuple(holes), axis=block.axis, seen_from=block.seen_from,
        uncertainty_nm=HOLE_PLACE_NM,
    )  # fmt: skip
    thickness = SketchDimension(
        place="thickness", nominal_nm=thickness_nm, upper_nm=tolerance_nm, lower_nm=-tolerance_nm
    )
    return Sketch(
        kind=PLATE, part="adapter plate", operation=operation, material="steel or aluminium plate, as ordered",
        hardness="soft", datum=block.axis, dimensions=(thickness,), leave_alone=("the ground faces",), face=face,
        runout_nm=HOLE_PLACE_NM, mating_part=" and ".join(mates), hole_notes=tuple(notes),
    )  # fmt: skip


def _plate_hole(tables: Tables, letter: str, hole: Hole, use: str, thickness_nm: int) -> tuple[Hole, str]:
    """The plate's hole opposite a hole of a face, and how all of its sort are made."""
    named = named_thread_of(hole)
    made = replace(hole, id=f"{letter}-{hole.id}", use=use, thread="")
    if named is None:
        told = hole.thread or show_nm(hole.diameter_nm)
        side = "the block's thread" if use == CLEARANCE else "the bell's hole"
        note = f"{letter} holes for {told}: ask before drilling, {side} is not of ISO 261 and 273; gauge it"
        return made, note
    if use == CLEARANCE:
        size = get_clearance_hole(tables, named.thread).medium_nm
        return replace(made, diameter_nm=size), _clearance_note(letter, named, size, thickness_nm)
    thread = replace(made, diameter_nm=named.thread.diameter_nm, thread=named.name)
    return thread, _thread_note(letter, named, thickness_nm)


def _clearance_note(letter: str, named: NamedThread, size_nm: int, thickness_nm: int) -> str:
    thread = named.thread
    floor, least = thickness_nm - thread.head_height_nm, least_plate_nm(thread) - thread.head_height_nm
    note = (
        f"{letter} holes for {named.name}: {show_nm(size_nm)} through ({clearance_words(thread)}), counterbore "
        f"{show_nm(thread.counterbore_nm)} x {show_nm(thread.head_height_nm)} deep from the gearbox side for flush "
        f"heads ({'ASME B18.3' if is_inch(thread.name) else 'ISO 4762'}); {show_nm(floor)} of plate stay under the head"
    )
    if floor < least:
        note += f", at least {show_nm(least)} wanted (common practice): take a thicker plate or a lower head, ask first"
    return note


def _thread_note(letter: str, named: NamedThread, thickness_nm: int) -> str:
    pitch = " (coarse pitch: nobody has stated another)" if named.assumed else ""
    return (
        f"{letter} holes: {named.name}{pitch} through, tapping drill {show_nm(named.tapping_nm)}; at most "
        f"{show_nm(thickness_nm)} of thread engaged, wanted {', '.join(list_engagements(named.thread))} "
        "(common practice)"
    )
