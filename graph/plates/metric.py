"""The metric thread that a hole of a face takes: as named, else by a thread's nominal size or by ISO 273."""

from __future__ import annotations

from fractions import Fraction

from graph.errors import InvalidInput, NotFound
from graph.fits.model import NM_PER_MM, show_number
from graph.fits.pattern import THREAD, Hole
from graph.fits.tables import Thread, load_tables
from graph.fits.threads import NamedThread, find_thread_of_hole, get_thread


def thread_of(hole: Hole) -> Thread | None:
    """The metric thread that a hole takes; None for others."""
    named = named_thread_of(hole)
    return named.thread if named else None


def named_thread_of(hole: Hole) -> NamedThread | None:
    """The same with its pitch; the coarse one where nobody has stated it."""
    tables = load_tables()
    try:
        if hole.thread:
            return get_thread(tables, hole.thread)
        if hole.use == THREAD:
            return get_thread(tables, f"M{show_number(Fraction(hole.diameter_nm, NM_PER_MM))}")
    except (NotFound, InvalidInput):  # an inch thread or an odd pitch: asked for in words
        return None
    found = find_thread_of_hole(tables, hole.diameter_nm)
    return NamedThread(found, found.coarse_nm, True) if found else None
